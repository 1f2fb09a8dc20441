//! Edges cut into sides of the wanted size, points of arcs on the true arc. Lengths in plan units.

use std::f64::consts::TAU;

use super::plan::Plan;
use super::size::SizeField;
use crate::geometry::Piece;
use crate::point::Point;

/// Points and the straight sides between them.
pub(crate) struct Cut {
    /// The plan's vertices first, then the points along edges.
    pub points: Vec<Point>,
    /// Ends of each side, and the edge it is part of.
    pub sides: Vec<([u32; 2], u32)>,
}

/// Cuts every edge of `plan` by `sizes`, arcs at least `finer` times as finely as into the plan's fewest sides.
/// Stops early beyond `most` points.
pub(crate) fn cut(plan: &Plan, sizes: &SizeField, finer: f64, most: usize) -> Cut {
    let mut cut = Cut { points: plan.vertices.clone(), sides: Vec::new() };
    for (e, edge) in plan.edges.iter().enumerate() {
        let piece = plan.piece(e);
        let [mut from, last] = edge.ends;
        for t in stops(&piece, sizes, finer * plan.fewest_sides, most) {
            let next = cut.points.len() as u32;
            cut.points.push(piece.at(t));
            cut.sides.push(([from, next], e as u32));
            from = next;
        }
        cut.sides.push(([from, last], e as u32));
        if cut.points.len() > most {
            break;
        }
    }
    cut
}

/// Fractions of the length at which a piece is cut: equal shares of the integral of ds / h, `sides` at least to a
/// full circle.
fn stops(piece: &Piece, sizes: &SizeField, sides: f64, most: usize) -> Vec<f64> {
    let length = piece.length();
    // Cumulative integral at fractions t, by the midpoint rule over steps of half the size.
    let (mut t, mut sum) = (0.0, 0.0);
    let mut table = vec![(0.0, 0.0)];
    while t < 1.0 && table.len() <= 4 * most {
        let here = sizes.at(piece.at(t)) / length;
        // In the middle of the step, not beyond: sizes that fall fast would make it needlessly short.
        let ahead = sizes.at(piece.at(t + 0.5 * (0.5 * here).min(1.0 - t))) / length;
        let step = (0.5 * here.min(ahead)).min(1.0 - t);
        let step = if 1.0 - t - step < 0.1 * step { 1.0 - t } else { step };
        sum += step / ahead;
        t = if step >= 1.0 - t { 1.0 } else { t + step };
        table.push((t, sum));
    }
    let turns = (piece.sweep().abs() / TAU * sides - 1e-9).ceil();
    let n = (sum - 0.2).ceil().max(turns).max(1.0);
    let mut at = Vec::with_capacity(n as usize);
    let mut k = 1;
    for w in table.windows(2) {
        let ((t0, s0), (t1, s1)) = (w[0], w[1]);
        while (k as f64) < n && s1 >= sum * k as f64 / n {
            at.push(t0 + (t1 - t0) * (sum * k as f64 / n - s0) / (s1 - s0));
            k += 1;
        }
    }
    at
}
