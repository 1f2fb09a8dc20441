//! How far a placed shape reaches, how large it is, and whether it is its own mirror image.
//!
//! In: a [`Shape`], where its origin stands and its turn. Out: extreme coordinates (m) and area
//! (m2), exact for arcs. Needed to stand shapes on each other, to find the top of a pole, to share
//! turns by area and to check sections that turn about x = 0.
//!
//! Area = 1/2 closed integral of (x dy - y dx); on an arc about c with radius r from p to q that
//! sweeps theta: 1/2 (c x (q - p) + r^2 theta).

use std::f64::consts::TAU;

use crate::point::Point;
use crate::section::model::{Corner, PolygonSide, Shape};

/// Places closer than this are the same, m.
const SAME: f64 = 1e-9;

/// The box around a shape, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Extent {
    pub left: f64,
    pub right: f64,
    pub bottom: f64,
    pub top: f64,
}

impl Extent {
    /// Middle of left and right.
    pub(super) fn middle_x(self) -> f64 {
        0.5 * (self.left + self.right)
    }

    fn of(points: impl IntoIterator<Item = Point>) -> Self {
        let none = Self {
            left: f64::INFINITY,
            right: f64::NEG_INFINITY,
            bottom: f64::INFINITY,
            top: f64::NEG_INFINITY,
        };
        points.into_iter().fold(none, |e, p| Self {
            left: e.left.min(p.x),
            right: e.right.max(p.x),
            bottom: e.bottom.min(p.y),
            top: e.top.max(p.y),
        })
    }
}

/// A piece of a boundary.
#[derive(Clone, Copy, Debug)]
struct Piece {
    from: Point,
    to: Point,
    arc: Option<Arc>,
}

/// The circle a piece follows.
#[derive(Clone, Copy, Debug)]
struct Arc {
    centre: Point,
    radius: f64,
    /// Swept angle, radian, positive counter-clockwise.
    sweep: f64,
}

/// The box around `shape`, turned by `rotation` (radian) about its origin, which stands at `at`.
pub(super) fn extent(shape: &Shape, at: Point, rotation: f64) -> Extent {
    let pieces = boundary(shape, at, rotation);
    Extent::of(pieces.iter().flat_map(|piece| {
        let ends = [piece.from, piece.to];
        let extremes = piece.arc.map(|arc| {
            let start = (piece.from.y - arc.centre.y).atan2(piece.from.x - arc.centre.x);
            [(0.0, 1.0, 0.0), (0.25, 0.0, 1.0), (0.5, -1.0, 0.0), (0.75, 0.0, -1.0)]
                .into_iter()
                .filter(move |(turn, ..)| {
                    let ahead = (turn * TAU - start) * arc.sweep.signum();
                    ahead.rem_euclid(TAU) < arc.sweep.abs()
                })
                .map(move |(_, x, y)| arc.centre + Point::new(x, y) * arc.radius)
        });
        ends.into_iter().chain(extremes.into_iter().flatten())
    }))
}

/// Area of `shape`, m2, not negative.
pub(super) fn area(shape: &Shape) -> f64 {
    let twice: f64 = boundary(shape, Point::default(), 0.0)
        .iter()
        .map(|piece| match piece.arc {
            None => cross(piece.from, piece.to),
            Some(arc) => {
                cross(arc.centre, piece.to - piece.from) + arc.radius * arc.radius * arc.sweep
            }
        })
        .sum();
    0.5 * twice.abs()
}

/// Whether the placed shape is its own mirror image about x = 0.
pub(super) fn mirrors_itself(shape: &Shape, at: Point, rotation: f64) -> bool {
    let pieces = boundary(shape, at, rotation);
    let mirror = |p: Point| Point::new(-p.x, p.y);
    let same = |a: Point, b: Point| a.distance(b) < SAME;
    // Mirrored and walked backwards, a piece keeps its sense.
    pieces.iter().all(|piece| {
        pieces.iter().any(|other| {
            same(other.from, mirror(piece.to))
                && same(other.to, mirror(piece.from))
                && match (piece.arc, other.arc) {
                    (None, None) => true,
                    (Some(a), Some(b)) => {
                        same(b.centre, mirror(a.centre)) && a.sweep.signum() == b.sweep.signum()
                    }
                    _ => false,
                }
        })
    })
}

