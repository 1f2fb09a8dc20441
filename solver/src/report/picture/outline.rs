//! Outlines of parts: how far they reach, and as SVG paths with true arcs.

use std::f64::consts::TAU;

use crate::geometry::{Outline, Side};
use crate::point::Point;
use crate::report::picture::svg::N;
use crate::report::picture::view::{View, Window};

/// Closer to the axis than this is on it, m.
const ON_AXIS: f64 = 1e-9;

/// The smallest window that holds the outline, arcs included.
pub(super) fn bounds(outline: &Outline) -> Window {
    let (low, high) = outline.bounding_box();
    Window { left: low.x, bottom: low.y, right: high.x, top: high.y }
}

/// Angle of the first end and turn from it to the second, radian.
fn arc(a: Point, b: Point, centre: Point, counter_clockwise: bool) -> (f64, f64) {
    let angle = |p: Point| (p.y - centre.y).atan2(p.x - centre.x);
    let turn = (angle(b) - angle(a)).rem_euclid(TAU);
    (angle(a), if counter_clockwise { turn } else { turn - TAU })
}

/// The outline as path data; `mirrored` draws its mirror image in x = 0, and `open_axis` leaves
/// out sides that lie on x = 0.
pub(super) fn path(outline: &Outline, view: &View, mirrored: bool, open_axis: bool) -> String {
    let flip = |p: Point| if mirrored { Point::new(-p.x, p.y) } else { p };
    let n = outline.corners.len();
    let mut d = String::new();
    let mut pen_down = false;
    for (i, side) in outline.sides.iter().enumerate().take(n) {
        let (a, b) = (outline.corners[i], outline.corners[(i + 1) % n]);
        let on_axis = |p: Point| p.x.abs() < ON_AXIS;
        if open_axis && *side == Side::Straight && on_axis(a) && on_axis(b) {
            pen_down = false;
            continue;
        }
        if !pen_down {
            let [x, y] = view.place(flip(a));
            d.push_str(&format!("M{} {}", N(x), N(y)));
            pen_down = true;
        }
        let [x, y] = view.place(flip(b));
        match *side {
            Side::Straight => d.push_str(&format!("L{} {}", N(x), N(y))),
            Side::Arc { centre, counter_clockwise } => {
                let r = N(a.distance(centre) * view.scale);
                let (_, sweep) = arc(a, b, centre, counter_clockwise);
                let large = u8::from(sweep.abs() > 0.5 * TAU);
                let clockwise = u8::from(counter_clockwise == mirrored);
                d.push_str(&format!("A{r} {r} 0 {large} {clockwise} {} {}", N(x), N(y)));
            }
        }
    }
    if !open_axis {
        d.push('Z');
    }
    d
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A half disc of radius 1 on the right of x = 0.
    fn half_disc() -> Outline {
        let centre = Point::default();
        Outline {
            corners: vec![Point::new(0.0, -1.0), Point::new(0.0, 1.0)],
            sides: vec![Side::Arc { centre, counter_clockwise: true }, Side::Straight],
        }
    }

    #[test]
    fn arcs_turn_the_right_way_and_the_axis_can_be_left_open() {
        let window = Window { left: -1.0, bottom: -1.0, right: 1.0, top: 1.0 };
        let view = View { window, left_px: 0.0, top_px: 0.0, scale: 10.0 };
        assert_eq!(path(&half_disc(), &view, false, false), "M10 20A10 10 0 0 0 10 0L10 20Z");
        assert_eq!(path(&half_disc(), &view, true, true), "M10 20A10 10 0 0 1 10 0");
    }
}
