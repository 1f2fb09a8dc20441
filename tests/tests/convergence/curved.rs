//! Curved sides: the rim of a disc, and the surface of a permeable cylinder inside it.

use lodestring::field::Body;
use lodestring::geometry::Source;
use lodestring::material::Law;
use lodestring::point::Point;
use lodestring::section::Symmetry;

use crate::domain::Domain;
use crate::error::{Errors, Exact, assert_orders, sequence};
use crate::straight::SINES;

#[test]
fn disc_planar() {
    let disc = Domain::disc(Symmetry::Planar, &[0.5, 1.0], &[0, 0], false, vec![Source::Air]);
    let errors = sequence(disc, 4, || vec![Body::air()], SINES);
    // Sides of 1/20 at the rim, twice those of the square: at most 8 and 4 times its bounds; a
    // third of that in the mean.
    assert_orders(&errors, Errors { potential: 4e-5, flux_density: 1.5e-3 });
}

const MU_R: f64 = 20.0;
const RADIUS: f64 = 0.4;

/// Permeable cylinder in the field B_y = 1 T: A = -(1 + k) x inside, -(1 + k R^2/r^2) x outside,
/// k = (mu - 1)/(mu + 1). [Smythe1989] in validation/references.bib.
const CYLINDER: Exact = Exact {
    potential: cylinder_potential,
    unknown: cylinder_potential,
    flux_density: cylinder_flux_density,
    current: no_current,
};

const K: f64 = (MU_R - 1.0) / (MU_R + 1.0);

fn cylinder_potential(p: Point) -> f64 {
    let r2 = p.x * p.x + p.y * p.y;
    if r2 < RADIUS * RADIUS { -(1.0 + K) * p.x } else { -(1.0 + K * RADIUS * RADIUS / r2) * p.x }
}

fn cylinder_flux_density(p: Point) -> [f64; 2] {
    let r2 = p.x * p.x + p.y * p.y;
    if r2 < RADIUS * RADIUS {
        return [0.0, 1.0 + K];
    }
    let scale = K * RADIUS * RADIUS / r2;
    [scale * 2.0 * p.x * p.y / r2, 1.0 + scale * (2.0 * p.y * p.y / r2 - 1.0)]
}

fn no_current(_: Point) -> f64 {
    0.0
}

#[test]
fn permeable_cylinder_planar() {
    let sources = vec![Source::Air, Source::Part(0)];
    let domain =
        Domain::disc(Symmetry::Planar, &[0.2, RADIUS, 0.7, 1.0], &[1, 1, 0, 0], false, sources);
    let bodies = || vec![Body::air(), Body { law: Law::Linear { mu_r: MU_R }, ..Body::air() }];
    let errors = sequence(domain, 4, bodies, CYLINDER);
    // Smoother than the sines: a third derivative of order one over R^2 instead of pi^3.
    assert_orders(&errors, Errors { potential: 3e-6, flux_density: 5e-4 });
}