/// Whether an arc through these three points is a circle worth the name: the middle one stands
/// off the line by more than a millionth of the chord.
pub(super) fn bends(from: Point, through: Point, to: Point) -> bool {
    let chord = from.distance(to);
    let off = cross(to - from, through - from).abs();
    chord > SAME && off > 1e-6 * chord * chord
}

fn cross(a: Point, b: Point) -> f64 {
    a.x * b.y - a.y * b.x
}

/// The closed boundary, piece by piece.
fn boundary(shape: &Shape, at: Point, rotation: f64) -> Vec<Piece> {
    let (sin, cos) = libm::sincos(rotation);
    let place = |p: Point| at + Point::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y);
    let (corners, sides) = match shape {
        Shape::Rectangle { width, height, corners } => rectangle(*width, *height, corners),
        Shape::Circle { radius } => circle(*radius),
        Shape::Polygon { corners, sides } => (corners.clone(), sides.clone()),
    };
    let count = corners.len();
    (0..count)
        .zip(&sides)
        .map(|(i, side)| {
            let (from, to) = (place(corners[i]), place(corners[(i + 1) % count]));
            let arc = match side {
                PolygonSide::Straight => None,
                PolygonSide::ArcThrough(m) => circle_through(from, place(*m), to),
            };
            Piece { from, to, arc }
        })
        .collect()
}

fn circle(radius: f64) -> (Vec<Point>, Vec<PolygonSide>) {
    let (right, left) = (Point::new(radius, 0.0), Point::new(-radius, 0.0));
    let (top, bottom) = (Point::new(0.0, radius), Point::new(0.0, -radius));
    (vec![right, left], vec![PolygonSide::ArcThrough(top), PolygonSide::ArcThrough(bottom)])
}

/// Counter-clockwise from the bottom left, each corner cut as it says.
fn rectangle(width: f64, height: f64, corners: &[Corner; 4]) -> (Vec<Point>, Vec<PolygonSide>) {
    let (w, h) = (0.5 * width, 0.5 * height);
    let places = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
    let mut points = Vec::new();
    let mut sides = Vec::new();
    for (i, (corner, (sx, sy))) in corners.iter().zip(places).enumerate() {
        let tip = Point::new(sx * w, sy * h);
        let (Corner::Round(cut) | Corner::Bevel(cut)) = *corner else {
            points.push(tip);
            sides.push(PolygonSide::Straight);
            continue;
        };
        let along_x = Point::new(tip.x - sx * cut, tip.y);
        let along_y = Point::new(tip.x, tip.y - sy * cut);
        // Walking counter-clockwise, the bottom left and top right corners are reached along y.
        let (first, second) = if i % 2 == 0 { (along_y, along_x) } else { (along_x, along_y) };
        let centre = Point::new(tip.x - sx * cut, tip.y - sy * cut);
        let middle = centre + Point::new(sx, sy) * (cut * std::f64::consts::FRAC_1_SQRT_2);
        points.extend([first, second]);
        sides.push(match corner {
            Corner::Round(_) => PolygonSide::ArcThrough(middle),
            _ => PolygonSide::Straight,
        });
        sides.push(PolygonSide::Straight);
    }
    (points, sides)
}

