//! What elements one degree higher would change in a field: its error, nearly.
//!
//! In: a solved field, or a small change of one. Out: the change e of the unknowns that cubic
//! triangles on the same mesh would make, from one linear solve. Each side gets a cubic bump
//! c_s = L_a L_b (L_a - L_b), each triangle a bubble c_t = L_0 L_1 L_2 (L the area coordinates, a < b
//! the vertices of the side); both are 0 at all six nodes. With V the quadratic unknowns and W the
//! bumps and bubbles,
//!
//! ```text
//! [K_VV K_VW] [e_V]   [ 0 ]        r_W = load(c_W) - integral b_W . H(B)
//! [K_WV K_WW] [e_W] = [r_W]        K   = integral b . (dH/dB) b
//! ```
//!
//! r_V being 0 for a field that is solved. The error of a goal with load l is then l . e, the
//! dual-weighted residual of the cubic space (R. Becker and R. Rannacher, "An optimal control approach
//! to a posteriori error estimation in finite element methods", Acta Numerica 10 (2001) 1, section 3.2,
//! without the dual solve, which the symmetric K makes the same number); with z the answer of the
//! quadratic space to l, and r^z_W = l_W - K_WV z its own residual, the same sum written bump by bump,
//! l . e = sum_W e_W r^z_W, says where the error comes from.
//!
//! The factored tangent K_VV takes V out: S e_W = r_W, S = K_WW - K_WV K_VV^-1 K_VW, e_V = -K_VV^-1 K_VW e_W.
//! Solved by conjugate gradients, preconditioned with the diagonal of K_WW, to a twentieth: an estimate needs
//! no more. Conjugate gradients: M. R. Hestenes and E. Stiefel, J. Res. Natl. Bur. Stand. 49 (1952) 409.

use rayon::prelude::*;

use crate::field::assembly::Slopes;
use crate::field::element::{self, Evaluated};
use crate::field::solution::{Field, SmallChange};
use crate::field::space::Space;
use crate::mesh::Mesh;

/// Shapes of a triangle: six quadratic, three bumps of sides, one bubble.
pub const N_SHAPES: usize = 10;

/// Those beyond the quadratic ones.
const N_EXTRA: usize = N_SHAPES - 6;

/// Steps of conjugate gradients stop at this share of the first residual.
const ENOUGH: f64 = 0.05;

/// Most steps.
const MOST_STEPS: usize = 40;

/// A vector over the unknowns of the cubic space.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cubic {
    /// At the nodes of the mesh, `[n_nodes]`.
    pub nodal: Vec<f64>,
    /// Of the bumps, one per side in the order of the mid-side nodes, then of the bubbles, one
    /// per triangle: `[n_nodes - n_vertices + n_triangles]`.
    pub extra: Vec<f64>,
}

impl Cubic {
    /// All zero.
    pub fn zeros(mesh: &Mesh) -> Self {
        Self { nodal: vec![0.0; mesh.nodes.len()], extra: vec![0.0; n_extra(mesh)] }
    }

    /// The sum of all products.
    pub fn dot(&self, other: &Self) -> f64 {
        dot(&self.nodal, &other.nodal) + dot(&self.extra, &other.extra)
    }

    /// Adds another.
    pub fn add(&mut self, other: &Self) {
        add(&mut self.nodal, 1.0, &other.nodal);
        add(&mut self.extra, 1.0, &other.extra);
    }

    /// Changes its sign.
    pub fn turn_over(&mut self) {
        self.scale(-1.0);
    }

    /// Multiplies it by a factor.
    pub fn scale(&mut self, factor: f64) {
        self.nodal.iter_mut().chain(&mut self.extra).for_each(|v| *v *= factor);
    }

    /// The unknowns of triangle `t`.
    pub fn of_triangle(&self, mesh: &Mesh, t: usize) -> [f64; N_SHAPES] {
        let nodes = &mesh.triangles[t];
        let extra = places(mesh, t);
        std::array::from_fn(|i| match i {
            0..6 => self.nodal[nodes[i] as usize],
            _ => self.extra[extra[i - 6]],
        })
    }

    /// Adds the entries of triangle `t`.
    pub fn add_of_triangle(&mut self, mesh: &Mesh, t: usize, part: &[f64; N_SHAPES]) {
        for (&node, value) in mesh.triangles[t].iter().zip(part) {
            self.nodal[node as usize] += value;
        }
        for (place, value) in places(mesh, t).into_iter().zip(&part[6..]) {
            self.extra[place] += value;
        }
    }
}

fn n_extra(mesh: &Mesh) -> usize {
    mesh.nodes.len() - mesh.n_vertices + mesh.triangles.len()
}

