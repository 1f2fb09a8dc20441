//! Round rod magnetised along its axis, on and off the axis, inside and out.
//!
//! In: radius R, length L, remanence B_r, permeability 1. The rod is an ideal solenoid with the
//! surface current B_r/mu_0. With h = L/2, z+- = z +- h,
//! alpha+- = R/sqrt(z+-^2 + (rho + R)^2), beta+- = z+-/sqrt(z+-^2 + (rho + R)^2),
//! gamma = (R - rho)/(R + rho), k+-^2 = (z+-^2 + (R - rho)^2)/(z+-^2 + (R + rho)^2):
//!
//!   B_rho = B_r/pi (alpha+ C(k+, 1, 1, -1) - alpha- C(k-, 1, 1, -1))
//!   B_z   = B_r/pi R/(R + rho) (beta+ C(k+, gamma^2, 1, gamma) - beta- C(k-, gamma^2, 1, gamma))
//!
//! where C is Bulirsch's complete integral. Source: `[DerbyOlbert2010]`, equations (4) to (6);
//! `[Bulirsch1969]` for C.

use std::f64::consts::PI;

/// The rod, centred on the origin, magnetised along +z.
#[derive(Clone, Copy, Debug)]
pub struct CylinderMagnet {
    /// Radius, m.
    pub radius: f64,
    /// Length along the axis, m.
    pub length: f64,
    /// Remanence, T.
    pub remanence: f64,
}

impl CylinderMagnet {
    /// Flux density (B_rho, B_z) at radius `rho` and height `z` above the middle, T.
    pub fn flux_density(&self, rho: f64, z: f64) -> [f64; 2] {
        let upper = self.disc_edge(rho, z + 0.5 * self.length);
        let lower = self.disc_edge(rho, z - 0.5 * self.length);
        [upper[0] - lower[0], upper[1] - lower[1]].map(|b| b * self.remanence / PI)
    }

    /// What one end of the solenoid adds, over B_r/pi.
    fn disc_edge(&self, rho: f64, z: f64) -> [f64; 2] {
        let r = self.radius;
        let far = z.hypot(rho + r);
        let near = z.hypot(rho - r);
        let gamma = (r - rho) / (r + rho);
        let radial = r / far * cel(near / far, 1.0, 1.0, -1.0);
        // On the line of the surface the integrand has a delta of strength +-1 that the two ends
        // cancel (outside the length); the mean of both sides is left.
        let swept = if gamma == 0.0 {
            cel(near / far, 1.0, 1.0, 1.0)
        } else {
            cel(near / far, gamma * gamma, 1.0, gamma)
        };
        [radial, r / (r + rho) * z / far * swept]
    }
}

/// Bulirsch's complete integral; not a number outside its domain.
fn cel(kc: f64, p: f64, a: f64, b: f64) -> f64 {
    ellip::cel(kc, p, a, b).unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;
    use crate::quadrature::integrate;

    const ROD: CylinderMagnet = CylinderMagnet { radius: 2.5e-3, length: 17e-3, remanence: 1.0 };

    fn from_top(rho: f64, height: f64) -> [f64; 2] {
        ROD.flux_density(rho * 1e-3, 0.5 * ROD.length + height * 1e-3)
    }

    #[test]
    fn on_the_axis() {
        // Half a unit of the last digit printed.
        for (height, b) in [
            (0.0, 0.4946794),
            (1.0, 0.3095508),
            (2.0, 0.1833796),
            (3.0, 0.1120283),
            (5.0, 0.0495890),
        ] {
            assert_close(from_top(0.0, height)[1], b, 1e-6);
            // The textbook form on the axis.
            let z = height * 1e-3;
            let cosine = |z: f64| z / z.hypot(ROD.radius);
            assert_close(
                from_top(0.0, height)[1],
                0.5 * (cosine(z + ROD.length) - cosine(z)),
                1e-12,
            );
        }
    }

    #[test]
    fn off_the_axis() {
        for (rho, height, b_rho, b_z) in [
            (1.25, 2.0, 0.0556173, 0.1615172),
            (2.5, 2.0, 0.0841052, 0.1023266),
            (5.0, 2.0, 0.0498769, 0.0203611),
            (10.0, 3.0, 0.0125252, 0.0015768),
        ] {
            let b = from_top(rho, height);
            // Half a unit of the last digit printed.
            assert!((b[0] - b_rho).abs() < 6e-8, "{} against {b_rho}", b[0]);
            assert!((b[1] - b_z).abs() < 6e-8, "{} against {b_z}", b[1]);
        }
        assert_close(from_top(5.0, -8.5)[1], -0.0272020, 2e-6);
    }

    #[test]
    fn everywhere_the_sum_over_charged_end_faces() {
        for (rho, z) in [(1.0e-3, 9.5e-3), (6e-3, 2e-3), (1.3e-3, 3e-3)] {
            let b = ROD.flux_density(rho, z);
            let component = |axial: bool| {
                integrate(
                    |s| {
                        integrate(
                            |phi| {
                                let from = |height: f64| {
                                    let (dx, dy, dz) =
                                        (rho - s * phi.cos(), s * phi.sin(), z - height);
                                    let distance = (dx * dx + dy * dy + dz * dz).sqrt();
                                    (if axial { dz } else { dx }) / (4.0 * PI * distance.powi(3))
                                };
                                s * (from(0.5 * ROD.length) - from(-0.5 * ROD.length))
                            },
                            0.0,
                            2.0 * PI,
                            8,
                        )
                    },
                    0.0,
                    ROD.radius,
                    8,
                )
            };
            let inside = rho < ROD.radius && z.abs() < 0.5 * ROD.length;
            // 1e-8: what 128 x 128 points leave 1 mm off a face.
            assert!((b[0] - component(false)).abs() < 1e-8);
            assert!((b[1] - component(true) - f64::from(u8::from(inside))).abs() < 1e-8);
        }
    }
}
