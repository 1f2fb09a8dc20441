//! Permeable sphere and hollow sphere in a uniform field.
//!
//! In: inner radius a (0 for the full sphere), outer radius b, relative permeability mu, axial flux
//! density B_0 far away. Out: the bore field B_0/S,
//! S = ((2 mu + 1)(mu + 2) - 2 (a/b)^3 (mu - 1)^2)/(9 mu), and the field everywhere. Full sphere:
//! inside B = 3 mu/(mu + 2) B_0. In each zone H is a uniform part plus a dipole; with H_i in the
//! bore the wall has p = H_i (2 mu + 1)/(3 mu) uniform and q = -H_i (mu - 1)/(3 mu) as dipole at
//! r = a, where a dipole of strength q is q (a/r)^3 (3 cos(theta) r^ - z^). Source: `[Jackson1998]`,
//! section 5.12 (shell), 5.11 (sphere).

/// The shell, centred on the origin.
#[derive(Clone, Copy, Debug)]
pub struct SphericalShell {
    /// Inner radius, m; 0 for a full sphere.
    pub inner: f64,
    /// Outer radius, m.
    pub outer: f64,
    /// Relative permeability.
    pub mu_r: f64,
    /// Axial flux density far away, T.
    pub applied: f64,
}

impl SphericalShell {
    /// Shielding factor S: applied over bore field.
    pub fn shielding(&self) -> f64 {
        let mu = self.mu_r;
        let cube = (self.inner / self.outer).powi(3);
        ((2.0 * mu + 1.0) * (mu + 2.0) - 2.0 * cube * (mu - 1.0).powi(2)) / (9.0 * mu)
    }

    /// Flux density (B_rho, B_z) at radius `rho` and height `z`, T.
    pub fn flux_density(&self, rho: f64, z: f64) -> [f64; 2] {
        let mu = self.mu_r;
        let bore = self.applied / self.shielding();
        let r = rho.hypot(z);
        if r < self.inner {
            return [0.0, bore];
        }
        let uniform = bore * (2.0 * mu + 1.0) / (3.0 * mu);
        let wall_dipole = -bore * (mu - 1.0) / (3.0 * mu);
        if r < self.outer {
            let [d_rho, d_z] = point_dipole(wall_dipole, self.inner, rho, z);
            return [mu * d_rho, mu * (uniform + d_z)];
        }
        // mu (p + 2 q a^3/b^3) = B_0 + 2 d at r = b, on the axis.
        let shrunk = (self.inner / self.outer).powi(3);
        let outside = 0.5 * (mu * (uniform + 2.0 * wall_dipole * shrunk) - self.applied);
        let [d_rho, d_z] = point_dipole(outside, self.outer, rho, z);
        [d_rho, self.applied + d_z]
    }
}

/// Field (rho, z) of an axial dipole: m (R/r)^3 (3 cos(theta) r^ - z^). Zero where R is.
pub fn point_dipole(m: f64, radius: f64, rho: f64, z: f64) -> [f64; 2] {
    if radius == 0.0 {
        return [0.0, 0.0];
    }
    let r = rho.hypot(z);
    let scale = m * (radius / r).powi(3);
    let cos = z / r;
    [scale * 3.0 * cos * rho / r, scale * (3.0 * cos * cos - 1.0)]
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;

    #[test]
    fn shielding_of_three_shells() {
        // Half a unit of the last digit printed.
        for (mu_r, s) in [(100.0, 10.1758), (1000.0, 94.4342), (10000.0, 937.0268)] {
            let shell = SphericalShell { inner: 10e-3, outer: 12e-3, mu_r, applied: 1.0 };
            assert_close(shell.shielding(), s, 5e-6);
        }
    }

    #[test]
    fn full_sphere() {
        let sphere = SphericalShell { inner: 0.0, outer: 5e-3, mu_r: 100.0, applied: 1.0 };
        assert_close(sphere.flux_density(1e-3, 2e-3)[1], 300.0 / 102.0, 1e-14);
        // On the axis at two radii: 1 + 2 (mu - 1)/(mu + 2)/8.
        assert_close(sphere.flux_density(0.0, 10e-3)[1], 1.0 + 0.25 * 99.0 / 102.0, 1e-14);
    }

    #[test]
    fn normal_flux_density_and_tangential_field_strength_pass_every_surface_unbroken() {
        let hollow = SphericalShell { inner: 10e-3, outer: 12e-3, mu_r: 30.0, applied: 1.0 };
        let full = SphericalShell { inner: 0.0, ..hollow };
        for (body, radius, mu_in, mu_out) in
            [(hollow, 10e-3, 1.0, 30.0), (hollow, 12e-3, 30.0, 1.0), (full, 12e-3, 30.0, 1.0)]
        {
            for i in 1..6 {
                let (sin, cos) = (0.5 * f64::from(i)).sin_cos();
                let at = |r: f64| body.flux_density(r * sin, r * cos);
                let (inner, outer) = (at(radius * (1.0 - 1e-12)), at(radius * (1.0 + 1e-12)));
                // The step of 1e-12 in r times slopes of order 10.
                let normal = |b: [f64; 2]| b[0] * sin + b[1] * cos;
                let tangential = |b: [f64; 2]| b[0] * cos - b[1] * sin;
                assert!((normal(inner) - normal(outer)).abs() < 1e-10);
                assert!((tangential(inner) / mu_in - tangential(outer) / mu_out).abs() < 1e-10);
            }
        }
    }
}
