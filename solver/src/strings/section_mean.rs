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
//! The fourth-order term is left out for jets that do not reach high enough for it: order 7, or 5 where
//! the mean alone is wanted.

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
    let [axial, across] = CircleMean::both(jet, a, order >= ORDER);
    // H_c = -dphi/dc, and d2/dz2 = -d2/dx2 - d2/dy2.
    let f = |a, b, c| -axial.d(a, b, c);
    let g = |a, b, c| -across.d(a, b, c);
    let zz = |a: usize, b: usize, c: usize| -(g(a + 2, b, c) + g(a, b + 2, c));
    let mut mean = MeanField { h: [f(1, 0, 0), g(0, 1, 0), g(0, 0, 1)], ..MeanField::default() };
    mean.d = [
        [f(2, 0, 0), g(1, 1, 0), g(1, 0, 1)],
        [f(1, 1, 0), g(0, 2, 0), g(0, 1, 1)],
        [f(1, 0, 1), g(0, 1, 1), zz(0, 0, 0)],
    ];
    let f_zz = -(f(3, 0, 0) + f(1, 2, 0));
    mean.dd[0][0] = [f(3, 0, 0), g(2, 1, 0), g(2, 0, 1)];
    mean.dd[0][1] = [f(2, 1, 0), g(1, 2, 0), g(1, 1, 1)];
    mean.dd[0][2] = [f(2, 0, 1), g(1, 1, 1), zz(1, 0, 0)];
    mean.dd[1][1] = [f(1, 2, 0), g(0, 3, 0), g(0, 2, 1)];
    mean.dd[1][2] = [f(1, 1, 1), g(0, 2, 1), zz(0, 1, 0)];
    mean.dd[2][2] = [f_zz, zz(0, 1, 0), zz(0, 0, 1)];
    mean.dd[1][0] = mean.dd[0][1];
    mean.dd[2][0] = mean.dd[0][2];
    mean.dd[2][1] = mean.dd[1][2];
    mean
}

/// The mean H over the section alone; the jet goes to `order` 3 or 5.
pub(crate) fn mean_strength(jet: &PotentialJet, a: f64, order: usize) -> [f64; 3] {
    let [axial, across] = CircleMean::both(jet, a, order >= ORDER - 2);
    [-axial.d(1, 0, 0), -across.d(0, 1, 0), -across.d(0, 0, 1)]
}

/// The mean over a circle about the jet's point.
struct CircleMean<'a> {
    jet: &'a PotentialJet,
    second: f64,
    fourth: f64,
}

impl<'a> CircleMean<'a> {
    /// For axial and for transverse magnetisation of a section of radius `a`.
    fn both(jet: &'a PotentialJet, a: f64, with_fourth: bool) -> [Self; 2] {
        [0.75, 0.5].map(|share| {
            let rho_squared = share * a * a;
            let fourth = if with_fourth { rho_squared * rho_squared / 64.0 } else { 0.0 };
            Self { jet, second: -0.25 * rho_squared, fourth }
        })
    }

    /// Derivative of the mean, a + b + c <= 3, c <= 1.
    #[inline(always)]
    fn d(&self, a: usize, b: usize, c: usize) -> f64 {
        self.jet.level(a, b, c)
            + self.second * self.jet.level(a + 2, b, c)
            + self.fourth * self.jet.level(a + 4, b, c)
    }
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
