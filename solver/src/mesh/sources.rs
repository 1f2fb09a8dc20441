//! What the mesh has to resolve, and how finely: edges by their distance to the next edge, corners
//! by the size of what they belong to, regions by their thickness, arcs by their radius, and the
//! lines the arrangement asks for. Lengths in plan units.

use std::f64::consts::FRAC_PI_2;

use super::plan::Plan;
use super::tree::Tree;
use crate::geometry::{AIR, Bounds, FEWEST_SIDES, Outline, Piece, RegionId};
use crate::point::Point;
use crate::section::Role;

/// A size wanted at a place.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wanted {
    pub place: Place,
    pub size: f64,
}

/// Where a size is wanted.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Place {
    /// Along a straight line, or at a point where both ends are the same.
    Line(Point, Point),
    /// Everywhere inside the outline of a region.
    Inside(RegionId),
}

/// Triangles across the distance from a solid's edge to the next edge.
const ACROSS_GAP: f64 = 3.0;

/// Size at a right-angled corner of a solid, as a share of the smallest thing it belongs to. The
/// field is singular there and its energy reaches as far as that thing. Blunter corners, whose
/// singularity is weaker, get in proportion larger sizes.
const CORNER: f64 = 1.0 / 14.0;

/// Largest turn of an arc per triangle side of the sizes asked for: 24 sides to a full circle.
const LARGEST_TURN: f64 = std::f64::consts::TAU / FEWEST_SIDES;

/// All sizes wanted in the plan, in an order that depends only on the plan.
pub(crate) fn wanted(plan: &Plan) -> Vec<Wanted> {
    let caps: Vec<f64> = plan.regions.iter().map(inside_size).collect();
    let mut list: Vec<Wanted> = plan
        .fine_lines
        .iter()
        .map(|l| Wanted { place: Place::Line(l.from, l.to), size: l.size })
        .collect();
    list.extend(
        (1..caps.len())
            .filter(|&r| caps[r].is_finite())
            .map(|r| Wanted { place: Place::Inside(r as RegionId), size: caps[r] }),
    );
    let edges = Neighbours::new(plan);
    for &e in &edges.real {
        edges.sample(e as usize, &caps, &mut list);
    }
    corners(plan, &edges, &mut list);
    list.iter_mut().for_each(|w| w.size = rounded(w.size));
    list
}

/// The number kept to 30 bits: sums of the same terms in another order, as a mirrored file gives
/// them, must not make a different mesh.
fn rounded(v: f64) -> f64 {
    f64::from_bits((v.to_bits() + (1 << 21)) & !((1 << 22) - 1))
}

/// Largest size inside a region: an eighth of its thickness, less finely where it is long and
/// thin, for there the field hardly changes across.
fn inside_size(region: &super::plan::PlanRegion) -> f64 {
    let Some(outline) = &region.outline else { return f64::INFINITY };
    let (thickness, length) = thickness_and_length(outline);
    let wanted: f64 = match region.role {
        Role::Coil => 6.0,
        Role::String if region.source.string().is_some() => 6.0,
        _ => 8.0,
    };
    let slender = (length / thickness / 4.0).max(1.0);
    thickness / (wanted / slender.sqrt()).max(1.0)
}

/// Thickness: the smaller of the box's sides and four areas per perimeter (which is a square's
/// side, a circle's diameter, twice the thickness of something long). Length: area per thickness.
fn thickness_and_length(outline: &Outline) -> (f64, f64) {
    let area = outline.area();
    let size = outline.bounds().size();
    let thickness = size.x.min(size.y).min(4.0 * area / outline.perimeter());
    (thickness, area / thickness)
}

/// The edges between regions, ready to be asked for the nearest one.
struct Neighbours<'a> {
    plan: &'a Plan,
    real: Vec<u32>,
    pieces: Vec<Piece>,
    tree: Tree,
}

