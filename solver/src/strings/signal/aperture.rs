//! Where along the string a coil listens.
//!
//! A piece dx of string at the distance x from the middle of the pickup, displaced by u, adds
//! w(x) Lambda(u) dx to the linkage; w has the integral 1. Its shape is the sensitivity density of
//! the string at rest. A string is long against the aperture and its slope small, so each piece is
//! taken to answer as if the whole string stood where it stands.
//!
//! The density is resampled on evenly spaced places: for a function that falls off at both ends the
//! plain sum over them converges faster than any power of the spacing.

/// Spacing of the places, m: an eighth of the usual width of an aperture.
const SPACING: f64 = 2e-3;
/// The density is cut off where it stays below this share of its greatest value.
const CUT: f64 = 1e-3;
/// More places than this are not made; the spacing grows instead.
const MOST: usize = 201;

/// Places along the string, from the middle of the pickup towards the nut, and their weights.
#[derive(Clone, Debug, PartialEq)]
pub struct Aperture {
    /// Distance from the middle of the pickup, m.
    pub offsets: Vec<f64>,
    /// Weights; their sum is 1.
    pub weights: Vec<f64>,
}

impl Aperture {
    /// All in one place.
    pub fn point() -> Self {
        Self { offsets: vec![0.0], weights: vec![1.0] }
    }

    /// From a sensitivity `density` (any unit, either sign) at rising places `x` (m).
    ///
    /// `None` where the two do not match, places do not rise, or the density has no integral to
    /// speak of.
    pub fn from_density(x: &[f64], density: &[f64]) -> Option<Self> {
        let rising = x.windows(2).all(|w| w[0] < w[1]);
        if x.len() != density.len() || x.len() < 2 || !rising {
            return None;
        }
        if x.iter().chain(density).any(|v| !v.is_finite()) {
            return None;
        }
        let greatest = density.iter().fold(0.0_f64, |g, d| g.max(d.abs()));
        let first = density.iter().position(|d| d.abs() > CUT * greatest)?;
        let last = density.iter().rposition(|d| d.abs() > CUT * greatest)?;
        let (from, to) = (x[first.saturating_sub(1)], x[(last + 1).min(x.len() - 1)]);
        let pieces = (((to - from) / SPACING).ceil() as usize).clamp(1, MOST - 1);
        let offsets: Vec<f64> =
            (0..=pieces).map(|i| from + (to - from) * i as f64 / pieces as f64).collect();
        let mut weights: Vec<f64> = offsets.iter().map(|&o| interpolated(x, density, o)).collect();
        let total: f64 = weights.iter().sum();
        let size: f64 = weights.iter().map(|w| w.abs()).sum();
        if total.abs() <= 1e-6 * size {
            return None;
        }
        weights.iter_mut().for_each(|w| *w /= total);
        Some(Self { offsets, weights })
    }
}

/// Straight line between the two samples around `place`; the end values outside.
fn interpolated(x: &[f64], values: &[f64], place: f64) -> f64 {
    let after = x.partition_point(|&v| v < place).clamp(1, x.len() - 1);
    let (a, b) = (x[after - 1], x[after]);
    let share = ((place - a) / (b - a)).clamp(0.0, 1.0);
    values[after - 1] * (1.0 - share) + values[after] * share
}

#[cfg(test)]
mod tests {
    use super::*;

    /// exp(-x^2 / 2 s^2) weighs cos(kx) with exp(-k^2 s^2 / 2).
    #[test]
    fn weighs_a_wave_as_the_density_does() {
        let s = 6e-3;
        let x: Vec<f64> = (-200..=200).map(|i| f64::from(i) * 0.2e-3).collect();
        let density: Vec<f64> = x.iter().map(|x| -7.0 * (-0.5 * (x / s).powi(2)).exp()).collect();
        let aperture = Aperture::from_density(&x, &density).expect("a density");
        let total: f64 = aperture.weights.iter().sum();
        assert!((total - 1.0).abs() < 1e-14);
        for wavelength in [0.6, 0.1, 0.05, 0.03] {
            let k = 2.0 * std::f64::consts::PI / wavelength;
            let got: f64 = aperture
                .offsets
                .iter()
                .zip(&aperture.weights)
                .map(|(o, w)| w * (k * o).cos())
                .sum();
            let want = (-0.5 * (k * s).powi(2)).exp();
            // Cutting the tails at 1e-3 of the peak leaves out 2e-4 of the integral.
            assert!((got - want).abs() < 5e-4, "{wavelength}: {got} {want}");
        }
    }

    #[test]
    fn refuses_what_is_no_density() {
        assert!(Aperture::from_density(&[0.0, 1.0], &[1.0]).is_none());
        assert!(Aperture::from_density(&[0.0, 0.0], &[1.0, 1.0]).is_none());
        assert!(Aperture::from_density(&[0.0, 1.0], &[0.0, 0.0]).is_none());
        assert!(Aperture::from_density(&[0.0, 1.0], &[1.0, f64::NAN]).is_none());
        assert!(Aperture::from_density(&[-1e-3, 0.0, 1e-3], &[-1.0, 0.0, 1.0]).is_none());
        let point = Aperture::point();
        assert_eq!((point.offsets, point.weights), (vec![0.0], vec![1.0]));
    }
}
