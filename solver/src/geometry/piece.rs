//! A side together with its ends: lengths, tangents, boxes and area integrals of lines and arcs.
//!
//! Arcs in outlines and arrangements turn by at most a quarter; the functions here hold for any
//! arc of less than a full turn. Lengths in metres, angles in radian.

use std::f64::consts::TAU;

use super::model::{Outline, Side};
use crate::point::Point;

/// A straight line or an arc between two known points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Piece {
    /// First end, m.
    pub from: Point,
    /// Second end, m.
    pub to: Point,
    /// What joins them.
    pub side: Side,
}

/// An axis-parallel box, m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Bounds {
    /// Lower left corner, m.
    pub low: Point,
    /// Upper right corner, m.
    pub high: Point,
}

impl Bounds {
    /// Holds nothing; grows from here.
    pub const EMPTY: Self = Self {
        low: Point::new(f64::INFINITY, f64::INFINITY),
        high: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
    };

    /// The smallest box that also holds `p`.
    #[must_use]
    pub fn with(self, p: Point) -> Self {
        Self {
            low: Point::new(self.low.x.min(p.x), self.low.y.min(p.y)),
            high: Point::new(self.high.x.max(p.x), self.high.y.max(p.y)),
        }
    }

    /// The smallest box that holds both.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        self.with(other.low).with(other.high)
    }

    /// The box grown by `margin` on every side, m.
    #[must_use]
    pub fn grown(self, margin: f64) -> Self {
        let m = Point::new(margin, margin);
        Self { low: self.low - m, high: self.high + m }
    }

    /// Whether the boxes share a point.
    pub fn meets(&self, other: &Self) -> bool {
        self.low.x <= other.high.x
            && other.low.x <= self.high.x
            && self.low.y <= other.high.y
            && other.low.y <= self.high.y
    }

    /// Whether `p` lies in the box or on its rim.
    pub fn holds(&self, p: Point) -> bool {
        self.low.x <= p.x && p.x <= self.high.x && self.low.y <= p.y && p.y <= self.high.y
    }

    /// Distance from `p` to the box, zero inside, m.
    pub fn distance(&self, p: Point) -> f64 {
        let dx = (self.low.x - p.x).max(p.x - self.high.x).max(0.0);
        let dy = (self.low.y - p.y).max(p.y - self.high.y).max(0.0);
        (dx * dx + dy * dy).sqrt()
    }

    /// Distance from the box to another, zero where they meet, m.
    pub fn distance_to(&self, other: &Self) -> f64 {
        let dx = (self.low.x - other.high.x).max(other.low.x - self.high.x).max(0.0);
        let dy = (self.low.y - other.high.y).max(other.low.y - self.high.y).max(0.0);
        dx.hypot(dy)
    }

    /// Width and height, m.
    pub fn size(&self) -> Point {
        self.high - self.low
    }

    /// Middle of the box, m.
    pub fn centre(&self) -> Point {
        (self.low + self.high) * 0.5
    }
}

impl Piece {
    /// The sides of an outline in order.
    pub fn all_of(outline: &Outline) -> Vec<Self> {
        let n = outline.corners.len();
        (0..n)
            .map(|i| Self {
                from: outline.corners[i],
                to: outline.corners[(i + 1) % n],
                side: outline.sides[i],
            })
            .collect()
    }

    /// Radius of the arc, m; infinite for a straight line.
    pub fn radius(&self) -> f64 {
        match self.side {
            Side::Straight => f64::INFINITY,
            // The mean of both ends: rounding has moved each by an ulp or two.
            Side::Arc { centre, .. } => {
                0.5 * (self.from.distance(centre) + self.to.distance(centre))
            }
        }
    }

    /// Angle the arc turns through, counter-clockwise positive, radian; zero for a line.
    pub fn sweep(&self) -> f64 {
        let Side::Arc { centre, counter_clockwise } = self.side else { return 0.0 };
        let (a, b) = (self.from - centre, self.to - centre);
        let turn = a.cross(b).atan2(a.dot(b));
        match (counter_clockwise, turn > 0.0) {
            (true, false) => turn + TAU,
            (false, true) => turn - TAU,
            _ => turn,
        }
    }

    /// Length along the piece, m.
    pub fn length(&self) -> f64 {
        match self.side {
            Side::Straight => self.from.distance(self.to),
            Side::Arc { .. } => self.radius() * self.sweep().abs(),
        }
    }

