//! The parts of a section, drawn: filled and hatched by material, outlined, with the direction of
//! charge of magnets, the sense of coil windows, strings in the plane, the axis.

use crate::geometry::{RegionId, Source};
use crate::point::Point;
use crate::report::picture::labels::{Frame, Name};
use crate::report::picture::outline::{bounds, path};
use crate::report::picture::scene::{Fills, Scene};
use crate::report::picture::sheet::Sheet;
use crate::report::picture::svg::{Escaped, N};
use crate::report::picture::view::Window;
use crate::section::Charge;

/// Thinnest string seen from its side, px.
const THINNEST: f64 = 1.6;

/// Pattern of a fill.
pub(super) fn pattern(id: &str, fill: usize) -> String {
    format!("{id}-material-{fill}")
}

/// Defines the patterns of all materials.
pub(super) fn define(sheet: &mut Sheet, fills: &Fills, strength: f64) {
    for (i, fill) in fills.list.iter().enumerate() {
        let id = pattern(&sheet.id, i);
        fill.hatch.define(&id, fill.hue, strength, &sheet.palette, &mut sheet.defs);
    }
}

/// Fills the parts with their hatching.
pub(super) fn fill(sheet: &mut Sheet, scene: &Scene<'_>, fills: &Fills) {
    sheet.inside.put(format_args!("<g data-layer=\"materials\">\n"));
    for region in scene.solids() {
        let Some(index) = fills.of_region[region as usize] else { continue };
        let Some(d) = shape(sheet, scene, region, false) else { continue };
        let name = &scene.regions.regions[region as usize].name;
        let fill = pattern(&sheet.id, index);
        sheet.inside.put(format_args!(
            "<path data-part=\"{}\" d=\"{d}\" fill=\"url(#{fill})\"/>\n",
            Escaped(name)
        ));
    }
    sheet.inside.put(format_args!("</g>\n"));
}

/// Draws a pale rim along all outlines, so that they stand out from any ground.
pub(super) fn casing(sheet: &mut Sheet, scene: &Scene<'_>, colour: &str) {
    let mut all = String::new();
    for region in scene.solids() {
        all.push_str(&shape(sheet, scene, region, true).unwrap_or_default());
    }
    sheet.inside.put(format_args!(
        "<path d=\"{all}\" fill=\"none\" stroke=\"{colour}\" stroke-opacity=\"0.6\" stroke-width=\"3\"/>\n"
    ));
}

/// Draws the outlines, strings seen from their side, and the axis.
pub(super) fn outlines(sheet: &mut Sheet, scene: &Scene<'_>, width: f64) {
    outlines_over(sheet, scene, width, false);
}

/// As [`outlines`]; strings seen from their side let what lies behind them show where they are `clear`.
pub(super) fn outlines_over(sheet: &mut Sheet, scene: &Scene<'_>, width: f64, clear: bool) {
    let ink = sheet.palette.ink.clone();
    sheet.inside.put(format_args!(
        "<g data-layer=\"outlines\" fill=\"none\" stroke=\"{ink}\" stroke-width=\"{width}\" stroke-linejoin=\"round\">\n"
    ));
    for region in scene.solids() {
        if let Some(d) = shape(sheet, scene, region, true) {
            let name = &scene.regions.regions[region as usize].name;
            sheet
                .inside
                .put(format_args!("<path data-outline=\"{}\" d=\"{d}\"/>\n", Escaped(name)));
        }
    }
    sheet.inside.put(format_args!("</g>\n"));
    for string in scene.side_on() {
        let v = &sheet.view;
        let [_, y] = v.place(Point::new(0.0, string.height));
        let thick = (string.gauge * v.scale).max(THINNEST);
        // Where several hide each other only the room they take up is shown.
        let pale = match string.names.len() {
            1 if !clear => String::new(),
            _ => format!(" fill-opacity=\"0.16\" stroke=\"{ink}\" stroke-width=\"0.8\""),
        };
        sheet.inside.put(format_args!(
            "<rect data-strings=\"{}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{ink}\"{pale}/>\n",
            Escaped(&string.names.join(", ")),
            N(v.left_px), N(y - 0.5 * thick), N(v.width_px()), N(thick)
        ));
    }
    if scene.is_round() {
        let v = &sheet.view;
        let [x, _] = v.place(Point::default());
        sheet.inside.put(format_args!(
            "<path data-layer=\"axis\" d=\"M{x} {}V{}\" stroke=\"{}\" stroke-dasharray=\"14 4 3 4\" fill=\"none\"/>\n",
            N(v.top_px), N(v.bottom_px()), sheet.palette.muted, x = N(x)
        ));
    }
}

