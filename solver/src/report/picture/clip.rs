//! Lines cut to a window, and thinned to what the eye can tell.
//!
//! A cut end lies on the window's edge to the last digit.

use crate::point::Point;
use crate::report::picture::level::Line;
use crate::report::picture::view::Window;

/// The pieces of a line inside `window`. A closed line that stays inside remains closed.
pub fn clipped(line: &Line, window: Window) -> Vec<Line> {
    let places = &line.places;
    if places.len() < 2 {
        return Vec::new();
    }
    if places.iter().all(|p| window.holds(*p)) {
        return vec![line.clone()];
    }
    // A closed line starts where it is outside, so that no piece is cut at its beginning.
    let first = if line.closed {
        places.iter().position(|p| !window.holds(*p)).unwrap_or_default()
    } else {
        0
    };
    let n = places.len();
    let sides = if line.closed { n } else { n - 1 };
    let mut pieces = Vec::new();
    let mut piece: Vec<Point> = Vec::new();
    for k in 0..sides {
        let (p, q) = (places[(first + k) % n], places[(first + k + 1) % n]);
        match inside(p, q, window) {
            None => finish(&mut piece, &mut pieces),
            Some((from, to, leaves)) => {
                if piece.last() != Some(&from) {
                    finish(&mut piece, &mut pieces);
                    piece.push(from);
                }
                if to != from {
                    piece.push(to);
                }
                if leaves {
                    finish(&mut piece, &mut pieces);
                }
            }
        }
    }
    finish(&mut piece, &mut pieces);
    pieces
}

fn finish(piece: &mut Vec<Point>, pieces: &mut Vec<Line>) {
    if piece.len() > 1 {
        pieces.push(Line { places: std::mem::take(piece), closed: false });
    } else {
        piece.clear();
    }
}

/// The part of a straight piece inside the window, and whether it goes out at its end (Liang and
/// Barsky 1984).
fn inside(p: Point, q: Point, window: Window) -> Option<(Point, Point, bool)> {
    let d = q - p;
    let (mut enter, mut leave) = ((0.0, p), (1.0, q));
    let edges = [
        (-d.x, p.x - window.left, Some(window.left), None),
        (d.x, window.right - p.x, Some(window.right), None),
        (-d.y, p.y - window.bottom, None, Some(window.bottom)),
        (d.y, window.top - p.y, None, Some(window.top)),
    ];
    for (speed, room, x, y) in edges {
        if speed == 0.0 {
            if room < 0.0 {
                return None;
            }
            continue;
        }
        let t = room / speed;
        let along = p + d * t;
        let at = Point::new(x.unwrap_or(along.x), y.unwrap_or(along.y));
        if speed < 0.0 && t > enter.0 {
            enter = (t, at);
        } else if speed > 0.0 && t < leave.0 {
            leave = (t, at);
        }
    }
    (enter.0 <= leave.0).then_some((enter.1, leave.1, leave.0 < 1.0))
}

/// The line without places that lie within `tolerance` of the line through the others (Douglas
/// and Peucker 1973). Ends stay; a closed line keeps at least three places.
pub fn thinned(places: &[[f64; 2]], closed: bool, tolerance: f64) -> Vec<[f64; 2]> {
    let n = places.len();
    if n < 3 {
        return places.to_vec();
    }
    let mut keep = vec![false; n + usize::from(closed)];
    let at = |i: usize| places[i % n];
    let mut stack = Vec::new();
    keep[0] = true;
    if closed {
        let far = (0..n)
            .max_by(|&i, &j| distance(at(0), at(i)).total_cmp(&distance(at(0), at(j))))
            .unwrap_or(0);
        if far == 0 {
            return places.to_vec();
        }
        keep[far] = true;
        keep[n] = true;
        stack.push((0, far));
        stack.push((far, n));
    } else {
        keep[n - 1] = true;
        stack.push((0, n - 1));
    }
    while let Some((a, b)) = stack.pop() {
        let (mut worst, mut off) = (a, 0.0);
        for i in a + 1..b {
            let d = distance_to_piece(at(i), at(a), at(b));
            if d > off {
                (worst, off) = (i, d);
            }
        }
        if off > tolerance {
            keep[worst] = true;
            stack.push((a, worst));
            stack.push((worst, b));
        }
    }
    (0..n).filter(|&i| keep[i]).map(at).collect()
}

fn distance(p: [f64; 2], q: [f64; 2]) -> f64 {
    (p[0] - q[0]).hypot(p[1] - q[1])
}

fn distance_to_piece(p: [f64; 2], a: [f64; 2], b: [f64; 2]) -> f64 {
    let (d, e) = ([b[0] - a[0], b[1] - a[1]], [p[0] - a[0], p[1] - a[1]]);
    let length2 = d[0] * d[0] + d[1] * d[1];
    let t =
        if length2 > 0.0 { ((d[0] * e[0] + d[1] * e[1]) / length2).clamp(0.0, 1.0) } else { 0.0 };
    (e[0] - t * d[0]).hypot(e[1] - t * d[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    const UNIT: Window = Window { left: 0.0, bottom: 0.0, right: 1.0, top: 1.0 };

    fn circle(x: f64, radius: f64) -> Line {
        let places = (0..200)
            .map(|i| {
                let angle = f64::from(i) * std::f64::consts::TAU / 200.0;
                Point::new(x + radius * angle.cos(), 0.5 + radius * angle.sin())
            })
            .collect();
        Line { places, closed: true }
    }

    #[test]
    fn a_circle_inside_stays_closed_and_one_across_ends_on_the_edge() {
        assert_eq!(clipped(&circle(0.5, 0.3), UNIT), vec![circle(0.5, 0.3)]);
        assert!(clipped(&circle(5.0, 0.3), UNIT).is_empty());
        let pieces = clipped(&circle(1.0, 0.3), UNIT);
        assert_eq!(pieces.len(), 1);
        let piece = &pieces[0].places;
        assert_eq!((piece[0].x, piece[piece.len() - 1].x), (1.0, 1.0));
        // Bigger than the window: four arcs through its corners' surroundings.
        assert_eq!(clipped(&circle(0.5, 0.6), UNIT).len(), 4);
    }

    #[test]
    fn thinning_keeps_within_its_tolerance() {
        let full: Vec<[f64; 2]> = circle(0.0, 100.0).places.iter().map(|p| [p.x, p.y]).collect();
        let thin = thinned(&full, true, 0.5);
        assert!(thin.len() < 60 && thin.len() > 20, "{}", thin.len());
        for p in &full {
            let off = (0..thin.len())
                .map(|i| distance_to_piece(*p, thin[i], thin[(i + 1) % thin.len()]))
                .fold(f64::INFINITY, f64::min);
            assert!(off <= 0.5, "{off}");
        }
    }
}
