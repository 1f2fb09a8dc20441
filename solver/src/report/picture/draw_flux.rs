//! Where the flux goes: flux lines over the hatched parts.

use std::cmp::Reverse;

use crate::field::Field;
use crate::report::picture::clip::thinned;
use crate::report::picture::draw_section::symmetry;
use crate::report::picture::flux_lines::{FluxLines, flux_lines};
use crate::report::picture::scene::Scene;
use crate::report::picture::sheet::{Look, Picture, Sheet};
use crate::report::picture::steps::micro;
use crate::report::picture::svg::{N, Polyline};
use crate::report::picture::view::Window;
use crate::report::picture::{key, labels, parts};
use crate::section::Symmetry;

/// How far a thinned line may be off, px.
const TOLERANCE: f64 = 0.06;
/// Distance between arrow heads on a line, px.
const BETWEEN_HEADS: f64 = 170.0;
/// No two arrow heads are closer, px.
const CLEAR: f64 = 44.0;

/// Draws about `lines` flux lines over the parts. `window` (m) is what is shown at least; `None`
/// shows the parts and as much air as the flux needs to turn round.
pub fn draw_flux(
    scene: &Scene<'_>,
    field: &Field,
    window: Option<Window>,
    lines: usize,
    look: &Look,
) -> Picture {
    let window = window.unwrap_or_else(|| with_air(scene.extent()));
    let kind = format!("Flux lines; {}", symmetry(scene));
    let mut sheet = Sheet::new(&scene.section.title, &kind, window, look);
    let fills = scene.fills();
    parts::define(&mut sheet, &fills, 0.55);
    parts::fill(&mut sheet, scene, &fills);
    parts::outlines(&mut sheet, scene, 1.2);
    let found = flux_lines(field, sheet.view.window, lines, 1.0 / sheet.view.scale);
    let colour = sheet.palette.flux.clone();
    trace(&mut sheet, &found, &Stroke { colour: &colour, width: 1.3, casing: None, heads: true });
    let names = parts::names(&sheet, scene);
    let (frame, palette) = (sheet.frame(), sheet.palette.clone());
    labels::write(&names, frame, &[], &palette, &mut sheet.inside);
    key::stroke(&mut sheet, &colour, None, &between_lines(scene, &found));
    sheet.key_space(10.0);
    key::parts(&mut sheet, scene, &fills);
    for sentence in explained(scene, &found) {
        sheet.caption(sentence);
    }
    sheet.finish()
}

/// How flux lines are drawn.
pub(super) struct Stroke<'a> {
    /// Colour of the line.
    pub colour: &'a str,
    /// Width, px.
    pub width: f64,
    /// Colour of a wider line under it, where the ground varies.
    pub casing: Option<&'a str>,
    /// Arrow heads along B.
    pub heads: bool,
}

/// Draws flux lines that were cut to the sheet's window.
pub(super) fn trace(sheet: &mut Sheet, found: &FluxLines, stroke: &Stroke<'_>) {
    let view = sheet.view;
    let mut paths = Vec::new();
    for (level, line) in &found.lines {
        let places: Vec<[f64; 2]> = line.places.iter().map(|p| view.place(*p)).collect();
        let places = thinned(&places, line.closed, TOLERANCE);
        if places.len() < 2 || (line.closed && places.len() < 3) {
            continue;
        }
        paths.push((*level, places, line.closed));
    }
    let Stroke { colour, width, casing, heads } = *stroke;
    if let Some(casing) = casing {
        sheet.inside.put(format_args!(
            "<path fill=\"none\" stroke=\"{casing}\" stroke-opacity=\"0.55\" stroke-width=\"{}\" d=\"",
            N(width + 1.8)
        ));
        for (_, places, closed) in &paths {
            sheet.inside.put(format_args!("{}", Polyline { places, closed: *closed }));
        }
        sheet.inside.put(format_args!("\"/>\n"));
    }
    sheet.inside.put(format_args!(
        "<g data-layer=\"flux-lines\" data-step=\"{:e}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\" stroke-linejoin=\"round\">\n",
        found.step, N(width)
    ));
    for (level, places, closed) in &paths {
        sheet.inside.put(format_args!(
            "<path data-level=\"{:e}\" d=\"{}\"/>\n",
            found.levels[*level],
            Polyline { places, closed: *closed }
        ));
    }
    sheet.inside.put(format_args!("</g>\n"));
    if heads {
        let mut taken: Vec<[f64; 2]> = Vec::new();
        let mut d = String::new();
        // Long lines first: they say most. To a tenth of a pixel: mirror images are as long as each other but for
        // round-off, which would choose between them.
        let mut order: Vec<usize> = (0..paths.len()).collect();
        let length = |i: usize| -> f64 { paths[i].1.windows(2).map(|p| far(p[0], p[1])).sum() };
        let lengths: Vec<f64> = order.iter().map(|&i| length(i)).collect();
        order.sort_by_key(|&i| (Reverse((10.0 * lengths[i]).round() as i64), i));
        for i in order {
            arrow_heads(&paths[i].1, lengths[i], sheet, &mut taken, &mut d);
        }
        sheet.inside.put(format_args!(
            "<path data-layer=\"flux-direction\" d=\"{d}\" fill=\"{colour}\"/>\n"
        ));
    }
}

