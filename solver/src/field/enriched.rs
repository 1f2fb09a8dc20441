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
//! Solved by conjugate gradients, preconditioned with the factored tangent on V and the diagonal
//! on W, to a twentieth: an estimate needs no more. Conjugate gradients: M. R. Hestenes and
//! E. Stiefel, J. Res. Natl. Bur. Stand. 49 (1952) 409.

use rayon::prelude::*;

use crate::field::element::{self, Evaluated};
use crate::field::linear_solve::FIXED;
use crate::field::setup::MagnetMemory;
use crate::field::solution::{Field, SmallChange};
use crate::field::space::Space;
use crate::mesh::Mesh;

/// Shapes of a triangle: six quadratic, three bumps of sides, one bubble.
pub const N_SHAPES: usize = 10;

/// Entries of the lower triangle of an element matrix.
const N_ENTRIES: usize = N_SHAPES * (N_SHAPES + 1) / 2;

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
        add(self, 1.0, other);
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

/// Which slopes the tangent of the cubic space has.
#[derive(Clone, Copy, Debug)]
pub enum Slopes<'a> {
    /// Those of the laws themselves, which the field's own error answers to, for magnets that remember this.
    /// What a field without strings remembers is for that with strings a part of the answer, wrong as it
    /// is: it is then not to be held.
    OfLaws(Option<&'a MagnetMemory>),
    /// Those for a small change, magnets on recoil.
    Small,
}

/// The tangent of the cubic space.
#[derive(Clone, Debug)]
pub struct Enriched<'a> {
    space: &'a Space,
    factor: &'a SmallChange,
    elements: Vec<[f64; N_ENTRIES]>,
    /// Of W; infinite where the value is prescribed, so that nothing changes there.
    diagonal: Vec<f64>,
}

impl<'a> Enriched<'a> {
    /// Slopes at `field`. `factor` is the tangent of the same field.
    pub fn new(field: &'a Field, factor: &'a SmallChange, slopes: Slopes) -> Self {
        let mesh = field.mesh();
        let elements: Vec<[f64; N_ENTRIES]> = (0..mesh.triangles.len())
            .into_par_iter()
            .map(|t| element_matrix(field, t, slopes))
            .collect();
        let mut diagonal = vec![0.0; n_extra(mesh)];
        for (t, k) in elements.iter().enumerate() {
            for (i, place) in places(mesh, t).into_iter().enumerate() {
                diagonal[place] += k[entry(6 + i, 6 + i)];
            }
        }
        for &node in mesh.outer_nodes.iter().filter(|&&node| node as usize >= mesh.n_vertices) {
            diagonal[node as usize - mesh.n_vertices] = f64::INFINITY;
        }
        Self { space: &field.assembly.space, factor, elements, diagonal }
    }

    /// K x, all nodes included.
    pub fn times(&self, x: &Cubic) -> Cubic {
        let mesh = &self.space.mesh;
        let parts: Vec<[f64; N_SHAPES]> = self
            .elements
            .par_iter()
            .enumerate()
            .map(|(t, k)| {
                let own = x.of_triangle(mesh, t);
                std::array::from_fn(|i| {
                    (0..N_SHAPES).map(|j| k[entry(i.max(j), i.min(j))] * own[j]).sum()
                })
            })
            .collect();
        let mut y = Cubic::zeros(mesh);
        for (t, part) in parts.iter().enumerate() {
            y.add_of_triangle(mesh, t, part);
        }
        y
    }

    /// The residual l_W - K_WV z of a small change, for the answer z of the quadratic space to the load l,
    /// `[n_nodes]`; that of the quadratic unknowns is 0. Over the bumps and bubbles.
    pub fn residual(&self, load: &Cubic, answer: &[f64]) -> Vec<f64> {
        let mesh = &self.space.mesh;
        let mut r = load.extra.clone();
        for (t, k) in self.elements.iter().enumerate() {
            let z = mesh.triangles[t].map(|node| answer[node as usize]);
            for (i, place) in places(mesh, t).into_iter().enumerate() {
                r[place] -= (0..6).map(|j| k[entry(6 + i, j)] * z[j]).sum::<f64>();
            }
        }
        for (value, d) in r.iter_mut().zip(&self.diagonal) {
            if d.is_infinite() {
                *value = 0.0;
            }
        }
        r
    }

    /// Solves K e = r.
    pub fn solve(&self, mut r: Cubic) -> Cubic {
        let mesh = &self.space.mesh;
        let mut e = Cubic::zeros(mesh);
        self.free(&mut r);
        let mut z = self.precondition(&r);
        let mut rz = r.dot(&z);
        let target = ENOUGH * ENOUGH * rz;
        let mut p = z.clone();
        for _ in 0..MOST_STEPS {
            if rz <= target || rz <= 0.0 {
                break;
            }
            let mut kp = self.times(&p);
            self.free(&mut kp);
            let step = rz / p.dot(&kp);
            add(&mut e, step, &p);
            add(&mut r, -step, &kp);
            z = self.precondition(&r);
            let last = std::mem::replace(&mut rz, r.dot(&z));
            let keep = rz / last;
            p.scale(keep);
            add(&mut p, 1.0, &z);
        }
        e
    }

