//! Error of a field against a known one, and the order at which it falls.

use std::sync::Arc;

use lodestring::field::{Body, Field, Setup, Space};
use lodestring::geometry::RegionId;
use lodestring::point::Point;
use lodestring::section::Symmetry;

use crate::domain::Domain;

/// A known field and what causes it.
#[derive(Clone, Copy)]
pub struct Exact {
    /// Vector potential A_z or A_phi, Wb/m.
    pub potential: fn(Point) -> f64,
    /// Prescribed unknown: A_z, Wb/m, or A_phi/r, T.
    pub unknown: fn(Point) -> f64,
    /// Flux density, T.
    pub flux_density: fn(Point) -> [f64; 2],
    /// Current density, A/m2.
    pub current: fn(Point) -> f64,
}

/// Relative errors in the mean square over the domain.
#[derive(Clone, Copy, Debug)]
pub struct Errors {
    /// Of the vector potential.
    pub potential: f64,
    /// Of the flux density.
    pub flux_density: f64,
}

/// Solves on `domain` with the laws `bodies`.
pub fn solve(domain: &Domain, bodies: Vec<Body>, exact: Exact) -> Field {
    let space = Space::of_potential(Arc::new(domain.mesh())).expect("the pattern is small");
    let current = exact.current;
    let unknown = exact.unknown;
    let setup = Setup {
        current: Some(Arc::new(move |_: RegionId, p: Point| current(p))),
        boundary: Some(Arc::new(unknown)),
        ..Setup::new(bodies)
    };
    Field::solve(Arc::new(space), setup).expect("a linear field has a solution")
}

/// Nodes and weights of the four-point Gauss-Legendre rule on [0, 1].
const GAUSS: [(f64, f64); 4] = [
    (0.069_431_844_202_973_71, 0.173_927_422_568_726_93),
    (0.330_009_478_207_571_87, 0.326_072_577_431_273_07),
    (0.669_990_521_792_428_1, 0.326_072_577_431_273_07),
    (0.930_568_155_797_026_3, 0.173_927_422_568_726_93),
];

/// The six shape functions of the second-order triangle, and their derivatives.
fn shapes(xi: f64, eta: f64) -> ([f64; 6], [[f64; 2]; 6]) {
    let zeta = 1.0 - xi - eta;
    let n = [
        zeta * (2.0 * zeta - 1.0),
        xi * (2.0 * xi - 1.0),
        eta * (2.0 * eta - 1.0),
        4.0 * zeta * xi,
        4.0 * xi * eta,
        4.0 * eta * zeta,
    ];
    let d = [
        [1.0 - 4.0 * zeta, 1.0 - 4.0 * zeta],
        [4.0 * xi - 1.0, 0.0],
        [0.0, 4.0 * eta - 1.0],
        [4.0 * (zeta - xi), -4.0 * xi],
        [4.0 * eta, 4.0 * xi],
        [-4.0 * eta, 4.0 * (zeta - eta)],
    ];
    (n, d)
}

/// Integrates the squared errors with 16 points a triangle (a square rule folded onto it, of
/// degree 6, so that the sampling adds nothing of the orders looked for), weighted with the radius
/// in axisymmetric domains.
fn compare(field: &Field, exact: Exact) -> Errors {
    let mesh = field.mesh();
    let mut sums = [0.0; 4];
    for (t, triangle) in mesh.triangles.iter().enumerate() {
        let corners = triangle.map(|node| mesh.nodes[node as usize]);
        for (u, wu) in GAUSS {
            for (s, ws) in GAUSS {
                let (xi, eta) = (u, (1.0 - u) * s);
                let (n, d) = shapes(xi, eta);
                let mut place = Point::default();
                let mut slope = [Point::default(); 2];
                for i in 0..6 {
                    place = place + corners[i] * n[i];
                    slope[0] = slope[0] + corners[i] * d[i][0];
                    slope[1] = slope[1] + corners[i] * d[i][1];
                }
                let area = slope[0].x * slope[1].y - slope[0].y * slope[1].x;
                let radius = if mesh.symmetry == Symmetry::Planar { 1.0 } else { place.x };
                let weight = wu * ws * (1.0 - u) * area * radius;
                let a = (exact.potential)(place);
                let b = (exact.flux_density)(place);
                let found = field.flux_density(t, xi, eta);
                sums[0] += weight * (field.vector_potential(t, xi, eta) - a).powi(2);
                sums[1] += weight * a * a;
                sums[2] += weight * ((found[0] - b[0]).powi(2) + (found[1] - b[1]).powi(2));
                sums[3] += weight * (b[0] * b[0] + b[1] * b[1]);
            }
        }
    }
    Errors { potential: (sums[0] / sums[1]).sqrt(), flux_density: (sums[2] / sums[3]).sqrt() }
}

/// Asserts order 3 for the potential and 2 for the flux density between the last two meshes, and
/// the last errors below `bounds`.
#[track_caller]
pub fn assert_orders(errors: &[Errors], bounds: Errors) {
    let [.., before, last] = errors else { panic!("two meshes are needed for an order") };
    let order = |before: f64, last: f64| (before / last).log2();
    let a = order(before.potential, last.potential);
    let b = order(before.flux_density, last.flux_density);
    // 0.1: what is left of the next order, h^4 beside h^3, on meshes of this size.
    assert!((a - 3.0).abs() < 0.1, "potential falls with order {a:.3}: {errors:?}");
    assert!((b - 2.0).abs() < 0.1, "flux density falls with order {b:.3}: {errors:?}");
    assert!(last.potential < bounds.potential, "last potential error too large: {errors:?}");
    assert!(last.flux_density < bounds.flux_density, "last flux error too large: {errors:?}");
}

/// Errors on `domain` and `halvings` refinements of it.
///
/// Asserts on the way that the flux density is as good as these elements allow: of all fields with
/// the prescribed values the solution has the least error in energy, so its error cannot exceed
/// that of the field that equals the exact one at every node.
#[track_caller]
pub fn sequence(
    domain: Domain,
    halvings: usize,
    bodies: impl Fn() -> Vec<Body>,
    exact: Exact,
) -> Vec<Errors> {
    let mut domain = domain;
    let mut errors = Vec::new();
    for step in 0..=halvings {
        if step > 0 {
            domain = domain.refined();
        }
        let field = solve(&domain, bodies(), exact);
        let solved = compare(&field, exact);
        let nodal = field.mesh().nodes.iter().map(|&p| (exact.unknown)(p)).collect();
        let interpolated = compare(&Field { nodal, ..field }, exact);
        // 2 %: the mean square is not the energy where the permeability differs between regions,
        // and a rim of curved sides is not quite the rim.
        assert!(
            solved.flux_density < 1.02 * interpolated.flux_density,
            "solved {solved:?}, interpolated {interpolated:?}"
        );
        errors.push(solved);
    }
    errors
}
