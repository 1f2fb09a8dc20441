//! The six-node triangle: shape functions, quadrature, and what a basis function contributes to
//! the flux density.
//!
//! Reference triangle (xi, eta), corners (0,0), (1,0), (0,1); nodes v0 v1 v2 m01 m12 m20. The map
//! to the section is the same quadratic one (isoparametric), so sides may follow arcs.
//!
//! | symmetry | unknown u | flux density of u = sum u_i N_i | weight of an area element |
//! |---|---|---|---|
//! | planar | A_z | B = (du/dy, -du/dx) | 1 (per metre of depth) |
//! | axisymmetric | v = A_phi / r | B = (B_r, B_z) = (-r dv/dz, 2 v + r dv/dr) | 2 pi r |
//!
//! A current density j (A/m2) does work j A, that is j u in the plane and j r u about the axis.
//!
//! Quadrature: seven points, exact to degree five (Radon 1948), which integrates the linear
//! axisymmetric stiffness (degree 5) exactly on straight triangles.

use crate::mesh::Mesh;
use crate::mesh::reference::{shape, shape_gradient};
use crate::point::Point;
use crate::section::Symmetry;

/// Number of quadrature points.
pub const N_POINTS: usize = 7;

const SQRT_15: f64 = 3.872_983_346_207_417;

/// Radon's rule: (xi, eta, weight), weights sum to 1/2.
pub const QUADRATURE: [[f64; 3]; N_POINTS] = {
    let (a, b) = ((6.0 - SQRT_15) / 21.0, (6.0 + SQRT_15) / 21.0);
    let (wa, wb) = ((155.0 - SQRT_15) / 2400.0, (155.0 + SQRT_15) / 2400.0);
    [
        [1.0 / 3.0, 1.0 / 3.0, 9.0 / 80.0],
        [a, a, wa],
        [1.0 - 2.0 * a, a, wa],
        [a, 1.0 - 2.0 * a, wa],
        [b, b, wb],
        [1.0 - 2.0 * b, b, wb],
        [b, 1.0 - 2.0 * b, wb],
    ]
};

/// A triangle evaluated at one reference point.
#[derive(Clone, Copy, Debug)]
pub struct Evaluated {
    /// Place in the section, m.
    pub place: Point,
    /// Shape functions.
    pub n: [f64; 6],
    /// Their gradients in the section, 1/m.
    pub grad_n: [[f64; 2]; 6],
    /// Determinant of the map, m2 (twice the area for a straight triangle).
    pub jacobian: f64,
}

impl Evaluated {
    /// Flux density per unit of each nodal unknown, `[6]` of (x, y) or (r, z) components.
    #[inline]
    pub fn flux_density_basis(&self, symmetry: Symmetry) -> [[f64; 2]; 6] {
        match symmetry {
            Symmetry::Planar => self.grad_n.map(|g| [g[1], -g[0]]),
            Symmetry::Axisymmetric => {
                let r = self.place.x;
                std::array::from_fn(|i| {
                    let g = self.grad_n[i];
                    [-r * g[1], 2.0 * self.n[i] + r * g[0]]
                })
            }
        }
    }

    /// Weight of the area element: 1, or 2 pi r.
    pub fn measure(&self, symmetry: Symmetry) -> f64 {
        match symmetry {
            Symmetry::Planar => 1.0,
            Symmetry::Axisymmetric => 2.0 * std::f64::consts::PI * self.place.x,
        }
    }

    /// Vector potential per unit of each nodal unknown: N_i, or r N_i.
    pub fn potential_basis(&self, symmetry: Symmetry) -> [f64; 6] {
        match symmetry {
            Symmetry::Planar => self.n,
            Symmetry::Axisymmetric => self.n.map(|n| n * self.place.x),
        }
    }
}

/// Corner and mid-side places of triangle `t`.
pub fn corners(mesh: &Mesh, t: usize) -> [Point; 6] {
    mesh.triangles[t].map(|node| mesh.nodes[node as usize])
}

/// Evaluates the triangle with these six nodes at (xi, eta).
pub fn evaluate(nodes: &[Point; 6], xi: f64, eta: f64) -> Evaluated {
    evaluate_shapes(nodes, &(shape(xi, eta), shape_gradient(xi, eta)))
}

/// Evaluates the triangle with these six nodes at quadrature point `q`.
#[inline]
pub fn evaluate_at(nodes: &[Point; 6], q: usize) -> Evaluated {
    evaluate_shapes(nodes, &SHAPES[q])
}

