//! A shape at its place becomes an [`Outline`]: closed, counter-clockwise, its arcs cut into
//! quarter turns or less.
//!
//! Corner order of a rectangle: bottom left, bottom right, top right, top left. Lengths in
//! metres, angles in radian.

use std::f64::consts::{FRAC_PI_2, SQRT_2};

use super::crossing::self_contact;
use super::model::{Outline, Side};
use super::piece::Piece;
use crate::point::Point;
use crate::section::{Corner, PolygonSide, Shape};

/// What is wrong with a shape: the end of a sentence that begins with the part's name, and a way
/// out.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Fault {
    /// E.g. "crosses itself".
    pub message: String,
    /// What to do.
    pub help: &'static str,
}

fn fault(message: impl Into<String>, help: &'static str) -> Fault {
    Fault { message: message.into(), help }
}

/// Lengths below this share of the shape's size are taken for zero: rounding of the file's
/// numbers, far below anything that can be made.
const NOTHING: f64 = 1e-9;

/// The outline of `shape` turned by `rotation` and moved to `at`.
///
/// # Errors
///
/// Every fault of the shape: sizes that are not positive, corners that do not fit, arcs through
/// points in line, sides that cross or touch, no area.
pub(crate) fn outline_of(shape: &Shape, at: Point, rotation: f64) -> Result<Outline, Vec<Fault>> {
    let local = match shape {
        Shape::Rectangle { width, height, corners } => rectangle(*width, *height, corners)?,
        Shape::Circle { radius } => circle(Point::default(), *radius)?,
        Shape::Polygon { corners, sides } => polygon(corners, sides)?,
    };
    if ![at.x, at.y, rotation].iter().all(|v| v.is_finite()) {
        return Err(vec![fault(
            "stands nowhere: its place is not a number",
            "give finite numbers",
        )]);
    }
    // A circle is the same however it is turned; its corners stay at the quarters.
    let turn = if matches!(shape, Shape::Circle { .. }) { 0.0 } else { rotation };
    Ok(placed(&local, at, turn))
}

/// A circle as four quarter arcs.
pub(crate) fn circle(centre: Point, radius: f64) -> Result<Outline, Vec<Fault>> {
    if !(radius > 0.0 && radius.is_finite()) {
        return Err(vec![fault("has a radius that is not positive", "give a radius above zero")]);
    }
    let place = |x: f64, y: f64| centre + Point::new(x, y);
    Ok(Outline {
        corners: vec![
            place(radius, 0.0),
            place(0.0, radius),
            place(-radius, 0.0),
            place(0.0, -radius),
        ],
        sides: vec![Side::Arc { centre, counter_clockwise: true }; 4],
    })
}

