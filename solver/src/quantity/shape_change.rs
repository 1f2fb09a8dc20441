//! Exact derivatives of the discrete energy with respect to moving bodies.
//!
//! A move V = theta p deforms only the air; there E = integral nu_0 |B|^2 / 2 dm with
//! B = c u + J grad u ([`crate::field::element`]). At fixed nodal unknowns grad u changes by
//! -DV^T grad u and the area element by div V. With a_k = grad theta_k (p_k . grad u) and
//! s_12 = grad theta_2 (p_2 . a_1) + grad theta_1 (p_1 . a_2):
//!
//! dE/d1     = nu_0 integral [ |B|^2/2 div_1 - B . J a_1 ]
//! d2E/d1d2  = nu_0 integral [ |B|^2/2 (div_1 div_2 - tr_12) - (B.J a_1) div_2 - (B.J a_2) div_1
//!                             + J a_1 . J a_2 + B . J s_12 ]
//! dR_i/d1   = nu_0 integral [ (b_i . B) div_1 - b_i . J a_1 - J a_1^i . B ]
//!
//! with tr_12 = (grad theta_1 . p_2)(grad theta_2 . p_1). The pull is F = -dE/d1: the work done at
//! constant linkage, equal to the stress tensor averaged over the deformed ring
//! (Coulomb and Meunier, doi 10.1109/TMAG.1984.1063232). Axisymmetric bodies move along the axis only.
//!
//! The weights are linear over the reference triangle, grad theta = delta_1 grad xi + delta_2 grad eta
//! with delta their differences between corners, and each derivative is linear (the second: bilinear) in
//! grad theta. So an element is integrated once for grad xi and grad eta, and then serves all bodies.

use rayon::prelude::*;

use crate::field::Field;
use crate::field::element::{self, Evaluated};
use crate::mesh::Mesh;
use crate::quantity::movement::Movement;
use crate::section::Symmetry;
use crate::units::MU_0;

/// Derivatives of the discrete energy with respect to the places of bodies.
#[derive(Clone, Debug)]
pub struct ShapeChange {
    /// Pull on every body of the mesh, N/m (planar) or N (axisymmetric; x component 0), `[n_bodies]`.
    pub pulls: Vec<[f64; 2]>,
    /// For each body asked for and each component of its move: dR/d1 at fixed unknowns, at every
    /// node, `[n_asked][2][n_nodes]`; empty for a move sideways about an axis.
    pub gradients: Vec<[Vec<f64>; 2]>,
    /// d2E/d1d2 of two moves of each body asked for at fixed unknowns, J/m2 (per metre of depth in
    /// the plane), `[n_asked][2][2]`.
    pub second: Vec<[[f64; 2]; 2]>,
}

/// The integrals over one element, with grad xi (0) and grad eta (1) in place of grad theta.
struct ElementChange {
    /// `[reference direction][component of the move]`.
    pull: [[f64; 2]; 2],
    /// `[reference direction][component of the move][node]`.
    gradient: [[[f64; 6]; 2]; 2],
    /// `[first, second reference direction][first, second component of the move]`.
    second: [[[[f64; 2]; 2]; 2]; 2],
}

pub(super) fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

/// J g: the flux density of a gradient.
pub(super) fn rotate(symmetry: Symmetry, at: &Evaluated, g: [f64; 2]) -> [f64; 2] {
    match symmetry {
        Symmetry::Planar => [g[1], -g[0]],
        Symmetry::Axisymmetric => [-at.place.x * g[1], at.place.x * g[0]],
    }
}

pub(super) fn gradient(at: &Evaluated, nodal: &[f64; 6]) -> [f64; 2] {
    let mut g = [0.0; 2];
    for i in 0..6 {
        g[0] += at.grad_n[i][0] * nodal[i];
        g[1] += at.grad_n[i][1] * nodal[i];
    }
    g
}

/// Values of xi and eta at the six nodes.
pub(super) const REFERENCE: [[f64; 6]; 2] =
    [[0.0, 1.0, 0.0, 0.5, 0.5, 0.0], [0.0, 0.0, 1.0, 0.0, 0.5, 0.5]];

/// -dE/d1 per measure, `[reference direction][component of the move]`, where flux density and gradient of the
/// unknown are these.
pub(super) fn pull_density(
    symmetry: Symmetry,
    at: &Evaluated,
    (b, g): ([f64; 2], [f64; 2]),
) -> [[f64; 2]; 2] {
    REFERENCE.map(|nodal| {
        let strain = gradient(at, &nodal);
        let b_j = dot(b, rotate(symmetry, at, strain));
        [0, 1].map(|k| (b_j * g[k] - 0.5 * dot(b, b) * strain[k]) / MU_0)
    })
}