    /// Point at fraction `t` of the length, 0 at the first end and 1 at the second.
    pub fn at(&self, t: f64) -> Point {
        match self.side {
            // Written so that equal coordinates of the ends stay equal in between.
            Side::Straight => self.from + (self.to - self.from) * t,
            Side::Arc { centre, .. } => {
                let (sin, cos) = (self.sweep() * t).sin_cos();
                let a = self.from - centre;
                let turned = Point::new(a.x * cos - a.y * sin, a.x * sin + a.y * cos);
                // Takes up the small difference of the radii of the two ends.
                let scale = 1.0 + t * (self.to.distance(centre) / a.norm() - 1.0);
                centre + turned * scale
            }
        }
    }

    /// Middle of the piece, m. The same from either end.
    pub fn middle(&self) -> Point {
        let chord = (self.from + self.to) * 0.5;
        let Side::Arc { centre, counter_clockwise } = self.side else { return chord };
        let sweep = self.sweep().abs();
        let out = if sweep < 0.9 * std::f64::consts::PI {
            chord - centre
        } else {
            // Beyond a half turn the middle lies on the far side of the centre; near it the
            // chord passes through the centre and only its normal tells the direction.
            let d = self.to - self.from;
            let right = Point::new(d.y, -d.x);
            if counter_clockwise { right } else { right * -1.0 }
        };
        centre + out * (self.radius() / out.norm())
    }

    /// Unit vector along the piece at fraction `t`.
    pub fn tangent(&self, t: f64) -> Point {
        match self.side {
            Side::Straight => {
                let d = self.to - self.from;
                d * (1.0 / d.norm())
            }
            Side::Arc { centre, counter_clockwise } => {
                let out = self.at(t) - centre;
                let left = Point::new(-out.y, out.x) * (1.0 / out.norm());
                if counter_clockwise { left } else { left * -1.0 }
            }
        }
    }

    /// The same piece walked the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let side = match self.side {
            Side::Straight => Side::Straight,
            Side::Arc { centre, counter_clockwise } => {
                Side::Arc { centre, counter_clockwise: !counter_clockwise }
            }
        };
        Self { from: self.to, to: self.from, side }
    }

    /// Fraction of the length at which the piece passes closest to `p`, held to 0..=1.
    pub fn fraction_near(&self, p: Point) -> f64 {
        match self.side {
            Side::Straight => {
                let d = self.to - self.from;
                ((p - self.from).dot(d) / d.dot(d)).clamp(0.0, 1.0)
            }
            Side::Arc { centre, .. } => {
                let (a, q) = (self.from - centre, p - centre);
                let sweep = self.sweep();
                let turn = a.cross(q).atan2(a.dot(q)) * sweep.signum();
                let size = sweep.abs();
                let turn = if turn < 0.0 { turn + TAU } else { turn };
                if turn <= size {
                    turn / size
                } else if turn - size < TAU - turn {
                    1.0
                } else {
                    0.0
                }
            }
        }
    }

    /// Distance from `p` to the nearest point of the piece, m.
    pub fn distance_to(&self, p: Point) -> f64 {
        match self.side {
            Side::Straight => p.distance(self.at(self.fraction_near(p))),
            Side::Arc { centre, .. } => {
                let t = self.fraction_near(p);
                if t <= 0.0 {
                    p.distance(self.from)
                } else if t >= 1.0 {
                    p.distance(self.to)
                } else {
                    (p.distance(centre) - self.radius()).abs()
                }
            }
        }
    }

    /// The smallest box around the piece.
    pub fn bounds(&self) -> Bounds {
        let ends = Bounds::EMPTY.with(self.from).with(self.to);
        let Side::Arc { centre, .. } = self.side else { return ends };
        let r = self.radius();
        let poles = [(r, 0.0), (0.0, r), (-r, 0.0), (0.0, -r)];
        poles.iter().map(|&(x, y)| centre + Point::new(x, y)).fold(ends, |b, p| {
            let t = self.fraction_near(p);
            if t > 0.0 && t < 1.0 { b.with(p) } else { b }
        })
    }

    /// Half the integral of (x dy - y dx) along the piece, with x and y measured from `origin`:
    /// round a closed outline it is the area, m2.
    pub fn area_integral(&self, origin: Point) -> f64 {
        let chord = (self.from - origin).cross(self.to - origin);
        match self.side {
            Side::Straight => 0.5 * chord,
            Side::Arc { .. } => 0.5 * (chord + self.radius().powi(2) * bulge(self.sweep())),
        }
    }

    /// The piece with its ends moved a little: an arc keeps the angle it turns through, so that
    /// both ends stay on its circle.
    #[must_use]
    pub fn moved(&self, from: Point, to: Point) -> Self {
        let side = match self.side {
            Side::Arc { centre, counter_clockwise } if from != self.from || to != self.to => {
                // The similarity that takes the old chord to the new one, as complex numbers.
                let (old, new) = (self.to - self.from, to - from);
                let c = centre - self.from;
                let n = old.dot(old);
                let ratio = Point::new(c.dot(old) / n, old.cross(c) / n);
                let centre = from
                    + Point::new(
                        new.x * ratio.x - new.y * ratio.y,
                        new.x * ratio.y + new.y * ratio.x,
                    );
                Side::Arc { centre, counter_clockwise }
            }
            side => side,
        };
        Self { from, to, side }
    }
}