/// Puts arrow heads along one line where there is room.
fn arrow_heads(
    places: &[[f64; 2]],
    length: f64,
    sheet: &Sheet,
    taken: &mut Vec<[f64; 2]>,
    d: &mut String,
) {
    if length < 36.0 {
        return;
    }
    let count = (length / BETWEEN_HEADS).round().max(1.0);
    let spacing = length / count;
    let frame = sheet.frame();
    let (mut next, mut gone) = (0.5 * spacing, 0.0);
    for pair in places.windows(2) {
        let step = far(pair[0], pair[1]);
        while step > 0.0 && gone + step >= next {
            let t = (next - gone) / step;
            let [dx, dy] = [(pair[1][0] - pair[0][0]) / step, (pair[1][1] - pair[0][1]) / step];
            let at = [pair[0][0] + t * step * dx, pair[0][1] + t * step * dy];
            let inside = at[0] > frame.left + 9.0
                && at[0] < frame.right - 9.0
                && at[1] > frame.top + 9.0
                && at[1] < frame.bottom - 9.0;
            if inside && taken.iter().all(|other| far(*other, at) > CLEAR) {
                taken.push(at);
                let along = |s: f64, side: f64| {
                    (N(at[0] + s * dx - side * dy), N(at[1] + s * dy + side * dx))
                };
                let (tip, left, notch, right) =
                    (along(6.0, 0.0), along(-4.5, 4.0), along(-2.2, 0.0), along(-4.5, -4.0));
                d.push_str(&format!(
                    "M{} {}L{} {} {} {} {} {}Z",
                    tip.0, tip.1, left.0, left.1, notch.0, notch.1, right.0, right.1
                ));
            }
            next += spacing;
        }
        gone += step;
    }
}

fn far(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// The flux between two lines, for the key.
pub(super) fn between_lines(scene: &Scene<'_>, found: &FluxLines) -> String {
    if found.lines.is_empty() {
        return "no flux to be drawn".into();
    }
    let unit = if scene.section.symmetry == Symmetry::Planar { "Wb/m" } else { "Wb" };
    format!("{} from line to line", micro(found.step, unit))
}

/// What the lines mean, in sentences.
pub(super) fn explained(scene: &Scene<'_>, found: &FluxLines) -> Vec<String> {
    if found.lines.is_empty() {
        return vec!["There is no flux in this piece of the section.".into()];
    }
    let mut arrows = String::from("Arrow heads point along the flux density.");
    if !scene.side_on().is_empty() {
        arrows.push_str(" The field is that without strings.");
    }
    match (scene.section.symmetry, scene.section.depth) {
        (Symmetry::Planar, None) => vec![format!(
            "The same flux, {}, runs between every two neighbouring lines (per metre of depth). {arrows}",
            micro(found.step, "Wb/m")
        )],
        (Symmetry::Planar, Some(depth)) => vec![format!(
            "The same flux, {} of depth, runs between every two neighbouring lines: {} over the {} of this pickup. {arrows}",
            micro(found.step, "Wb/m"),
            micro(found.step * depth, "Wb"),
            crate::report::picture::steps::millimetres(depth),
        )],
        (Symmetry::Axisymmetric, _) => vec![format!(
            "Turned about the axis, every two neighbouring lines bound a shell that carries the same flux, {}. {arrows}",
            micro(found.step, "Wb")
        )],
    }
}

/// The parts with air around them.
pub(super) fn with_air(extent: Window) -> Window {
    if !extent.is_sound() {
        return Window { left: -0.02, bottom: -0.02, right: 0.02, top: 0.02 };
    }
    extent.grown(0.3 * extent.width().max(extent.height()).min(3.0 * extent.height()))
}