/// The integrals over air triangle `t`; the derivatives beyond the pull only where `all`.
fn element_change(field: &Field, t: usize, all: bool) -> ElementChange {
    let mesh = field.mesh();
    let symmetry = mesh.symmetry;
    let u = field.of_triangle(t);
    let mut sum = ElementChange {
        pull: [[0.0; 2]; 2],
        gradient: [[[0.0; 6]; 2]; 2],
        second: [[[[0.0; 2]; 2]; 2]; 2],
    };
    for (at, w) in element::quadrature(&element::corners(mesh, t)) {
        let m = w * at.measure(symmetry) / MU_0;
        let basis = at.flux_density_basis(symmetry);
        let b = element::flux_density(&basis, &u);
        let g = gradient(&at, &u);
        let half = 0.5 * dot(b, b);
        let strain = REFERENCE.map(|nodal| gradient(&at, &nodal));
        let turned = strain.map(|s| rotate(symmetry, &at, s));
        let b_j = turned.map(|j| dot(b, j));
        let own = pull_density(symmetry, &at, (b, g));
        for d in 0..2 {
            for k in 0..2 {
                sum.pull[d][k] += w * at.measure(symmetry) * own[d][k];
            }
        }
        if !all {
            continue;
        }
        for d in 0..2 {
            for i in 0..6 {
                let (own, turn) = (dot(basis[i], b), dot(basis[i], turned[d]));
                for k in 0..2 {
                    sum.gradient[d][k][i] +=
                        m * (own * strain[d][k] - turn * g[k] - b_j[d] * at.grad_n[i][k]);
                }
            }
            for e in 0..2 {
                let jj = dot(turned[d], turned[e]);
                for k in 0..2 {
                    for l in 0..2 {
                        let (one, two) = (strain[d], strain[e]);
                        sum.second[d][e][k][l] += m
                            * (half * (one[k] * two[l] - one[l] * two[k])
                                - b_j[d] * g[k] * two[l]
                                - b_j[e] * g[l] * one[k]
                                + jj * g[k] * g[l]
                                + b_j[e] * one[l] * g[k]
                                + b_j[d] * two[k] * g[l]);
                    }
                }
            }
        }
    }
    sum
}

/// Pulls on all bodies, and all derivatives for the bodies `asked`.
pub fn shape_change(field: &Field, movement: &Movement, asked: &[usize]) -> ShapeChange {
    let mesh = field.mesh();
    let directions = directions(mesh.symmetry);
    let nodes_of = |k: usize| if directions.contains(&k) { mesh.nodes.len() } else { 0 };
    let mut change = ShapeChange {
        pulls: vec![[0.0; 2]; movement.bodies.len()],
        gradients: asked.iter().map(|_| [0, 1].map(|k| vec![0.0; nodes_of(k)])).collect(),
        second: vec![[[0.0; 2]; 2]; asked.len()],
    };
    let air: Vec<usize> = (0..mesh.triangles.len()).filter(|&t| mesh.region_of[t] == 0).collect();
    const CHUNK: usize = 2048;
    for triangles in air.chunks(CHUNK) {
        let parts: Vec<ElementChange> =
            triangles.par_iter().map(|&t| element_change(field, t, !asked.is_empty())).collect();
        for (&t, part) in triangles.iter().zip(&parts) {
            for (pull, weights) in change.pulls.iter_mut().zip(&movement.weights) {
                let delta = differences(mesh, t, weights);
                for k in directions.clone() {
                    pull[k] += delta[0] * part.pull[0][k] + delta[1] * part.pull[1][k];
                }
            }
            for (a, &body) in asked.iter().enumerate() {
                let delta = differences(mesh, t, &movement.weights[body]);
                if delta == [0.0; 2] {
                    continue;
                }
                for k in directions.clone() {
                    let sum = &mut change.gradients[a][k];
                    for (i, &node) in mesh.triangles[t].iter().enumerate() {
                        sum[node as usize] +=
                            delta[0] * part.gradient[0][k][i] + delta[1] * part.gradient[1][k][i];
                    }
                    for l in directions.clone() {
                        for d in 0..2 {
                            for e in 0..2 {
                                change.second[a][k][l] +=
                                    delta[d] * delta[e] * part.second[d][e][k][l];
                            }
                        }
                    }
                }
            }
        }
    }
    change
}

/// Differences of the weights between corners 1 and 0, and 2 and 0.
pub(super) fn differences(mesh: &Mesh, t: usize, weights: &[f64]) -> [f64; 2] {
    let [a, b, c, ..] = mesh.triangles[t].map(|node| node as usize);
    [weights[b] - weights[a], weights[c] - weights[a]]
}