/// A region's outline as path data, both halves of a round one; `None` where it is out of sight.
pub(super) fn shape(
    sheet: &Sheet,
    scene: &Scene<'_>,
    region: RegionId,
    line: bool,
) -> Option<String> {
    let outline = scene.regions.regions[region as usize].outline.as_ref()?;
    let (window, part) = (sheet.view.window, bounds(outline));
    let both = scene.is_round();
    let seen = part.meets(window) || (both && part.mirrored().meets(window));
    if !seen {
        return None;
    }
    let mut d = path(outline, &sheet.view, false, both && line);
    if both {
        d.push_str(&path(outline, &sheet.view, true, both && line));
    }
    Some(d)
}

/// Marks the direction of charge of every magnet and the sense of every coil window. Gives the
/// places that names must leave free.
pub(super) fn marks(sheet: &mut Sheet, scene: &Scene<'_>) -> Vec<Frame> {
    let mut taken = Vec::new();
    sheet.inside.put(format_args!("<g data-layer=\"marks\">\n"));
    for region in scene.solids() {
        let Some(window) = scene.bounds(region) else { continue };
        let source = scene.regions.regions[region as usize].source;
        let on_axis = scene.is_round() && window.left < 1e-9;
        let whole = if on_axis { window.and(window.mirrored()) } else { window };
        let sides: &[f64] = if scene.is_round() && !on_axis { &[1.0, -1.0] } else { &[1.0] };
        for &side in sides {
            let place = if side > 0.0 { whole } else { whole.mirrored() };
            let Some(frame) = on_sheet(sheet, place).cut(sheet.frame()) else { continue };
            match source {
                Source::Part(i) => {
                    let charge = scene.section.parts.get(i).and_then(|part| part.charge);
                    let angle = match charge {
                        Some(Charge::Angle(angle)) => angle,
                        Some(Charge::Radial(sense)) => {
                            if sense * side > 0.0 {
                                0.0
                            } else {
                                std::f64::consts::PI
                            }
                        }
                        None => continue,
                    };
                    taken.extend(arrow(sheet, frame, angle));
                }
                Source::Window(c, w) => {
                    let window = scene.section.coils.get(c).and_then(|coil| coil.windows.get(w));
                    let Some(sense) = window.map(|window| window.sense) else { continue };
                    // About an axis a positive current goes into the page on the right.
                    let out = if scene.is_round() { -sense * side } else { sense };
                    taken.extend(sense_mark(sheet, frame, out > 0.0));
                }
                Source::Air | Source::String(_) | Source::Wrap(_) => {}
            }
        }
    }
    sheet.inside.put(format_args!("</g>\n"));
    taken
}

/// Names of the visible parts, with where they are.
pub(super) fn names(sheet: &Sheet, scene: &Scene<'_>) -> Vec<Name> {
    let mut names = Vec::new();
    for region in scene.solids() {
        let Some(window) = scene.bounds(region) else { continue };
        let on_axis = scene.is_round() && window.left < 1e-9;
        let whole = if on_axis { window.and(window.mirrored()) } else { window };
        let regions = &scene.regions.regions;
        let region = &regions[region as usize];
        // A string is named once, by the ring of its wrap where it has one.
        if let Source::String(s) = region.source
            && regions.iter().any(|other| other.source == Source::Wrap(s))
        {
            continue;
        }
        // Windows go by their coil; the mark says which way they are wound.
        let text = match region.source {
            Source::Window(c, _) => scene.section.coils.get(c).map(|coil| coil.name.clone()),
            Source::Wrap(s) => scene.section.strings.get(s).map(|string| string.name.clone()),
            _ => None,
        };
        let text = text.unwrap_or_else(|| region.name.clone());
        let frame = |window| on_sheet(sheet, window).cut(sheet.frame());
        let mirrored = scene.is_round().then(|| frame(window.mirrored())).flatten();
        if let Some(of) = frame(whole).or(mirrored) {
            names.push(Name { text, of, inside: true });
        }
    }
    let v = &sheet.view;
    for string in scene.side_on() {
        let [_, y] = v.place(Point::new(0.0, string.height));
        let half = 0.5 * (string.gauge * v.scale).max(THINNEST);
        let of = Frame {
            left: v.right_px() - 90.0,
            right: v.right_px() - 10.0,
            top: y - half,
            bottom: y + half,
        };
        if let Some(of) = of.cut(sheet.frame()) {
            names.push(Name { text: string.names.join(", "), of, inside: false });
        }
    }
    names
}