/// Where the bumps and the bubble of triangle `t` stand in [`Cubic::extra`].
pub fn places(mesh: &Mesh, t: usize) -> [usize; 4] {
    let [_, _, _, ab, bc, ca] = mesh.triangles[t].map(|node| node as usize);
    let n = mesh.n_vertices;
    [ab - n, bc - n, ca - n, mesh.nodes.len() - n + t]
}

/// The ten shapes of triangle `t` and their gradients in the section at a reference point.
#[derive(Clone, Copy, Debug)]
pub struct Shapes {
    /// Values.
    pub n: [f64; N_SHAPES],
    /// Gradients, 1/m.
    pub grad: [[f64; 2]; N_SHAPES],
}

impl Shapes {
    /// Of triangle `t` at (xi, eta), where it has been evaluated.
    #[inline]
    pub fn new(mesh: &Mesh, t: usize, at: &Evaluated, xi: f64, eta: f64) -> Self {
        let l = [1.0 - xi - eta, xi, eta];
        // Of xi and eta, from the nodes at which they are 1 and 1/2.
        let g_xi: [f64; 2] =
            std::array::from_fn(|k| at.grad_n[1][k] + 0.5 * (at.grad_n[3][k] + at.grad_n[4][k]));
        let g_eta: [f64; 2] =
            std::array::from_fn(|k| at.grad_n[2][k] + 0.5 * (at.grad_n[4][k] + at.grad_n[5][k]));
        let g: [[f64; 2]; 3] = [[-g_xi[0] - g_eta[0], -g_xi[1] - g_eta[1]], g_xi, g_eta];
        let vertices = &mesh.triangles[t];
        let (mut n, mut grad) = ([0.0; N_SHAPES], [[0.0; 2]; N_SHAPES]);
        n[..6].copy_from_slice(&at.n);
        grad[..6].copy_from_slice(&at.grad_n);
        for (s, (i, j)) in [(0, 1), (1, 2), (2, 0)].into_iter().enumerate() {
            let (a, b) = if vertices[i] < vertices[j] { (i, j) } else { (j, i) };
            let (la, lb) = (l[a], l[b]);
            n[6 + s] = la * lb * (la - lb);
            for k in 0..2 {
                grad[6 + s][k] = lb * (2.0 * la - lb) * g[a][k] + la * (la - 2.0 * lb) * g[b][k];
            }
        }
        n[9] = l[0] * l[1] * l[2];
        for k in 0..2 {
            grad[9][k] = l[1] * l[2] * g[0][k] + l[2] * l[0] * g[1][k] + l[0] * l[1] * g[2][k];
        }
        Self { n, grad }
    }

    /// Flux density per unit of each shape.
    pub fn flux_density_basis(&self, mesh: &Mesh, at: &Evaluated) -> [[f64; 2]; N_SHAPES] {
        use crate::section::Symmetry;
        let r = at.place.x;
        std::array::from_fn(|i| {
            let g = self.grad[i];
            match mesh.symmetry {
                Symmetry::Planar => [g[1], -g[0]],
                Symmetry::Axisymmetric => [-r * g[1], 2.0 * self.n[i] + r * g[0]],
            }
        })
    }

    /// Vector potential per unit of each shape.
    pub fn potential_basis(&self, mesh: &Mesh, at: &Evaluated) -> [f64; N_SHAPES] {
        use crate::section::Symmetry;
        match mesh.symmetry {
            Symmetry::Planar => self.n,
            Symmetry::Axisymmetric => self.n.map(|n| n * at.place.x),
        }
    }
}

/// The seven quadrature points of triangle `t` with all ten shapes; weights are of the area alone.
#[inline]
pub fn quadrature(mesh: &Mesh, t: usize) -> impl Iterator<Item = (Evaluated, Shapes, f64)> + '_ {
    let nodes = element::corners(mesh, t);
    element::QUADRATURE.iter().enumerate().map(move |(q, &[xi, eta, w])| {
        let at = element::evaluate_at(&nodes, q);
        (at, Shapes::new(mesh, t, &at, xi, eta), w * at.jacobian)
    })
}

/// The tangent of the cubic space.
#[derive(Clone, Debug)]
pub struct Enriched<'a> {
    space: &'a Space,
    factor: &'a SmallChange,
    /// The rows of W of every element's matrix, [K_WV K_WW].
    elements: Vec<[[f64; N_SHAPES]; N_EXTRA]>,
    /// Of K_WW; infinite where the value is prescribed, so that nothing changes there.
    diagonal: Vec<f64>,
}

