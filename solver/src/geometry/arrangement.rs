//! Outlines to a planar graph: edges that meet only at vertices.
//!
//! Vertices closer than the tolerance are merged, vertices near an edge are put on it, crossings
//! become vertices, edges that coincide become one. The tolerance is about a millionth of the
//! section's size: far below what is made or meshed, far above rounding, so that parts meant to
//! touch do touch. Lengths in metres.

use super::crossing::crossings;
use super::crowd::MOST_CROSSINGS;
use super::model::{Outline, Side};
use super::pairs::{meeting_pairs, meeting_pairs_until};
use super::piece::{Bounds, Piece};
use crate::point::Point;

/// Edges that meet only at vertices, each knowing the outlines it belongs to.
#[derive(Clone, Debug)]
pub(crate) struct Graph {
    /// Vertices, m.
    pub vertices: Vec<Point>,
    /// Edges.
    pub edges: Vec<GraphEdge>,
}

/// An edge of the graph.
#[derive(Clone, Debug)]
pub(crate) struct GraphEdge {
    /// First and second vertex.
    pub ends: [u32; 2],
    /// What joins them.
    pub side: Side,
    /// Outlines the edge is part of: index, and whether the outline runs from the first to the
    /// second end.
    pub owners: Vec<(u32, bool)>,
}

impl Graph {
    /// Edge `e` with its ends.
    pub fn piece(&self, e: usize) -> Piece {
        let GraphEdge { ends: [a, b], side, .. } = self.edges[e];
        Piece { from: self.vertices[a as usize], to: self.vertices[b as usize], side }
    }
}

/// Why outlines have no planar graph.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Entangled {
    /// They nearly coincide in a way that snapping does not settle.
    Unsettled,
    /// They cross at more than [`MOST_CROSSINGS`] places.
    Crossings,
}

struct Strand {
    ends: [u32; 2],
    piece: Piece,
    owner: u32,
}

/// Rounds of snapping and splitting; two or three are usual, each new crossing needs one more.
const ROUNDS: usize = 20;

/// The planar graph of all outlines.
pub(crate) fn planar_graph(outlines: &[&Outline], tolerance: f64) -> Result<Graph, Entangled> {
    let mut points = Vec::new();
    let mut strands = Vec::new();
    for (owner, outline) in outlines.iter().enumerate() {
        let base = points.len() as u32;
        let n = outline.corners.len() as u32;
        points.extend_from_slice(&outline.corners);
        for (i, piece) in Piece::all_of(outline).into_iter().enumerate() {
            let i = i as u32;
            strands.push(Strand {
                ends: [base + i, base + (i + 1) % n],
                piece,
                owner: owner as u32,
            });
        }
    }
    let most_points = points.len() + MOST_CROSSINGS;
    for _ in 0..ROUNDS {
        merge_points(&mut points, &mut strands, tolerance);
        let splits = find_splits(&mut points, &strands, tolerance, most_points)
            .ok_or(Entangled::Crossings)?;
        if splits.iter().all(Vec::is_empty) {
            return Ok(without_duplicates(&points, &strands, tolerance));
        }
        strands = split(&points, strands, splits);
    }
    Err(Entangled::Unsettled)
}

/// Merges points closer than `tolerance` and moves the strands' ends along.
fn merge_points(points: &mut [Point], strands: &mut Vec<Strand>, tolerance: f64) {
    let mut used = vec![false; points.len()];
    for s in strands.iter() {
        used[s.ends[0] as usize] = true;
        used[s.ends[1] as usize] = true;
    }
    let boxes: Vec<Bounds> = points
        .iter()
        .zip(&used)
        .map(
            |(p, used)| {
                if *used { Bounds::EMPTY.with(*p).grown(0.5 * tolerance) } else { Bounds::EMPTY }
            },
        )
        .collect();
    let mut parent: Vec<u32> = (0..points.len() as u32).collect();
    meeting_pairs(&boxes, |i, j| {
        if points[i].distance(points[j]) <= tolerance {
            let (a, b) = (root(&mut parent, i as u32), root(&mut parent, j as u32));
            parent[a.max(b) as usize] = a.min(b);
        }
    });
    // The middle of each cluster's box: it does not depend on the order of the points.
    let mut cluster = vec![Bounds::EMPTY; points.len()];
    for i in 0..points.len() {
        let r = root(&mut parent, i as u32) as usize;
        cluster[r] = cluster[r].with(points[i]);
    }
    for i in 0..points.len() {
        points[i] = cluster[root(&mut parent, i as u32) as usize].centre();
    }
    for s in strands.iter_mut() {
        s.ends = s.ends.map(|e| root(&mut parent, e));
        s.piece = s.piece.moved(points[s.ends[0] as usize], points[s.ends[1] as usize]);
    }
    strands.retain(|s| s.ends[0] != s.ends[1]);
}

