//! Main dimensions: overall width and height, pitch of copies, gaps between pole and string.

use crate::geometry::Source;
use crate::point::Point;
use crate::report::picture::labels::Frame;
use crate::report::picture::scene::Scene;
use crate::report::picture::sheet::Sheet;
use crate::report::picture::steps::millimetres;
use crate::report::picture::svg::{N, Type};
use crate::report::picture::text::width;
use crate::report::picture::view::Window;

/// Room that dimension lines need on every side of the section, px.
pub(super) const ROOM: f64 = 58.0;
/// Distance of a dimension line from what it measures, px.
const LANE: f64 = 24.0;
/// Length of an arrow head, px.
const HEAD: f64 = 7.0;
/// Type size, px.
const SIZE: f64 = 12.0;

/// Draws them. Gives the places that names must leave free.
pub(super) fn draw(sheet: &mut Sheet, scene: &Scene<'_>) -> Vec<Frame> {
    let mut taken = Vec::new();
    sheet.inside.put(format_args!("<g data-layer=\"dimensions\">\n"));
    let solids = solid_extent(scene);
    let shown = sheet.view.window;
    if solids.is_sound() && shown.holds(solids.middle()) {
        let [left, top] = sheet.view.place(Point::new(solids.left, solids.top));
        let [right, bottom] = sheet.view.place(Point::new(solids.right, solids.bottom));
        let frame = sheet.frame();
        let axis = scene.is_round().then(|| sheet.view.place(Point::default())[0]);
        if left > frame.left && right < frame.right && bottom + LANE + 8.0 < frame.bottom {
            let y = bottom + LANE;
            taken.push(level(
                sheet,
                [left, right],
                y,
                [bottom; 2],
                &millimetres(solids.width()),
                axis,
            ));
        }
        if top > frame.top && bottom < frame.bottom && left - LANE - 8.0 > frame.left {
            let x = left - LANE;
            taken.push(upright(sheet, [top, bottom], x, [left; 2], &millimetres(solids.height())));
        }
        if let Some((a, b)) = pitch(scene) {
            let (pa, pb) = (sheet.view.place(a), sheet.view.place(b));
            let y = top - LANE - 12.0;
            if y > frame.top + 20.0 && pa[0] > frame.left && pb[0] < frame.right {
                let text = format!("pitch {}", millimetres(b.x - a.x));
                taken.push(level(sheet, [pa[0], pb[0]], y, [pa[1], pb[1]], &text, axis));
            }
        }
    }
    let mut last = f64::NEG_INFINITY;
    for (pole_top, underside, x, text) in gaps(scene) {
        let (low, high) = (Point::new(x, pole_top), Point::new(x, underside));
        if shown.holds(low) && shown.holds(high) {
            let (low, high) = (sheet.view.place(low), sheet.view.place(high));
            let out = low[0] + 12.0;
            if out < last {
                continue;
            }
            last = out + 150.0;
            taken.push(upright(sheet, [high[1], low[1]], out, [low[0] - 4.0; 2], &text));
        }
    }
    sheet.inside.put(format_args!("</g>\n"));
    taken
}

/// Everything solid but strings, both halves of a round section.
fn solid_extent(scene: &Scene<'_>) -> Window {
    let mut all = Window::EMPTY;
    for region in scene.solids() {
        if scene.regions.regions[region as usize].source.string().is_some() {
            continue;
        }
        if let Some(window) = scene.bounds(region) {
            all = all.and(window);
            if scene.is_round() {
                all = all.and(window.mirrored());
            }
        }
    }
    all
}

/// Top middles of the first two copies of a part that stand side by side.
fn pitch(scene: &Scene<'_>) -> Option<(Point, Point)> {
    let top =
        |region: u32| scene.bounds(region).map(|window| Point::new(window.middle().x, window.top));
    let named = |name: &str| {
        scene.solids().into_iter().find(|&r| {
            let region = &scene.regions.regions[r as usize];
            region.name == name && matches!(region.source, Source::Part(_))
        })
    };
    scene.section.parts.iter().find_map(|part| {
        let stem = part.name.strip_suffix(" 1")?;
        let (a, b) = (top(named(&part.name)?)?, top(named(&format!("{stem} 2"))?)?);
        (b.x > a.x).then_some((a, b))
    })
}

/// Height of the pole face, height of the string's underside, where to measure, and what to
/// write: once for each different gap, at most three.
fn gaps(scene: &Scene<'_>) -> Vec<(f64, f64, f64, String)> {
    let mut found: Vec<(f64, f64, f64, String)> = Vec::new();
    for string in &scene.section.strings {
        let (Some(gap), Some(over)) = (string.gap, string.over) else { continue };
        let region = scene.regions.regions.iter().position(|r| r.source == Source::Part(over));
        let Some(pole) = region.and_then(|r| scene.bounds(r as u32)) else { continue };
        let underside = string.axis.y - 0.5 * string.gauge;
        let top = underside - gap;
        let text = format!("gap {}", millimetres(gap));
        if found.len() < 3 && found.iter().all(|(.., other)| *other != text) {
            found.push((top, underside, pole.right, text));
        }
    }
    found
}

