//! Axisymmetric, the axis included: v = A_phi/r = exp(-r^2) sin(pi z).
//!
//! J = nu (-d2A/dz2 - d/dr (1/r d(r A)/dr)) = -nu (3 dv/dr + r d2v/dr2 + r d2v/dz2)
//!   = nu r v (8 - 4 r^2 + pi^2),   B_r = -r dv/dz,   B_z = 2 v + r dv/dr = 2 (1 - r^2) v.

use std::f64::consts::PI;

use lodestring::field::Body;
use lodestring::geometry::Source;
use lodestring::point::Point;
use lodestring::section::Symmetry;
use lodestring::units::MU_0;

use crate::domain::{Domain, not_on_axis};
use crate::error::{Errors, Exact, assert_orders, sequence, solve};

const SWIRL: Exact = Exact { potential, unknown, flux_density, current };

fn unknown(p: Point) -> f64 {
    (-p.x * p.x).exp() * (PI * p.y).sin()
}

fn potential(p: Point) -> f64 {
    p.x * unknown(p)
}

fn flux_density(p: Point) -> [f64; 2] {
    let radial = -p.x * PI * (-p.x * p.x).exp() * (PI * p.y).cos();
    [radial, 2.0 * (1.0 - p.x * p.x) * unknown(p)]
}

fn current(p: Point) -> f64 {
    p.x * unknown(p) * (8.0 - 4.0 * p.x * p.x + PI * PI) / MU_0
}

#[test]
fn square_beside_the_axis() {
    let square = Domain::square(Symmetry::Axisymmetric, 5, not_on_axis);
    let errors = sequence(square, 3, || vec![Body::air()], SWIRL);
    // About a third of the square's in the plane: the field varies less.
    assert_orders(&errors, Errors { potential: 6e-6, flux_density: 5e-4 });
}

#[test]
fn ball_about_the_axis() {
    let ball = Domain::disc(Symmetry::Axisymmetric, &[0.5, 1.0], &[0, 0], true, vec![Source::Air]);
    let errors = sequence(ball, 4, || vec![Body::air()], SWIRL);
    // Triangles of 1/20 at the rim, twice those of the square: 8 and 4 times its errors at most.
    assert_orders(&errors, Errors { potential: 3e-5, flux_density: 1e-3 });
}

#[test]
fn flux_density_on_the_axis_itself() {
    // B_z at the corners on the axis, where the mean square with weight r sees nothing.
    let worst = |domain: &Domain| {
        let field = solve(domain, vec![Body::air()], SWIRL);
        let mesh = field.mesh();
        let mut worst: f64 = 0.0;
        for (t, triangle) in mesh.triangles.iter().enumerate() {
            for (corner, [xi, eta]) in [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]].into_iter().enumerate()
            {
                let p = mesh.nodes[triangle[corner] as usize];
                if p.x == 0.0 {
                    let b = field.flux_density(t, xi, eta);
                    worst = worst.max((b[1] - flux_density(p)[1]).abs()).max(b[0].abs());
                }
            }
        }
        worst
    };
    let mut domain = Domain::square(Symmetry::Axisymmetric, 5, not_on_axis);
    let mut errors = vec![worst(&domain)];
    for _ in 0..3 {
        domain = domain.refined();
        errors.push(worst(&domain));
    }
    let order = (errors[2] / errors[3]).log2();
    // On the axis B_z = 2 v, a value and not a derivative: almost third order. 1e-4 T of 2 T is
    // twice what interpolation between nodes 1/40 apart leaves, (1/80)^3 pi^3/6 times 2 v.
    assert!(order > 2.5, "order {order:.2}: {errors:?}");
    assert!(errors[3] < 1e-4, "{errors:?}");
}
