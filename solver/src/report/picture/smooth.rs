//! The field made smooth for the eye.
//!
//! Level lines of second-order elements have a corner at every side they cross, which shows where
//! triangles are large. So the unknown u is fitted at each vertex by a cubic to the nodal values
//! around it (polynomial-preserving recovery [NagaZhang2004]), without looking across a border
//! between materials, and the fit's slope is used twice:
//!
//! - u itself keeps its nodal values; on each side a-b two terms are added that vanish at its three
//!   nodes and give it the slopes of the fits at its ends:
//!   L_a L_b (L_a - L_b) (c_1 + c_2 (L_a - L_b)). They are the same seen from both triangles. A term
//!   27 L_0 L_1 L_2 c_0, zero on all sides, gives the middle the mean value of the three fits.
//! - The flux density at vertices is that of the fit; at mid-side nodes the mean of two fits.
//!
//! The added terms are of the size of the discretisation error and are limited to a fraction of
//! what u changes there.

use rayon::prelude::*;

use crate::field::Field;
use crate::field::linear_solve::DenseFactor;
use crate::geometry::RegionId;
use crate::material::Law;
use crate::mesh::Mesh;
use crate::point::Point;
use crate::section::Symmetry;

/// Coefficients of a cubic in two variables.
const N_CUBIC: usize = 10;
/// Fewer nodes do not hold a cubic firmly.
const ENOUGH: usize = 16;
/// The added terms' slope along a side is at most this part of the steepest slope at its ends.
const MOST: f64 = 0.3;

/// A cubic about a vertex.
#[derive(Clone, Copy, Debug)]
struct Fit {
    centre: Point,
    reach: f64,
    c: [f64; N_CUBIC],
}

impl Fit {
    /// u and its slope (du/dx, du/dy) at `p`.
    fn at(&self, p: Point) -> (f64, Point) {
        let (x, y) = ((p.x - self.centre.x) / self.reach, (p.y - self.centre.y) / self.reach);
        let c = &self.c;
        let dx = c[1]
            + 2.0 * c[3] * x
            + c[4] * y
            + 3.0 * c[6] * x * x
            + 2.0 * c[7] * x * y
            + c[8] * y * y;
        let dy = c[2]
            + c[4] * x
            + 2.0 * c[5] * y
            + c[7] * x * x
            + 2.0 * c[8] * x * y
            + 3.0 * c[9] * y * y;
        let u = cubic(x, y).iter().zip(c).map(|(m, c)| m * c).sum();
        (u, Point::new(dx, dy) * (1.0 / self.reach))
    }
}

/// The fits at the vertices of some triangles.
#[derive(Clone, Debug)]
pub(super) struct Smooth<'a> {
    field: &'a Field,
    /// For each region the lowest one that it shares its material with: air and all that is like
    /// it is one.
    group_of: Vec<RegionId>,
    /// (group, vertex), sorted.
    keys: Vec<(RegionId, u32)>,
    fits: Vec<Option<Fit>>,
    /// For each mid-side node, whether its side parts two groups.
    border: Vec<bool>,
}

impl<'a> Smooth<'a> {
    /// Fits the field about every vertex of the triangles `seen`.
    pub(super) fn new(field: &'a Field, seen: &[u32]) -> Self {
        let mesh = field.mesh();
        let group_of = groups(field);
        let group = |t: u32| group_of[mesh.region_of[t as usize] as usize];
        let mut keys: Vec<(RegionId, u32)> = seen
            .iter()
            .flat_map(|&t| mesh.triangles[t as usize][..3].iter().map(move |&v| (t, v)))
            .map(|(t, v)| (group(t), v))
            .collect();
        keys.sort_unstable();
        keys.dedup();
        let around = Around::new(mesh);
        let fits = keys
            .par_iter()
            .map(|&(wanted, vertex)| fit(field, &around, vertex, |t| group(t) == wanted))
            .collect();
        let border = borders(mesh, &group_of);
        Self { field, group_of, keys, fits, border }
    }

    /// Regions in groups of one material: the group of each region is its lowest member.
    pub(super) fn group_of(&self, region: RegionId) -> RegionId {
        self.group_of[region as usize]
    }

    fn fit(&self, group: RegionId, vertex: u32) -> Option<&Fit> {
        let at = self.keys.binary_search(&(group, vertex)).ok()?;
        self.fits[at].as_ref()
    }

