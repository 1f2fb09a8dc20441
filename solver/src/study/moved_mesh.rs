//! The mesh of one section made to fit another that differs in sizes and places only.
//!
//! Nodes on arcs and oblique edges of the arrangement keep their share of the edge's length; those on
//! upright and level edges stay on them and slide. The displacements follow from
//!
//! ```text
//! sum over triangles (1 / area) integral grad d_i . grad w = 0      i = x, y
//! ```
//!
//! with d_x given on upright edges, d_y on level ones, and both at vertices of the arrangement and on
//! all other edges. Small triangles, being stiff, keep their shape. The two matrices are factored
//! once. What comes out is a mesh with the same triangles, the same unknowns and the same order of
//! elimination, unless the sections are not alike or a triangle is bent too much: then there is none,
//! and the section has to be meshed anew.

use std::f64::consts::TAU;

use crate::field::linear_solve::{FIXED, Factor, LinearSolveError, Pattern};
use crate::geometry::{Edge, Regions, Side};
use crate::mesh::Mesh;
use crate::point::Point;

/// A node closer than this share of the outer radius to an edge lies on it. Nodes are placed on
/// edges to rounding; the finest triangles are a thousand times larger.
const ON_EDGE: f64 = 1e-9;
/// Least angle of a triangle, degrees: meshes are made with 25, and elements lose little down to here.
const LEAST_ANGLE: f64 = 15.0;

/// A mesh that can be made to fit other sections.
#[derive(Debug)]
pub struct MovableMesh {
    mesh: Mesh,
    regions: Regions,
    /// How each node is held, [n_nodes].
    hold: Vec<Hold>,
    /// The two components of the displacement.
    components: [Component; 2],
}

/// How a node is held by the arrangement.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Hold {
    /// Not at all.
    Free,
    /// On an upright edge: x is that of the edge.
    Upright(u32),
    /// On a level edge: y is that of the edge.
    Level(u32),
    /// At this share of the length of an edge.
    At(u32, f64),
}

impl MovableMesh {
    /// Of `mesh`, which was made from `regions`.
    ///
    /// # Errors
    /// A matrix could not be factored.
    pub fn new(mesh: &Mesh, regions: &Regions) -> Result<Self, LinearSolveError> {
        let hold = holds(mesh, regions);
        let free_x = |hold: &Hold| matches!(hold, Hold::Free | Hold::Level(_));
        let free_y = |hold: &Hold| matches!(hold, Hold::Free | Hold::Upright(_));
        let components = [
            Component::new(mesh, |v| free_x(&hold[v]))?,
            Component::new(mesh, |v| free_y(&hold[v]))?,
        ];
        Ok(Self { mesh: mesh.clone(), regions: regions.clone(), hold, components })
    }

    /// Whether anything stands elsewhere in `regions`.
    pub fn moves(&self, regions: &Regions) -> bool {
        self.regions.vertices != regions.vertices || self.regions.edges != regions.edges
    }

    /// The mesh made to fit `regions`; `None` where that cannot be done well.
    pub fn fitted(&self, regions: &Regions) -> Option<Mesh> {
        if !alike(&self.regions, regions) {
            return None;
        }
        let old = &self.mesh.nodes;
        let mut nodes = old.clone();
        for (node, hold) in nodes.iter_mut().zip(&self.hold) {
            match *hold {
                Hold::Free => {}
                Hold::Upright(edge) => node.x = straight(regions, edge, |p| p.x)?,
                Hold::Level(edge) => node.y = straight(regions, edge, |p| p.y)?,
                Hold::At(edge, share) => {
                    *node = along(regions, &regions.edges[edge as usize], share);
                }
            }
        }
        let by = |v: usize| nodes[v] - old[v];
        let by_x = self.components[0].solve(|v| by(v).x);
        let by_y = self.components[1].solve(|v| by(v).y);
        for v in 0..self.mesh.n_vertices {
            if let Some(by) = self.components[0].of(v, &by_x) {
                nodes[v].x = old[v].x + by;
            }
            if let Some(by) = self.components[1].of(v, &by_y) {
                nodes[v].y = old[v].y + by;
            }
        }
        // Middles: on their arc, else between their ends.
        for t in &self.mesh.triangles {
            for k in 0..3 {
                let middle = t[3 + k] as usize;
                let ends = [t[k], t[(k + 1) % 3]].map(|v| nodes[v as usize]);
                let between = (ends[0] + ends[1]) * 0.5;
                let side = match self.hold[middle] {
                    Hold::At(edge, _) => regions.edges[edge as usize].side,
                    _ => Side::Straight,
                };
                nodes[middle] = match side {
                    Side::Straight => between,
                    Side::Arc { centre, .. } => {
                        let radius = 0.5 * (ends[0].distance(centre) + ends[1].distance(centre));
                        let out = between - centre;
                        centre + out * (radius / out.norm())
                    }
                };
            }
        }
        let mesh = Mesh {
            nodes,
            regions: regions.regions.clone(),
            outer_radius: regions.outer_radius,
            centre: regions.centre,
            ..self.mesh.clone()
        };
        let sound = mesh.nodes.iter().all(|p| p.x.is_finite() && p.y.is_finite())
            && mesh.quality().least_angle >= LEAST_ANGLE
            && mesh.check().is_ok();
        sound.then_some(mesh)
    }
}

