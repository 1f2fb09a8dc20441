//! Plans that are their own mirror image about x = 0: one half is meshed and reflected, so that
//! the mesh is as symmetric as the section and results are too, to rounding.

use std::collections::BTreeMap;

use super::canonical::{mirror, mirrored_line};
use super::curved::Curved;
use super::label::UNTOLD;
use super::plan::{GRID, Plan};
use crate::geometry::{Edge, OUTSIDE, RegionId, Side};
use crate::point::Point;
use crate::section::Symmetry;

/// A plan that is its own mirror image.
#[derive(Clone, Debug)]
pub(crate) struct Symmetric {
    /// For each region the one it is the mirror image of.
    pub partner: Vec<RegionId>,
}

/// Places this close are the same: a few steps of the grid to which the plan is rounded.
const SAME: f64 = 8.0 * GRID;

/// Whether the plan (in canonical order) is its own mirror image.
pub(crate) fn symmetric(plan: &Plan) -> Option<Symmetric> {
    if plan.symmetry == Symmetry::Axisymmetric {
        return None;
    }
    let image = image_of_vertices(plan)?;
    let mut by_ends: BTreeMap<[u32; 2], Vec<usize>> = BTreeMap::new();
    for (e, edge) in plan.edges.iter().enumerate() {
        by_ends.entry(edge.ends).or_default().push(e);
    }
    let mut partner: Vec<Option<RegionId>> = vec![None; plan.regions.len()];
    let mut pair = |a: RegionId, b: RegionId| match (a, b) {
        (OUTSIDE, OUTSIDE) => Some(()),
        (OUTSIDE, _) | (_, OUTSIDE) => None,
        _ => {
            let known = *partner[a as usize].get_or_insert(b);
            let alike = plan.regions[a as usize].role == plan.regions[b as usize].role;
            (known == b && alike).then_some(())
        }
    };
    for (e, edge) in plan.edges.iter().enumerate() {
        let [a, b] = edge.ends.map(|v| image[v as usize]);
        let middle = mirror(plan.piece(e).middle());
        let twin = by_ends
            .get(&[a.min(b), a.max(b)])?
            .iter()
            .find(|f| plan.piece(**f).middle().distance(middle) <= SAME)?;
        let twin = &plan.edges[*twin];
        // Seen along the image of this edge, from a to b.
        let (left, right) = if a < b { (twin.left, twin.right) } else { (twin.right, twin.left) };
        pair(edge.left, right)?;
        pair(edge.right, left)?;
    }
    // A region without edges (nothing is left of it) has no triangles either.
    let partner =
        partner.into_iter().enumerate().map(|(r, p)| p.unwrap_or(r as RegionId)).collect();
    Some(Symmetric { partner })
}

/// For each vertex its mirror image, if every vertex has one.
fn image_of_vertices(plan: &Plan) -> Option<Vec<u32>> {
    let vertices = &plan.vertices;
    vertices
        .iter()
        .map(|v| {
            let wanted = mirror(*v);
            // Sorted by y: look through those at the same height.
            let first = vertices.partition_point(|u| u.y < wanted.y - SAME);
            vertices[first..]
                .iter()
                .take_while(|u| u.y <= wanted.y + SAME)
                .position(|u| u.distance(wanted) <= SAME)
                .map(|k| (first + k) as u32)
        })
        .collect()
}

impl Plan {
    /// The plan with every fine line on both sides.
    #[must_use]
    pub fn with_mirrored_lines(mut self) -> Self {
        let images: Vec<_> = self.fine_lines.iter().map(mirrored_line).collect();
        self.fine_lines.extend(images);
        self
    }
}