    /// What is added to u in triangle `t`.
    pub(super) fn terms(&self, t: u32) -> Terms {
        let mesh = self.field.mesh();
        let nodes = &mesh.triangles[t as usize];
        let group = self.group_of[mesh.region_of[t as usize] as usize];
        let mut terms = Terms { sides: self.side_terms(t), middle: 0.0 };
        let fits = [0, 1, 2].map(|k| self.fit(group, nodes[k]));
        let [Some(p), Some(q), Some(r)] = fits else { return terms };
        let u = self.field.of_triangle(t as usize);
        let third = 1.0 / 3.0;
        let shape = crate::mesh::reference::shape(third, third);
        let corners = nodes.map(|node| mesh.nodes[node as usize]);
        let place = crate::mesh::reference::map(&corners, third, third).place;
        let plain: f64 = shape.iter().zip(u).map(|(n, u)| n * u).sum();
        let wanted = third * (p.at(place).0 + q.at(place).0 + r.at(place).0);
        let spread = u.iter().fold(0.0f64, |most, v| most.max((v - u[0]).abs()));
        let limit = 0.1 * MOST * spread;
        terms.middle = (wanted - plain).clamp(-limit, limit);
        terms
    }

    /// Coefficients (c_1, c_2) of the terms that are added to u on the sides 01, 12, 20 of triangle
    /// `t`, in the direction from the first to the second end.
    fn side_terms(&self, t: u32) -> [[f64; 2]; 3] {
        let mesh = self.field.mesh();
        let nodes = &mesh.triangles[t as usize];
        let group = self.group_of[mesh.region_of[t as usize] as usize];
        [0, 1, 2].map(|side| {
            let (a, b) = (nodes[side], nodes[(side + 1) % 3]);
            let (ends, middle) = ([a, b], nodes[3 + side]);
            // Both triangles at a border between materials must agree, so nothing is added there.
            if self.border[middle as usize] {
                return [0.0; 2];
            }
            let u = [a, b, middle].map(|node| self.field.nodal[node as usize]);
            let [pa, pb, pm] = [a, b, middle].map(|node| mesh.nodes[node as usize]);
            // Slopes of the quadratic along the side, per unit of its parameter, and the side's
            // own tangent, which turns where it is curved.
            let slopes = [-3.0 * u[0] + 4.0 * u[2] - u[1], u[0] - 4.0 * u[2] + 3.0 * u[1]];
            let tangents = [pa * -3.0 + pm * 4.0 - pb, pa - pm * 4.0 + pb * 3.0];
            let mut found = [Point::default(); 2];
            for k in 0..2 {
                let Some(fit) = self.fit(group, ends[k]) else { return [0.0; 2] };
                found[k] = fit.at([pa, pb][k]).1;
            }
            let limit = MOST * found[0].norm().max(found[1].norm()) * pa.distance(pb);
            let off = [0, 1].map(|k| (found[k].dot(tangents[k]) - slopes[k]).clamp(-limit, limit));
            [0.5 * (off[0] + off[1]), 0.5 * (off[0] - off[1])]
        })
    }

    /// Flux density at the six nodes of triangle `t`, T.
    pub(super) fn flux_density(&self, t: u32) -> [[f64; 2]; 6] {
        const NODES: [[f64; 2]; 6] =
            [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.5, 0.0], [0.5, 0.5], [0.0, 0.5]];
        let mesh = self.field.mesh();
        let nodes = &mesh.triangles[t as usize];
        let group = self.group_of[mesh.region_of[t as usize] as usize];
        std::array::from_fn(|i| {
            let place = mesh.nodes[nodes[i] as usize];
            let ends = if i < 3 { [i, i] } else { [i - 3, (i - 2) % 3] };
            let fits = ends.map(|k| self.fit(group, nodes[k]));
            let [Some(p), Some(q)] = fits else {
                return self.field.flux_density(t as usize, NODES[i][0], NODES[i][1]);
            };
            let ((u, d), (w, e)) = (p.at(place), q.at(place));
            let (u, slope) = (0.5 * (u + w), (d + e) * 0.5);
            match mesh.symmetry {
                Symmetry::Planar => [slope.y, -slope.x],
                Symmetry::Axisymmetric => [-place.x * slope.y, 2.0 * u + place.x * slope.x],
            }
        })
    }
}

/// What is added to u in a triangle.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Terms {
    /// c_1 and c_2 of the sides 01, 12, 20.
    sides: [[f64; 2]; 3],
    /// c_0.
    middle: f64,
}

impl Terms {
    /// Their value at barycentric coordinates `l`.
    pub(super) fn at(&self, l: [f64; 3]) -> f64 {
        let mut sum = 27.0 * l[0] * l[1] * l[2] * self.middle;
        for (side, [c1, c2]) in self.sides.iter().enumerate() {
            let (a, b) = (l[side], l[(side + 1) % 3]);
            sum += a * b * (a - b) * (c1 + c2 * (a - b));
        }
        sum
    }
}

