//! Level lines and areas of a piecewise linear function on [`Refined`] triangles.
//!
//! A corner counts as above a level when its value is not less, so a level that meets a corner
//! needs no case of its own and every line is a simple curve: it closes, or both its ends lie on
//! the border. Lines of different levels cannot meet. Lines run with the higher side on the left.
//! Links are made by corner numbers, not by comparing places.

use crate::point::Point;
use crate::report::picture::refined::Refined;

/// A line along which the function has one value.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Places along it, m, the higher side on the left. A closed line does not repeat its first.
    pub places: Vec<Point>,
    /// True where it comes back to its first place.
    pub closed: bool,
}

/// The lines of every level (rising), in the same order.
pub fn lines(refined: &Refined, levels: &[f64]) -> Vec<Vec<Line>> {
    let crossings = crossings(refined, levels);
    levels.iter().zip(crossings).map(|(level, links)| chain(refined, *level, links)).collect()
}

/// For every level (rising), closed outlines of where the function is not less than it; the inside
/// is on the left.
pub fn areas(refined: &Refined, levels: &[f64]) -> Vec<Vec<Line>> {
    let mut crossings = crossings(refined, levels);
    for (links, level) in crossings.iter_mut().zip(levels) {
        for &[a, b] in &refined.border {
            let above = |p: u32| refined.values[p as usize] >= *level;
            match (above(a), above(b)) {
                (true, true) => links.push((corner(a), corner(b))),
                (true, false) => links.push((corner(a), between(a, b))),
                (false, true) => links.push((between(a, b), corner(b))),
                (false, false) => {}
            }
        }
    }
    levels.iter().zip(crossings).map(|(level, links)| chain(refined, *level, links)).collect()
}

/// A place on a side (two corners, the lower first) or at a corner (the same twice).
type Key = (u32, u32);

fn corner(a: u32) -> Key {
    (a, a)
}

fn between(a: u32, b: u32) -> Key {
    (a.min(b), a.max(b))
}

/// For every level, the pieces of its lines: one for each small triangle it crosses.
fn crossings(refined: &Refined, levels: &[f64]) -> Vec<Vec<(Key, Key)>> {
    let mut links = vec![Vec::new(); levels.len()];
    for t in &refined.triangles {
        let v = t.map(|p| refined.values[p as usize]);
        let (least, most) = (v[0].min(v[1]).min(v[2]), v[0].max(v[1]).max(v[2]));
        let first = levels.partition_point(|level| *level <= least);
        for (level, links) in levels.iter().zip(&mut links).skip(first) {
            if *level > most {
                break;
            }
            let (mut down, mut up) = (None, None);
            for side in 0..3 {
                let (i, j) = (side, (side + 1) % 3);
                match (v[i] >= *level, v[j] >= *level) {
                    (true, false) => down = Some(between(t[i], t[j])),
                    (false, true) => up = Some(between(t[i], t[j])),
                    _ => {}
                }
            }
            if let (Some(from), Some(to)) = (down, up) {
                links.push((from, to));
            }
        }
    }
    links
}

/// Joins pieces end to start.
fn chain(refined: &Refined, level: f64, mut links: Vec<(Key, Key)>) -> Vec<Line> {
    links.sort_unstable();
    let mut ends: Vec<Key> = links.iter().map(|(_, to)| *to).collect();
    ends.sort_unstable();
    let mut used = vec![false; links.len()];
    let mut lines = Vec::new();
    // Lines that come from the border first, so that the rest is closed.
    for closed in [false, true] {
        for first in 0..links.len() {
            if used[first] || (!closed && ends.binary_search(&links[first].0).is_ok()) {
                continue;
            }
            let mut places = Vec::new();
            let mut at = Some(first);
            let mut last = links[first].0;
            while let Some(link) = at {
                used[link] = true;
                places.push(place(refined, level, links[link].0));
                last = links[link].1;
                let next = links.partition_point(|(from, _)| *from < last);
                at = (next..links.len()).take_while(|&l| links[l].0 == last).find(|&l| !used[l]);
            }
            let closed = last == links[first].0;
            if !closed {
                places.push(place(refined, level, last));
            }
            lines.push(Line { places, closed });
        }
    }
    lines
}

