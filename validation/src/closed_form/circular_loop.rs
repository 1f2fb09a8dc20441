//! Circular currents on a common axis.
//!
//! In: radii a and b, axial distance d, currents. Out: their mutual inductance
//!
//!   M = mu_0 sqrt(a b) ((2/k - k) K(k) - (2/k) E(k)),   k^2 = 4 a b/((a + b)^2 + d^2),
//!
//! the axial force between them, I_1 I_2 dM/dd, and the flux density of one loop anywhere. Source:
//! `[Maxwell1873]`, art. 701 (mutual inductance); `[Smythe1989]`, field of a circular loop.

use std::f64::consts::PI;

use lodestring::units::MU_0;

/// Bulirsch's complete integral of the complementary modulus, cel(k', 1, a, b): K for a = b = 1, E
/// for a = 1, b = k'^2. Not a number outside its domain.
fn cel(k_prime: f64, a: f64, b: f64) -> f64 {
    ellip::cel(k_prime, 1.0, a, b).unwrap_or(f64::NAN)
}

/// Mutual inductance of two loops of radii `a` and `b`, `d` apart along the axis, H.
pub fn mutual_inductance(a: f64, b: f64, d: f64) -> f64 {
    let far2 = (a + b).powi(2) + d * d;
    let k_prime = (((a - b).powi(2) + d * d) / far2).sqrt();
    let k = (4.0 * a * b / far2).sqrt();
    // (2/k - k) K - (2/k) E as one integral, without their cancellation.
    MU_0 * (a * b).sqrt() * k * cel(k_prime, -1.0, 1.0)
}

/// Attraction of two loops that carry 1 A in the same sense, -dM/dd, N/A^2:
/// mu_0 d k/(4 sqrt(a b)) ((2 - k^2)/(1 - k^2) E - 2 K).
pub fn attraction(a: f64, b: f64, d: f64) -> f64 {
    let far2 = (a + b).powi(2) + d * d;
    let k2 = 4.0 * a * b / far2;
    let rest = ((a - b).powi(2) + d * d) / far2;
    let (big_k, big_e) = (cel(rest.sqrt(), 1.0, 1.0), cel(rest.sqrt(), 1.0, rest));
    MU_0 * d * k2.sqrt() / (4.0 * (a * b).sqrt()) * ((2.0 - k2) / rest * big_e - 2.0 * big_k)
}

/// Flux density (B_rho, B_z) per ampere of a loop of radius `a` in the plane z = 0, T/A.
pub fn flux_density(a: f64, rho: f64, z: f64) -> [f64; 2] {
    let far2 = (a + rho).powi(2) + z * z;
    let near2 = (a - rho).powi(2) + z * z;
    let rest = near2 / far2;
    let (big_k, big_e) = (cel(rest.sqrt(), 1.0, 1.0), cel(rest.sqrt(), 1.0, rest));
    let scale = MU_0 / (2.0 * PI * far2.sqrt());
    let bz = scale * (big_k + (a * a - rho * rho - z * z) / near2 * big_e);
    if rho == 0.0 {
        return [0.0, bz];
    }
    [scale * z / rho * (-big_k + (a * a + rho * rho + z * z) / near2 * big_e), bz]
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;
    use crate::quadrature::integrate;

    #[test]
    fn mutual_inductance_of_four_pairs() {
        // Half a unit of the last digit printed.
        for (a, b, d, m) in [
            (0.1, 0.1, 0.1, 4.940785e-8),
            (0.1, 0.1, 0.05, 1.1126109e-7),
            (0.05, 0.1, 0.05, 3.4936623e-8),
            (3e-3, 10e-3, 2e-3, 1.7203960e-9),
        ] {
            assert_close(mutual_inductance(a, b, d), m, 1.1e-7);
            assert_close(mutual_inductance(b, a, d), m, 1.1e-7);
        }
    }

    #[test]
    fn attraction_is_printed_and_is_the_slope_of_the_inductance() {
        assert_close(attraction(0.1, 0.1, 0.05), 2.0693744e-6, 3e-8);
        let step = 1e-6;
        let slope = (mutual_inductance(0.05, 0.1, 0.05 + step)
            - mutual_inductance(0.05, 0.1, 0.05 - step))
            / (2.0 * step);
        // Round-off of the difference: 1e-16/(step/d).
        assert_close(-slope, attraction(0.05, 0.1, 0.05), 1e-9);
    }

    #[test]
    fn field_on_the_axis_and_flux_through_the_other_loop() {
        assert_close(
            flux_density(0.1, 0.0, 0.05)[1],
            MU_0 * 0.01 / (2.0 * 0.0125f64.powf(1.5)),
            1e-14,
        );
        let flux = integrate(|rho| 2.0 * PI * rho * flux_density(0.1, rho, 0.05)[1], 0.0, 0.07, 8);
        assert_close(flux, mutual_inductance(0.1, 0.07, 0.05), 1e-10);
        // Radial field from the same integral by the divergence: flux lost per unit height.
        let step = 1e-5;
        let through =
            |z: f64| integrate(|rho| 2.0 * PI * rho * flux_density(0.1, rho, z)[1], 0.0, 0.07, 8);
        let lost = -(through(0.05 + step) - through(0.05 - step)) / (2.0 * step);
        // Second-order difference over 1e-5 of a length of 0.05.
        assert_close(flux_density(0.1, 0.07, 0.05)[0] * 2.0 * PI * 0.07, lost, 1e-6);
    }
}