fn cubic(x: f64, y: f64) -> [f64; N_CUBIC] {
    [1.0, x, y, x * x, x * y, y * y, x * x * x, x * x * y, x * y * y, y * y * y]
}

fn groups(field: &Field) -> Vec<RegionId> {
    let bodies = &field.setup().bodies;
    let like_air = |r: usize| {
        let body = &bodies[r];
        matches!(body.law, Law::Linear { mu_r } if mu_r == 1.0) && body.current_density == 0.0
    };
    let air = (0..bodies.len()).find(|&r| like_air(r)).unwrap_or(0) as RegionId;
    (0..bodies.len()).map(|r| if like_air(r) { air } else { r as RegionId }).collect()
}

fn borders(mesh: &Mesh, group_of: &[RegionId]) -> Vec<bool> {
    let mut seen: Vec<Option<RegionId>> = vec![None; mesh.nodes.len()];
    let mut border = vec![false; mesh.nodes.len()];
    for (nodes, &region) in mesh.triangles.iter().zip(&mesh.region_of) {
        let group = group_of[region as usize];
        for &middle in &nodes[3..] {
            match seen[middle as usize] {
                Some(other) if other != group => border[middle as usize] = true,
                _ => seen[middle as usize] = Some(group),
            }
        }
    }
    border
}

/// The triangles at each vertex.
struct Around {
    starts: Vec<u32>,
    triangles: Vec<u32>,
}

impl Around {
    fn new(mesh: &Mesh) -> Self {
        let mut starts = vec![0u32; mesh.n_vertices + 1];
        for t in &mesh.triangles {
            for &v in &t[..3] {
                starts[v as usize + 1] += 1;
            }
        }
        for v in 0..mesh.n_vertices {
            starts[v + 1] += starts[v];
        }
        let mut next = starts.clone();
        let mut triangles = vec![0u32; starts[mesh.n_vertices] as usize];
        for (t, nodes) in mesh.triangles.iter().enumerate() {
            for &v in &nodes[..3] {
                triangles[next[v as usize] as usize] = t as u32;
                next[v as usize] += 1;
            }
        }
        Self { starts, triangles }
    }

    fn of(&self, vertex: u32) -> &[u32] {
        let v = vertex as usize;
        &self.triangles[self.starts[v] as usize..self.starts[v + 1] as usize]
    }
}