/// One component of the displacement of the vertices.
#[derive(Debug)]
struct Component {
    /// Unknown of each vertex or [`FIXED`], [n_vertices].
    unknown_of: Vec<u32>,
    factor: Factor,
    /// Stiffness between a free and a fixed vertex: unknown, vertex, entry.
    pulled_by: Vec<(u32, u32, f64)>,
    n_unknowns: usize,
}

impl Component {
    fn new(mesh: &Mesh, free: impl Fn(usize) -> bool) -> Result<Self, LinearSolveError> {
        let mut n_unknowns = 0;
        let unknown_of: Vec<u32> = (0..mesh.n_vertices)
            .map(|v| {
                if free(v) {
                    n_unknowns += 1;
                    n_unknowns - 1
                } else {
                    FIXED
                }
            })
            .collect();
        let corners = |t: &[u32; 6]| [t[0], t[1], t[2]];
        let elements: Vec<[u32; 3]> =
            mesh.triangles.iter().map(|t| corners(t).map(|v| unknown_of[v as usize])).collect();
        let pattern = Pattern::new(n_unknowns as usize, &elements);
        let mut matrix = pattern.zeros();
        let mut pulled_by = Vec::new();
        for (e, t) in mesh.triangles.iter().enumerate() {
            let vertices = corners(t);
            let stiffness = stiffness(vertices.map(|v| mesh.nodes[v as usize]));
            let mut entries = [0.0; 6];
            let mut next = 0;
            for i in 0..3 {
                for j in 0..=i {
                    entries[next] = stiffness[i][j];
                    next += 1;
                }
                for j in 0..3 {
                    if elements[e][i] != FIXED && elements[e][j] == FIXED {
                        pulled_by.push((elements[e][i], vertices[j], stiffness[i][j]));
                    }
                }
            }
            matrix.add_element(&pattern, e, &entries);
        }
        let factor = pattern.analyse()?.factor(&matrix)?;
        Ok(Self { unknown_of, factor, pulled_by, n_unknowns: n_unknowns as usize })
    }

    /// Displacements of the free vertices when the fixed ones move as `by` says.
    fn solve(&self, by: impl Fn(usize) -> f64) -> Vec<f64> {
        let mut moves = vec![0.0; self.n_unknowns];
        for &(unknown, vertex, entry) in &self.pulled_by {
            moves[unknown as usize] -= entry * by(vertex as usize);
        }
        self.factor.solve(&mut moves);
        moves
    }

    /// The displacement of vertex `v` out of [`Self::solve`]; `None` where it is fixed.
    fn of(&self, v: usize, moves: &[f64]) -> Option<f64> {
        let unknown = self.unknown_of[v];
        (unknown != FIXED).then(|| moves[unknown as usize])
    }
}

/// The coordinate that both ends of an edge share; `None` where they do not.
fn straight(regions: &Regions, edge: u32, pick: impl Fn(Point) -> f64) -> Option<f64> {
    let [a, b] = regions.edges[edge as usize].ends.map(|v| pick(regions.vertices[v as usize]));
    ((a - b).abs() <= ON_EDGE * regions.outer_radius).then_some(a)
}

