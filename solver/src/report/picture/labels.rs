//! Where names go: inside their part where they fit, else beside it with a leader, never over
//! another name.

use crate::report::picture::svg::{N, Svg, Type};
use crate::report::picture::text::{fitted, width};
use crate::report::picture::theme::Palette;

/// Type size of names, px.
const SIZE: f64 = 12.0;
/// Longest name that is written out, px.
const LONGEST: f64 = 170.0;
/// Free room around a name, px.
const ROOM: f64 = 3.0;

/// An upright rectangle on the picture, px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Frame {
    pub left: f64,
    pub top: f64,
    pub right: f64,
    pub bottom: f64,
}

impl Frame {
    fn about(x: f64, y: f64, w: f64, h: f64) -> Self {
        Self { left: x - 0.5 * w, right: x + 0.5 * w, top: y - 0.5 * h, bottom: y + 0.5 * h }
    }

    fn meets(self, o: Self) -> bool {
        self.left < o.right && o.left < self.right && self.top < o.bottom && o.top < self.bottom
    }

    fn within(self, o: Self) -> bool {
        self.left >= o.left && self.right <= o.right && self.top >= o.top && self.bottom <= o.bottom
    }

    fn overlap(self, o: Self) -> f64 {
        let w = self.right.min(o.right) - self.left.max(o.left);
        let h = self.bottom.min(o.bottom) - self.top.max(o.top);
        w.max(0.0) * h.max(0.0)
    }

    fn middle(self) -> [f64; 2] {
        [0.5 * (self.left + self.right), 0.5 * (self.top + self.bottom)]
    }

    /// The part of it inside `o`, if any.
    pub(super) fn cut(self, o: Self) -> Option<Self> {
        let cut = Self {
            left: self.left.max(o.left),
            right: self.right.min(o.right),
            top: self.top.max(o.top),
            bottom: self.bottom.min(o.bottom),
        };
        (cut.left < cut.right && cut.top < cut.bottom).then_some(cut)
    }
}

/// A name and what it belongs to.
#[derive(Clone, Debug)]
pub(super) struct Name {
    /// The name.
    pub text: String,
    /// The visible piece of the part, px.
    pub of: Frame,
    /// True where the name may stand inside.
    pub inside: bool,
}

#[derive(Clone, Debug)]
struct Placed {
    text: String,
    at: Frame,
    turned: bool,
    leader: Option<[[f64; 2]; 2]>,
}

/// Writes the names into `frame`, around `obstacles` that must stay free.
pub(super) fn write(
    names: &[Name],
    frame: Frame,
    obstacles: &[Frame],
    palette: &Palette,
    svg: &mut Svg,
) {
    let parts: Vec<Frame> = names.iter().map(|name| name.of).collect();
    let mut taken = obstacles.to_vec();
    let mut placed: Vec<Placed> = Vec::new();
    // Names that fit inside go first; the rest finds its place around them.
    let mut outside = Vec::new();
    for name in names {
        let text = fitted(&name.text, SIZE, false, LONGEST);
        match name.inside.then(|| inside(&text, name.of, &taken)).flatten() {
            Some(found) => {
                taken.push(found.at);
                placed.push(found);
            }
            None => outside.push((text, name.of)),
        }
    }
    for (text, of) in outside {
        if let Some(found) = beside(&text, of, frame, &taken, &parts) {
            taken.push(found.at);
            placed.push(found);
        }
    }
    svg.put(format_args!("<g data-layer=\"names\">\n"));
    for one in &placed {
        if let Some([[x1, y1], [x2, y2]]) = one.leader {
            svg.put(format_args!(
                "<path d=\"M{} {}L{} {}\" stroke=\"{}\" stroke-width=\"0.9\" fill=\"none\"/>\n",
                N(x1),
                N(y1),
                N(x2),
                N(y2),
                palette.ink
            ));
        }
    }
    for one in &placed {
        let [x, y] = one.at.middle();
        let style = Type {
            anchor: "middle",
            halo: Some(&palette.ground),
            turned: one.turned,
            ..Type::new(SIZE, &palette.ink)
        };
        // Middle of the small letters, not of the line.
        let at = if one.turned { [x + 0.35 * SIZE, y] } else { [x, y + 0.35 * SIZE] };
        svg.line_of_type(at, &one.text, &style);
    }
    svg.put(format_args!("</g>\n"));
}