impl<'a> Enriched<'a> {
    /// `slopes` at `field`, of which `factor` is the tangent with the same slopes.
    pub fn new(field: &'a Field, factor: &'a SmallChange, slopes: Slopes) -> Self {
        let mesh = field.mesh();
        let elements: Vec<[[f64; N_SHAPES]; N_EXTRA]> = (0..mesh.triangles.len())
            .into_par_iter()
            .map(|t| element_matrix(field, t, slopes))
            .collect();
        let mut diagonal = vec![0.0; n_extra(mesh)];
        for (t, rows) in elements.iter().enumerate() {
            for (i, place) in places(mesh, t).into_iter().enumerate() {
                diagonal[place] += rows[i][6 + i];
            }
        }
        for &node in mesh.outer_nodes.iter().filter(|&&node| node as usize >= mesh.n_vertices) {
            diagonal[node as usize - mesh.n_vertices] = f64::INFINITY;
        }
        Self { space: &field.assembly.space, factor, elements, diagonal }
    }

    /// K_VW w, `[n_nodes]`, and K_WW w.
    fn times(&self, w: &[f64]) -> Cubic {
        let mesh = &self.space.mesh;
        let mut y = Cubic::zeros(mesh);
        for (t, rows) in self.elements.iter().enumerate() {
            let mut part = [0.0; N_SHAPES];
            for (row, place) in rows.iter().zip(places(mesh, t)) {
                for (sum, k) in part.iter_mut().zip(row) {
                    *sum += k * w[place];
                }
            }
            y.add_of_triangle(mesh, t, &part);
        }
        y
    }

    /// Takes K_WV v, for v over all nodes, off `w`.
    fn take_off(&self, w: &mut [f64], v: &[f64]) {
        let mesh = &self.space.mesh;
        for (t, rows) in self.elements.iter().enumerate() {
            let v = mesh.triangles[t].map(|node| v[node as usize]);
            for (row, place) in rows.iter().zip(places(mesh, t)) {
                w[place] -= row[..6].iter().zip(v).map(|(k, v)| k * v).sum::<f64>();
            }
        }
    }

    /// The residual l_W - K_WV z of a small change, for the answer z of the quadratic space to the load l,
    /// `[n_nodes]`; that of the quadratic unknowns is 0. Over the bumps and bubbles.
    pub fn residual(&self, load: &Cubic, answer: &[f64]) -> Vec<f64> {
        let mut r = load.extra.clone();
        self.take_off(&mut r, answer);
        self.free(&mut r);
        r
    }

    /// Solves K e = r for a residual `r` over the bumps and bubbles, that of the quadratic unknowns being 0;
    /// begins `near` what is known to be close.
    pub fn solve(&self, mut r: Vec<f64>, near: Option<&Cubic>) -> Cubic {
        let mut e = Cubic::zeros(&self.space.mesh);
        self.free(&mut r);
        let mut z = self.precondition(&r);
        let mut rz = dot(&r, &z);
        let target = ENOUGH * ENOUGH * rz;
        if let Some(near) = near {
            let (change, v) = self.schur(&near.extra);
            e.extra.clone_from(&near.extra);
            add(&mut e.nodal, -1.0, &v);
            add(&mut r, -1.0, &change);
            z = self.precondition(&r);
            rz = dot(&r, &z);
        }
        let mut p = z.clone();
        for _ in 0..MOST_STEPS {
            if rz <= target || rz <= 0.0 {
                break;
            }
            let (change, v) = self.schur(&p);
            let step = rz / dot(&p, &change);
            add(&mut e.extra, step, &p);
            add(&mut e.nodal, -step, &v);
            add(&mut r, -step, &change);
            z = self.precondition(&r);
            let last = std::mem::replace(&mut rz, dot(&r, &z));
            let keep = rz / last;
            for (p, z) in p.iter_mut().zip(&z) {
                *p = z + keep * *p;
            }
        }
        e
    }

    /// S w, and K_VV^-1 K_VW w over all nodes.
    fn schur(&self, w: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let Cubic { nodal, extra: mut change } = self.times(w);
        let v = self.factor.answer(&nodal);
        self.take_off(&mut change, &v);
        self.free(&mut change);
        (change, v)
    }

    fn precondition(&self, r: &[f64]) -> Vec<f64> {
        r.iter().zip(&self.diagonal).map(|(r, d)| r / d).collect()
    }

    /// Takes out what is prescribed.
    fn free(&self, r: &mut [f64]) {
        for (value, d) in r.iter_mut().zip(&self.diagonal) {
            if d.is_infinite() {
                *value = 0.0;
            }
        }
    }
}

