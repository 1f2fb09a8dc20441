//! Where two pieces cross, and whether an outline meets itself.

use super::distance::between_pieces;
use super::model::Side;
use super::pairs::meeting_pairs;
use super::piece::Piece;
use crate::point::Point;

/// Points in which two pieces cross or, within `tolerance`, touch between their ends. Pieces that
/// run along each other have none: their ends tell where. Lengths in metres.
pub(crate) fn crossings(p: &Piece, q: &Piece, tolerance: f64) -> Vec<Point> {
    let candidates = match (p.side, q.side) {
        (Side::Straight, Side::Straight) => line_line(p, q),
        (Side::Straight, Side::Arc { centre, .. }) => line_circle(p, centre, q.radius(), tolerance),
        (Side::Arc { centre, .. }, Side::Straight) => line_circle(q, centre, p.radius(), tolerance),
        (Side::Arc { centre: c, .. }, Side::Arc { centre: d, .. }) => {
            circle_circle(c, p.radius(), d, q.radius(), tolerance)
        }
    };
    candidates
        .into_iter()
        .flatten()
        .filter(|&x| p.distance_to(x) <= tolerance && q.distance_to(x) <= tolerance)
        .collect()
}

fn line_line(p: &Piece, q: &Piece) -> [Option<Point>; 2] {
    let (d, e) = (p.to - p.from, q.to - q.from);
    let cross = d.cross(e);
    // Nearly parallel lines: the crossing is ill defined, their ends are snapped instead.
    if cross.abs() <= 1e-12 * d.norm() * e.norm() {
        return [None, None];
    }
    let t = (q.from - p.from).cross(e) / cross;
    [Some(p.from + d * t), None]
}

fn line_circle(line: &Piece, centre: Point, r: f64, tolerance: f64) -> [Option<Point>; 2] {
    let d = line.to - line.from;
    let u = d * (1.0 / d.norm());
    let along = (centre - line.from).dot(u);
    let foot = line.from + u * along;
    let off = u.cross(centre - line.from).abs();
    if off > r + tolerance {
        [None, None]
    } else if off > r - tolerance {
        [Some(foot), None]
    } else {
        let half = ((r - off) * (r + off)).sqrt();
        [Some(foot - u * half), Some(foot + u * half)]
    }
}

fn circle_circle(c: Point, r: f64, d: Point, s: f64, tolerance: f64) -> [Option<Point>; 2] {
    let w = d - c;
    let apart = w.norm();
    // The same circle: arcs on it are split at each other's ends.
    if apart <= tolerance && (r - s).abs() <= tolerance {
        return [None, None];
    }
    if apart > r + s + tolerance || apart < (r - s).abs() - tolerance || apart == 0.0 {
        return [None, None];
    }
    let u = w * (1.0 / apart);
    if apart > r + s - tolerance {
        return [Some(c + u * r), None];
    }
    if apart < (r - s).abs() + tolerance {
        // One inside the other, touching on the side where the smaller one sits.
        let towards = if r > s { u } else { u * -1.0 };
        return [Some(if r > s { c + towards * r } else { d + towards * s }), None];
    }
    let along = 0.5 * (apart + (r - s) * (r + s) / apart);
    let half = ((r - along) * (r + along)).max(0.0).sqrt();
    let normal = Point::new(-u.y, u.x);
    let foot = c + u * along;
    [Some(foot + normal * half), Some(foot - normal * half)]
}

/// First pair of sides of a closed outline that cross, touch or fold back on each other beyond
/// their common corners. Indices of the sides.
pub(crate) fn self_contact(pieces: &[Piece], tolerance: f64) -> Option<(usize, usize)> {
    let n = pieces.len();
    let boxes: Vec<_> = pieces.iter().map(|p| p.bounds().grown(tolerance)).collect();
    let mut found: Option<(usize, usize)> = None;
    meeting_pairs(&boxes, |i, j| {
        let (i, j) = (i.min(j), i.max(j));
        if found.is_some_and(|f| f <= (i, j)) {
            return;
        }
        let follows = j == i + 1;
        let precedes = i == 0 && j == n - 1;
        let meets = if follows || precedes {
            let mut shared = Vec::with_capacity(2);
            if follows {
                shared.push(pieces[j].from);
            }
            if precedes {
                shared.push(pieces[i].from);
            }
            neighbours_meet(&pieces[i], &pieces[j], &shared, tolerance)
        } else {
            between_pieces(&pieces[i], &pieces[j]) <= tolerance
        };
        if meets {
            found = Some((i, j));
        }
    });
    found
}

/// Whether two sides with common corners also meet elsewhere.
fn neighbours_meet(p: &Piece, q: &Piece, shared: &[Point], tolerance: f64) -> bool {
    let elsewhere = |x: &Point| shared.iter().all(|s| s.distance(*x) > 10.0 * tolerance);
    if crossings(p, q, tolerance).iter().any(elsewhere) {
        return true;
    }
    // Folding back: an end, or the middle, of one lies on the other.
    [p.from, p.middle(), p.to]
        .iter()
        .filter(|x| elsewhere(x))
        .any(|x| q.distance_to(*x) <= tolerance)
        || [q.from, q.middle(), q.to]
            .iter()
            .filter(|x| elsewhere(x))
            .any(|x| p.distance_to(*x) <= tolerance)
}