fn inside(text: &str, of: Frame, taken: &[Frame]) -> Option<Placed> {
    let (w, h) = (width(text, SIZE, false) + 2.0 * ROOM, SIZE + ROOM);
    let [x, y] = of.middle();
    for turned in [false, true] {
        let (w, h) = if turned { (h, w) } else { (w, h) };
        if w > of.right - of.left || h > of.bottom - of.top {
            continue;
        }
        // The middle, then towards the ends.
        for part in [0.0, -0.5, 0.5, -0.8, 0.8, -1.0, 1.0] {
            let at = Frame::about(x, y + part * 0.5 * (of.bottom - of.top - h), w, h);
            if taken.iter().all(|other| !other.meets(at)) {
                return Some(Placed { text: text.into(), at, turned, leader: None });
            }
        }
    }
    None
}

fn beside(text: &str, of: Frame, frame: Frame, taken: &[Frame], parts: &[Frame]) -> Option<Placed> {
    let (w, h) = (width(text, SIZE, false) + 2.0 * ROOM, SIZE + ROOM);
    let [mx, my] = of.middle();
    let mut best: Option<(f64, Placed)> = None;
    for distance in [4.0, 14.0, 26.0, 40.0, 56.0, 76.0, 100.0, 130.0] {
        for (sin, cos) in DIRECTIONS {
            // Edge of the part in this direction, then clear of it by the distance.
            let x = mx + cos * (0.5 * (of.right - of.left) + distance + 0.5 * w);
            let y = my - sin * (0.5 * (of.bottom - of.top) + distance + 0.5 * h);
            let at = Frame::about(x, y, w, h);
            if !at.within(frame) || taken.iter().any(|other| other.meets(at)) {
                continue;
            }
            // A name may cover a little of a large part, but hardly a small one.
            let hidden = |part: &Frame| {
                let covered = part.overlap(at);
                if covered > 0.0 { 40.0 + 0.5 * covered } else { 0.0 }
            };
            let cost = distance + parts.iter().map(hidden).sum::<f64>();
            if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                let from = [
                    mx.clamp(at.left + ROOM, at.right - ROOM),
                    if my < at.top {
                        at.top
                    } else if my > at.bottom {
                        at.bottom
                    } else {
                        y
                    },
                ];
                let to = [from[0].clamp(of.left, of.right), from[1].clamp(of.top, of.bottom)];
                let long = (from[0] - to[0]).hypot(from[1] - to[1]) > 8.0;
                let leader = long.then_some([from, to]);
                best = Some((cost, Placed { text: text.into(), at, turned: false, leader }));
            }
        }
    }
    best.map(|(_, placed)| placed)
}

/// Sine and cosine of the directions tried, upward first.
const DIRECTIONS: [(f64, f64); 12] = [
    (1.0, 0.0),
    (0.0, 1.0),
    (0.0, -1.0),
    (1.0, 0.6),
    (1.0, -0.6),
    (0.6, 1.0),
    (0.6, -1.0),
    (-0.6, 1.0),
    (-0.6, -1.0),
    (-1.0, 0.0),
    (-1.0, 0.6),
    (-1.0, -0.6),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_do_not_cover_each_other() {
        let frame = Frame { left: 0.0, top: 0.0, right: 600.0, bottom: 400.0 };
        let mut taken = Vec::new();
        for i in 0..20 {
            let of = Frame::about(200.0 + 8.0 * f64::from(i), 200.0, 4.0, 4.0);
            if let Some(found) = beside(&format!("string {i}"), of, frame, &taken, &[]) {
                assert!(found.at.within(frame));
                assert!(taken.iter().all(|other: &Frame| !other.meets(found.at)));
                taken.push(found.at);
            }
        }
        assert!(taken.len() > 15, "{} of 20 found a place", taken.len());
    }

    #[test]
    fn a_tall_part_turns_its_name() {
        let of = Frame::about(100.0, 100.0, 20.0, 90.0);
        let found = inside("base plate", of, &[]);
        assert!(found.is_some_and(|placed| placed.turned && placed.at.within(of)));
    }
}
