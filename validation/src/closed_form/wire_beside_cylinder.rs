//! Straight current beside a long permeable cylinder.
//!
//! In: cylinder of radius R and relative permeability mu about the origin, current I at the
//! distance d > R. Out: the flux density outside, that of the current, of an image k I at R^2/d
//! and of -k I in the centre, k = (mu - 1)/(mu + 1); and the force per metre that pulls the two
//! together, F' = k mu_0 I^2/(2 pi) (1/(d - R^2/d) - 1/d). Source: `[Smythe1989]`, images in
//! cylinders.

use lodestring::point::Point;

use super::line_current::LineCurrent;
use super::permeable_cylinder::PermeableCylinder;

/// Flux density outside the cylinder at `p`, T.
pub fn flux_density(wire: LineCurrent, radius: f64, mu_r: f64, p: Point) -> [f64; 2] {
    let mut b = wire.flux_density(p);
    for image in images(wire, radius, mu_r) {
        let part = image.flux_density(p);
        b[0] += part[0];
        b[1] += part[1];
    }
    b
}

/// Force per metre on the wire, N/m; the cylinder feels the opposite.
pub fn force(wire: LineCurrent, radius: f64, mu_r: f64) -> [f64; 2] {
    let mut b = [0.0, 0.0];
    for image in images(wire, radius, mu_r) {
        let part = image.flux_density(wire.at);
        b[0] += part[0];
        b[1] += part[1];
    }
    wire.force_in(b)
}

fn images(wire: LineCurrent, radius: f64, mu_r: f64) -> [LineCurrent; 2] {
    let current = PermeableCylinder::image_factor(mu_r) * wire.current;
    let d2 = wire.at.x * wire.at.x + wire.at.y * wire.at.y;
    [
        LineCurrent { current, at: wire.at * (radius * radius / d2) },
        LineCurrent { current: -current, at: Point::default() },
    ]
}

#[cfg(test)]
mod tests {
    use super::super::closeness::assert_close;
    use super::*;
    use lodestring::units::MU_0;
    use std::f64::consts::PI;

    const WIRE: LineCurrent = LineCurrent { current: 100.0, at: Point::new(10e-3, 0.0) };

    #[test]
    fn pull_of_a_5_mm_cylinder_on_100_a() {
        let pull = force(WIRE, 5e-3, 1000.0);
        // Half a unit of the last digit printed.
        assert_close(-pull[0], 0.0665335, 8e-7);
        assert!(pull[1].abs() < 1e-15);
    }

    #[test]
    fn images_are_the_sum_of_the_multipole_series() {
        // B_y on the wire's side: each harmonic n of the wire's potential comes back k (R/r)^2n.
        let (radius, mu_r): (f64, f64) = (5e-3, 1000.0);
        let k = (mu_r - 1.0) / (mu_r + 1.0);
        let d = WIRE.at.x;
        let series: f64 = (1..200).map(|n| k * (radius * radius / (d * d)).powi(n) / d).sum();
        let by = MU_0 * WIRE.current / (2.0 * PI) * series;
        assert_close(force(WIRE, radius, mu_r)[0], -WIRE.current * by, 1e-12);
    }

    #[test]
    fn no_current_runs_in_the_cylinder() {
        // Circulation of B about the cylinder vanishes: mean of B_phi on a circle just outside.
        let mean = crate::quadrature::integrate(
            |phi| {
                let (sin, cos) = phi.sin_cos();
                let b = flux_density(WIRE, 5e-3, 50.0, Point::new(6e-3 * cos, 6e-3 * sin));
                -b[0] * sin + b[1] * cos
            },
            0.0,
            2.0 * PI,
            20,
        );
        // Against the field of the wire at that distance, about 2 mT.
        assert!(mean.abs() < 1e-12, "{mean}");
    }
}