/// The residual of a solved field in the cubic space: currents less the gradient of its energy. Of the
/// quadratic unknowns it is what Newton's method left, and taken as 0; over the bumps and bubbles.
pub fn residual(field: &Field) -> Vec<f64> {
    let mesh = field.mesh();
    let parts: Vec<[f64; N_EXTRA]> =
        (0..mesh.triangles.len()).into_par_iter().map(|t| element_residual(field, t)).collect();
    let mut r = vec![0.0; n_extra(mesh)];
    for (t, part) in parts.iter().enumerate() {
        for (place, value) in places(mesh, t).into_iter().zip(part) {
            r[place] += value;
        }
    }
    r
}

fn element_residual(field: &Field, t: usize) -> [f64; N_EXTRA] {
    let (mesh, setup) = (field.mesh(), field.setup());
    let region = mesh.region_of[t];
    let body = &setup.bodies[region as usize];
    let u = field.of_triangle(t);
    let mut r = [0.0; N_EXTRA];
    for (q, (at, shapes, w)) in quadrature(mesh, t).enumerate() {
        let m = w * at.measure(mesh.symmetry);
        let basis = shapes.flux_density_basis(mesh, &at);
        let b = element::flux_density(&at.flux_density_basis(mesh.symmetry), &u);
        let seen = setup.memory.as_ref().and_then(|memory| memory.at(t, q));
        let h = body.law.respond_in_field(b, body.axis, seen).h;
        let mut j = body.current_density;
        if let Some(current) = &setup.current {
            j += current(region, at.place);
        }
        let a = shapes.potential_basis(mesh, &at);
        for (r, i) in r.iter_mut().zip(6..) {
            *r += m * (j * a[i] - basis[i][0] * h[0] - basis[i][1] * h[1]);
        }
    }
    r
}