fn rectangle(width: f64, height: f64, corners: &[Corner; 4]) -> Result<Outline, Vec<Fault>> {
    let mut faults = Vec::new();
    for (size, name) in [(width, "width"), (height, "height")] {
        if !(size > 0.0 && size.is_finite()) {
            faults.push(fault(
                format!("has a {name} that is not positive"),
                "give a size above zero",
            ));
        }
    }
    let cut = corners.map(|c| match c {
        Corner::Sharp => 0.0,
        Corner::Round(r) | Corner::Bevel(r) => r,
    });
    if cut.iter().any(|c| !(*c >= 0.0 && c.is_finite())) {
        faults.push(fault("has a corner size below zero", "give a corner size of zero or more"));
    }
    let slack = NOTHING * width.max(height);
    for (first, second, room, side) in [
        (0, 1, width, "bottom"),
        (1, 2, height, "right"),
        (2, 3, width, "top"),
        (3, 0, height, "left"),
    ] {
        if cut[first] + cut[second] > room + slack {
            faults.push(fault(
                format!("has corners that together are longer than its {side} side"),
                "make the corners smaller or the side longer",
            ));
        }
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let (x, y) = (0.5 * width, 0.5 * height);
    // Each corner with the directions of the side that comes in and of the one that leaves.
    let tips = [
        (Point::new(-x, -y), Point::new(0.0, -1.0), Point::new(1.0, 0.0)),
        (Point::new(x, -y), Point::new(1.0, 0.0), Point::new(0.0, 1.0)),
        (Point::new(x, y), Point::new(0.0, 1.0), Point::new(-1.0, 0.0)),
        (Point::new(-x, y), Point::new(-1.0, 0.0), Point::new(0.0, -1.0)),
    ];
    let mut sides = Vec::with_capacity(8);
    let mut points = Vec::with_capacity(8);
    for ((tip, coming, leaving), corner) in tips.into_iter().zip(corners) {
        match *corner {
            Corner::Round(r) if r > slack => {
                points.extend([tip - coming * r, tip + leaving * r]);
                let centre = tip - coming * r + leaving * r;
                sides.extend([Side::Arc { centre, counter_clockwise: true }, Side::Straight]);
            }
            Corner::Bevel(c) if c > slack => {
                points.extend([tip - coming * c, tip + leaving * c]);
                sides.extend([Side::Straight, Side::Straight]);
            }
            _ => {
                points.push(tip);
                sides.push(Side::Straight);
            }
        }
    }
    Ok(without_short_sides(Outline { corners: points, sides }, slack * SQRT_2))
}

fn polygon(corners: &[Point], sides: &[PolygonSide]) -> Result<Outline, Vec<Fault>> {
    let n = corners.len();
    if n < 2 || sides.len() != n {
        return Err(vec![fault("needs at least two corners", "give the corners in order")]);
    }
    if corners.iter().any(|c| !(c.x.is_finite() && c.y.is_finite())) {
        return Err(vec![fault("has a corner that is not a number", "give finite numbers")]);
    }
    let reach = corners.iter().fold(0.0f64, |m, c| m.max(c.distance(corners[0])));
    let mut faults = Vec::new();
    let mut outline = Outline { corners: corners.to_vec(), sides: Vec::with_capacity(n) };
    for (i, side) in sides.iter().enumerate() {
        let (from, to) = (corners[i], corners[(i + 1) % n]);
        outline.sides.push(match *side {
            PolygonSide::Straight => Side::Straight,
            PolygonSide::ArcThrough(p) => match arc_through(from, p, to) {
                Some(side) => side,
                None => {
                    faults.push(fault(
                        format!("has no arc on side {}: its three points lie in line", i + 1),
                        "move the arc's point off the line or make the side straight",
                    ));
                    Side::Straight
                }
            },
        });
    }
    if !faults.is_empty() {
        return Err(faults);
    }
    let outline = in_quarters(without_short_sides(outline, NOTHING * reach));
    if outline.corners.len() < 2 {
        return Err(vec![fault("has no area", "check the order of its corners")]);
    }
    // Contact is looked for at the same scale at which lengths are taken for zero.
    if let Some((first, second)) = self_contact(&Piece::all_of(&outline), NOTHING * reach) {
        let place = |i: usize| outline.corners[i];
        let (a, b) = (place(first), place(second));
        return Err(vec![fault(
            format!(
                "crosses or touches itself: the sides that begin at ({:.4}, {:.4}) mm and ({:.4}, {:.4}) mm meet",
                a.x * 1e3,
                a.y * 1e3,
                b.x * 1e3,
                b.y * 1e3
            ),
            "give the corners in order around the shape",
        )]);
    }
    let area = outline.signed_area();
    if area.abs() <= NOTHING * reach * reach {
        return Err(vec![fault("has no area", "check the order of its corners")]);
    }
    Ok(if area < 0.0 { reversed(&outline) } else { outline })
}

/// The arc from `from` through `p` to `to`; `None` when they lie in line or coincide.
fn arc_through(from: Point, p: Point, to: Point) -> Option<Side> {
    let (d, q) = (to - from, p - from);
    let area = q.cross(d);
    // Below this the radius would exceed 1e6 chords: a straight line for every purpose.
    if area.abs() <= 1e-7 * d.dot(d).max(q.dot(q)) || !area.is_finite() {
        return None;
    }
    // Centre of the circle through the origin, q and d.
    let (d2, q2) = (d.dot(d), q.dot(q));
    let centre = from + Point::new(q2 * d.y - d2 * q.y, d2 * q.x - q2 * d.x) * (0.5 / area);
    centre.x.is_finite().then_some(Side::Arc { centre, counter_clockwise: area > 0.0 })
}

/// Cuts every arc into equal pieces of at most a quarter turn.
pub(crate) fn in_quarters(outline: Outline) -> Outline {
    let mut cut = Outline { corners: Vec::new(), sides: Vec::new() };
    for piece in Piece::all_of(&outline) {
        // The slack keeps a quarter whole whose angle was rounded up.
        let n = (piece.sweep().abs() / FRAC_PI_2 - 1e-9).ceil().max(1.0) as usize;
        for k in 0..n {
            let start = if k == 0 { piece.from } else { piece.at(k as f64 / n as f64) };
            cut.corners.push(start);
            cut.sides.push(piece.side);
        }
    }
    cut
}

/// Drops sides shorter than `least`, joining their neighbours at the first end.
fn without_short_sides(outline: Outline, least: f64) -> Outline {
    let mut kept = Outline { corners: Vec::new(), sides: Vec::new() };
    for piece in Piece::all_of(&outline) {
        if piece.length() > least {
            kept.corners.push(piece.from);
            kept.sides.push(piece.side);
        }
    }
    // A dropped side leaves its predecessor to end at the next kept corner, less than `least` off.
    let n = kept.corners.len();
    for (i, piece) in Piece::all_of(&outline)
        .iter()
        .filter(|p| p.length() > least)
        .enumerate()
        .collect::<Vec<_>>()
    {
        let to = kept.corners[(i + 1) % n];
        kept.sides[i] = piece.moved(piece.from, to).side;
    }
    kept
}

/// The outline walked the other way.
fn reversed(outline: &Outline) -> Outline {
    let pieces = Piece::all_of(outline);
    let turned: Vec<Piece> = pieces.iter().rev().map(Piece::reversed).collect();
    Outline {
        corners: turned.iter().map(|p| p.from).collect(),
        sides: turned.iter().map(|p| p.side).collect(),
    }
}

fn placed(outline: &Outline, at: Point, rotation: f64) -> Outline {
    let (mut sin, mut cos) = rotation.sin_cos();
    // Quarter turns are exact: sin(pi) in floating point is 1.2e-16.
    for v in [&mut sin, &mut cos] {
        if (*v - v.round()).abs() < 1e-15 {
            *v = v.round();
        }
    }
    let place = |p: Point| {
        let turned = if rotation == 0.0 {
            p
        } else {
            Point::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos)
        };
        at + turned
    };
    Outline {
        corners: outline.corners.iter().map(|&c| place(c)).collect(),
        sides: outline
            .sides
            .iter()
            .map(|side| match *side {
                Side::Straight => Side::Straight,
                Side::Arc { centre, counter_clockwise } => {
                    Side::Arc { centre: place(centre), counter_clockwise }
                }
            })
            .collect(),
    }
}
