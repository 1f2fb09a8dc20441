//! Long permeable tube across a uniform field: what a shield lets through.
//!
//! In: inner radius a, outer radius b, relative permeability mu, flux density B_0 far away. Out:
//! the bore field B_0/S with S = ((mu + 1)^2 - (mu - 1)^2 a^2/b^2)/(4 mu), and the field everywhere.
//! In the bore H is uniform; in the wall and outside a line dipole is added. With H_i in the bore
//! the wall has p = H_i (mu + 1)/(2 mu) uniform and q = -H_i (mu - 1)/(2 mu) as dipole at r = a.
//! Source: `[Smythe1989]`, magnetic shielding of bifilar circuits and cylinders; `[Jackson1998]`, 5.12
//! for the method.

use lodestring::point::Point;

use super::permeable_cylinder::line_dipole;

/// The tube, centred on the origin.
#[derive(Clone, Copy, Debug)]
pub struct CylindricalShell {
    /// Inner radius, m.
    pub inner: f64,
    /// Outer radius, m.
    pub outer: f64,
    /// Relative permeability.
    pub mu_r: f64,
    /// Flux density far away, T.
    pub applied: [f64; 2],
}

impl CylindricalShell {
    /// Shielding factor S: applied over bore field.
    pub fn shielding(&self) -> f64 {
        let mu = self.mu_r;
        let ratio = self.inner / self.outer;
        ((mu + 1.0).powi(2) - ((mu - 1.0) * ratio).powi(2)) / (4.0 * mu)
    }

    /// Flux density at `p`, T.
    pub fn flux_density(&self, p: Point) -> [f64; 2] {
        let mu = self.mu_r;
        let bore = self.applied.map(|b| b / self.shielding());
        let r = p.distance(Point::default());
        if r < self.inner {
            return bore;
        }
        let uniform = bore.map(|b| b * (mu + 1.0) / (2.0 * mu));
        let wall_dipole = bore.map(|b| -b * (mu - 1.0) / (2.0 * mu));
        if r < self.outer {
            let dipole = line_dipole(wall_dipole, self.inner, p);
            return [mu * (uniform[0] + dipole[0]), mu * (uniform[1] + dipole[1])];
        }
        // mu (p + q a^2/b^2) = B_0 + d at r = b, along the field.
        let shrunk = (self.inner / self.outer).powi(2);
        let outside = [0, 1].map(|i| mu * (uniform[i] + shrunk * wall_dipole[i]) - self.applied[i]);
        let dipole = line_dipole(outside, self.outer, p);
        [self.applied[0] + dipole[0], self.applied[1] + dipole[1]]
    }
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;

    fn tube(mu_r: f64) -> CylindricalShell {
        CylindricalShell { inner: 10e-3, outer: 12e-3, mu_r, applied: [0.2, 1.0] }
    }

    #[test]
    fn shielding_of_three_tubes() {
        // Half a unit of the last digit printed.
        for (mu_r, s) in [(100.0, 8.486875), (1000.0, 77.236187), (10000.0, 764.73612)] {
            assert_close(tube(mu_r).shielding(), s, 1e-7);
        }
    }

    #[test]
    fn normal_flux_density_and_tangential_field_strength_pass_both_surfaces_unbroken() {
        let shell = tube(30.0);
        for (radius, mu_in, mu_out) in [(10e-3, 1.0, 30.0), (12e-3, 30.0, 1.0)] {
            for i in 0..12 {
                let (sin, cos) = (0.1 + 0.5 * f64::from(i)).sin_cos();
                let at = |r: f64| shell.flux_density(Point::new(r * cos, r * sin));
                let (inner, outer) = (at(radius * (1.0 - 1e-12)), at(radius * (1.0 + 1e-12)));
                // The step of 1e-12 in r times slopes of order 10.
                let normal = |b: [f64; 2]| b[0] * cos + b[1] * sin;
                let tangential = |b: [f64; 2]| -b[0] * sin + b[1] * cos;
                assert!((normal(inner) - normal(outer)).abs() < 1e-10);
                assert!((tangential(inner) / mu_in - tangential(outer) / mu_out).abs() < 1e-10);
            }
        }
    }
}