fn element_matrix(field: &Field, t: usize, slopes: Slopes) -> [[f64; N_SHAPES]; N_EXTRA] {
    let mesh = field.mesh();
    let body = &field.setup().bodies[mesh.region_of[t] as usize];
    let u = field.of_triangle(t);
    let mut rows = [[0.0; N_SHAPES]; N_EXTRA];
    for (q, (at, shapes, w)) in quadrature(mesh, t).enumerate() {
        let m = w * at.measure(mesh.symmetry);
        let basis = shapes.flux_density_basis(mesh, &at);
        let b = element::flux_density(&at.flux_density_basis(mesh.symmetry), &u);
        let nu = slopes.at(body, b, t, q);
        for (row, own) in rows.iter_mut().zip(&basis[6..]) {
            let h0 = m * (nu[0] * own[0] + nu[1] * own[1]);
            let h1 = m * (nu[1] * own[0] + nu[2] * own[1]);
            for (k, b) in row.iter_mut().zip(&basis) {
                *k += h0 * b[0] + h1 * b[1];
            }
        }
    }
    rows
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// sum += factor * more.
fn add(sum: &mut [f64], factor: f64, more: &[f64]) {
    for (sum, more) in sum.iter_mut().zip(more) {
        *sum += factor * more;
    }
}

#[cfg(test)]
#[expect(clippy::expect_used, reason = "tests")]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::field::{Body, Setup};
    use crate::geometry::Source;
    use crate::material::Law;
    use crate::mesh::structured;
    use crate::point::Point;
    use crate::section::Symmetry;
    use crate::units::MU_0;

    /// A = sin x sinh y on n x n cells.
    fn harmonic(n: usize) -> Field {
        let (low, high) = (Point::new(0.0, 0.0), Point::new(2.0, 2.0));
        let sources: [Source; 0] = [];
        let mesh = structured::rectangle(Symmetry::Planar, low, high, n, &sources, |_| 0);
        let space = Arc::new(Space::of_potential(Arc::new(mesh)).expect("memory"));
        let setup = Setup {
            boundary: Some(Arc::new(|p: Point| p.x.sin() * p.y.sinh())),
            ..Setup::new(vec![Body::air()])
        };
        Field::solve(space, setup).expect("linear")
    }

    /// The energy norm of its error, squared, told and true.
    fn energy_of_error(n: usize) -> (f64, f64) {
        let field = harmonic(n);
        let factor = SmallChange::new(&field).expect("definite");
        let enriched = Enriched::new(&field, &factor, Slopes::OfLaws(None));
        let r = residual(&field);
        let told = dot(&r, &enriched.solve(r.clone(), None).extra);
        let mesh = field.mesh();
        let mut truth = 0.0;
        for t in 0..mesh.triangles.len() {
            let u = field.of_triangle(t);
            for (at, _, w) in quadrature(mesh, t) {
                let b = element::flux_density(&at.flux_density_basis(mesh.symmetry), &u);
                let Point { x, y } = at.place;
                let off = [x.sin() * y.cosh() - b[0], -x.cos() * y.sinh() - b[1]];
                truth += w * (off[0] * off[0] + off[1] * off[1]) / MU_0;
            }
        }
        (told, truth)
    }

    #[test]
    fn the_energy_of_the_error_is_told_and_falls_with_the_fourth_power() {
        let coarse = energy_of_error(8);
        let fine = energy_of_error(16);
        for (told, truth) in [coarse, fine] {
            // The cubic space leaves a part of the order of h, and the sides of the square, whose
            // values are held, some more.
            assert!((0.7..1.05).contains(&(told / truth)), "{told:e} of {truth:e}");
        }
        let order = (coarse.1 / fine.1).log2();
        assert!((order - 4.0).abs() < 0.2, "order {order}");
    }

    /// Where the answer is known it is returned, quadratic unknowns and all; begun at nothing it is that of no
    /// beginning.
    #[test]
    fn an_answer_begun_near_is_the_same() {
        let field = harmonic(8);
        let factor = SmallChange::new(&field).expect("definite");
        let enriched = Enriched::new(&field, &factor, Slopes::OfLaws(None));
        let plain = enriched.solve(residual(&field), None);
        let largest =
            |of: &Cubic| of.nodal.iter().chain(&of.extra).fold(0.0f64, |m, v| m.max(v.abs()));
        let size = largest(&plain);
        for share in [1.0, 0.0] {
            let mut near = plain.clone();
            near.scale(share);
            let mut off = enriched.solve(residual(&field), Some(&near));
            off.nodal.iter_mut().zip(&plain.nodal).for_each(|(v, own)| *v -= own);
            off.extra.iter_mut().zip(&plain.extra).for_each(|(v, own)| *v -= own);
            // Round-off of sums over a few hundred unknowns.
            assert!(largest(&off) < 1e-12 * size, "{share}: {:e} of {size:e}", largest(&off));
        }
    }

    /// A steel block in a uniform field: the linkage of a loop beside it, against the same on a mesh
    /// five times as fine.
    fn linkage_and_told_error(n: usize) -> (f64, f64) {
        let inside = |p: Point| p.x.abs() < 0.4 && p.y.abs() < 0.4;
        let loops = |p: Point| p.x > 0.5 && p.x < 0.7 && p.y.abs() < 0.2;
        let mesh = structured::rectangle(
            Symmetry::Planar,
            Point::new(-1.0, -1.0),
            Point::new(1.0, 1.0),
            n,
            &[Source::Part(0), Source::Window(0, 0)],
            |p| if inside(p) { 1 } else { u32::from(loops(p)) * 2 },
        );
        let space = Arc::new(Space::of_potential(Arc::new(mesh)).expect("memory"));
        let mut bodies = vec![Body::air(); 3];
        bodies[1].law = Law::Linear { mu_r: 50.0 };
        let setup = Setup { applied_field: [0.0, 0.05], ..Setup::new(bodies) };
        let field = Field::solve(space, setup).expect("linear");
        let factor = SmallChange::new(&field).expect("definite");
        let e = Enriched::new(&field, &factor, Slopes::OfLaws(None)).solve(residual(&field), None);
        let mesh = field.mesh();
        let mut load = Cubic::zeros(mesh);
        for t in (0..mesh.triangles.len()).filter(|&t| mesh.region_of[t] == 2) {
            let mut part = [0.0; N_SHAPES];
            for (at, shapes, w) in quadrature(mesh, t) {
                let a = shapes.potential_basis(mesh, &at);
                for (part, a) in part.iter_mut().zip(a) {
                    *part += w * a;
                }
            }
            load.add_of_triangle(mesh, t, &part);
        }
        let value = load.nodal.iter().zip(&field.nodal).map(|(l, u)| l * u).sum();
        (value, load.dot(&e))
    }

    #[test]
    fn the_error_of_a_linkage_by_a_corner_is_told_with_its_sign() {
        let (truth, left) = linkage_and_told_error(100);
        for n in [20, 40] {
            let (value, told) = linkage_and_told_error(n);
            // The singular fields at the corners leave about a third of the error to the cubic
            // space too: (2/3)^(8/3) for an angle of three right angles.
            let effectivity = told / (truth + left - value);
            assert!((0.5..1.1).contains(&effectivity), "{n}: {told:e}, {effectivity}");
        }
    }
}