/// The half of a symmetric plan at x >= 0, closed along x = 0.
pub(crate) fn right_half(plan: &Plan) -> Plan {
    let mut half = Plan { vertices: Vec::new(), edges: Vec::new(), ..plan.clone() };
    let on_line = |p: Point| p.x.abs() <= SAME;
    let mut number = vec![u32::MAX; plan.vertices.len()];
    for (v, p) in plan.vertices.iter().enumerate() {
        if p.x >= -SAME {
            number[v] = half.vertices.len() as u32;
            half.vertices.push(if on_line(*p) { Point::new(0.0, p.y) } else { *p });
        }
    }
    // Straight edges that already lie on the line: their lower and upper vertex.
    let mut along = Vec::new();
    for (e, edge) in plan.edges.iter().enumerate() {
        let piece = plan.piece(e);
        let ends = [piece.from, piece.to];
        if ends.iter().all(|p| on_line(*p)) && edge.side == Side::Straight {
            // Canonical edges run upward: the right half is on the right.
            let edge = Edge { ends: edge.ends.map(|v| number[v as usize]), left: OUTSIDE, ..*edge };
            along.push(edge.ends);
            half.edges.push(edge);
        } else if ends.iter().all(|p| p.x >= -SAME) {
            // An arc from the line to the line may lie on either side.
            if piece.middle().x > 0.0 {
                half.edges.push(Edge { ends: edge.ends.map(|v| number[v as usize]), ..*edge });
            }
        } else if ends.iter().any(|p| p.x > SAME) {
            // Crosses the line, and is its own image: cut in the middle.
            let cut = half.vertices.len() as u32;
            half.vertices.push(Point::new(0.0, piece.middle().y));
            let [a, b] = edge.ends.map(|v| number[v as usize]);
            let ends = if piece.from.x > 0.0 { [a, cut] } else { [cut, b] };
            half.edges.push(Edge { ends, ..*edge });
        }
    }
    let mut line: Vec<u32> =
        (0..half.vertices.len() as u32).filter(|&v| half.vertices[v as usize].x == 0.0).collect();
    line.sort_by(|&u, &v| half.vertices[u as usize].y.total_cmp(&half.vertices[v as usize].y));
    for pair in line.windows(2) {
        let ends = [pair[0], pair[1]];
        if !along.contains(&ends) {
            half.edges.push(Edge { ends, side: Side::Straight, left: OUTSIDE, right: UNTOLD });
        }
    }
    half
}

/// The half mesh together with its reflection. Nodes on x = 0 are shared.
pub(crate) fn with_reflection(half: Curved, partner: &[RegionId]) -> Curved {
    let mut whole = half;
    let image_of_points = reflect(&mut whole.points);
    let n_sides = whole.ends.len();
    // A side with both ends on the line lies on it.
    let mut image_of_sides: Vec<u32> = Vec::with_capacity(n_sides);
    for s in 0..n_sides {
        let ends = whole.ends[s];
        let image = ends.map(|v| image_of_points[v as usize]);
        let is_arc_on_both_sides = whole.middles[s].x != 0.0;
        if image == ends && !is_arc_on_both_sides {
            image_of_sides.push(s as u32);
        } else {
            image_of_sides.push(whole.ends.len() as u32);
            whole.ends.push(image);
            whole.middles.push(mirror(whole.middles[s]));
            whole.outer.push(whole.outer[s]);
        }
    }
    whole.flattened_area *= 2.0;
    for t in 0..whole.triangles.len() {
        let [a, b, c] = whole.triangles[t].map(|v| image_of_points[v as usize]);
        let [ab, bc, ca] = whole.sides_of[t].map(|s| image_of_sides[s as usize]);
        whole.triangles.push([a, c, b]);
        whole.sides_of.push([ca, bc, ab]);
        whole.region_of.push(partner[whole.region_of[t] as usize]);
    }
    whole
}