impl<'a> Neighbours<'a> {
    fn new(plan: &'a Plan) -> Self {
        let real: Vec<u32> =
            (0..plan.edges.len() as u32).filter(|&e| plan.parts_regions(e as usize)).collect();
        let pieces: Vec<Piece> = real.iter().map(|&e| plan.piece(e as usize)).collect();
        let boxes: Vec<Bounds> = pieces.iter().map(Piece::bounds).collect();
        let tree = Tree::new(&boxes, &vec![0.0; boxes.len()]);
        Self { plan, real, pieces, tree }
    }

    /// Distance from `p` to the nearest edge that has none of `own` as an end.
    fn nearest(&self, p: Point, own: &[u32]) -> f64 {
        self.tree.least(
            f64::INFINITY,
            |bounds, _| bounds.distance(p),
            |i| {
                let ends = self.plan.edges[self.real[i as usize] as usize].ends;
                if ends.iter().any(|v| own.contains(v)) {
                    f64::INFINITY
                } else {
                    self.pieces[i as usize].distance_to(p)
                }
            },
        )
    }

    /// Sizes along edge `e`: the edge is halved until the parts are no longer than the distance
    /// to the next edge, so that the distance cannot change much along a part.
    fn sample(&self, e: usize, caps: &[f64], list: &mut Vec<Wanted>) {
        let piece = self.plan.piece(e);
        let edge = &self.plan.edges[e];
        let length = piece.length();
        let solid = self.plan.is_solid(edge.left) || self.plan.is_solid(edge.right);
        let cap = [edge.left, edge.right]
            .iter()
            .filter(|r| **r != AIR)
            .map(|r| caps[*r as usize])
            .fold(length, f64::min)
            .min(piece.radius() * LARGEST_TURN);
        let turn = piece.sweep().abs();
        let mut open = vec![(0.0, 1.0)];
        while let Some((t0, t1)) = open.pop() {
            let d = self.nearest(piece.at(0.5 * (t0 + t1)), &edge.ends);
            let part = t1 - t0;
            // The last limit ends the halving where edges nearly meet at a grazing angle.
            if (part * length > d || part * turn > 0.5) && part > 1e-6 {
                let t = 0.5 * (t0 + t1);
                open.push((t, t1));
                open.push((t0, t));
                continue;
            }
            let across = if solid {
                // Long narrow gaps carry a field that hardly changes across them.
                (ACROSS_GAP * (30.0 * d / length).sqrt().min(1.0)).max(1.0)
            } else {
                1.0
            };
            let size = cap.min(d / across);
            list.push(Wanted { place: Place::Line(piece.at(t0), piece.at(t1)), size });
        }
    }
}

/// Sizes at the corners of solids.
fn corners(plan: &Plan, edges: &Neighbours, list: &mut Vec<Wanted>) {
    let mut at: Vec<Vec<u32>> = vec![Vec::new(); plan.vertices.len()];
    for (i, &e) in edges.real.iter().enumerate() {
        let edge = &plan.edges[e as usize];
        if plan.is_solid(edge.left) || plan.is_solid(edge.right) {
            edge.ends.iter().for_each(|&v| at[v as usize].push(i as u32));
        }
    }
    for (v, incident) in at.iter().enumerate() {
        let p = plan.vertices[v];
        let away: Vec<Point> = incident
            .iter()
            .map(|&i| {
                let piece = edges.pieces[i as usize];
                if piece.from == p { piece.tangent(0.0) } else { piece.tangent(1.0) * -1.0 }
            })
            .collect();
        // Bend from straight, radian; where three or more edges meet the sharpest corner counts.
        let bend = match away[..] {
            [a, b] => a.cross(b).abs().atan2(-a.dot(b)),
            _ => FRAC_PI_2,
        };
        // Less than 8 degrees is no corner.
        if away.len() < 2 || bend < 0.14 {
            continue;
        }
        let sides = incident
            .iter()
            .map(|&i| edges.pieces[i as usize].length())
            .fold(f64::INFINITY, f64::min);
        let feature = sides.min(edges.nearest(p, &[v as u32]));
        list.push(Wanted {
            place: Place::Line(p, p),
            size: CORNER * feature * (FRAC_PI_2 / bend).clamp(1.0, 4.0),
        });
    }
}