fn root(parent: &mut [u32], mut i: u32) -> u32 {
    while parent[i as usize] != i {
        parent[i as usize] = parent[parent[i as usize] as usize];
        i = parent[i as usize];
    }
    i
}

/// For each strand the vertices to put on it; crossings add new points, up to `most` in all.
fn find_splits(
    points: &mut Vec<Point>,
    strands: &[Strand],
    tolerance: f64,
    most: usize,
) -> Option<Vec<Vec<u32>>> {
    let boxes: Vec<Bounds> =
        strands.iter().map(|s| s.piece.bounds().grown(0.5 * tolerance)).collect();
    let mut splits: Vec<Vec<u32>> = vec![Vec::new(); strands.len()];
    // A crossing is put on two strands; vertices put on strands make edges as crossings do.
    let mut left = 2 * MOST_CROSSINGS;
    meeting_pairs_until(&boxes, |i, j| {
        let before = splits[i].len() + splits[j].len();
        let (s, t) = (&strands[i], &strands[j]);
        for end in t.ends {
            if !s.ends.contains(&end) && s.piece.distance_to(points[end as usize]) <= tolerance {
                splits[i].push(end);
            }
        }
        for end in s.ends {
            if !t.ends.contains(&end) && t.piece.distance_to(points[end as usize]) <= tolerance {
                splits[j].push(end);
            }
        }
        for x in crossings(&s.piece, &t.piece, tolerance) {
            let near_end = |e: &u32| points[*e as usize].distance(x) <= tolerance;
            if !s.ends.iter().any(near_end) && !t.ends.iter().any(near_end) {
                points.push(x);
                let new = points.len() as u32 - 1;
                splits[i].push(new);
                splits[j].push(new);
            }
        }
        left = left.saturating_sub(splits[i].len() + splits[j].len() - before);
        left > 0 && points.len() < most
    });
    (left > 0 && points.len() < most).then_some(splits)
}

fn split(points: &[Point], strands: Vec<Strand>, splits: Vec<Vec<u32>>) -> Vec<Strand> {
    let mut parts = Vec::with_capacity(strands.len());
    for (strand, on) in strands.into_iter().zip(splits) {
        let whole = strand.piece;
        let mut stops: Vec<(f64, u32)> =
            on.iter().map(|&v| (whole.fraction_near(points[v as usize]), v)).collect();
        stops.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        stops.dedup_by_key(|s| s.1);
        stops.push((1.0, strand.ends[1]));
        let (mut t, mut v) = (0.0, strand.ends[0]);
        for (next_t, next_v) in stops {
            let exact = Piece {
                from: if t == 0.0 { whole.from } else { whole.at(t) },
                to: if next_t == 1.0 { whole.to } else { whole.at(next_t) },
                side: whole.side,
            };
            // Stops that coincide are merged in the next round; a piece between them is nothing.
            if next_v != v && next_t > t {
                let piece = exact.moved(points[v as usize], points[next_v as usize]);
                parts.push(Strand { ends: [v, next_v], piece, owner: strand.owner });
                (t, v) = (next_t, next_v);
            }
        }
    }
    parts
}