fn place(refined: &Refined, level: f64, (a, b): Key) -> Point {
    let (p, q) = (refined.places[a as usize], refined.places[b as usize]);
    if a == b {
        return p;
    }
    let (v, w) = (refined.values[a as usize], refined.values[b as usize]);
    p + (q - p) * ((level - v) / (w - v)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::picture::refined::{refine, square};

    fn hill() -> Refined {
        let mesh = square(8);
        let all: Vec<u32> = (0..mesh.triangles.len() as u32).collect();
        refine(&mesh, &all, 8, |at| {
            let (x, y) = (at.place.x - 0.5, at.place.y - 0.5);
            -(x * x + 2.0 * y * y)
        })
    }

    fn area(line: &Line) -> f64 {
        let p = &line.places;
        (0..p.len()).map(|i| 0.5 * p[i].cross(p[(i + 1) % p.len()])).sum()
    }

    #[test]
    fn an_ellipse_closes_and_has_its_area() {
        let lines = lines(&hill(), &[-0.1]);
        assert_eq!(lines[0].len(), 1);
        assert!(lines[0][0].closed);
        // Counter-clockwise: the hill is on the left. Area pi a b with a^2 = 0.1, b^2 = 0.05.
        // Linear pieces of h = 1/64 lie below a function bent by 2 and 4 by about h^2 / 12 (2 + 4)
        // = 1.2e-4; the area falls by pi / sqrt 2 of that, 1.3e-3 of itself.
        let exact = std::f64::consts::PI * (0.1f64 * 0.05).sqrt();
        assert!((area(&lines[0][0]) / exact - 1.0).abs() < 2e-3, "{}", area(&lines[0][0]));
    }

    #[test]
    fn lines_that_do_not_close_end_on_the_border() {
        let lines = lines(&hill(), &[-0.3]);
        assert_eq!(lines[0].len(), 2, "left and right of the square's middle");
        for line in &lines[0] {
            assert!(!line.closed);
            for p in [line.places[0], line.places[line.places.len() - 1]] {
                let to_edge = p.x.min(1.0 - p.x).min(p.y).min(1.0 - p.y);
                assert!(to_edge.abs() < 1e-12, "{p:?}");
            }
        }
    }

    #[test]
    fn levels_through_corners_are_ordinary() {
        let mesh = square(4);
        let all: Vec<u32> = (0..mesh.triangles.len() as u32).collect();
        let slope = refine(&mesh, &all, 2, |at| at.place.x);
        for level in [0.25, 0.5, 0.75] {
            let lines = lines(&slope, &[level]);
            assert_eq!(lines[0].len(), 1, "{level}");
            assert!(!lines[0][0].closed);
            assert!(lines[0][0].places.iter().all(|p| (p.x - level).abs() < 1e-15));
        }
    }

    #[test]
    fn areas_close_along_the_border() {
        let areas = areas(&hill(), &[-1.0, -0.3, -0.1]);
        assert!(areas.iter().flatten().all(|line| line.closed));
        let sizes: Vec<f64> = areas.iter().map(|lines| lines.iter().map(area).sum()).collect();
        assert!((sizes[0] - 1.0).abs() < 1e-12, "the whole square: {}", sizes[0]);
        assert!(sizes[0] > sizes[1] && sizes[1] > sizes[2], "{sizes:?}");
        // Ellipse with a^2 = 0.3, b^2 = 0.15 cut by x = +-1/2 (integrated) of the unit square;
        // the same error as above.
        let exact: f64 = (0..10_000)
            .map(|i| {
                let x = (f64::from(i) + 0.5) / 10_000.0 - 0.5;
                2.0 * ((0.3 - x * x).max(0.0) / 2.0).sqrt().min(0.5) / 10_000.0
            })
            .sum();
        assert!((sizes[1] / exact - 1.0).abs() < 2e-3, "{} {exact}", sizes[1]);
    }
}
