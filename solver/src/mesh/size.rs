//! How large triangles should be: h(x) = min over features of (size of the feature + growth x
//! distance to it).
//!
//! Features: sharp corners of anything magnetic, where the field is singular; edges, at the size
//! that the thickness of the part, the distance to the next edge and the radius of an arc ask
//! for; and lines along which the field will be sampled.

use crate::geometry::{Regions, Source};
use crate::mesh::boxes::{Aabb, BoxTree};
use crate::mesh::curve::Curve;
use crate::point::Point;
use crate::section::Symmetry;

/// Growth of triangle size with distance.
pub const GROWTH: f64 = 0.3;

/// Triangles across the thickness (twice area over perimeter) of a part.
const ACROSS_PART: f64 = 4.0;

/// Triangles across a gap between edges.
const ACROSS_GAP: f64 = 2.0;

/// Size at a sharp corner in units of the size of the edges beside it.
const AT_CORNER: f64 = 0.16;

/// Length of a side on an arc in units of its radius.
const ON_ARC: f64 = 0.36;

/// The size field.
#[derive(Clone, Debug)]
pub struct SizeField {
    features: Vec<Feature>,
    tree: BoxTree,
    largest: f64,
}

#[derive(Clone, Copy, Debug)]
struct Feature {
    from: Point,
    to: Point,
    size: f64,
}

impl SizeField {
    /// The size field of an arrangement; `curves` are those of its edges.
    pub fn new(regions: &Regions, curves: &[Curve]) -> Self {
        let scale = regions.mesh_scale;
        let edge_sizes = edge_sizes(regions, curves);
        let mut features = Vec::new();
        for (curve, &size) in curves.iter().zip(&edge_sizes) {
            // An arc is held by chords short against its radius; the growth forgives the rest.
            let n = match curve {
                Curve::Line(..) => 1,
                Curve::Arc { sweep, .. } => (sweep.abs() / 0.4).ceil() as usize,
            };
            for i in 0..n {
                let at = |k: usize| curve.at(k as f64 / n as f64);
                features.push(Feature { from: at(i), to: at(i + 1), size: size * scale });
            }
        }
        for (vertex, size) in corners(regions, curves, &edge_sizes) {
            let at = regions.vertices[vertex];
            features.push(Feature { from: at, to: at, size: size * scale });
        }
        for line in &regions.fine_lines {
            features.push(Feature { from: line.from, to: line.to, size: line.size * scale });
        }
        let boxes: Vec<Aabb> = features.iter().map(|f| Aabb::about([f.from, f.to])).collect();
        let sizes: Vec<f64> = features.iter().map(|f| f.size).collect();
        let tree = BoxTree::new(&boxes, &sizes);
        Self { features, tree, largest: GROWTH * regions.outer_radius }
    }

    /// Wanted triangle size at `p`, m.
    pub fn at(&self, p: Point) -> f64 {
        self.tree.least(
            p,
            self.largest,
            |size, distance| size + GROWTH * distance,
            |i| {
                let f = &self.features[i];
                f.size + GROWTH * distance_to_segment(p, f.from, f.to)
            },
        )
    }

    /// The smallest feature: its place and size, m.
    pub fn finest(&self) -> (Point, f64) {
        self.features
            .iter()
            .min_by(|a, b| a.size.total_cmp(&b.size))
            .map_or((Point::default(), self.largest), |f| (f.from, f.size))
    }
}

/// Distance from `p` to the segment a b.
fn distance_to_segment(p: Point, a: Point, b: Point) -> f64 {
    let (d, q) = (b - a, p - a);
    let length2 = d.x * d.x + d.y * d.y;
    if length2 == 0.0 {
        return p.distance(a);
    }
    let t = ((q.x * d.x + q.y * d.y) / length2).clamp(0.0, 1.0);
    p.distance(a + d * t)
}

fn is_outer(regions: &Regions, curve: &Curve) -> bool {
    let far = 0.5 * regions.outer_radius;
    [0.0, 1.0].iter().any(|&t| curve.at(t).distance(regions.centre) > far)
}