/// One edge for strands with the same ends and, within the tolerance, the same middle.
fn without_duplicates(points: &[Point], strands: &[Strand], tolerance: f64) -> Graph {
    let key = |s: &Strand| (s.ends[0].min(s.ends[1]), s.ends[0].max(s.ends[1]));
    let mut order: Vec<usize> = (0..strands.len()).collect();
    order.sort_by_key(|&i| (key(&strands[i]), strands[i].piece.side != Side::Straight, i));
    // Position in `kept` is the position of the edge; the first strand of each edge shapes it.
    let mut kept: Vec<(usize, Vec<(u32, bool)>)> = Vec::new();
    let mut group = 0;
    for (n, &i) in order.iter().enumerate() {
        if n == 0 || key(&strands[order[n - 1]]) != key(&strands[i]) {
            group = kept.len();
        }
        let s = &strands[i];
        let twin = kept[group..].iter_mut().find(|(first, _)| {
            strands[*first].piece.middle().distance(s.piece.middle()) <= 2.0 * tolerance
        });
        match twin {
            Some((first, owners)) => {
                owners.push((s.owner, strands[*first].ends[0] == s.ends[0]));
            }
            None => kept.push((i, vec![(s.owner, true)])),
        }
    }
    kept.sort_by_key(|(first, _)| *first);
    let mut number = vec![u32::MAX; points.len()];
    let mut vertices = Vec::new();
    let edges = kept
        .into_iter()
        .map(|(first, owners)| {
            let s = &strands[first];
            let ends = s.ends.map(|v| {
                let slot = &mut number[v as usize];
                if *slot == u32::MAX {
                    *slot = vertices.len() as u32;
                    vertices.push(points[v as usize]);
                }
                *slot
            });
            GraphEdge { ends, side: s.piece.side, owners }
        })
        .collect();
    Graph { vertices, edges }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::outline::{circle, outline_of};
    use crate::geometry::samples::rectangle;
    use crate::section::{PolygonSide, Shape};
    use crate::units::MM;

    const TOLERANCE: f64 = 1e-8;

    fn graph(outlines: &[Outline]) -> Graph {
        planar_graph(&outlines.iter().collect::<Vec<_>>(), TOLERANCE).expect("settles")
    }

    fn square(size: f64, x: f64, y: f64, turn: f64) -> Outline {
        outline_of(&rectangle(size, size), Point::new(x, y) * MM, turn).expect("a square")
    }

    /// No two edges meet except at common vertices.
    fn assert_planar(g: &Graph) {
        for e in 0..g.edges.len() {
            for f in 0..e {
                let (p, q) = (g.piece(e), g.piece(f));
                for x in crossings(&p, &q, 0.1 * TOLERANCE) {
                    let ends = [p.from, p.to, q.from, q.to];
                    assert!(ends.iter().any(|v| v.distance(x) <= TOLERANCE), "{p:?} {q:?} {x:?}");
                }
            }
        }
    }

    #[test]
    fn squares_that_share_part_of_a_side() {
        let g = graph(&[square(4.0, 0.0, 0.0, 0.0), square(4.0, 4.0, 1.0, 0.0)]);
        assert_planar(&g);
        // Eight corners; two lie on the other square's side and split it; the common part is one.
        assert_eq!((g.vertices.len(), g.edges.len()), (8, 9));
        let shared: Vec<_> = g.edges.iter().filter(|e| e.owners.len() == 2).collect();
        assert_eq!(shared.len(), 1);
        // The two outlines run along it in opposite senses.
        assert_ne!(shared[0].owners[0].1, shared[0].owners[1].1);
    }

    #[test]
    fn crossing_circles_and_lines() {
        let disc = |x: f64, r: f64| circle(Point::new(x, 0.0) * MM, r * MM).expect("a circle");
        let g = graph(&[disc(0.0, 3.0), disc(3.0, 3.0), square(4.0, 1.5, 0.0, 0.3)]);
        assert_planar(&g);
        // Euler: V - E + F = 1 + C, one connected drawing here.
        // Circles cross each other twice; the square sticks out of the lens on four sides.
        assert!(g.edges.len() > g.vertices.len());
    }

    #[test]
    fn the_same_circle_twice_is_one() {
        // Two half circles from the angle `turn`, in quarters.
        let disc = |turn: f64| {
            let at = |k: f64| {
                let (sin, cos) = (turn + k * std::f64::consts::FRAC_PI_2).sin_cos();
                Point::new(3.0 * MM * cos, 3.0 * MM * sin)
            };
            let shape = Shape::Polygon {
                corners: vec![at(0.0), at(2.0)],
                sides: vec![PolygonSide::ArcThrough(at(1.0)), PolygonSide::ArcThrough(at(3.0))],
            };
            outline_of(&shape, Point::default(), 0.0).expect("a disc")
        };
        let g = graph(&[disc(0.0), disc(0.4)]);
        assert_planar(&g);
        assert_eq!((g.vertices.len(), g.edges.len()), (8, 8));
        assert!(g.edges.iter().all(|e| e.owners.len() == 2));
    }

    /// Many turned squares, each touching the one before it with a side, off by rounding.
    #[test]
    fn turned_squares_that_touch() {
        let turn = 0.7123;
        let (sin, cos) = f64::sin_cos(turn);
        let all: Vec<Outline> = (0..60)
            .map(|k| square(2.0, 2.0 * f64::from(k) * cos, 2.0 * f64::from(k) * sin, turn))
            .collect();
        let g = graph(&all);
        assert_planar(&g);
        assert_eq!((g.vertices.len(), g.edges.len()), (2 * 61, 60 * 3 + 1));
    }

    #[test]
    fn a_line_touching_a_circle_shares_one_vertex_with_it() {
        let disc = circle(Point::new(0.3, 1.0) * MM, MM).expect("a circle");
        let g = graph(&[disc, square(4.0, 0.0, -2.0, 0.0)]);
        assert_planar(&g);
        assert_eq!((g.vertices.len(), g.edges.len()), (8, 9));
    }
}
