//! An edge of the arrangement as a curve over [0, 1].

use crate::geometry::{Edge, Side};
use crate::point::Point;

/// A straight line or an arc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Curve {
    /// From, to.
    Line(Point, Point),
    /// From, to, and the circle: centre, radius, angle of the first end, signed sweep.
    Arc {
        /// First end, m.
        from: Point,
        /// Second end, m.
        to: Point,
        /// Centre, m.
        centre: Point,
        /// Radius, m.
        radius: f64,
        /// Angle of the first end, radian.
        start: f64,
        /// Turn from the first to the second end, radian, positive counter-clockwise.
        sweep: f64,
    },
}

impl Curve {
    /// The curve of an edge.
    pub fn new(vertices: &[Point], edge: &Edge) -> Self {
        let [from, to] = edge.ends.map(|v| vertices[v as usize]);
        match edge.side {
            Side::Straight => Self::Line(from, to),
            Side::Arc { centre, counter_clockwise } => {
                let angle = |p: Point| (p.y - centre.y).atan2(p.x - centre.x);
                let (start, end) = (angle(from), angle(to));
                let turn = std::f64::consts::TAU;
                let sweep = if counter_clockwise {
                    (end - start).rem_euclid(turn)
                } else {
                    -(start - end).rem_euclid(turn)
                };
                let radius = 0.5 * (from.distance(centre) + to.distance(centre));
                Self::Arc { from, to, centre, radius, start, sweep }
            }
        }
    }

    /// The point at `t`; exactly the ends at 0 and 1.
    pub fn at(&self, t: f64) -> Point {
        match *self {
            Self::Line(a, b) | Self::Arc { from: a, to: b, .. } if t == 0.0 || t == 1.0 => {
                if t == 0.0 { a } else { b }
            }
            // Symmetric in the ends, so that a reversed edge has the same midpoint.
            Self::Line(a, b) => Point::new((1.0 - t) * a.x + t * b.x, (1.0 - t) * a.y + t * b.y),
            Self::Arc { centre, radius, start, sweep, .. } => {
                let angle = start + t * sweep;
                Point::new(centre.x + radius * angle.cos(), centre.y + radius * angle.sin())
            }
        }
    }

    /// Length, m.
    pub fn length(&self) -> f64 {
        match *self {
            Self::Line(a, b) => a.distance(b),
            Self::Arc { radius, sweep, .. } => radius * sweep.abs(),
        }
    }

    /// Unit direction at its first (`end` = 0) or second (`end` = 1) end, pointing inward along
    /// the curve.
    pub fn direction_from(&self, end: usize) -> Point {
        match *self {
            Self::Line(a, b) => {
                let (p, q) = if end == 0 { (a, b) } else { (b, a) };
                (q - p) * (1.0 / p.distance(q).max(f64::MIN_POSITIVE))
            }
            Self::Arc { start, sweep, .. } => {
                let angle = if end == 0 { start } else { start + sweep };
                let s = sweep.signum() * if end == 0 { 1.0 } else { -1.0 };
                Point::new(-s * angle.sin(), s * angle.cos())
            }
        }
    }

    /// True for arcs.
    pub fn is_arc(&self) -> bool {
        matches!(self, Self::Arc { .. })
    }
}