/// Shape functions and their gradients in (xi, eta).
type Shapes = ([f64; 6], [[f64; 2]; 6]);

/// The shape functions at the quadrature points.
const SHAPES: [Shapes; N_POINTS] = {
    let mut shapes = [([0.0; 6], [[0.0; 2]; 6]); N_POINTS];
    let mut q = 0;
    while q < N_POINTS {
        let [xi, eta, _] = QUADRATURE[q];
        shapes[q] = (shape(xi, eta), shape_gradient(xi, eta));
        q += 1;
    }
    shapes
};

#[inline]
fn evaluate_shapes(nodes: &[Point; 6], (n, d): &Shapes) -> Evaluated {
    let (mut place, mut j) = (Point::default(), [[0.0f64; 2]; 2]);
    for i in 0..6 {
        place = place + nodes[i] * n[i];
        j[0][0] += d[i][0] * nodes[i].x;
        j[0][1] += d[i][0] * nodes[i].y;
        j[1][0] += d[i][1] * nodes[i].x;
        j[1][1] += d[i][1] * nodes[i].y;
    }
    let jacobian = j[0][0] * j[1][1] - j[0][1] * j[1][0];
    let inverse = 1.0 / jacobian;
    let grad_n = d.map(|g| {
        [(j[1][1] * g[0] - j[0][1] * g[1]) * inverse, (-j[1][0] * g[0] + j[0][0] * g[1]) * inverse]
    });
    Evaluated { place, n: *n, grad_n, jacobian }
}

/// The triangle at all quadrature points, one by one, with the weight of each (area only, no
/// measure).
#[inline]
pub fn quadrature(nodes: &[Point; 6]) -> impl Iterator<Item = (Evaluated, f64)> {
    SHAPES.iter().zip(&QUADRATURE).map(|(shapes, [_, _, w])| {
        let at = evaluate_shapes(nodes, shapes);
        (at, w * at.jacobian)
    })
}

/// Flux density at an evaluated point from the six nodal unknowns.
#[inline]
pub fn flux_density(basis: &[[f64; 2]; 6], u: &[f64; 6]) -> [f64; 2] {
    let mut b = [0.0; 2];
    for i in 0..6 {
        b[0] += basis[i][0] * u[i];
        b[1] += basis[i][1] * u[i];
    }
    b
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Integral of xi^p eta^q over the reference triangle: p! q! / (p + q + 2)!.
    #[test]
    fn quadrature_is_exact_to_degree_five() {
        let factorial = |n: i32| (1..=n).map(f64::from).product::<f64>();
        for p in 0..=5 {
            for q in 0..=(5 - p) {
                let sum: f64 = QUADRATURE.iter().map(|[x, y, w]| w * x.powi(p) * y.powi(q)).sum();
                let exact = factorial(p) * factorial(q) / factorial(p + q + 2);
                // A few roundings of numbers below one.
                assert!((sum - exact).abs() < 1e-15, "{p} {q}: {sum} against {exact}");
            }
        }
    }

    #[test]
    fn shape_functions_are_nodal_and_sum_to_one() {
        let nodes = [[0., 0.], [1., 0.], [0., 1.], [0.5, 0.], [0.5, 0.5], [0., 0.5]];
        for (i, [x, y]) in nodes.iter().enumerate() {
            for (j, n) in shape(*x, *y).iter().enumerate() {
                assert_eq!(*n, if i == j { 1.0 } else { 0.0 });
            }
        }
        let d = shape_gradient(0.2, 0.3);
        for k in 0..2 {
            assert!(d.iter().map(|g| g[k]).sum::<f64>().abs() < 1e-15);
        }
    }

    #[test]
    fn curved_gradients_reproduce_linear_functions() {
        // A side bulged outward: the map is quadratic, x itself is still represented exactly.
        let nodes = [[0., 0.], [2., 0.], [0., 1.], [1., -0.2], [1.1, 0.55], [0., 0.5]]
            .map(|[x, y]| Point::new(x, y));
        let at = evaluate(&nodes, 0.3, 0.4);
        let grad_x: [f64; 2] =
            std::array::from_fn(|k| (0..6).map(|i| nodes[i].x * at.grad_n[i][k]).sum());
        assert!((grad_x[0] - 1.0).abs() < 1e-14 && grad_x[1].abs() < 1e-14, "{grad_x:?}");
    }
}
