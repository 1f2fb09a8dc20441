//! Long cylinder magnetised across its axis, and two of them side by side.
//!
//! In: radius R, remanence B_r (a vector), recoil permeability mu. The demagnetising factor is 1/2,
//! so the load line is B = -mu_0 H and with B = B_r + mu_0 mu H the field inside is uniform,
//! B = B_r/(1 + mu), which for mu = 1 is B_r/2 with H = -M/2. Outside it is a line dipole of the
//! same strength at the surface. Source: `[Smythe1989]`; `[Furlani2001]`, chapter 3.
//!
//! Two cylinders with mu = 1, magnetised along the line of centres, attract with
//! F' = pi B_r1 B_r2 R_1^2 R_2^2 / (mu_0 d^3). Each sees the other as a pure line dipole, and the
//! mean of the (harmonic) field gradient over a disc is its value at the centre: exact. The dipole
//! of the first has B(y) = B_r1 R_1^2/(2 y^2) on the axis, and the force per metre on the second is
//! pi R_2^2 (B_r2/mu_0) dB/dy.

use std::f64::consts::PI;

use lodestring::point::Point;
use lodestring::units::MU_0;

use super::permeable_cylinder::line_dipole;

/// The cylinder, centred on the origin.
#[derive(Clone, Copy, Debug)]
pub struct MagnetisedCylinder {
    /// Radius, m.
    pub radius: f64,
    /// Remanence along x and y, T.
    pub remanence: [f64; 2],
    /// Recoil permeability, relative, the same in every direction.
    pub mu_r: f64,
}

impl MagnetisedCylinder {
    /// Flux density at `p`, T.
    pub fn flux_density(&self, p: Point) -> [f64; 2] {
        let inside = self.remanence.map(|b| b / (1.0 + self.mu_r));
        if p.distance(Point::default()) < self.radius {
            return inside;
        }
        line_dipole(inside, self.radius, p)
    }
}

/// Attraction per metre of two cylinders of permeability 1, both magnetised along the line of
/// centres and in the same sense, N/m. `remanence` in T, `radius` and `distance` of centres in m.
pub fn attraction(remanence: [f64; 2], radius: [f64; 2], distance: f64) -> f64 {
    let moment = remanence[0] * remanence[1] * (radius[0] * radius[1]).powi(2);
    PI * moment / (MU_0 * distance.powi(3))
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;
    use crate::quadrature::integrate;

    #[test]
    fn inside_half_the_remanence_and_an_eighth_two_radii_out() {
        let cylinder = MagnetisedCylinder { radius: 3e-3, remanence: [0.0, 1.0], mu_r: 1.0 };
        assert_close(cylinder.flux_density(Point::new(1e-3, 2e-3))[1], 0.5, 1e-15);
        assert_close(cylinder.flux_density(Point::new(0.0, 6e-3))[1], 0.125, 1e-15);
    }

    #[test]
    fn outside_field_is_that_of_the_surface_current() {
        // K = M x n = -(B_r/mu_0) cos(theta) round the cylinder, summed by quadrature.
        let radius = 3e-3;
        let cylinder = MagnetisedCylinder { radius, remanence: [0.0, 1.2], mu_r: 1.0 };
        let p = Point::new(4e-3, 2.5e-3);
        let expected = cylinder.flux_density(p);
        for axis in 0..2 {
            let sum = integrate(
                |theta| {
                    let source = Point::new(radius * theta.cos(), radius * theta.sin());
                    let current = -1.2 / MU_0 * theta.cos() * radius;
                    super::super::line_current::LineCurrent { current, at: source }.flux_density(p)
                        [axis]
                },
                0.0,
                2.0 * PI,
                8,
            );
            assert_close(sum, expected[axis], 1e-10);
        }
    }

    #[test]
    fn attraction_of_two_5_mm_cylinders_12_mm_apart() {
        // 1e-7: half a unit of the last digit printed.
        assert_close(attraction([1.0, 1.0], [5e-3, 5e-3], 12e-3), 904.2245, 1e-7);
    }

    #[test]
    fn attraction_is_the_force_on_the_surface_current_of_the_other() {
        // F'_y = integral over the second surface of K B_x, with K = -(B_r/mu_0) cos(theta).
        let first = MagnetisedCylinder { radius: 5e-3, remanence: [0.0, 1.0], mu_r: 1.0 };
        let force = integrate(
            |theta| {
                let p = Point::new(4e-3 * theta.cos(), 12e-3 + 4e-3 * theta.sin());
                -0.8 / MU_0 * theta.cos() * first.flux_density(p)[0] * 4e-3
            },
            0.0,
            2.0 * PI,
            8,
        );
        assert_close(-force, attraction([1.0, 0.8], [5e-3, 4e-3], 12e-3), 1e-9);
    }
}
