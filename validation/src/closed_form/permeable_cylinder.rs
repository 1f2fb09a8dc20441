//! Long cylinder of constant permeability across a uniform field.
//!
//! In: radius R, relative permeability mu, flux density B_0 far away. Out, with
//! k = (mu - 1)/(mu + 1): inside B = (1 + k) B_0 = 2 mu/(mu + 1) B_0; outside the field of a line
//! dipole is added, B = B_0 + k R^2/r^2 (2 (B_0 . r^) r^ - B_0). Source: `[Smythe1989]`, two-dimensional
//! potentials, dielectric cylinder in a uniform field, with the permeability for the permittivity.

use lodestring::point::Point;

/// The cylinder, centred on the origin.
#[derive(Clone, Copy, Debug)]
pub struct PermeableCylinder {
    /// Radius, m.
    pub radius: f64,
    /// Relative permeability.
    pub mu_r: f64,
    /// Flux density far away, T.
    pub applied: [f64; 2],
}

impl PermeableCylinder {
    /// k = (mu - 1)/(mu + 1), by which images and dipoles are weighted.
    pub fn image_factor(mu_r: f64) -> f64 {
        (mu_r - 1.0) / (mu_r + 1.0)
    }

    /// Flux density at `p`, T.
    pub fn flux_density(&self, p: Point) -> [f64; 2] {
        let k = Self::image_factor(self.mu_r);
        let [bx, by] = self.applied;
        if p.distance(Point::default()) < self.radius {
            return [(1.0 + k) * bx, (1.0 + k) * by];
        }
        let dipole = line_dipole(self.applied, self.radius, p);
        [bx + k * dipole[0], by + k * dipole[1]]
    }
}

/// Field of a line dipole whose value is `m` where the circle of radius `radius` about the origin
/// cuts the direction of `m`: R^2/r^2 (2 (m . r^) r^ - m).
pub fn line_dipole(m: [f64; 2], radius: f64, p: Point) -> [f64; 2] {
    let r2 = p.x * p.x + p.y * p.y;
    let along = 2.0 * (m[0] * p.x + m[1] * p.y) / r2;
    let scale = radius * radius / r2;
    [scale * (along * p.x - m[0]), scale * (along * p.y - m[1])]
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;

    fn in_unit_field(mu_r: f64) -> PermeableCylinder {
        PermeableCylinder { radius: 5e-3, mu_r, applied: [0.0, 1.0] }
    }

    #[test]
    fn inside_for_three_permeabilities() {
        // 5e-7: half a unit of the last digit printed.
        for (mu_r, ratio) in [(5.0, 1.666667), (100.0, 1.980198), (1000.0, 1.998002)] {
            assert_close(in_unit_field(mu_r).flux_density(Point::default())[1], ratio, 5e-7);
        }
    }

    #[test]
    fn along_the_field_and_broadside_at_two_radii() {
        let cylinder = in_unit_field(1000.0);
        // 1e-7: half a unit of the last digit printed.
        assert_close(cylinder.flux_density(Point::new(0.0, 10e-3))[1], 1.2495005, 1e-7);
        assert_close(cylinder.flux_density(Point::new(10e-3, 0.0))[1], 0.7504995, 1e-7);
    }

    #[test]
    fn normal_flux_density_and_tangential_field_strength_pass_the_surface_unbroken() {
        let mu_r = 7.0;
        let cylinder = PermeableCylinder { radius: 5e-3, mu_r, applied: [0.3, 1.0] };
        for i in 0..12 {
            let (sin, cos) = (0.1 + 0.5 * f64::from(i)).sin_cos();
            let at = |r: f64| cylinder.flux_density(Point::new(r * cos, r * sin));
            let (inner, outer) = (at(5e-3 * (1.0 - 1e-12)), at(5e-3 * (1.0 + 1e-12)));
            // 1e-11: the step of 1e-12 in r times the slope of the dipole.
            let normal = |b: [f64; 2]| b[0] * cos + b[1] * sin;
            let tangential = |b: [f64; 2]| -b[0] * sin + b[1] * cos;
            assert!((normal(inner) - normal(outer)).abs() < 1e-11);
            assert!((tangential(inner) / mu_r - tangential(outer)).abs() < 1e-11);
        }
    }
}
