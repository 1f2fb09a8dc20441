//! Axisymmetric sections: outlines are drawn at r = x >= 0. A shape centred on the axis is cut
//! along it, and what lies on the axis is set on it exactly.

use super::model::{Outline, Side};
use super::outline::Fault;
use super::piece::Piece;
use crate::point::Point;

/// The part of `outline` at x >= 0, closed along the axis. Corners within `tolerance` of the axis
/// are moved onto it. Lengths in metres.
///
/// # Errors
///
/// A fault when the outline reaches to negative radius without being its own mirror image.
pub(crate) fn cut_at_axis(outline: Outline, tolerance: f64) -> Result<Outline, Fault> {
    let bounds = outline.bounds();
    if bounds.low.x >= -tolerance {
        return Ok(on_axis(outline, tolerance));
    }
    if bounds.high.x <= tolerance {
        return Err(Fault {
            message: "lies at negative radius".to_owned(),
            help: "the section is turned about x = 0: place the part at x >= 0",
        });
    }
    if !is_own_mirror(&outline, tolerance) {
        return Err(Fault {
            message: "straddles the axis without being symmetric about it".to_owned(),
            help: "centre it on x = 0 or move it to x >= 0",
        });
    }
    Ok(on_axis(right_half(&outline, tolerance), tolerance))
}

/// Sets corners near the axis on it. Arcs keep their turn.
fn on_axis(outline: Outline, tolerance: f64) -> Outline {
    let set = |p: Point| if p.x.abs() <= tolerance { Point::new(0.0, p.y) } else { p };
    let moved: Vec<Piece> =
        Piece::all_of(&outline).iter().map(|p| p.moved(set(p.from), set(p.to))).collect();
    Outline {
        corners: moved.iter().map(|p| p.from).collect(),
        sides: moved.iter().map(|p| p.side).collect(),
    }
}

fn is_own_mirror(outline: &Outline, tolerance: f64) -> bool {
    let pieces = Piece::all_of(outline);
    let near = |p: Point| {
        let mirrored = Point::new(-p.x, p.y);
        pieces.iter().any(|q| q.distance_to(mirrored) <= tolerance)
    };
    pieces.iter().all(|p| near(p.from) && near(p.middle()))
}

/// A simple closed line that is its own mirror image meets the axis in just two points.
fn right_half(outline: &Outline, tolerance: f64) -> Outline {
    let pieces = Piece::all_of(outline);
    let n = pieces.len();
    let is_right = |p: Point| p.x > tolerance;
    let first = (0..n).find(|&i| !is_right(pieces[i].from) && is_right(pieces[i].to)).unwrap_or(0);
    let mut half = Outline { corners: Vec::new(), sides: Vec::new() };
    for k in 0..n {
        let piece = &pieces[(first + k) % n];
        let crosses_in = piece.from.x < -tolerance && is_right(piece.to);
        let crosses_out = is_right(piece.from) && piece.to.x < -tolerance;
        half.corners.push(if crosses_in { on_the_axis(piece) } else { piece.from });
        half.sides.push(piece.side);
        if !is_right(piece.to) {
            half.corners.push(if crosses_out { on_the_axis(piece) } else { piece.to });
            half.sides.push(Side::Straight);
            break;
        }
    }
    half
}

/// Where a piece from one side of the axis to the other meets it.
fn on_the_axis(piece: &Piece) -> Point {
    let y = match piece.side {
        Side::Straight => {
            let t = piece.from.x / (piece.from.x - piece.to.x);
            piece.from.y + t * (piece.to.y - piece.from.y)
        }
        Side::Arc { centre, .. } => {
            let r = piece.radius();
            let half = ((r - centre.x) * (r + centre.x)).max(0.0).sqrt();
            let off = |y: f64| piece.distance_to(Point::new(0.0, y));
            let (low, high) = (centre.y - half, centre.y + half);
            if off(low) < off(high) { low } else { high }
        }
    };
    Point::new(0.0, y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::outline::{in_quarters, outline_of};
    use crate::geometry::samples::polygon;
    use crate::section::{PolygonSide, Shape};

    const TOLERANCE: f64 = 1e-9;

    #[test]
    fn a_disc_drawn_askew_is_halved() {
        // Two half circles whose ends do not lie on the axis, cut into quarters.
        let shape = Shape::Polygon {
            corners: vec![Point::new(0.8, 0.6), Point::new(-0.8, -0.6)],
            sides: vec![
                PolygonSide::ArcThrough(Point::new(-0.6, 0.8)),
                PolygonSide::ArcThrough(Point::new(0.6, -0.8)),
            ],
        };
        let disc = outline_of(&shape, Point::default(), 0.0).expect("a disc");
        let half = cut_at_axis(in_quarters(disc), TOLERANCE).expect("symmetric");
        // Rounding of arcs of unit size.
        assert!((half.area() - 0.5 * std::f64::consts::PI).abs() < 1e-14);
        assert!(half.corners.iter().all(|c| c.x >= 0.0));
    }

    #[test]
    fn shapes_that_only_touch_the_axis_are_set_on_it() {
        let square = polygon(&[(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (-1e-8, 1.0)]);
        let outline = outline_of(&square, Point::default(), 0.0).expect("a square");
        let set = cut_at_axis(outline, TOLERANCE).expect("touches");
        assert_eq!(set.bounds().low.x, 0.0);
        assert_eq!(set.corners.len(), 4);
    }

    #[test]
    fn what_is_symmetric_only_about_another_line_is_refused() {
        let square = polygon(&[(-1.0, 0.0), (2.0, 0.0), (2.0, 1.0), (-1.0, 1.0)]);
        let outline = outline_of(&square, Point::default(), 0.0).expect("a square");
        assert!(cut_at_axis(outline, TOLERANCE).is_err());
    }
}
