//! Shortest distances between lines and arcs, exact. Lengths in metres.

use super::crossing::crossings;
use super::model::{Outline, Side};
use super::piece::Piece;
use crate::point::Point;

/// Shortest distance between two pieces, zero where they meet.
pub(crate) fn between_pieces(p: &Piece, q: &Piece) -> f64 {
    let scale = p.from.distance(p.to).max(q.from.distance(q.to));
    // Only true crossings: touching shows as a distance of rounding size anyway.
    if !crossings(p, q, 1e-14 * scale).is_empty() {
        return 0.0;
    }
    let ends =
        [q.distance_to(p.from), q.distance_to(p.to), p.distance_to(q.from), p.distance_to(q.to)];
    let at_ends = ends.into_iter().fold(f64::INFINITY, f64::min);
    perpendiculars(p, q)
        .into_iter()
        .flatten()
        .map(|(x, y)| if on(p, x) && on(q, y) { x.distance(y) } else { f64::INFINITY })
        .fold(at_ends, f64::min)
}

/// Shortest distance between two outlines' sides, zero where they meet; says nothing about one
/// lying inside the other.
pub(crate) fn between_outlines(a: &Outline, b: &Outline) -> f64 {
    let (pieces, others) = (Piece::all_of(a), Piece::all_of(b));
    let boxes: Vec<_> = others.iter().map(Piece::bounds).collect();
    let mut best = f64::INFINITY;
    for p in &pieces {
        let bp = p.bounds();
        for (q, bq) in others.iter().zip(&boxes) {
            if bp.distance_to(bq) < best {
                best = best.min(between_pieces(p, q));
            }
        }
    }
    best
}

/// Pairs of points, one on the line or circle of each piece, whose join is perpendicular to both.
/// Those between two straight lines and between concentric arcs are covered by the ends.
fn perpendiculars(p: &Piece, q: &Piece) -> [Option<(Point, Point)>; 4] {
    let mut found = [None; 4];
    match (p.side, q.side) {
        (Side::Straight, Side::Straight) => {}
        (Side::Straight, Side::Arc { centre, .. }) => {
            for (slot, (x, y)) in found.iter_mut().zip(line_and_circle(p, centre, q.radius())) {
                *slot = Some((x, y));
            }
        }
        (Side::Arc { centre, .. }, Side::Straight) => {
            for (slot, (x, y)) in found.iter_mut().zip(line_and_circle(q, centre, p.radius())) {
                *slot = Some((y, x));
            }
        }
        (Side::Arc { centre: c, .. }, Side::Arc { centre: d, .. }) => {
            let w = d - c;
            if w.norm() > 0.0 {
                let u = w * (1.0 / w.norm());
                let mut k = 0;
                for a in [p.radius(), -p.radius()] {
                    for b in [q.radius(), -q.radius()] {
                        found[k] = Some((c + u * a, d + u * b));
                        k += 1;
                    }
                }
            }
        }
    }
    found
}

/// The foot of the perpendicular from the centre, and the two points of the circle on it.
fn line_and_circle(line: &Piece, centre: Point, r: f64) -> [(Point, Point); 2] {
    let d = line.to - line.from;
    let u = d * (1.0 / d.norm());
    let foot = line.from + u * (centre - line.from).dot(u);
    let n = Point::new(-u.y, u.x);
    [(foot, centre + n * r), (foot, centre - n * r)]
}

/// Whether a point of the piece's line or circle lies between its ends.
fn on(piece: &Piece, x: Point) -> bool {
    match piece.side {
        Side::Straight => {
            let d = piece.to - piece.from;
            let t = (x - piece.from).dot(d);
            t >= 0.0 && t <= d.dot(d)
        }
        Side::Arc { .. } => {
            let t = piece.fraction_near(x);
            t > 0.0 && t < 1.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn piece() -> impl Strategy<Value = Piece> {
        let number = || -1.0..1.0f64;
        (number(), number(), number(), number(), 0.3..1.5f64, any::<bool>(), any::<bool>())
            .prop_map(|(x, y, u, v, turn, straight, ccw)| {
                let from = Point::new(x, y);
                if straight {
                    return Piece { from, to: Point::new(u, v), side: Side::Straight };
                }
                // A quarter turn at most, as in outlines.
                let (centre, a) = (Point::new(u, v), from - Point::new(u, v));
                let (sin, cos) = (if ccw { turn } else { -turn }).sin_cos();
                let to = centre + Point::new(a.x * cos - a.y * sin, a.x * sin + a.y * cos);
                Piece { from, to, side: Side::Arc { centre, counter_clockwise: ccw } }
            })
    }

    proptest! {
        /// Against the distance between many points of both: it is never less than the exact
        /// one, and not more than the spacing of the points above it.
        #[test]
        fn agrees_with_points_along_both(p in piece(), q in piece()) {
            let n = 400;
            let along = |p: &Piece| (0..=n).map(|k| p.at(f64::from(k) / f64::from(n))).collect::<Vec<_>>();
            let exact = between_pieces(&p, &q);
            let sampled = along(&p).iter().map(|x| q.distance_to(*x)).fold(f64::INFINITY, f64::min);
            let spacing = p.length() / f64::from(n);
            prop_assert!(exact <= sampled + 1e-12, "{exact} {sampled}");
            prop_assert!(sampled <= exact + spacing, "{exact} {sampled}");
            // And the one-sided distance itself, the same way.
            let x = p.middle();
            let nearest = along(&q).iter().map(|y| x.distance(*y)).fold(f64::INFINITY, f64::min);
            let spacing = q.length() / f64::from(n);
            prop_assert!(q.distance_to(x) <= nearest + 1e-12 && nearest <= q.distance_to(x) + spacing);
        }

        #[test]
        fn the_box_holds_the_piece_and_touches_it(p in piece()) {
            let b = p.bounds();
            let points: Vec<Point> = (0..=1000).map(|k| p.at(f64::from(k) / 1000.0)).collect();
            // The height of an arc over one step, and rounding.
            let slack = if p.sweep() == 0.0 { 1e-14 } else { p.length() * p.length() / p.radius() * 2e-7 };
            prop_assert!(points.iter().all(|x| b.grown(1e-14).holds(*x)));
            let seen = points.iter().fold(super::super::piece::Bounds::EMPTY, |b, x| b.with(*x));
            prop_assert!(seen.low.distance(b.low) <= slack + 1e-14 && seen.high.distance(b.high) <= slack + 1e-14);
        }
    }
}