/// Whether two arrangements differ in the places of their vertices and the centres of their arcs only.
fn alike(one: &Regions, other: &Regions) -> bool {
    let same_side = |a: &Side, b: &Side| match (a, b) {
        (Side::Straight, Side::Straight) => true,
        (Side::Arc { counter_clockwise: a, .. }, Side::Arc { counter_clockwise: b, .. }) => a == b,
        _ => false,
    };
    one.symmetry == other.symmetry
        && one.vertices.len() == other.vertices.len()
        && one.edges.len() == other.edges.len()
        && one.regions.len() == other.regions.len()
        && one.regions.iter().zip(&other.regions).all(|(a, b)| a.source == b.source)
        && one.edges.iter().zip(&other.edges).all(|(a, b)| {
            a.ends == b.ends
                && a.left == b.left
                && a.right == b.right
                && same_side(&a.side, &b.side)
        })
}

/// The point at `share` of the length of an edge.
fn along(regions: &Regions, edge: &Edge, share: f64) -> Point {
    let [a, b] = edge.ends.map(|v| regions.vertices[v as usize]);
    // The ends themselves are exact.
    if share <= 0.0 {
        return a;
    }
    if share >= 1.0 {
        return b;
    }
    match edge.side {
        Side::Straight => a * (1.0 - share) + b * share,
        Side::Arc { centre, counter_clockwise } => {
            let (from, sweep) = arc(a, b, centre, counter_clockwise);
            let radius = a.distance(centre) * (1.0 - share) + b.distance(centre) * share;
            let (s, c) = (from + share * sweep).sin_cos();
            centre + Point::new(c, s) * radius
        }
    }
}

/// Angle at the first end and signed angle to the second.
fn arc(a: Point, b: Point, centre: Point, counter_clockwise: bool) -> (f64, f64) {
    let angle = |p: Point| (p.y - centre.y).atan2(p.x - centre.x);
    let from = angle(a);
    let mut sweep = angle(b) - from;
    if counter_clockwise && sweep <= 0.0 {
        sweep += TAU;
    }
    if !counter_clockwise && sweep >= 0.0 {
        sweep -= TAU;
    }
    (from, sweep)
}

/// How each node is held.
fn holds(mesh: &Mesh, regions: &Regions) -> Vec<Hold> {
    let near = ON_EDGE * regions.outer_radius;
    let edges: Vec<(bool, bool)> = (0..regions.edges.len() as u32)
        .map(|e| {
            let flat = regions.edges[e as usize].side == Side::Straight;
            let upright = flat && straight(regions, e, |p| p.x).is_some();
            (upright, flat && straight(regions, e, |p| p.y).is_some())
        })
        .collect();
    let on = |p: Point| {
        regions.edges.iter().enumerate().find_map(|(e, edge)| {
            let share = share_of(regions, edge, p, near)?;
            let e = e as u32;
            let end = share <= 0.0 || share >= 1.0;
            Some(match edges[e as usize] {
                (true, false) if !end => Hold::Upright(e),
                (false, true) if !end => Hold::Level(e),
                _ => Hold::At(e, share),
            })
        })
    };
    mesh.nodes.iter().map(|&p| on(p).unwrap_or(Hold::Free)).collect()
}

/// The share of an edge's length at which `p` lies; `None` where it does not lie on the edge.
fn share_of(regions: &Regions, edge: &Edge, p: Point, near: f64) -> Option<f64> {
    let [a, b] = edge.ends.map(|v| regions.vertices[v as usize]);
    if p.distance(a) <= near {
        return Some(0.0);
    }
    if p.distance(b) <= near {
        return Some(1.0);
    }
    match edge.side {
        Side::Straight => {
            let length = a.distance(b);
            let way = b - a;
            let share = (p - a).dot(way) / (length * length);
            let off = (p - a).cross(way).abs() / length;
            (off <= near && share > 0.0 && share < 1.0).then_some(share)
        }
        Side::Arc { centre, counter_clockwise } => {
            let radius = a.distance(centre);
            if (p.distance(centre) - radius).abs() > near {
                return None;
            }
            let (_, whole) = arc(a, b, centre, counter_clockwise);
            let (_, part) = arc(a, p, centre, counter_clockwise);
            let share = part / whole;
            (share > 0.0 && share < 1.0).then_some(share)
        }
    }
}

