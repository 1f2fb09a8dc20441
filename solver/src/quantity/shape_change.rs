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

use crate::field::Field;
use crate::field::element::{self, Evaluated};
use crate::mesh::Mesh;
use crate::quantity::movement::Movement;
use crate::section::Symmetry;
use crate::units::MU_0;

/// A rigid move of one body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Move {
    /// Which body.
    pub body: usize,
    /// Unit vector of the direction.
    pub direction: [f64; 2],
}

/// The geometry of one move at one point.
struct Strain {
    grad_theta: [f64; 2],
    direction: [f64; 2],
    div: f64,
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

fn scaled(a: [f64; 2], s: f64) -> [f64; 2] {
    [a[0] * s, a[1] * s]
}

/// J g: the flux density of a gradient.
fn rotate(symmetry: Symmetry, at: &Evaluated, g: [f64; 2]) -> [f64; 2] {
    match symmetry {
        Symmetry::Planar => [g[1], -g[0]],
        Symmetry::Axisymmetric => [-at.place.x * g[1], at.place.x * g[0]],
    }
}

fn strain(at: &Evaluated, theta: &[f64; 6], direction: [f64; 2]) -> Strain {
    let grad_theta = gradient(at, theta);
    Strain { grad_theta, direction, div: dot(direction, grad_theta) }
}

fn gradient(at: &Evaluated, nodal: &[f64; 6]) -> [f64; 2] {
    let mut g = [0.0; 2];
    for i in 0..6 {
        g[0] += at.grad_n[i][0] * nodal[i];
        g[1] += at.grad_n[i][1] * nodal[i];
    }
    g
}

/// Air triangles in which at least one of the moves deforms something.
fn deformed<'a>(
    mesh: &'a Mesh,
    weights: &'a [&'a [f64]],
) -> impl Iterator<Item = (usize, Vec<[f64; 6]>)> + 'a {
    (0..mesh.triangles.len()).filter(|&t| mesh.region_of[t] == 0).filter_map(move |t| {
        let nodes = &mesh.triangles[t];
        let theta: Vec<[f64; 6]> =
            weights.iter().map(|w| nodes.map(|node| w[node as usize])).collect();
        let moves = |w: &[f64; 6]| w[1..].iter().any(|x| *x != w[0]);
        theta.iter().all(moves).then_some((t, theta))
    })
}

/// Pull on every body, N/m (planar) or N (axisymmetric; x component 0), `[n_bodies]`.
pub fn pulls(field: &Field, movement: &Movement) -> Vec<[f64; 2]> {
    let mesh = field.mesh();
    movement
        .weights
        .iter()
        .map(|weights| {
            let mut pull = [0.0; 2];
            for (t, theta) in deformed(mesh, &[weights]) {
                let u = field.of_triangle(t);
                for (at, w) in element::quadrature(&element::corners(mesh, t)) {
                    let m = w * at.measure(mesh.symmetry) / MU_0;
                    let basis = at.flux_density_basis(mesh.symmetry);
                    let b = element::flux_density(&basis, &u);
                    let g = gradient(&at, &u);
                    let grad_theta = gradient(&at, &theta[0]);
                    let b_j = dot(b, rotate(mesh.symmetry, &at, grad_theta));
                    for k in directions(mesh.symmetry) {
                        pull[k] -= m * (0.5 * dot(b, b) * grad_theta[k] - b_j * g[k]);
                    }
                }
            }
            pull
        })
        .collect()
}

/// Components along which bodies can move.
pub fn directions(symmetry: Symmetry) -> std::ops::Range<usize> {
    match symmetry {
        Symmetry::Planar => 0..2,
        Symmetry::Axisymmetric => 1..2,
    }
}

