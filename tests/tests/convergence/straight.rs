//! Straight sides: A = sin(pi x) sin(pi y) on the unit square, driven by J = 2 pi^2 A/mu_0.

use std::f64::consts::PI;

use lodestring::field::Body;
use lodestring::point::Point;
use lodestring::section::Symmetry;
use lodestring::units::MU_0;

use crate::domain::{Domain, everywhere};
use crate::error::{Errors, Exact, assert_orders, sequence};

/// The manufactured field.
pub const SINES: Exact = Exact { potential, unknown: potential, flux_density, current };

fn potential(p: Point) -> f64 {
    (PI * p.x).sin() * (PI * p.y).sin()
}

/// B = (dA/dy, -dA/dx).
fn flux_density(p: Point) -> [f64; 2] {
    [PI * (PI * p.x).sin() * (PI * p.y).cos(), -PI * (PI * p.x).cos() * (PI * p.y).sin()]
}

fn current(p: Point) -> f64 {
    2.0 * PI * PI / MU_0 * potential(p)
}

#[test]
fn square_planar() {
    let square = Domain::square(Symmetry::Planar, 5, everywhere);
    let errors = sequence(square, 3, || vec![Body::air()], SINES);
    // A second-order interpolant on sides h = 1/40 leaves about (pi h)^3/(18 sqrt 3) = 1.6e-5 of A
    // and (pi h)^2/6 = 1e-3 of B where the third derivative is largest, less in the mean.
    assert_orders(&errors, Errors { potential: 1.6e-5, flux_density: 1e-3 });
}
