//! The four-data curve: remanence, coercivity, energy product and slope at the remanence to the
//! hyperbola of [`super::hyperbola`].
//!
//! With h = H/H_cB, b = B/B_r, k = mu_0 H_cB/B_r, r = H_x/H_cB, s = k mu_rec:
//!
//! b(h) = k m h + (r + h)/(r + a h); b(-1) = 0; db/dh(0) = s; max(-h b) = gamma = (BH)max/(B_r H_cB)
//!
//! The first two give k m = (r - 1)/(r - a) and r = (a + sqrt(a^2 + 4 a (1 - a)/(1 - s)))/2; then
//! gamma rises with a from that of the parabola 1 + s h - (1 - s) h^2 (a = 0) to that of the line
//! 1 + s h cut off at the coercivity (a = 1), and a is found by halving.
//!
//! Data outside that range: a lower energy product needs a curve that is steeper at the remanence
//! than its recoil line, a higher one a flatter curve. Then s is moved, at the end of the range of
//! a, to where gamma fits; it may go down to k (slope mu_0), with the recoil permeability lowered
//! to match. What is beyond that no magnet can have.

use crate::material::error::{LawError, figures};
use crate::material::hyperbola::Hyperbola;
use crate::units::MU_0;

/// Range of a: beyond it the curve is too near its limits to tell, or its corner too sharp to solve.
const ROUNDEST: f64 = 0.02;
const SQUAREST: f64 = 0.999_5;

/// A fitted curve.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct FourDataFit {
    pub curve: Hyperbola,
    /// The recoil permeability to use, relative: the stated one unless it had to be lowered.
    pub recoil: f64,
    /// What had to be moved to fit, in words.
    pub remark: Option<String>,
    /// H_cB, A/m.
    coercivity: f64,
    k: f64,
    s: f64,
}

impl FourDataFit {
    /// The curve with its remanence and coercivity multiplied by `alpha` and `beta`; recoil
    /// permeability and squareness a stay.
    ///
    /// # Errors
    /// [`LawError::Contradiction`] where the coercivity would outgrow the remanence.
    pub fn warmed(mut self, alpha: f64, beta: f64) -> Result<Self, LawError> {
        let old = self.curve;
        let (k, s) = (self.k * beta / alpha, self.s * beta / alpha);
        if s >= 1.0 {
            return Err(LawError::Contradiction(format!(
                "at this temperature the recoil permeability is more than B_r/(mu_0 H_c) = {}",
                figures(1.0 / k)
            )));
        }
        let r = scale(old.a, s);
        self.curve = Hyperbola {
            m: (r - 1.0) / ((r - old.a) * k),
            remanence: old.remanence * alpha,
            scale: r * (self.coercivity * beta),
            a: old.a,
        };
        self.coercivity *= beta;
        (self.k, self.s) = (k, s);
        Ok(self)
    }
}

/// Fits the curve. `remanence` in T, `coercivity` in A/m, `energy_product` in J/m3.
///
/// # Errors
/// [`LawError::Contradiction`] says which data exclude each other.
pub(super) fn fit(
    remanence: f64,
    coercivity: f64,
    energy_product: f64,
    recoil: f64,
) -> Result<FourDataFit, LawError> {
    let k = MU_0 * coercivity / remanence;
    let gamma = energy_product / (remanence * coercivity);
    let mut s = k * recoil;
    check(remanence, coercivity, energy_product, recoil)?;

    let mut remark = None;
    let a = if gamma < sharpness(ROUNDEST, s) {
        s = halve(s, 1.0 - 1e-9, |s| sharpness(ROUNDEST, s) < gamma);
        remark = Some(format!(
            "the energy product is low for these data; the slope at the remanence was raised from \
             {recoil} to {} mu_0",
            figures(s / k)
        ));
        ROUNDEST
    } else if gamma > sharpness(SQUAREST, s) {
        s = halve(k, s, |s| sharpness(SQUAREST, s) < gamma);
        remark = Some(format!(
            "the energy product is high for these data; the recoil permeability was lowered from \
             {recoil} to {}",
            figures(s / k)
        ));
        SQUAREST
    } else {
        halve(ROUNDEST, SQUAREST, |a| sharpness(a, s) > gamma)
    };
    let r = scale(a, s);
    let m = (r - 1.0) / ((r - a) * k);
    let curve = Hyperbola { m, remanence, scale: r * coercivity, a };
    Ok(FourDataFit { curve, recoil: recoil.min(s / k), remark, coercivity, k, s })
}