/// Appends the mirror images of points off the line; the image of each point.
fn reflect(points: &mut Vec<Point>) -> Vec<u32> {
    (0..points.len())
        .map(|v| {
            if points[v].x == 0.0 {
                v as u32
            } else {
                points.push(mirror(points[v]));
                points.len() as u32 - 1
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::samples::{
        empty, lone_rod, mirrored, mm, named, part, polygon, rectangle, regions, six_rods, string,
    };
    use crate::mesh::{Mesh, mesh};
    use crate::section::{Corner, Role, Section, Shape, StringRun};
    use crate::units::MM;

    /// Nodes and triangle corners as sets of places, x times `hand`.
    fn places(mesh: &Mesh, hand: f64) -> (Vec<[f64; 2]>, Vec<[[f64; 2]; 3]>) {
        let at = |n: u32| {
            let p = mesh.nodes[n as usize];
            [hand * (p.x - mesh.centre.x) + 0.0, p.y - mesh.centre.y]
        };
        let mut nodes: Vec<_> = (0..mesh.nodes.len() as u32).map(at).collect();
        nodes.sort_by(|a, b| a.partial_cmp(b).expect("no NaN"));
        let mut triangles: Vec<_> = mesh
            .triangles
            .iter()
            .map(|t| {
                let mut p = [t[0], t[1], t[2]].map(at);
                p.sort_by(|a, b| a.partial_cmp(b).expect("no NaN"));
                p
            })
            .collect();
        triangles.sort_by(|a, b| a.partial_cmp(b).expect("no NaN"));
        (nodes, triangles)
    }

    /// Two rods on a plate that crosses the middle, a round bar and a string in the middle.
    fn symmetric_section() -> Section {
        let mut s = empty(Symmetry::Planar, StringRun::Through);
        let rounded = Shape::Rectangle {
            width: 5.0 * MM,
            height: 12.0 * MM,
            corners: [Corner::Sharp, Corner::Sharp, Corner::Round(MM), Corner::Bevel(0.5 * MM)],
        };
        let other = Shape::Rectangle {
            width: 5.0 * MM,
            height: 12.0 * MM,
            corners: [Corner::Sharp, Corner::Sharp, Corner::Bevel(0.5 * MM), Corner::Round(MM)],
        };
        s.parts.push(part("left", Role::Magnet, rounded, mm(-7.3, 6.0)));
        s.parts.push(part("right", Role::Magnet, other, mm(7.3, 6.0)));
        s.parts.push(part("plate", Role::BasePlate, rectangle(30.0, 3.0), mm(0.0, -1.5)));
        let bar = Shape::Circle { radius: 2.0 * MM };
        s.parts.push(part("bar", Role::Body, bar, mm(0.0, 6.0)));
        let wedge = polygon(&[(-1.0, 0.0), (1.0, 0.0), (0.0, 2.0)]);
        s.parts.push(part("wedge", Role::PolePiece, wedge, mm(0.0, 0.0)));
        s.strings.push(string("string", 0.5, mm(0.0, 10.0)));
        s
    }

    #[test]
    fn a_symmetric_section_gets_a_symmetric_mesh() {
        let section = symmetric_section();
        let mesh = mesh(&regions(&section)).expect("meshes");
        assert_eq!(mesh.check(), Ok(()));
        assert!(mesh.quality().least_angle >= 25.0, "{:?}", mesh.quality());
        assert_eq!(places(&mesh, 1.0), places(&mesh, -1.0));
    }

    #[test]
    fn a_section_off_the_middle_is_still_seen_to_be_symmetric() {
        let mut section = symmetric_section();
        let shift = mm(3.7, 0.0);
        section.parts.iter_mut().for_each(|p| p.at = p.at + shift);
        section.strings.iter_mut().for_each(|s| s.axis = s.axis + shift);
        let plan = super::super::canonical::canonical(Plan::new(&regions(&section))).0;
        assert!(symmetric(&plan).is_some());
    }

    #[test]
    fn what_is_not_symmetric_is_not_taken_for_it() {
        let plan = |s: &Section| super::super::canonical::canonical(Plan::new(&regions(s))).0;
        assert!(symmetric(&plan(&symmetric_section())).is_some());
        assert!(symmetric(&plan(&six_rods())).is_none());
        assert!(symmetric(&plan(&lone_rod())).is_none());
        // One side moved by 0.1 um.
        let mut s = symmetric_section();
        s.parts[0].at.x -= 1e-7;
        assert!(symmetric(&plan(&s)).is_none());
        // The same outlines, but of different kind.
        let mut s = symmetric_section();
        s.parts[0].role = Role::PolePiece;
        assert!(symmetric(&plan(&s)).is_none());
    }

    #[test]
    fn a_mirrored_file_gets_the_mirrored_mesh() {
        let mut turned = six_rods();
        let mut cover = part(
            "cover",
            Role::Cover,
            polygon(&[(0.0, 0.0), (7.0, 1.0), (3.0, 4.0)]),
            mm(-20.0, 12.0),
        );
        cover.rotation = 0.3;
        turned.parts.push(cover);
        let mut through =
            part("pin", Role::Body, Shape::Circle { radius: 1.0 * MM }, mm(7.2, -4.0));
        through.passes_through = (1..=6).map(|i| named(&format!("rod {i}"))).collect();
        turned.parts.push(through);
        for section in [six_rods(), turned] {
            let one = mesh(&regions(&section)).expect("meshes");
            let mut other = mirrored(&section);
            other.parts.reverse();
            other.strings.iter_mut().for_each(|s| s.over = None);
            let other = mesh(&regions(&other)).expect("meshes");
            assert_eq!(other.check(), Ok(()));
            assert_eq!(places(&one, 1.0), places(&other, -1.0));
        }
    }
}