/// angle - sin(angle): twice the area between an arc of unit radius and its chord.
fn bulge(angle: f64) -> f64 {
    if angle.abs() < 1e-2 {
        // Taylor series: the difference of two nearly equal numbers loses digits. The next term
        // is angle^9 / 362880, below 1e-16 of the first at 1e-2.
        let a2 = angle * angle;
        angle * a2 * (1.0 / 6.0 - a2 * (1.0 / 120.0 - a2 / 5040.0))
    } else {
        angle - angle.sin()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, PI};

    fn arc(from: (f64, f64), to: (f64, f64), centre: (f64, f64), ccw: bool) -> Piece {
        Piece {
            from: Point::new(from.0, from.1),
            to: Point::new(to.0, to.1),
            side: Side::Arc { centre: Point::new(centre.0, centre.1), counter_clockwise: ccw },
        }
    }

    // Rounding of a handful of operations on numbers of size one.
    const ROUNDING: f64 = 4e-15;

    #[test]
    fn quarter_circle() {
        let q = arc((2.0, 0.0), (0.0, 2.0), (0.0, 0.0), true);
        assert!((q.sweep() - FRAC_PI_2).abs() < ROUNDING);
        assert!((q.length() - PI).abs() < ROUNDING);
        assert!(q.middle().distance(Point::new(2f64.sqrt(), 2f64.sqrt())) < ROUNDING);
        assert!(q.at(0.5).distance(q.middle()) < ROUNDING);
        assert!(q.tangent(0.0).distance(Point::new(0.0, 1.0)) < ROUNDING);
        assert!((q.area_integral(Point::default()) - PI).abs() < ROUNDING);
        assert!((q.distance_to(Point::new(3.0, 3.0)) - (18f64.sqrt() - 2.0)).abs() < ROUNDING);
        assert!((q.distance_to(Point::new(2.0, -1.0)) - 1.0).abs() < ROUNDING);
    }

    #[test]
    fn three_quarters_the_long_way() {
        let q = arc((1.0, 0.0), (0.0, 1.0), (0.0, 0.0), false);
        assert!((q.sweep() + 1.5 * PI).abs() < ROUNDING);
        let h = -(0.5f64.sqrt());
        assert!(q.middle().distance(Point::new(h, h)) < ROUNDING);
        assert!(q.reversed().middle().distance(Point::new(h, h)) < ROUNDING);
        let b = q.bounds();
        assert!(b.low.distance(Point::new(-1.0, -1.0)) < ROUNDING);
        assert!(b.high.distance(Point::new(1.0, 1.0)) < ROUNDING);
        // Closed with the two radii it leaves -(3/4) of the disc, being clockwise.
        assert!((q.area_integral(Point::default()) + 0.75 * PI).abs() < ROUNDING);
    }

    #[test]
    fn moving_the_ends_keeps_the_turn() {
        let q = arc((1.0, 0.0), (0.0, 1.0), (0.0, 0.0), true);
        let m = q.moved(Point::new(1.01, 0.02), Point::new(-0.01, 1.0));
        assert!((m.sweep() - q.sweep()).abs() < ROUNDING);
        let Side::Arc { centre, .. } = m.side else { panic!("an arc stays an arc") };
        assert!((m.from.distance(centre) - m.to.distance(centre)).abs() < ROUNDING);
    }

    #[test]
    fn thin_bulge_has_no_cancellation() {
        for a in [1e-6f64, 1e-3, 0.99e-2, 1.01e-2, 0.5] {
            // Against a form that does not cancel: 2 sin(a/2) (a/2 / sin(a/2) - cos(a/2)) is the
            // same number; compare through the leading term for small angles instead.
            let leading = a.powi(3) / 6.0;
            // The relative next term is a^2 / 20.
            assert!((bulge(a) / leading - 1.0).abs() <= a * a / 20.0 + 1e-10, "{a}");
        }
    }
}