fn on_sheet(sheet: &Sheet, window: Window) -> Frame {
    let [left, top] = sheet.view.place(Point::new(window.left, window.top));
    let [right, bottom] = sheet.view.place(Point::new(window.right, window.bottom));
    Frame { left, top, right, bottom }
}

/// An arrow through the middle of `frame` at `angle` (counter-clockwise from the right).
fn arrow(sheet: &mut Sheet, frame: Frame, angle: f64) -> Option<Frame> {
    let (w, h) = (frame.right - frame.left, frame.bottom - frame.top);
    let (dx, dy) = (angle.cos(), -angle.sin());
    // As far as the frame allows in this direction, at most 64 px.
    let reach = (0.5 * w / dx.abs().max(1e-9)).min(0.5 * h / dy.abs().max(1e-9));
    let half = (0.62 * reach).min(32.0);
    let thick = (0.12 * w.min(h)).clamp(2.0, 5.0);
    if half < 7.0 || w.min(h) < 9.0 {
        return None;
    }
    let [x, y] = [0.5 * (frame.left + frame.right), 0.5 * (frame.top + frame.bottom)];
    let head = (3.2 * thick).min(1.2 * half);
    let along = |s: f64, side: f64| [x + s * dx - side * dy, y + s * dy + side * dx];
    let shape = [
        along(-half, 0.5 * thick),
        along(half - head, 0.5 * thick),
        along(half - head, 1.5 * thick),
        along(half, 0.0),
        along(half - head, -1.5 * thick),
        along(half - head, -0.5 * thick),
        along(-half, -0.5 * thick),
    ];
    let d: Vec<String> = shape.iter().map(|[x, y]| format!("{} {}", N(*x), N(*y))).collect();
    sheet.inside.put(format_args!(
        "<path data-mark=\"charge\" d=\"M{}Z\" fill=\"{}\" stroke=\"{}\" stroke-width=\"2\" paint-order=\"stroke\"/>\n",
        d.join("L"), sheet.palette.ink, sheet.palette.ground
    ));
    let xs = shape.iter().map(|p| p[0]);
    let ys = shape.iter().map(|p| p[1]);
    Some(Frame {
        left: xs.clone().fold(f64::INFINITY, f64::min) - 2.0,
        right: xs.fold(f64::NEG_INFINITY, f64::max) + 2.0,
        top: ys.clone().fold(f64::INFINITY, f64::min) - 2.0,
        bottom: ys.fold(f64::NEG_INFINITY, f64::max) + 2.0,
    })
}

/// A ring with a point (current out of the page) or a cross (into it).
fn sense_mark(sheet: &mut Sheet, frame: Frame, out: bool) -> Option<Frame> {
    let size = (frame.right - frame.left).min(frame.bottom - frame.top);
    let r = (0.28 * size).min(9.0);
    if r < 3.5 {
        return None;
    }
    // Near the top of a tall window, so that a name has room below.
    let y = (frame.top + r + 8.0).min(0.5 * (frame.top + frame.bottom));
    let x = 0.5 * (frame.left + frame.right);
    let (ink, ground) = (&sheet.palette.ink, &sheet.palette.ground);
    sheet.inside.put(format_args!(
        "<circle data-mark=\"{}\" cx=\"{x}\" cy=\"{y}\" r=\"{}\" fill=\"{ground}\" stroke=\"{ink}\" stroke-width=\"1.4\"/>\n",
        if out { "out" } else { "in" },
        N(r), x = N(x), y = N(y)
    ));
    if out {
        sheet.inside.put(format_args!(
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{ink}\"/>\n",
            N(x),
            N(y),
            N(0.34 * r)
        ));
    } else {
        let d = 0.707 * r;
        sheet.inside.put(format_args!(
            "<path d=\"M{} {}L{} {}M{} {}L{} {}\" stroke=\"{ink}\" stroke-width=\"1.4\"/>\n",
            N(x - d),
            N(y - d),
            N(x + d),
            N(y + d),
            N(x - d),
            N(y + d),
            N(x + d),
            N(y - d)
        ));
    }
    Some(Frame { left: x - r - 2.0, right: x + r + 2.0, top: y - r - 2.0, bottom: y + r + 2.0 })
}