    fn precondition(&self, r: &Cubic) -> Cubic {
        Cubic {
            nodal: self.factor.answer(&r.nodal),
            extra: r.extra.iter().zip(&self.diagonal).map(|(r, d)| r / d).collect(),
        }
    }

    /// Takes out what is prescribed.
    fn free(&self, r: &mut Cubic) {
        for (value, &unknown) in r.nodal.iter_mut().zip(&self.space.unknown_of) {
            if unknown == FIXED {
                *value = 0.0;
            }
        }
        for (value, d) in r.extra.iter_mut().zip(&self.diagonal) {
            if d.is_infinite() {
                *value = 0.0;
            }
        }
    }
}

/// The residual of a solved field in the cubic space: currents less the gradient of its energy. Of the
/// quadratic unknowns it is what Newton's method left, and taken as 0.
pub fn residual(field: &Field) -> Cubic {
    let mesh = field.mesh();
    let parts: Vec<[f64; N_SHAPES]> =
        (0..mesh.triangles.len()).into_par_iter().map(|t| element_residual(field, t)).collect();
    let mut r = Cubic::zeros(mesh);
    for (t, part) in parts.iter().enumerate() {
        for (place, value) in places(mesh, t).into_iter().zip(&part[6..]) {
            r.extra[place] += value;
        }
    }
    r
}

fn element_residual(field: &Field, t: usize) -> [f64; N_SHAPES] {
    let (mesh, setup) = (field.mesh(), field.setup());
    let region = mesh.region_of[t];
    let body = &setup.bodies[region as usize];
    let u = field.of_triangle(t);
    let mut r = [0.0; N_SHAPES];
    for (q, (at, shapes, w)) in quadrature(mesh, t).enumerate() {
        let m = w * at.measure(mesh.symmetry);
        let basis = shapes.flux_density_basis(mesh, &at);
        let b = element::flux_density(&at.flux_density_basis(mesh.symmetry), &u);
        let seen = setup.memory.as_ref().and_then(|memory| memory.at(t, q));
        let h = body.law.respond(b, body.axis, seen).h;
        let mut j = body.current_density;
        if let Some(current) = &setup.current {
            j += current(region, at.place);
        }
        let a = shapes.potential_basis(mesh, &at);
        for i in 6..N_SHAPES {
            r[i] += m * (j * a[i] - basis[i][0] * h[0] - basis[i][1] * h[1]);
        }
    }
    r
}

fn element_matrix(field: &Field, t: usize, slopes: Slopes) -> [f64; N_ENTRIES] {
    let mesh = field.mesh();
    let body = &field.setup().bodies[mesh.region_of[t] as usize];
    let u = field.of_triangle(t);
    let mut k = [0.0; N_ENTRIES];
    for (q, (at, shapes, w)) in quadrature(mesh, t).enumerate() {
        let m = w * at.measure(mesh.symmetry);
        let basis = shapes.flux_density_basis(mesh, &at);
        let b = element::flux_density(&at.flux_density_basis(mesh.symmetry), &u);
        let nu = match slopes {
            Slopes::Small => body.law.small_change(b, body.axis),
            Slopes::OfLaws(memory) => {
                let seen = memory.and_then(|memory| memory.at(t, q));
                body.law.respond(b, body.axis, seen).tangent
            }
        };
        let mut place = 0;
        for i in 0..N_SHAPES {
            let h0 = m * (nu[0] * basis[i][0] + nu[1] * basis[i][1]);
            let h1 = m * (nu[1] * basis[i][0] + nu[2] * basis[i][1]);
            for b in &basis[..=i] {
                k[place] += h0 * b[0] + h1 * b[1];
                place += 1;
            }
        }
    }
    k
}

/// Place of entry (row, column <= row) in a lower triangle.
fn entry(row: usize, column: usize) -> usize {
    row * (row + 1) / 2 + column
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn add(sum: &mut Cubic, factor: f64, more: &Cubic) {
    for (sum, more) in [(&mut sum.nodal, &more.nodal), (&mut sum.extra, &more.extra)] {
        for (s, m) in sum.iter_mut().zip(more) {
            *s += factor * m;
        }
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

    /// The energy norm of the error, squared, told and true, of A = sin x sinh y on n x n cells.
    fn energy_of_error(n: usize) -> (f64, f64) {
        let (low, high) = (Point::new(0.0, 0.0), Point::new(2.0, 2.0));
        let sources: [Source; 0] = [];
        let mesh = structured::rectangle(Symmetry::Planar, low, high, n, &sources, |_| 0);
        let space = Arc::new(Space::of_potential(Arc::new(mesh)).expect("memory"));
        let setup = Setup {
            boundary: Some(Arc::new(|p: Point| p.x.sin() * p.y.sinh())),
            ..Setup::new(vec![Body::air()])
        };
        let field = Field::solve(space, setup).expect("linear");
        let factor = SmallChange::new(&field).expect("definite");
        let enriched = Enriched::new(&field, &factor, Slopes::OfLaws(None));
        let r = residual(&field);
        let told = r.dot(&enriched.solve(r.clone()));
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
        let e = Enriched::new(&field, &factor, Slopes::OfLaws(None)).solve(residual(&field));
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