/// d2E/d1d2 at fixed unknowns, J/m2 (per metre of depth in the plane).
pub fn energy_second(field: &Field, movement: &Movement, one: Move, two: Move) -> f64 {
    let mesh = field.mesh();
    let weights: [&[f64]; 2] = [&movement.weights[one.body], &movement.weights[two.body]];
    let mut sum = 0.0;
    for (t, theta) in deformed(mesh, &weights) {
        let u = field.of_triangle(t);
        for (at, w) in element::quadrature(&element::corners(mesh, t)) {
            let m = w * at.measure(mesh.symmetry) / MU_0;
            let b = element::flux_density(&at.flux_density_basis(mesh.symmetry), &u);
            let g = gradient(&at, &u);
            let s1 = strain(&at, &theta[0], one.direction);
            let s2 = strain(&at, &theta[1], two.direction);
            let a1 = scaled(s1.grad_theta, dot(s1.direction, g));
            let a2 = scaled(s2.grad_theta, dot(s2.direction, g));
            let (ja1, ja2) = (rotate(mesh.symmetry, &at, a1), rotate(mesh.symmetry, &at, a2));
            let (c1, c2) = (dot(s2.direction, a1), dot(s1.direction, a2));
            let s12 = [
                s2.grad_theta[0] * c1 + s1.grad_theta[0] * c2,
                s2.grad_theta[1] * c1 + s1.grad_theta[1] * c2,
            ];
            let trace = dot(s1.grad_theta, s2.direction) * dot(s2.grad_theta, s1.direction);
            sum += m
                * (0.5 * dot(b, b) * (s1.div * s2.div - trace)
                    - dot(b, ja1) * s2.div
                    - dot(b, ja2) * s1.div
                    + dot(ja1, ja2)
                    + dot(b, rotate(mesh.symmetry, &at, s12)));
        }
    }
    sum
}

/// dR/d1 at fixed unknowns, at every node, `[n_nodes]`.
pub fn gradient_change(field: &Field, movement: &Movement, one: Move) -> Vec<f64> {
    let mesh = field.mesh();
    let mut change = vec![0.0; mesh.nodes.len()];
    for (t, theta) in deformed(mesh, &[&movement.weights[one.body]]) {
        let u = field.of_triangle(t);
        let mut part = [0.0; 6];
        for (at, w) in element::quadrature(&element::corners(mesh, t)) {
            let m = w * at.measure(mesh.symmetry) / MU_0;
            let basis = at.flux_density_basis(mesh.symmetry);
            let b = element::flux_density(&basis, &u);
            let s = strain(&at, &theta[0], one.direction);
            let ja = rotate(
                mesh.symmetry,
                &at,
                scaled(s.grad_theta, dot(s.direction, gradient(&at, &u))),
            );
            let b_j = dot(b, rotate(mesh.symmetry, &at, s.grad_theta));
            for i in 0..6 {
                part[i] += m
                    * (dot(basis[i], b) * s.div
                        - dot(basis[i], ja)
                        - b_j * dot(s.direction, at.grad_n[i]));
            }
        }
        for (&node, value) in mesh.triangles[t].iter().zip(part) {
            change[node as usize] += value;
        }
    }
    change
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

    fn moved(mesh: &Mesh, movement: &Movement, one: Move, by: f64) -> Mesh {
        let mut mesh = mesh.clone();
        for (node, theta) in mesh.nodes.iter_mut().zip(&movement.weights[one.body]) {
            node.x += by * theta * one.direction[0];
            node.y += by * theta * one.direction[1];
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
        let mut compared = 0;
        for axis in directions(symmetry) {
            let mut direction = [0.0; 2];
            direction[axis] = 1.0;
            let one = Move { body: block, direction };
            let [plus, minus] =
                [step, -step].map(|by| solve(moved(base.mesh(), &movement, one, by)));
            let close = |exact: f64, difference: f64, size: f64| {
                assert!(
                    (exact - difference).abs() < 1e-6 * size,
                    "{symmetry:?} {axis}: {exact:e} against {difference:e}"
                );
            };
            let pull = pulls(&base, &movement)[block];
            close(pull[axis], -(energy(&plus) - energy(&minus)) / (2.0 * step), pull[axis].abs());
            let change = gradient_change(&base, &movement, one);
            let linkage = |f: &Field| coil::linkage(&load, &f.nodal);
            let slope = -coil::linkage(&own, &change);
            close(slope, (linkage(&plus) - linkage(&minus)) / (2.0 * step), slope.abs());
            let answer = tangent.answer(&change);
            for other in directions(symmetry) {
                let mut direction = [0.0; 2];
                direction[other] = 1.0;
                let two = Move { body: block, direction };
                let load_two = gradient_change(&base, &movement, two);
                let gradient =
                    coil::linkage(&load_two, &answer) - energy_second(&base, &movement, two, one);
                let difference = (pulls(&plus, &movement)[block][other]
                    - pulls(&minus, &movement)[block][other])
                    / (2.0 * step);
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