/// The circle through three points, with the sweep from the first to the last by way of the
/// second; `None` where they lie on a line.
fn circle_through(from: Point, through: Point, to: Point) -> Option<Arc> {
    let (a, b) = (through - from, to - from);
    let twice = 2.0 * cross(a, b);
    let (aa, bb) = (a.x * a.x + a.y * a.y, b.x * b.x + b.y * b.y);
    let centre = from + Point::new((b.y * aa - a.y * bb) / twice, (a.x * bb - b.x * aa) / twice);
    let radius = centre.distance(from);
    if !radius.is_finite() {
        return None;
    }
    let angle = |p: Point| (p.y - centre.y).atan2(p.x - centre.x);
    let turn = (angle(to) - angle(from)).rem_euclid(TAU);
    let counter_clockwise = twice > 0.0;
    let sweep = if counter_clockwise { turn } else { turn - TAU };
    Some(Arc { centre, radius, sweep })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_4, PI};

    /// Rounding of a few products of lengths below 1: 1e-12.
    fn near(a: f64, b: f64) {
        assert!((a - b).abs() < 1e-12, "{a} is not {b}");
    }

    fn rectangle_with(corner: Corner) -> Shape {
        Shape::Rectangle { width: 0.4, height: 0.2, corners: [corner; 4] }
    }

    #[test]
    fn areas_are_exact() {
        near(area(&rectangle_with(Corner::Sharp)), 0.08);
        near(area(&rectangle_with(Corner::Bevel(0.05))), 0.08 - 2.0 * 0.05 * 0.05);
        near(area(&rectangle_with(Corner::Round(0.05))), 0.08 - (4.0 - PI) * 0.05 * 0.05);
        near(area(&Shape::Circle { radius: 0.3 }), PI * 0.09);
    }

    #[test]
    fn a_half_disc_drawn_either_way() {
        let (a, b) = (Point::new(-0.1, 0.0), Point::new(0.1, 0.0));
        for top in [0.1, -0.1] {
            let shape = Shape::Polygon {
                corners: vec![a, b],
                sides: vec![PolygonSide::Straight, PolygonSide::ArcThrough(Point::new(0.0, top))],
            };
            near(area(&shape), 0.5 * PI * 0.01);
            let e = extent(&shape, Point::default(), 0.0);
            near(e.top, top.max(0.0));
            near(e.bottom, top.min(0.0));
            near(e.left, -0.1);
            assert!(mirrors_itself(&shape, Point::default(), 0.0));
            assert!(!mirrors_itself(&shape, Point::new(0.01, 0.0), 0.0));
        }
    }

    #[test]
    fn extents_of_turned_shapes() {
        let e = extent(&rectangle_with(Corner::Sharp), Point::new(1.0, 2.0), FRAC_PI_4);
        let reach = 0.3 * FRAC_PI_4.cos();
        near(e.right, 1.0 + reach);
        near(e.top, 2.0 + reach);
        near(e.middle_x(), 1.0);
        // A corner rounded to the full is a quarter disc: 0.1 sqrt 2 of the diagonal is lost to it.
        let e = extent(&rectangle_with(Corner::Round(0.1)), Point::default(), FRAC_PI_4);
        near(e.top, 0.1 * FRAC_PI_4.cos() + 0.1);
        let e = extent(&Shape::Circle { radius: 0.1 }, Point::new(0.2, 0.0), 1.0);
        near(e.left, 0.1);
        near(e.bottom, -0.1);
    }

    #[test]
    fn mirror_images() {
        let upright = rectangle_with(Corner::Round(0.05));
        assert!(mirrors_itself(&upright, Point::new(0.0, 0.3), 0.0));
        assert!(!mirrors_itself(&upright, Point::new(0.0, 0.3), 0.1));
        let lopsided = Shape::Rectangle {
            width: 0.4,
            height: 0.2,
            corners: [Corner::Sharp, Corner::Sharp, Corner::Bevel(0.01), Corner::Sharp],
        };
        assert!(!mirrors_itself(&lopsided, Point::default(), 0.0));
        assert!(mirrors_itself(&Shape::Circle { radius: 0.1 }, Point::default(), 0.0));
    }
}
