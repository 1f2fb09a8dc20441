//! Demagnetisation curves with a closed form.
//!
//! In: remanence B_r, coercivity H_c, maximum energy product (BH)_max, and for the fitted form the
//! recoil permeability. Out: B(H) for -H_c <= H <= 0.
//!
//! Rectangular hyperbola in B, three data: B = B_r (H_c + H)/(H_c + a H),
//! a = (2 sqrt(gamma) - 1)/gamma, gamma = (BH)_max/(B_r H_c): in the scaled variables the curve is
//! symmetric about its diagonal, so that the best point lies on it. `[HornfeckEdgar1940]`,
//! `[ParkerStudders1962]`
//!
//! Four data: B = mu_0 m H + B_r (H_x + H)/(H_x + a H) with H_x = r H_c; m, r and a follow from
//! B(-H_c) = 0, the largest -H B, and the slope at H = 0, which is the recoil permeability. The fit
//! here is written from those three conditions alone, by nested bisection.

use lodestring::units::MU_0;

/// Hyperbola in B through three data.
#[derive(Clone, Copy, Debug)]
pub struct Hyperbola {
    remanence: f64,
    coercivity: f64,
    a: f64,
}

impl Hyperbola {
    /// The curve of `remanence`, T, `coercivity`, A/m, and `energy_product`, J/m3.
    pub fn through(remanence: f64, coercivity: f64, energy_product: f64) -> Self {
        let gamma = energy_product / (remanence * coercivity);
        Self { remanence, coercivity, a: (2.0 * gamma.sqrt() - 1.0) / gamma }
    }

    /// Flux density at -H_c <= `h` <= 0, T.
    pub fn flux_density(&self, h: f64) -> f64 {
        self.remanence * (self.coercivity + h) / (self.coercivity + self.a * h)
    }
}

/// Straight line plus hyperbola through four data.
#[derive(Clone, Copy, Debug)]
pub struct FourDataCurve {
    remanence: f64,
    coercivity: f64,
    /// Slope of the straight part, relative to mu_0.
    pub m: f64,
    /// H_x / H_c.
    pub r: f64,
    /// Curvature of the hyperbola.
    pub a: f64,
}

impl FourDataCurve {
    /// The curve of `remanence`, T, `coercivity`, A/m, `energy_product`, J/m3, and relative
    /// `recoil` permeability.
    pub fn through(remanence: f64, coercivity: f64, energy_product: f64, recoil: f64) -> Self {
        // Slope of the recoil line from (-H_c, 0) to H = 0, over the remanence.
        let slope = MU_0 * recoil * coercivity / remanence;
        let at = |a: f64| {
            let r = Self::scale(slope, a);
            let m = recoil - remanence * (1.0 - a) / (MU_0 * r * coercivity);
            Self { remanence, coercivity, m, r, a }
        };
        // From the plain hyperbola of that slope (a = 1 - slope, m = 0) to a rectangle on the
        // recoil line (a = 1) the curve bulges more and more.
        let (mut low, mut high) = (1.0 - slope, 1.0);
        for _ in 0..200 {
            let a = 0.5 * (low + high);
            if at(a).energy_product() < energy_product {
                low = a;
            } else {
                high = a;
            }
        }
        at(0.5 * (low + high))
    }

    /// r from B(-H_c) = 0 at a given a: B_r (r - 1)/(r - a) = mu_0 m H_c with
    /// m = mu_rec - B_r (1 - a)/(mu_0 r H_c), whose left side less the right rises with r.
    fn scale(slope: f64, a: f64) -> f64 {
        let excess = |r: f64| (r - 1.0) / (r - a) + (1.0 - a) / r - slope;
        let (mut low, mut high) = (1.0, 10.0);
        for _ in 0..200 {
            let r = 0.5 * (low + high);
            if excess(r) < 0.0 {
                low = r;
            } else {
                high = r;
            }
        }
        0.5 * (low + high)
    }

    /// Flux density at -H_c <= `h` <= 0, T.
    pub fn flux_density(&self, h: f64) -> f64 {
        let hx = self.r * self.coercivity;
        MU_0 * self.m * h + self.remanence * (hx + h) / (hx + self.a * h)
    }

    /// The largest -H B, J/m3, by golden-section search.
    pub fn energy_product(&self) -> f64 {
        let product = |h: f64| -h * self.flux_density(h);
        let golden = 0.5 * (5f64.sqrt() - 1.0);
        let (mut low, mut high) = (-self.coercivity, 0.0);
        for _ in 0..100 {
            let (left, right) = (high - golden * (high - low), low + golden * (high - low));
            if product(left) > product(right) {
                high = right;
            } else {
                low = left;
            }
        }
        product(0.5 * (low + high))
    }
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;

    #[test]
    fn hyperbola_has_its_best_point_on_the_diagonal() {
        let curve = Hyperbola::through(0.75, 45e3, 13.5e3);
        let gamma: f64 = 13.5e3 / (0.75 * 45e3);
        let best = -gamma.sqrt() * 45e3;
        assert_close(-best * curve.flux_density(best), 13.5e3, 1e-12);
        assert!(-best * 0.99 * curve.flux_density(best * 0.99) < 13.5e3);
        assert!(-best * 1.01 * curve.flux_density(best * 1.01) < 13.5e3);
    }

    #[test]
    fn four_data_parameters_of_cast_grades() {
        // Half a unit of the last digit published for m, r and a.
        for (remanence, coercivity, energy_product, recoil, m, r, a) in [
            (0.75, 45e3, 13.5e3, 6.4, 5.21719, 1.0613788, 0.9053444),
            (0.70, 38e3, 10.7e3, 6.5, 4.62173, 1.0626977, 0.8638359),
            (1.28, 51e3, 43.8e3, 4.3, 4.133867, 1.0021757, 0.9916638),
            (1.05, 62e3, 31.0e3, 5.3, 4.769653, 1.0220316, 0.9597805),
            (0.82, 131e3, 42.2e3, 2.0, 0.803474, 1.0484356, 0.7481562),
            (1.06, 119e3, 71.6e3, 1.5, 1.144800, 1.0097457, 0.9494016),
        ] {
            let curve = FourDataCurve::through(remanence, coercivity, energy_product, recoil);
            assert_close(curve.m, m, 2e-6);
            assert_close(curve.r, r, 1e-7);
            assert_close(curve.a, a, 2e-7);
            // Its own data back: the search for the best point is good to about 1e-12.
            assert_close(curve.energy_product(), energy_product, 1e-10);
            assert!(curve.flux_density(-coercivity).abs() < 1e-10);
            let step = 1e-3 * coercivity;
            let slope = (remanence - curve.flux_density(-step)) / (MU_0 * step);
            // First-order difference over a thousandth of the range.
            assert_close(slope, recoil, 3e-3);
        }
    }
}