/// The cubic that fits the nodal values in the triangles around a vertex best.
fn fit(field: &Field, around: &Around, vertex: u32, wanted: impl Fn(u32) -> bool) -> Option<Fit> {
    let mesh = field.mesh();
    let mut patch: Vec<u32> = around.of(vertex).iter().copied().filter(|&t| wanted(t)).collect();
    let mut nodes = Vec::new();
    for ring in 0..3 {
        nodes.clear();
        nodes.extend(patch.iter().flat_map(|&t| mesh.triangles[t as usize]));
        nodes.sort_unstable();
        nodes.dedup();
        if nodes.len() >= ENOUGH {
            break;
        }
        if ring == 2 {
            return None;
        }
        let vertices = nodes.iter().filter(|&&node| (node as usize) < mesh.n_vertices);
        patch = vertices.flat_map(|&v| around.of(v)).copied().filter(|&t| wanted(t)).collect();
        patch.sort_unstable();
        patch.dedup();
    }
    let centre = mesh.nodes[vertex as usize];
    let reach = nodes.iter().map(|&n| mesh.nodes[n as usize].distance(centre)).fold(0.0, f64::max);
    // Taken relative to the vertex: u may be large and change little.
    let u_0 = field.nodal[vertex as usize];
    let mut normal = [0.0; N_CUBIC * N_CUBIC];
    let mut right = [0.0; N_CUBIC];
    for &node in &nodes {
        let p = (mesh.nodes[node as usize] - centre) * (1.0 / reach);
        let terms = cubic(p.x, p.y);
        let weight = 1.0 / (0.05 + p.dot(p));
        let u = field.nodal[node as usize] - u_0;
        for i in 0..N_CUBIC {
            right[i] += weight * terms[i] * u;
            for j in 0..N_CUBIC {
                normal[i * N_CUBIC + j] += weight * terms[i] * terms[j];
            }
        }
    }
    let solved = DenseFactor::new(&normal, N_CUBIC).solve(&right);
    let mut c: [f64; N_CUBIC] = std::array::from_fn(|i| solved[i]);
    c[0] += u_0;
    c.iter().all(|c| c.is_finite()).then_some(Fit { centre, reach, c })
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::field::{Body, Setup, Space};
    use crate::mesh::structured::rectangle;

    /// A = sin x sinh y, harmonic, on a square of `n` x `n` cells.
    fn harmonic(n: usize) -> Field {
        let (low, high) = (Point::new(0.0, 0.0), Point::new(2.0, 2.0));
        let mesh = rectangle(Symmetry::Planar, low, high, n, &[], |_| 0);
        let space = Arc::new(Space::of_potential(Arc::new(mesh)).expect("memory"));
        let setup = Setup {
            boundary: Some(Arc::new(|p: Point| p.x.sin() * p.y.sinh())),
            ..Setup::new(vec![Body::air()])
        };
        Field::solve(space, setup).expect("linear")
    }

    fn value(field: &Field, smooth: &Smooth<'_>, t: u32, l: [f64; 3]) -> f64 {
        let n = crate::mesh::reference::shape(l[1], l[2]);
        let plain: f64 = n.iter().zip(field.of_triangle(t as usize)).map(|(n, u)| n * u).sum();
        plain + smooth.terms(t).at(l)
    }

    #[test]
    fn a_cubic_is_reproduced() {
        let mut field = harmonic(4);
        let exact = |p: Point| 1.0 + p.x - 2.0 * p.y + p.x * p.x * p.y - 0.5 * p.y * p.y * p.y;
        field.nodal = field.mesh().nodes.iter().map(|p| exact(*p)).collect();
        let mesh = field.mesh();
        let all: Vec<u32> = (0..mesh.triangles.len() as u32).collect();
        let smooth = Smooth::new(&field, &all);
        let mut plain = 0.0f64;
        for &t in &all {
            let corners = mesh.triangles[t as usize].map(|node| mesh.nodes[node as usize]);
            for l in [[0.2, 0.3, 0.5], [0.7, 0.1, 0.2], [0.25, 0.75, 0.0]] {
                let p = corners[0] * l[0] + corners[1] * l[1] + corners[2] * l[2];
                let got = value(&field, &smooth, t, l);
                // Rounding in a normal matrix of condition about 1e4.
                assert!((got - exact(p)).abs() < 1e-10, "{t}: {got} against {}", exact(p));
                let n = crate::mesh::reference::shape(l[1], l[2]);
                let u: f64 = n.iter().zip(field.of_triangle(t as usize)).map(|(n, u)| n * u).sum();
                plain = plain.max((u - exact(p)).abs());
            }
        }
        assert!(plain > 1e-3, "the quadratic alone is off: {plain:e}");
    }

    #[test]
    fn a_harmonic_field_gets_better_between_nodes() {
        let field = harmonic(10);
        let mesh = field.mesh();
        let all: Vec<u32> = (0..mesh.triangles.len() as u32).collect();
        let smooth = Smooth::new(&field, &all);
        let (mut plain, mut smoothed) = (0.0f64, 0.0f64);
        for &t in &all {
            let corners = mesh.triangles[t as usize].map(|node| mesh.nodes[node as usize]);
            for l in [[0.75, 0.25, 0.0], [0.0, 0.25, 0.75], [0.6, 0.2, 0.2]] {
                let p = corners[0] * l[0] + corners[1] * l[1] + corners[2] * l[2];
                let exact = p.x.sin() * p.y.sinh();
                let n = crate::mesh::reference::shape(l[1], l[2]);
                let u: f64 = n.iter().zip(field.of_triangle(t as usize)).map(|(n, u)| n * u).sum();
                plain = plain.max((u - exact).abs());
                smoothed = smoothed.max((value(&field, &smooth, t, l) - exact).abs());
            }
        }
        // Third order against fourth at h = 0.2; the nodal values' own error remains.
        assert!(smoothed < 0.4 * plain, "{smoothed:e} against {plain:e}");
    }

    #[test]
    fn nodal_values_stay_and_the_flux_density_gets_better() {
        let field = harmonic(10);
        let mesh = field.mesh();
        let all: Vec<u32> = (0..mesh.triangles.len() as u32).collect();
        let smooth = Smooth::new(&field, &all);
        for l in [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.5, 0.5, 0.0], [0.0, 0.5, 0.5]] {
            assert_eq!(smooth.terms(7).at(l), 0.0);
        }
        let (mut plain, mut fitted) = (0.0f64, 0.0f64);
        for &t in &all {
            let b = smooth.flux_density(t);
            let p = mesh.nodes[mesh.triangles[t as usize][0] as usize];
            let exact = [p.x.sin() * p.y.cosh(), -p.x.cos() * p.y.sinh()];
            let off = |b: [f64; 2]| (b[0] - exact[0]).hypot(b[1] - exact[1]);
            plain = plain.max(off(field.flux_density(t as usize, 0.0, 0.0)));
            fitted = fitted.max(off(b[0]));
        }
        // Second order against third at h = 0.2, the boundary included.
        assert!(fitted < 0.5 * plain, "{fitted:e} against {plain:e}");
    }
}