/// Stiffness of a triangle's three corners, over its area.
fn stiffness(p: [Point; 3]) -> [[f64; 3]; 3] {
    let area = 0.5 * (p[1] - p[0]).cross(p[2] - p[0]);
    let side = |i: usize| p[(i + 2) % 3] - p[(i + 1) % 3];
    std::array::from_fn(|i| std::array::from_fn(|j| side(i).dot(side(j)) / (4.0 * area * area)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::material::Library;
    use crate::mesh::mesh;
    use crate::pipeline::prepare;

    fn regions(text: &str) -> Regions {
        prepare(text, &Library::built_in()).expect("no mistakes").regions
    }

    fn movable(text: &str) -> MovableMesh {
        let regions = regions(text);
        MovableMesh::new(&mesh(&regions).expect("meshes"), &regions).expect("factors")
    }

    const ROD: &str = include_str!("../../../meshes/rod.toml");
    const WOUND: &str = "format = 1\ntitle = \"rod\"\nsymmetry = \"planar\"\n\
         strings_run = \"through\"\n[[part]]\nname = \"rod\"\nrole = \"magnet\"\n\
         material = \"alnico 5\"\nrectangle = { width = \"4.8 mm\", height = \"17 mm\" }\n\
         at = [\"0 mm\", \"0 mm\"]\nanchor = \"top\"\ncharge = \"up\"\n\
         [[string]]\nname = \"E2\"\ngauge = \"1.2 mm\"\n";
    const DISC: &str = include_str!("../../../meshes/steel-pole-disc.toml");

    #[test]
    fn fits_itself_exactly() {
        for text in [ROD, DISC] {
            let movable = movable(text);
            let fitted = movable.fitted(&movable.regions).expect("fits");
            for (a, b) in movable.mesh.nodes.iter().zip(&fitted.nodes) {
                // Shares of edges and back to rounding, and the solve between them: the weights of
                // triangles differ by a factor of 1e8.
                assert!(a.distance(*b) < 1e-12 * movable.regions.outer_radius, "{a:?} {b:?}");
            }
        }
    }

    /// Sound meshes whose regions have the areas that the new section says, arcs and all.
    #[test]
    fn fits_sections_of_other_sizes() {
        let rod = movable(ROD);
        for (from, to) in [
            ("\"4.8 mm\"", "\"5.2 mm\""),
            ("17 mm", "16 mm"),
            ("\"3 mm\", \"7 mm\"", "\"3.2 mm\", \"6.8 mm\""),
        ] {
            let other = regions(&ROD.replace(from, to));
            let fitted = rod.fitted(&other).expect("fits");
            // `fitted` has checked itself: positive Jacobians, areas as the regions say.
            assert_eq!(fitted.triangles, rod.mesh.triangles);
            assert!(fitted.quality().least_angle >= LEAST_ANGLE);
        }
        // Core and wrap of a wound string, raised and of another core.
        let wound = |gap: &str, core: &str| {
            format!(
                "{}core_diameter = \"{core}\"\nwrap = \"nickel wrap\"\nover = \"rod\"\ngap = \"{gap}\"\n",
                WOUND
            )
        };
        let strung = movable(&wound("2.6 mm", "0.43 mm"));
        for (gap, core) in [("2.5 mm", "0.43 mm"), ("2.6 mm", "0.45 mm")] {
            assert!(strung.fitted(&regions(&wound(gap, core))).is_some(), "{gap}, {core}");
        }
        let moved = DISC.replace("gap = \"", "gap = \"0");
        assert!(movable(DISC).fitted(&regions(&moved)).is_some());
    }

    #[test]
    fn gives_up_where_sections_are_not_alike_or_too_far_apart() {
        let rod = movable(ROD);
        assert!(rod.fitted(&regions(&ROD.replace("\"4.8 mm\"", "\"1 mm\""))).is_none());
        let bevelled =
            ROD.replace("height = \"17 mm\" }", "height = \"17 mm\", bevel_top = \"0.3 mm\" }");
        assert!(rod.fitted(&regions(&bevelled)).is_none());
    }
}