/// Size along every edge from thickness, arc radius and the nearest other edge.
fn edge_sizes(regions: &Regions, curves: &[Curve]) -> Vec<f64> {
    let thickness = thicknesses(regions, curves);
    let clearance = clearances(regions, curves);
    regions
        .edges
        .iter()
        .zip(curves)
        .enumerate()
        .map(|(e, (edge, curve))| {
            let mut size = GROWTH * regions.outer_radius;
            if is_outer(regions, curve) {
                return size;
            }
            for side in [edge.left, edge.right] {
                if let Some(t) = thickness.get(side as usize) {
                    size = size.min(t / ACROSS_PART);
                }
            }
            if let Curve::Arc { radius, .. } = curve {
                size = size.min(ON_ARC * radius);
            }
            size.min(clearance[e] / ACROSS_GAP)
        })
        .collect()
}

/// Twice the area over the perimeter of every region; infinite for air.
fn thicknesses(regions: &Regions, curves: &[Curve]) -> Vec<f64> {
    let mut perimeter = vec![0.0; regions.regions.len()];
    for (edge, curve) in regions.edges.iter().zip(curves) {
        for side in [edge.left, edge.right] {
            if let Some(sum) = perimeter.get_mut(side as usize) {
                *sum += curve.length();
            }
        }
    }
    regions
        .regions
        .iter()
        .zip(perimeter)
        .map(|(region, perimeter)| match region.source {
            Source::Air => f64::INFINITY,
            _ => 2.0 * region.area / perimeter,
        })
        .collect()
}

/// Distance from every edge to the nearest edge that shares no vertex with it.
fn clearances(regions: &Regions, curves: &[Curve]) -> Vec<f64> {
    // Every edge as short chords, so that distances between arcs are those of their chords.
    let mut chords = Vec::new();
    for (e, curve) in curves.iter().enumerate() {
        let n = match curve {
            Curve::Line(..) => 1,
            Curve::Arc { sweep, .. } => (sweep.abs() / 0.2).ceil() as usize,
        };
        for i in 0..n {
            let at = |k: usize| curve.at(k as f64 / n as f64);
            chords.push((e, at(i), at(i + 1)));
        }
    }
    let boxes: Vec<Aabb> = chords.iter().map(|c| Aabb::about([c.1, c.2])).collect();
    let tree = BoxTree::new(&boxes, &vec![0.0; boxes.len()]);
    let shares = |a: usize, b: usize| {
        regions.edges[a].ends.iter().any(|v| regions.edges[b].ends.contains(v))
    };
    let mut nearest = vec![f64::INFINITY; curves.len()];
    for &(e, a, b) in &chords {
        for t in [0.0, 0.25, 0.5, 0.75, 1.0] {
            let p = a + (b - a) * t;
            nearest[e] = tree.least(
                p,
                nearest[e],
                |_, distance| distance,
                |i| {
                    let (other, c, d) = chords[i];
                    if other == e || shares(e, other) {
                        f64::INFINITY
                    } else {
                        distance_to_segment(p, c, d)
                    }
                },
            );
        }
    }
    nearest
}

/// Sharp corners of magnetic parts: vertex and size there.
fn corners(regions: &Regions, curves: &[Curve], edge_sizes: &[f64]) -> Vec<(usize, f64)> {
    let is_solid = |side: u32| {
        regions
            .regions
            .get(side as usize)
            .is_some_and(|r| matches!(r.source, Source::Part(_) | Source::String(_)))
    };
    let mut at_vertex: Vec<Vec<(f64, f64)>> = vec![Vec::new(); regions.vertices.len()];
    for ((edge, curve), &size) in regions.edges.iter().zip(curves).zip(edge_sizes) {
        if !is_solid(edge.left) && !is_solid(edge.right) {
            continue;
        }
        for end in 0..2 {
            let d = curve.direction_from(end);
            at_vertex[edge.ends[end] as usize].push((d.y.atan2(d.x), size));
        }
    }
    // Smooth where just two edges leave in opposite directions, within ten degrees.
    const STRAIGHT: f64 = 0.175;
    let on_axis = |vertex: usize| {
        regions.symmetry == Symmetry::Axisymmetric && regions.vertices[vertex].x == 0.0
    };
    at_vertex
        .iter()
        .enumerate()
        .filter(|&(vertex, _)| !on_axis(vertex))
        .filter_map(|(vertex, edges)| {
            let smooth = match edges[..] {
                [] => true,
                [(a, _), (b, _)] => {
                    let turn = (a - b).abs();
                    (turn.min(std::f64::consts::TAU - turn) - std::f64::consts::PI).abs() < STRAIGHT
                }
                _ => false,
            };
            let size = edges.iter().map(|e| e.1).fold(f64::INFINITY, f64::min);
            (!smooth).then_some((vertex, size * AT_CORNER))
        })
        .collect()
}