/// Components along which bodies can move.
pub fn directions(symmetry: Symmetry) -> std::ops::Range<usize> {
    match symmetry {
        Symmetry::Planar => 0..2,
        Symmetry::Axisymmetric => 1..2,
    }
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::field::{Body, Setup, SmallChange, Space};
    use crate::geometry::Source;
    use crate::material::Law;
    use crate::mesh::structured;
    use crate::point::Point;
    use crate::quantity::coil;

    const COIL: [(f64, f64); 2] = [(1.0, 50.0), (-1.0, 50.0)];

    /// An iron block, a conductor with current and two coil windows in a box.
    fn mesh(symmetry: Symmetry) -> Mesh {
        let inside = |p: Point, x: [f64; 2], y: [f64; 2]| {
            p.x > x[0] && p.x < x[1] && p.y > y[0] && p.y < y[1]
        };
        let shift = if symmetry == Symmetry::Axisymmetric { 1.0 } else { 0.0 };
        structured::rectangle(
            symmetry,
            Point::new(shift - 1.0, -1.0),
            Point::new(shift + 1.0, 1.0),
            20,
            &[Source::Part(0), Source::Part(1), Source::Window(0, 0), Source::Window(0, 1)],
            |p| {
                let p = Point::new(p.x - shift, p.y);
                if inside(p, [-0.3, 0.2], [0.1, 0.4]) {
                    1
                } else if inside(p, [0.0, 0.4], [-0.5, -0.1]) {
                    2
                } else if inside(p, [-0.6, -0.4], [-0.6, -0.2]) {
                    3
                } else if inside(p, [0.5, 0.7], [-0.3, 0.1]) {
                    4
                } else {
                    0
                }
            },
        )
    }

    fn solve(mesh: Mesh) -> Field {
        let mut bodies = vec![Body::air(); 5];
        bodies[1].law = Law::Linear { mu_r: 50.0 };
        bodies[2].current_density = 1e6;
        let space = Space::of_potential(Arc::new(mesh)).expect("memory");
        let setup = Setup { applied_field: [0.02, 0.05], ..Setup::new(bodies) };
        Field::solve(Arc::new(space), setup).expect("a linear field")
    }

    fn moved(mesh: &Mesh, movement: &Movement, body: usize, axis: usize, by: f64) -> Mesh {
        let mut mesh = mesh.clone();
        let weights = movement.at_nodes(&mesh, body);
        for (node, theta) in mesh.nodes.iter_mut().zip(weights) {
            let place = if axis == 0 { &mut node.x } else { &mut node.y };
            *place += by * theta;
        }
        mesh
    }

    fn energy(field: &Field) -> f64 {
        // E(u) at the solution of a linear problem with prescribed boundary: measured by its
        // parts, integral |B|^2 / 2 mu - j A.
        let mesh = field.mesh();
        let mut sum = 0.0;
        for t in 0..mesh.triangles.len() {
            let body = &field.setup().bodies[mesh.region_of[t] as usize];
            let u = field.of_triangle(t);
            for (at, w) in element::quadrature(&element::corners(mesh, t)) {
                let b = element::flux_density(&at.flux_density_basis(mesh.symmetry), &u);
                let a = at.potential_basis(mesh.symmetry);
                let a: f64 = a.iter().zip(u).map(|(a, u)| a * u).sum();
                sum += w
                    * at.measure(mesh.symmetry)
                    * (body.law.respond(b, body.axis, None).energy - body.current_density * a);
            }
        }
        sum
    }

    /// Central differences over meshes moved by the same weights. The step is a thousandth of a
    /// cell; differences of second order then agree to about 1e-7, and 1e-6 is asked for.
    fn agrees_with_differences(symmetry: Symmetry) {
        let base = solve(mesh(symmetry));
        let movement = Movement::new(base.mesh()).expect("memory");
        let tangent = SmallChange::new(&base).expect("definite");
        let load = coil::load(base.mesh(), 0, &COIL);
        let own = tangent.answer(&load);
        let step = 1e-4;
        let k0 = directions(symmetry).start;
        let block = movement.body(1).expect("a body");
        let change = shape_change(&base, &movement, &[block]);
        let pull = change.pulls[block];
        let mut compared = 0;
        for axis in directions(symmetry) {
            let [plus, minus] =
                [step, -step].map(|by| solve(moved(base.mesh(), &movement, block, axis, by)));
            let pulls = |f: &Field| shape_change(f, &movement, &[]).pulls;
            let close = |exact: f64, difference: f64, size: f64| {
                assert!(
                    (exact - difference).abs() < 1e-6 * size,
                    "{symmetry:?} {axis}: {exact:e} against {difference:e}"
                );
            };
            close(pull[axis], -(energy(&plus) - energy(&minus)) / (2.0 * step), pull[axis].abs());
            let linkage = |f: &Field| coil::linkage(&load, &f.nodal);
            let slope = -coil::linkage(&own, &change.gradients[0][axis]);
            close(slope, (linkage(&plus) - linkage(&minus)) / (2.0 * step), slope.abs());
            let answer = tangent.answer(&change.gradients[0][axis]);
            for other in directions(symmetry) {
                let gradient = coil::linkage(&change.gradients[0][other], &answer)
                    - change.second[0][other][axis];
                let difference =
                    (pulls(&plus)[block][other] - pulls(&minus)[block][other]) / (2.0 * step);
                close(gradient, difference, gradient.abs().max(pull[axis].abs()));
                compared += 1;
            }
        }
        assert_eq!(compared, (2 - k0) * (2 - k0));
    }

    #[test]
    fn planar_derivatives_are_exact() {
        agrees_with_differences(Symmetry::Planar);
    }

    #[test]
    fn axisymmetric_derivatives_are_exact() {
        agrees_with_differences(Symmetry::Axisymmetric);
    }
}
