//! Measures of outlines, arcs exact: area, centre of area, box, and whether a point lies inside.
//!
//! Area and centre by Green's theorem: area = 1/2 oint (x dy - y dx). Lengths in metres.

use super::model::{Outline, Side};
use super::piece::{Bounds, Piece};
use crate::point::Point;

impl Outline {
    /// Enclosed area, m2.
    pub fn area(&self) -> f64 {
        self.signed_area().abs()
    }

    /// Enclosed area, m2, positive when the corners run counter-clockwise.
    pub(crate) fn signed_area(&self) -> f64 {
        let Some(&origin) = self.corners.first() else { return 0.0 };
        Piece::all_of(self).iter().map(|p| p.area_integral(origin)).sum()
    }

    /// Centre of the enclosed area, m.
    pub fn centroid(&self) -> Point {
        let Some(&origin) = self.corners.first() else { return Point::default() };
        let mut area = 0.0;
        let mut moment = Point::default();
        for piece in Piece::all_of(self) {
            let (a, b) = (piece.from - origin, piece.to - origin);
            let triangle = 0.5 * a.cross(b);
            area += triangle;
            moment = moment + (a + b) * (triangle / 3.0);
            if let Side::Arc { centre, .. } = piece.side {
                // Between arc and chord: a circular segment of area r^2 (s - sin s) / 2 whose
                // first moment about the centre is (2/3) r^3 sin^3(s/2) towards the middle.
                let segment = piece.area_integral(piece.from);
                let (r, half) = (piece.radius(), 0.5 * piece.sweep());
                let out = (piece.middle() - centre) * (1.0 / r);
                let first = out * (2.0 / 3.0 * r.powi(3) * half.sin().powi(3));
                area += segment;
                moment = moment + (centre - origin) * segment + first;
            }
        }
        origin + moment * (1.0 / area)
    }

    /// Length of all sides, m.
    pub fn perimeter(&self) -> f64 {
        Piece::all_of(self).iter().map(Piece::length).sum()
    }

    /// Lower left and upper right corner of the smallest upright box around the outline, m.
    pub fn bounding_box(&self) -> (Point, Point) {
        let b = self.bounds();
        (b.low, b.high)
    }

    pub(crate) fn bounds(&self) -> Bounds {
        Piece::all_of(self).iter().fold(Bounds::EMPTY, |b, p| b.union(p.bounds()))
    }

    /// Whether `p` lies inside. On the outline itself the answer is one or the other, the same
    /// every time; of two outlines that share a side, just one holds a point of it.
    pub fn contains(&self, p: Point) -> bool {
        let n = self.corners.len();
        let mut inside = false;
        for i in 0..n {
            let (a, b) = (self.corners[i], self.corners[(i + 1) % n]);
            inside ^= toggles(a, b, self.sides[i], p);
        }
        inside
    }
}

/// Whether walking from far right to `p` crosses the side an odd number of times.
///
/// A point on the chord counts as moved by (e, e^2), e -> 0: right, and much less up. The chord's
/// crossing and the test of the sliver between chord and arc use this same rule, so that the two
/// agree to the last bit. Arcs turn by at most half a circle.
fn toggles(a: Point, b: Point, side: Side, p: Point) -> bool {
    let d = b - a;
    let cross = d.cross(p - a);
    let left = if cross != 0.0 {
        cross > 0.0
    } else if d.y != 0.0 {
        d.y < 0.0
    } else {
        d.x > 0.0
    };
    let straddles = (a.y > p.y) != (b.y > p.y);
    let chord = straddles && left == (b.y > a.y);
    let Side::Arc { centre, counter_clockwise } = side else { return chord };
    let r2 = (a - centre).dot(a - centre);
    let in_circle = (p - centre).dot(p - centre) < r2;
    // A counter-clockwise arc bulges to the right of its chord.
    chord ^ (in_circle && left != counter_clockwise)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::outline::{circle, outline_of};
    use crate::geometry::samples::{mm, polygon};
    use crate::section::{Corner, PolygonSide, Shape};
    use std::f64::consts::PI;

    // Rounding of sums of a few terms of the size of the result.
    const ROUNDING: f64 = 1e-14;

    #[test]
    fn circle_is_exact() {
        let o = circle(Point::new(3.0, -2.0), 0.5).expect("a circle");
        assert!((o.area() / (0.25 * PI) - 1.0).abs() < ROUNDING);
        assert!((o.perimeter() / PI - 1.0).abs() < ROUNDING);
        assert!(o.centroid().distance(Point::new(3.0, -2.0)) < ROUNDING * 10.0);
        let (low, high) = o.bounding_box();
        assert_eq!((low, high), (Point::new(2.5, -2.5), Point::new(3.5, -1.5)));
    }

    /// A half disc: its centre of area is 4 r / (3 pi) from the flat side.
    #[test]
    fn half_disc_has_its_centroid_where_it_should() {
        let shape = Shape::Polygon {
            corners: vec![Point::new(1.0, 0.0), Point::new(-1.0, 0.0)],
            sides: vec![PolygonSide::ArcThrough(Point::new(0.0, 1.0)), PolygonSide::Straight],
        };
        let o = outline_of(&shape, Point::default(), 0.0).expect("a half disc");
        assert!((o.area() - 0.5 * PI).abs() < ROUNDING);
        assert!(o.centroid().distance(Point::new(0.0, 4.0 / (3.0 * PI))) < ROUNDING);
    }

    #[test]
    fn rounded_rectangle_lacks_its_corners() {
        let shape = Shape::Rectangle {
            width: 4.0,
            height: 2.0,
            corners: [Corner::Round(0.5), Corner::Sharp, Corner::Bevel(0.25), Corner::Sharp],
        };
        let o = outline_of(&shape, Point::default(), 0.3).expect("a rectangle");
        let gone = 0.25 * (1.0 - 0.25 * PI) + 0.5 * 0.25 * 0.25;
        assert!((o.area() - (8.0 - gone)).abs() < 8.0 * ROUNDING);
    }

    /// Every point of a raster, and every point made of the outline's own coordinates, lies in
    /// just one of two halves of a disc cut by a line, or in neither when outside the disc.
    #[test]
    fn a_shared_side_belongs_to_one_of_its_two_outlines() {
        let half = |upper: bool| {
            let through = Point::new(0.0, if upper { 1.0 } else { -1.0 });
            let shape = Shape::Polygon {
                corners: vec![Point::new(1.0, 0.0), Point::new(-1.0, 0.0)],
                sides: vec![PolygonSide::ArcThrough(through), PolygonSide::Straight],
            };
            outline_of(&shape, Point::default(), 0.0).expect("a half disc")
        };
        let (upper, lower) = (half(true), half(false));
        for i in -12..=12 {
            for j in -12..=12 {
                let p = Point::new(f64::from(i) * 0.1, f64::from(j) * 0.1);
                if (p.norm() - 1.0).abs() < 1e-9 {
                    continue;
                }
                let count = u32::from(upper.contains(p)) + u32::from(lower.contains(p));
                assert_eq!(count, u32::from(p.norm() < 1.0), "{p:?}");
            }
        }
    }

    #[test]
    fn clockwise_corners_are_turned_round() {
        let square = polygon(&[(0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.0)]);
        let o = outline_of(&square, mm(5.0, 5.0), 0.0).expect("a square");
        assert!(o.signed_area() > 0.0);
        assert!(o.contains(mm(5.5, 5.5)) && !o.contains(mm(4.5, 5.5)));
    }
}
