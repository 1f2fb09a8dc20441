//! The section itself, to scale, before any solve.

use crate::report::picture::elevation::elevation;
use crate::report::picture::scene::Scene;
use crate::report::picture::sheet::{Look, Picture, Sheet};
use crate::report::picture::view::Window;
use crate::report::picture::{dimensions, key, labels, parts};
use crate::section::{StringRun, Symmetry};

/// Draws the section: parts to scale, hatched by material and named, with their main dimensions.
/// `window` (m) is what is shown at least; `None` shows everything, of a row all its poles.
pub fn draw_section(scene: &Scene<'_>, window: Option<Window>, look: &Look) -> Picture {
    let row = if window.is_none() { elevation(scene.section) } else { None };
    if let Some((section, regions)) = &row {
        let scene = Scene { section, regions };
        return draw(&scene, None, "The row to scale, seen along the strings", look);
    }
    draw(scene, window, &format!("Section to scale, {}", symmetry(scene)), look)
}

fn draw(scene: &Scene<'_>, window: Option<Window>, kind: &str, look: &Look) -> Picture {
    let window = window.unwrap_or_else(|| with_room(scene.extent(), dimensions::ROOM, look.width));
    let mut sheet = Sheet::new(&scene.section.title, kind, window, look);
    let fills = scene.fills();
    parts::define(&mut sheet, &fills, 1.0);
    parts::fill(&mut sheet, scene, &fills);
    parts::outlines(&mut sheet, scene, 1.5);
    let mut taken = parts::marks(&mut sheet, scene);
    taken.extend(dimensions::draw(&mut sheet, scene));
    let names = parts::names(&sheet, scene);
    let (frame, palette) = (sheet.frame(), sheet.palette.clone());
    labels::write(&names, frame, &taken, &palette, &mut sheet.inside);
    key::parts(&mut sheet, scene, &fills);
    sheet.finish()
}

/// What the section stands for, in words.
pub(super) fn symmetry(scene: &Scene<'_>) -> &'static str {
    match (scene.section.symmetry, scene.section.string_run) {
        _ if scene.section.row.is_some() => {
            "one pole of the row by itself, turned about the dash-dotted axis"
        }
        (Symmetry::Axisymmetric, _) => "turned about the dash-dotted axis",
        (Symmetry::Planar, StringRun::InPlane) => "strings run in the plane",
        (Symmetry::Planar, StringRun::Through) => "strings run through the plane",
    }
}

/// `window` with about `room` px around it on a picture of this width.
pub(super) fn with_room(window: Window, room: f64, width: f64) -> Window {
    if !window.is_sound() {
        return Window { left: -0.01, bottom: -0.01, right: 0.01, top: 0.01 };
    }
    // The frame is about 0.66 of the picture wide and high.
    let frame = (0.66 * width - 2.0 * room).max(100.0);
    let scale = (frame / window.width()).min(frame / window.height());
    window.grown(room / scale)
}
