//! Means of an outer field over a string's section, from its derivatives on the string's axis.
//!
//! The mean of a harmonic function over a circle of radius rho about the axis (normal to x) is
//! f - rho^2/4 f_xx + rho^4/64 f_xxxx - ... (I_0 of the rotated wave number).
//!
//! - Transverse magnetisation sees the mean over the disc. For the cross components of a gradient
//!   that is 2 I_1(ka)/(ka) of a wave k along x, matched to second order by rho^2 = a^2/2.
//! - Axial magnetisation answers the mean over the disc but its flux leaves through the
//!   circumference. One mean for both keeps the energy symmetric: the geometric mean
//!   sqrt(I_0(ka) 2 I_1(ka)/(ka)) = 1 + 3/16 (ka)^2 + ..., matched by rho^2 = 3 a^2/4; the next
//!   terms are 0.1406 and 0.1354 times (ka/2)^4.
//!
//! The fourth-order term is left out for jets that do not reach order 7.

use crate::strings::jet::{ORDER, PotentialJet};

/// Mean H of the outer field over the section at a node, and its derivatives with respect to the
/// string's place.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct MeanField {
    /// H, A/m.
    pub h: [f64; 3],
    /// `d[p][c]` = dH_c/dp for a move of the string along p.
    pub d: [[f64; 3]; 3],
    /// `dd[p][q][c]`.
    pub dd: [[[f64; 3]; 3]; 3],
}

/// Means over the section of radius `a` about the jet's point; the jet goes to `order` 5 or 7.
pub(crate) fn section_mean(jet: &PotentialJet, a: f64, order: usize) -> MeanField {
    let axial = circle_mean(jet, 0.75 * a * a, order).field();
    let across = circle_mean(jet, 0.5 * a * a, order).field();
    let mut mean = MeanField::default();
    for c in 0..3 {
        let from = if c == 0 { &axial } else { &across };
        mean.h[c] = from.h[c];
        for p in 0..3 {
            mean.d[p][c] = from.gradient[c][p];
            for q in 0..3 {
                mean.dd[p][q][c] = from.second[c][p][q];
            }
        }
    }
    mean
}

/// The jet of the mean over a circle, up to order 3.
fn circle_mean(jet: &PotentialJet, rho_squared: f64, order: usize) -> PotentialJet {
    let fourth = if order >= ORDER { rho_squared * rho_squared / 64.0 } else { 0.0 };
    let mut mean = PotentialJet::ZERO;
    for a in 0..=ORDER - 4 {
        for b in 0..=ORDER - 4 - a {
            for c in 0..=(ORDER - 4 - a - b).min(1) {
                let value = jet.d(a, b, c) - 0.25 * rho_squared * jet.d(a + 2, b, c)
                    + fourth * jet.d(a + 4, b, c);
                mean.set(a, b, c, value);
            }
        }
    }
    mean
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strings::test_fields::rod_a_phi;
    use crate::strings::{PlaneSampling, UpperField};
    use crate::units::MM;

    #[test]
    fn close_to_direct_means_over_disc_and_circumference() {
        let sampling = PlaneSampling {
            z0: 0.5 * MM,
            lowest: 1.2 * MM,
            reach: 45.0 * MM,
            rough: 2.5 * MM,
            extent: 300.0 * MM,
            depth: 9.0 * MM,
        };
        let field = UpperField::axisymmetric(
            |r| rod_a_phi(2.4 * MM, 17.0 * MM, 1.2, r, 0.5 * MM),
            &sampling,
        );
        let (p, a) = ([1.7 * MM, 0.3 * MM, 2.5 * MM], 0.5 * MM);
        let mean = section_mean(&field.jets(&[p], ORDER)[0], a, ORDER);
        // Direct: 16 angles (exact for the harmonics that matter) and 4 radii.
        let circle = |rho: f64| {
            let mut h = [0.0; 3];
            for i in 0..16 {
                let (s, c) = (std::f64::consts::TAU * i as f64 / 16.0).sin_cos();
                let at = field.eval([p[0], p[1] + rho * c, p[2] + rho * s]).h;
                (0..3).for_each(|c| h[c] += at[c] / 16.0);
            }
            h
        };
        let (nodes, weights) = crate::strings::gauss::gauss_legendre(4);
        let mut disc = [0.0; 3];
        for (u, w) in nodes.iter().zip(&weights) {
            let rho = 0.5 * a * (u + 1.0);
            let h = circle(rho);
            (0..3).for_each(|c| disc[c] += w * rho / a * h[c]);
        }
        let rim = circle(a);
        let axial = (disc[0] * rim[0]).sqrt() * disc[0].signum();
        // The neglected sixth order, (ka/2)^6 with ka about 0.3.
        assert!((mean.h[0] / axial - 1.0).abs() < 1e-4, "{} {axial}", mean.h[0]);
        assert!((mean.h[1] / disc[1] - 1.0).abs() < 1e-4);
        assert!((mean.h[2] / disc[2] - 1.0).abs() < 1e-4);
        // The means differ from the axis value by much more than that.
        assert!((field.eval(p).h[2] / disc[2] - 1.0).abs() > 1e-3);
    }
}
