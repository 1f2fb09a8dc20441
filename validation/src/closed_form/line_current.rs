//! Straight currents normal to the plane.
//!
//! In: currents, A, positive out of the page, and their places. Out: flux density
//! B = mu_0 I / (2 pi r) in the sense of phi, and the force per metre between two of them,
//! F' = mu_0 I_1 I_2 / (2 pi d), attraction where both run the same way. A round wire with an even
//! current density acts outside itself, and is acted on, as if its current ran along its centre.
//! Source: `[Jackson1998]`, section 5.3; Ampere's law.

use std::f64::consts::PI;

use lodestring::point::Point;
use lodestring::units::MU_0;

/// A straight current normal to the plane.
#[derive(Clone, Copy, Debug)]
pub struct LineCurrent {
    /// Current, A, positive out of the page.
    pub current: f64,
    /// Its place, m.
    pub at: Point,
}

impl LineCurrent {
    /// Flux density at `p`, T.
    pub fn flux_density(&self, p: Point) -> [f64; 2] {
        let d = p - self.at;
        let scale = MU_0 * self.current / (2.0 * PI * (d.x * d.x + d.y * d.y));
        [-scale * d.y, scale * d.x]
    }

    /// Force per metre on this current in the flux density `b` of everything else, N/m:
    /// F' = I z x B.
    pub fn force_in(&self, b: [f64; 2]) -> [f64; 2] {
        [-self.current * b[1], self.current * b[0]]
    }
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;

    #[test]
    fn two_wires_of_100_a_20_mm_apart_attract_with_a_tenth_of_a_newton_per_metre() {
        let left = LineCurrent { current: 100.0, at: Point::new(0.0, 0.0) };
        let right = LineCurrent { current: 100.0, at: Point::new(0.02, 0.0) };
        let force = left.force_in(right.flux_density(left.at));
        // mu_0 differs from 4e-7 pi by 1.6e-10.
        assert_close(force[0], 0.1, 1e-9);
        assert!(force[1].abs() < 1e-15);
    }

    #[test]
    fn field_runs_counter_clockwise_about_a_current_out_of_the_page() {
        let wire = LineCurrent { current: 1.0, at: Point::new(0.0, 0.0) };
        assert!(wire.flux_density(Point::new(1.0, 0.0))[1] > 0.0);
        assert!(wire.flux_density(Point::new(0.0, 1.0))[0] < 0.0);
    }
}