/// Says which of the data exclude each other.
fn check(br: f64, hc: f64, bh: f64, recoil: f64) -> Result<(), LawError> {
    let k = MU_0 * hc / br;
    let gamma = bh / (br * hc);
    let (hc_ka, bh_kj) = (figures(hc * 1e-3), figures(bh * 1e-3));
    let most_by_corner = figures(br * hc * 1e-3);
    let most_by_remanence = br * br / (4.0 * MU_0);
    let fault = if k >= 1.0 {
        format!(
            "the coercivity {hc_ka} kA/m is more than B_r/mu_0 = {} kA/m, so B would rise by less \
             than mu_0 H",
            figures(br / MU_0 * 1e-3)
        )
    } else if k * recoil >= 1.0 {
        format!(
            "the recoil permeability {recoil} is more than B_r/(mu_0 H_c) = {}, so recoil would be \
             steeper than the curve itself",
            figures(1.0 / k)
        )
    } else if gamma <= 0.25 {
        format!(
            "the energy product {bh_kj} kJ/m3 is less than a quarter of B_r H_c = \
             {most_by_corner} kJ/m3, so the curve would sag below the straight line"
        )
    } else if gamma >= 1.0 {
        format!("the energy product {bh_kj} kJ/m3 is more than B_r H_c = {most_by_corner} kJ/m3")
    } else if bh >= most_by_remanence {
        format!(
            "the energy product {bh_kj} kJ/m3 is more than B_r^2/(4 mu_0) = {} kJ/m3, the most \
             that this remanence allows",
            figures(most_by_remanence * 1e-3)
        )
    } else if gamma > sharpness(SQUAREST, k) {
        format!(
            "the energy product {bh_kj} kJ/m3 is more than {} kJ/m3, the most that a smooth curve \
             of this remanence and coercivity allows",
            figures(sharpness(SQUAREST, k) * br * hc * 1e-3)
        )
    } else {
        return Ok(());
    };
    Err(LawError::Contradiction(fault))
}

/// r for given a and s.
fn scale(a: f64, s: f64) -> f64 {
    0.5 * (a + (a * a + 4.0 * a * (1.0 - a) / (1.0 - s)).sqrt())
}

/// gamma of the normalised curve with `a` and slope `s` at the remanence.
fn sharpness(a: f64, s: f64) -> f64 {
    let r = scale(a, s);
    let km = (r - 1.0) / (r - a);
    let b = |h: f64| km * h + (r + h) / (r + a * h);
    // -h b is concave: halve by the sign of b + h db/dh.
    let h = halve(-1.0, 0.0, |h| {
        let below = r + a * h;
        b(h) + h * (km + r * (1.0 - a) / (below * below)) > 0.0
    });
    -h * b(h)
}

/// The point of `low`..`high` from which on `is_past` holds.
fn halve(mut low: f64, mut high: f64, is_past: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if is_past(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    /// m, r, a worked out independently in double precision for nominal alnico: B_r (T),
    /// H_cB (kA/m), (BH)max (kJ/m3), mu_rec; m, r, a.
    const WORKED: [[f64; 7]; 10] = [
        [0.750, 45.0, 13.5, 6.4, 5.21719, 1.0613788, 0.9053444],
        [0.700, 38.0, 10.7, 6.5, 4.62173, 1.0626977, 0.8638359],
        [1.280, 51.0, 43.8, 4.3, 4.133867, 1.0021757, 0.9916638],
        [1.280, 51.0, 43.8, 3.6, 3.320238, 1.0028007, 0.9859533],
        [1.330, 53.0, 51.7, 4.0, 3.955223, 1.0005541, 0.9977565],
        [1.350, 59.0, 59.7, 3.8, 3.784524, 1.0002231, 0.9991499],
        [1.050, 62.0, 31.0, 5.3, 4.769653, 1.0220316, 0.9597805],
        [0.820, 131.0, 42.2, 2.0, 0.803474, 1.0484356, 0.7481562],
        [0.720, 151.0, 39.8, 2.0, 1.428071, 1.1000658, 0.8341883],
        [1.060, 119.0, 71.6, 1.5, 1.144800, 1.0097457, 0.9494016],
    ];

    #[test]
    fn agrees_with_the_worked_constants() {
        for [br, hc, bh, recoil, m, r, a] in WORKED {
            let fit = fit(br, hc * 1e3, bh * 1e3, recoil).unwrap();
            let got = fit.curve;
            // The worked values are printed to 7 digits (m to 6).
            assert!((got.m - m).abs() < 2e-6 * m.max(1.0), "m {} {m}", got.m);
            assert!((got.scale / (hc * 1e3) - r).abs() < 2e-7, "r {} {r}", got.scale / hc);
            assert!((got.a - a).abs() < 2e-7, "a {} {a}", got.a);
            assert_eq!(fit.remark, None);
        }
    }
}
