//! One turn of a racetrack coil: two straight sides joined by half circles, on its axis.
//!
//! In: half the distance s between the centres of the half circles (along x), their radius a, the
//! height z above the plane of the turn. Out: B_z per ampere at (0, 0, z).
//!
//! Straight sides at y = +-a from -s to s, by Biot-Savart: each gives
//! mu_0/(4 pi) a/(a^2 + z^2) 2 s/sqrt(s^2 + a^2 + z^2). `[Jackson1998]`, section 5.2.
//!
//! Half circles, integrand a (a + s cos phi)/(a^2 + s^2 + z^2 + 2 a s cos phi)^(3/2) over
//! |phi| < pi/2. With phi = 2 psi and k^2 = 4 a s/((a + s)^2 + z^2) this becomes incomplete
//! elliptic integrals of the amplitude pi/4, with
//! integral of (1 - k^2 sin^2)^(-3/2) = (E - k^2 sin cos/sqrt(1 - k^2 sin^2))/(1 - k^2) [DLMF 19.4].

use std::f64::consts::{FRAC_PI_4, PI};

use lodestring::units::MU_0;

/// B_z per ampere of one turn on its axis, T/A. `s` half the distance of the half circles'
/// centres, `a` their radius, `z` the height above the turn, m.
pub fn turn_on_axis(s: f64, a: f64, z: f64) -> f64 {
    2.0 * (straight_side(s, a, z) + half_circle(s, a, z))
}

/// One straight side of length 2 s at the distance `a`.
fn straight_side(s: f64, a: f64, z: f64) -> f64 {
    let d2 = a * a + z * z;
    MU_0 / (4.0 * PI) * a / d2 * 2.0 * s / (s * s + d2).sqrt()
}

/// One half circle of radius `a` whose centre is `s` away, bulging outward.
fn half_circle(s: f64, a: f64, z: f64) -> f64 {
    let far2 = (a + s).powi(2) + z * z;
    let k2 = 4.0 * a * s / far2;
    let (sin2, sin_cos): (f64, f64) = (0.5, 0.5);
    let big_f = ellip::ellipf(FRAC_PI_4, k2).unwrap_or(f64::NAN);
    let big_e = ellip::ellipeinc(FRAC_PI_4, k2).unwrap_or(f64::NAN);
    let cubed = (big_e - k2 * sin_cos / (1.0 - k2 * sin2).sqrt()) / (1.0 - k2);
    // integral of sin^2/(..)^(3/2) = (cubed - F)/k^2; k = 0 leaves a plain half circle.
    let weighted = if k2 == 0.0 { 0.0 } else { (cubed - big_f) / k2 };
    // psi runs from -pi/4 to pi/4 and dphi = 2 dpsi: a factor 4 on the integral from 0.
    let integral = 4.0 * ((a * a + a * s) * cubed - 2.0 * a * s * weighted);
    MU_0 / (4.0 * PI) * integral / far2.powf(1.5)
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;
    use crate::quadrature::integrate;

    #[test]
    fn without_straight_sides_it_is_a_loop() {
        let (a, z): (f64, f64) = (5e-3, 3e-3);
        assert_close(
            turn_on_axis(0.0, a, z),
            MU_0 * a * a / (2.0 * (a * a + z * z).powf(1.5)),
            1e-14,
        );
    }

    #[test]
    fn long_sides_give_two_wires() {
        // The ends are 10 m away: they add about (a/s)^2 = 2.5e-7.
        let (s, a, z): (f64, f64, f64) = (10.0, 5e-3, 3e-3);
        let wires = MU_0 / PI * a / (a * a + z * z);
        assert_close(turn_on_axis(s, a, z), wires, 1e-6);
    }

    #[test]
    fn biot_savart_by_quadrature() {
        for (s, a, z) in [(26e-3, 5e-3, 4e-3), (3e-3, 5e-3, 0.0), (10e-3, 2e-3, -7e-3)] {
            let sides = integrate(|x| 2.0 * a / (x * x + a * a + z * z).powf(1.5), -s, s, 40);
            let arcs = integrate(
                |phi| {
                    let along = phi.cos();
                    let distance2: f64 = a * a + s * s + z * z + 2.0 * a * s * along;
                    2.0 * a * (a + s * along) / distance2.powf(1.5)
                },
                -0.5 * PI,
                0.5 * PI,
                10,
            );
            assert_close(turn_on_axis(s, a, z), MU_0 / (4.0 * PI) * (sides + arcs), 1e-12);
        }
    }
}
