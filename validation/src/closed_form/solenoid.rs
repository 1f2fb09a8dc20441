//! Inductance of a single-layer coil as a cylindrical current sheet.
//!
//! In: turns N, diameter D, length l. Out: L = mu_0 N^2 (pi D^2/4) K_L / l with Nagaoka's
//! coefficient
//!
//!   K_L = 4/(3 pi k') ((k'^2/k^2) (K - E) + E - k),   k^2 = D^2/(D^2 + l^2),   k'^2 = 1 - k^2.
//!
//! Source: `[Nagaoka1909]`; `[RosaGrover1912]`, formulas for single-layer coils.

use std::f64::consts::PI;

use lodestring::units::MU_0;

/// Nagaoka's coefficient for a coil of the ratio D/l.
pub fn nagaoka(diameter_over_length: f64) -> f64 {
    let k2 = diameter_over_length.powi(2) / (1.0 + diameter_over_length.powi(2));
    let big_k = ellip::ellipk(k2).unwrap_or(f64::NAN);
    let big_e = ellip::ellipe(k2).unwrap_or(f64::NAN);
    let k_prime2 = 1.0 / (1.0 + diameter_over_length.powi(2));
    4.0 / (3.0 * PI * k_prime2.sqrt()) * (k_prime2 / k2 * (big_k - big_e) + big_e - k2.sqrt())
}

/// Inductance of `turns` on the `diameter` over the `length`, m, as a current sheet, H.
pub fn inductance(turns: f64, diameter: f64, length: f64) -> f64 {
    MU_0 * turns * turns * PI * diameter * diameter / (4.0 * length) * nagaoka(diameter / length)
}

#[cfg(test)]
mod tests {
    use super::super::circular_loop::mutual_inductance;
    use super::super::closeness::assert_close;
    use super::*;
    use crate::quadrature::integrate;

    #[test]
    fn coefficients_as_tabulated() {
        // Half a unit of the last digit tabulated.
        for (ratio, coefficient) in [
            (0.1, 0.958807),
            (0.2, 0.920093),
            (0.5, 0.818136),
            (1.0, 0.688423),
            (2.0, 0.525510),
            (5.0, 0.319825),
            (10.0, 0.203324),
        ] {
            assert_close(nagaoka(ratio), coefficient, 2.5e-6);
        }
        assert_close(inductance(1000.0, 20e-3, 50e-3), 6.710174e-3, 1e-7);
    }

    #[test]
    fn the_sheet_is_the_sum_of_its_loops() {
        // L/N^2 = (2/l^2) integral_0^l (l - s) M(s) ds; the logarithm at s = 0 is tamed by s = t^4.
        let (radius, length): (f64, f64) = (10e-3, 50e-3);
        let sum = integrate(
            |t| {
                let s = t.powi(4);
                (length - s) * mutual_inductance(radius, radius, s) * 4.0 * t.powi(3)
            },
            0.0,
            length.powf(0.25),
            40,
        );
        assert_close(2.0 / (length * length) * sum, inductance(1.0, 2.0 * radius, length), 1e-9);
    }
}