/// A level dimension line at height `y` between two places, with lines up from what it measures. What
/// it says stands beside the `axis`.
fn level(
    sheet: &mut Sheet,
    [a, b]: [f64; 2],
    y: f64,
    from: [f64; 2],
    text: &str,
    axis: Option<f64>,
) -> Frame {
    let colour = sheet.palette.muted.clone();
    let beyond = |from: f64| y + 4.0 * (y - from).signum();
    let mut d = String::new();
    for (x, from) in [(a, from[0]), (b, from[1])] {
        let gap = 3.0 * (y - from).signum();
        d.push_str(&format!("M{} {}V{}", N(x), N(from + gap), N(beyond(from))));
    }
    let wide = b - a > 2.0 * HEAD + 6.0;
    let mut heads = String::new();
    for (x, out) in [(a, -1.0), (b, 1.0)] {
        // Heads point outward from inside, or inward from outside where there is no room.
        let back = if wide { -out } else { out };
        heads.push_str(&format!(
            "M{} {}L{} {}V{}Z",
            N(x),
            N(y),
            N(x + back * HEAD),
            N(y - 2.6),
            N(y + 2.6)
        ));
        if !wide {
            d.push_str(&format!("M{} {}H{}", N(x), N(y), N(x + out * 14.0)));
        }
    }
    d.push_str(&format!("M{} {}H{}", N(a), N(y), N(b)));
    lines(sheet, &d, &heads, &colour);
    let w = width(text, SIZE, false);
    let style = Type {
        anchor: "middle",
        halo: Some(&sheet.palette.ground),
        ..Type::new(SIZE, &sheet.palette.ink)
    };
    let mut x = 0.5 * (a + b);
    if let Some(axis) = axis
        && (x - axis).abs() < 0.5 * w + 5.0
    {
        x = axis + 0.5 * w + 7.0;
    }
    let x = x.clamp(sheet.frame().left + 0.5 * w, sheet.frame().right - 0.5 * w);
    sheet.inside.line_of_type([x, y - 5.0], text, &style);
    Frame {
        left: (x - 0.5 * w).min(a) - 4.0,
        right: (x + 0.5 * w).max(b) + 4.0,
        top: y - 5.0 - SIZE,
        bottom: y + 5.0,
    }
}

/// An upright dimension line at `x` between two heights.
fn upright(sheet: &mut Sheet, [a, b]: [f64; 2], x: f64, from: [f64; 2], text: &str) -> Frame {
    let colour = sheet.palette.muted.clone();
    let mut d = String::new();
    for (y, from) in [(a, from[0]), (b, from[1])] {
        let s = (x - from).signum();
        d.push_str(&format!("M{} {}H{}", N(from + 3.0 * s), N(y), N(x + 4.0 * s)));
    }
    let tall = b - a > 2.0 * HEAD + 6.0;
    let mut heads = String::new();
    for (y, out) in [(a, -1.0), (b, 1.0)] {
        let back = if tall { -out } else { out };
        heads.push_str(&format!(
            "M{} {}L{} {}H{}Z",
            N(x),
            N(y),
            N(x - 2.6),
            N(y + back * HEAD),
            N(x + 2.6)
        ));
        if !tall {
            d.push_str(&format!("M{} {}V{}", N(x), N(y), N(y + out * 14.0)));
        }
    }
    d.push_str(&format!("M{} {}V{}", N(x), N(a), N(b)));
    lines(sheet, &d, &heads, &colour);
    let w = width(text, SIZE, false);
    let y = 0.5 * (a + b);
    let halo = Some(sheet.palette.ground.as_str());
    let style = Type { halo, ..Type::new(SIZE, &sheet.palette.ink) };
    if x > from[0] {
        sheet.inside.line_of_type([x + 7.0, y + 0.35 * SIZE], text, &style);
        let more = if tall { 2.0 } else { 16.0 };
        let (top, bottom) = (a.min(y - 0.6 * SIZE) - more, b.max(y + 0.6 * SIZE) + more);
        Frame { left: x - 4.0, right: x + 9.0 + w, top, bottom }
    } else {
        let style = Type { turned: true, anchor: "middle", ..style };
        sheet.inside.line_of_type([x - 5.0, y], text, &style);
        Frame {
            left: x - 6.0 - SIZE,
            right: x + 5.0,
            top: a.min(y - 0.5 * w),
            bottom: b.max(y + 0.5 * w),
        }
    }
}

fn lines(sheet: &mut Sheet, d: &str, heads: &str, colour: &str) {
    sheet.inside.put(format_args!(
        "<path d=\"{d}\" stroke=\"{colour}\" fill=\"none\" stroke-width=\"0.9\"/>\n<path d=\"{heads}\" fill=\"{colour}\"/>\n"
    ));
}
