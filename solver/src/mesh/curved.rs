//! Mid-side nodes: on the true arc for sides that are part of one, else in the middle.
//!
//! A six-node triangle maps the reference triangle by its quadratic shape functions. Its Jacobian
//! determinant is a quadratic polynomial, so it is positive everywhere when its Bernstein
//! coefficients are: the values at the corners, and twice the values at the middles less the mean
//! of the corners. With sides that turn by at most 15 degrees and angles above 25 degrees it
//! always is; where an arc meets a line at a sharper angle the bulge is halved until it is, and at
//! a cusp the side may end up straight.

use super::plan::Plan;
use super::reference::map;
use super::triangulate::{NO_EDGE, NO_TRIANGLE, Triangulation};
use crate::geometry::{RegionId, Side};
use crate::point::Point;

/// Triangles of second order, in plan units.
#[derive(Clone, Debug, Default)]
pub(crate) struct Curved {
    /// Vertices.
    pub points: Vec<Point>,
    /// Middle nodes, one per side.
    pub middles: Vec<Point>,
    /// Ends of each side.
    pub ends: Vec<[u32; 2]>,
    /// Whether each side is part of the outer circle.
    pub outer: Vec<bool>,
    /// Vertex ids, counter-clockwise.
    pub triangles: Vec<[u32; 3]>,
    /// Side ids: side k joins vertices k and k + 1.
    pub sides_of: Vec<[u32; 3]>,
    /// Region of each triangle.
    pub region_of: Vec<RegionId>,
    /// Area between arcs and the flatter sides in their place.
    pub flattened_area: f64,
}

/// Curves the sides of a triangulation.
pub(crate) fn curve(plan: &Plan, flat: Triangulation, region_of: Vec<RegionId>) -> Curved {
    let is_arc = |e: u32| e != NO_EDGE && plan.edges[e as usize].side != Side::Straight;
    let (middles, flattened_area) = middles(plan, &flat);
    Curved {
        middles,
        flattened_area,
        ends: flat.sides.iter().map(|s| s.ends).collect(),
        outer: flat
            .sides
            .iter()
            .map(|s| s.triangles.contains(&NO_TRIANGLE) && is_arc(s.edge))
            .collect(),
        points: flat.points,
        triangles: flat.triangles,
        sides_of: flat.sides_of,
        region_of,
    }
}

/// The middle node of every side, and the area that flattened ones leave between them and the arc.
fn middles(plan: &Plan, flat: &Triangulation) -> (Vec<Point>, f64) {
    let arc = |s: usize| match plan.edges.get(flat.sides[s].edge as usize).map(|e| e.side) {
        Some(Side::Arc { centre, .. }) => Some(centre),
        _ => None,
    };
    let middle = |s: usize, bulge: f64| {
        let [a, b] = flat.sides[s].ends.map(|v| flat.points[v as usize]);
        match arc(s) {
            Some(centre) => middle_on_arc(a, b, centre, bulge),
            None => (a + b) * 0.5,
        }
    };
    let mut middles: Vec<Point> = (0..flat.sides.len()).map(|s| middle(s, 1.0)).collect();
    let mut flattened_area = 0.0;
    for s in (0..flat.sides.len()).filter(|&s| arc(s).is_some()) {
        let on_arc = middles[s];
        // Down to a sixteenth, then straight.
        for bulge in [0.5, 0.25, 0.125, 0.0625, 0.0] {
            let beside = flat.sides[s].triangles;
            let sound = beside.iter().filter(|t| **t != NO_TRIANGLE).all(|&t| {
                let [a, b, c] = flat.triangles[t as usize].map(|v| flat.points[v as usize]);
                let [d, e, f] = flat.sides_of[t as usize].map(|s| middles[s as usize]);
                least_determinant(&[a, b, c, d, e, f]) > 0.0
            });
            if sound {
                break;
            }
            middles[s] = middle(s, bulge);
        }
        // Between two parabolas over one chord.
        let [a, b] = flat.sides[s].ends.map(|v| flat.points[v as usize]);
        flattened_area += 2.0 / 3.0 * middles[s].distance(on_arc) * a.distance(b);
    }
    (middles, flattened_area)
}

/// The nodes of a triangle: three corners, then the middles of the sides 01, 12, 20.
pub(crate) type Nodes = [Point; 6];

/// Determinant of the Jacobian at a reference point: twice the area for straight sides, m2.
pub(crate) fn determinant(nodes: &Nodes, xi: f64, eta: f64) -> f64 {
    let [[a, b], [c, d]] = map(nodes, xi, eta).jacobian;
    a * d - b * c
}

/// A lower bound of the Jacobian determinant over the triangle, attained when negative values
/// occur at a corner; twice the area for straight sides.
pub(crate) fn least_determinant(nodes: &Nodes) -> f64 {
    let at = |xi: f64, eta: f64| determinant(nodes, xi, eta);
    let corner = [at(0.0, 0.0), at(1.0, 0.0), at(0.0, 1.0)];
    let middle = [at(0.5, 0.0), at(0.5, 0.5), at(0.0, 0.5)];
    let mut least = corner[0].min(corner[1]).min(corner[2]);
    for k in 0..3 {
        least = least.min(2.0 * middle[k] - 0.5 * (corner[k] + corner[(k + 1) % 3]));
    }
    least
}

/// The middle of a side from `a` to `b` on the circle about `centre`, drawn towards the chord by
/// `1 - bulge`.
fn middle_on_arc(a: Point, b: Point, centre: Point, bulge: f64) -> Point {
    let chord = (a + b) * 0.5;
    let out = chord - centre;
    let radius = 0.5 * (a.distance(centre) + b.distance(centre));
    let on_arc = centre + out * (radius / out.norm());
    chord + (on_arc - chord) * bulge
}
