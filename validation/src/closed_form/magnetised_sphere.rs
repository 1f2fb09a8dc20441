//! Evenly magnetised sphere, in air or in a uniform field.
//!
//! In: radius R, axial remanence B_r, recoil permeability mu, axial flux density B_0 far away. The
//! demagnetising factor is 1/3, so with B = B_r + mu_0 mu H inside
//! B = (2 B_r + 3 mu B_0)/(mu + 2), uniform; outside a point dipole is added to B_0, with
//! B_0 + 2 m = B on the axis at the surface. Source: `[Jackson1998]`, sections 5.10 and 5.11.

use super::spherical_shell::point_dipole;

/// The sphere, centred on the origin.
#[derive(Clone, Copy, Debug)]
pub struct MagnetisedSphere {
    /// Radius, m.
    pub radius: f64,
    /// Remanence along the axis, T.
    pub remanence: f64,
    /// Recoil permeability, relative.
    pub mu_r: f64,
    /// Axial flux density far away, T.
    pub applied: f64,
}

impl MagnetisedSphere {
    /// Flux density (B_rho, B_z) at radius `rho` and height `z`, T.
    pub fn flux_density(&self, rho: f64, z: f64) -> [f64; 2] {
        let inside = (2.0 * self.remanence + 3.0 * self.mu_r * self.applied) / (self.mu_r + 2.0);
        if rho.hypot(z) < self.radius {
            return [0.0, inside];
        }
        let moment = 0.5 * (inside - self.applied);
        let [d_rho, d_z] = point_dipole(moment, self.radius, rho, z);
        [d_rho, self.applied + d_z]
    }
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::super::spherical_shell::SphericalShell;
    use super::*;

    #[test]
    fn two_thirds_of_the_remanence_inside() {
        let sphere = MagnetisedSphere { radius: 5e-3, remanence: 1.0, mu_r: 1.0, applied: 0.0 };
        assert_close(sphere.flux_density(1e-3, 1e-3)[1], 2.0 / 3.0, 1e-15);
        // B_z on the axis at two radii is 1/8 of that at the surface.
        assert_close(sphere.flux_density(0.0, 10e-3)[1], 2.0 / 24.0, 1e-15);
    }

    #[test]
    fn tangential_field_strength_passes_the_surface_unbroken() {
        let sphere = MagnetisedSphere { radius: 5e-3, remanence: 0.9, mu_r: 1.7, applied: 0.2 };
        for i in 1..6 {
            let (sin, cos) = (0.5 * f64::from(i)).sin_cos();
            let b = |r: f64| sphere.flux_density(r * sin, r * cos);
            let (inner, outer) = (b(5e-3 * (1.0 - 1e-12)), b(5e-3 * (1.0 + 1e-12)));
            // mu_0 H inside is (B - B_r)/mu; the step in r leaves 1e-12.
            let inside = [inner[0] / 1.7, (inner[1] - 0.9) / 1.7];
            let tangential = |h: [f64; 2]| h[0] * cos - h[1] * sin;
            assert!((tangential(inside) - tangential(outer)).abs() < 1e-11);
            let normal = |b: [f64; 2]| b[0] * sin + b[1] * cos;
            assert!((normal(inner) - normal(outer)).abs() < 1e-11);
        }
    }

    #[test]
    fn without_remanence_it_is_the_permeable_sphere() {
        let magnet = MagnetisedSphere { radius: 5e-3, remanence: 0.0, mu_r: 50.0, applied: 0.3 };
        let shell = SphericalShell { inner: 0.0, outer: 5e-3, mu_r: 50.0, applied: 0.3 };
        for (rho, z) in [(1e-3, 1e-3), (4e-3, 6e-3), (9e-3, -2e-3)] {
            let (a, b) = (magnet.flux_density(rho, z), shell.flux_density(rho, z));
            assert!((a[0] - b[0]).abs() < 1e-15 && (a[1] - b[1]).abs() < 1e-14);
        }
    }
}
