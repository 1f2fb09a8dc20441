//! How strong the field is: bands of flux density, with flux lines over them.

use crate::field::Field;
use crate::geometry::AIR;
use crate::report::picture::bands::{borders, marks};
use crate::report::picture::clip::thinned;
use crate::report::picture::draw_flux::{Stroke, explained, trace, with_air};
use crate::report::picture::draw_section::symmetry;
use crate::report::picture::flux_lines::{flux_lines, right_half, triangles_in};
use crate::report::picture::level::Line;
use crate::report::picture::magnitude::OfGroup;
use crate::report::picture::ramp::ramp;
use crate::report::picture::scene::Scene;
use crate::report::picture::sheet::{Look, Picture, Sheet};
use crate::report::picture::smooth::Smooth;
use crate::report::picture::svg::{N, Polyline};
use crate::report::picture::view::Window;
use crate::report::picture::{key, labels, parts};

/// How far a thinned outline may be off, px.
const TOLERANCE: f64 = 0.12;
/// Smaller areas are not drawn, px.
const SMALLEST: f64 = 0.4;

/// Draws the size of the flux density in bands, and about `lines` flux lines. `window` (m) is what
/// is shown at least; `None` shows the parts with air around them.
pub fn draw_density(
    scene: &Scene<'_>,
    field: &Field,
    window: Option<Window>,
    lines: usize,
    look: &Look,
) -> Picture {
    let window = window.unwrap_or_else(|| with_air(scene.extent()));
    let kind = format!("Size of the flux density; {}", symmetry(scene));
    let mut sheet = Sheet::new(&scene.section.title, &kind, window, look);
    let shown = sheet.view.window;
    let searched = right_half(shown, scene.is_round());
    let pixel = 1.0 / sheet.view.scale;

    let smooth = Smooth::new(field, &triangles_in(field.mesh(), searched, |_| true));
    // The air and all that is like it is the first group; parts come over it and hide its edges.
    // What passes through another comes after it.
    let order = scene.solids();
    let mut read: Vec<OfGroup> = (0..field.mesh().regions.len() as u32)
        .filter(|&r| smooth.group_of(r) == r)
        .filter_map(|group| OfGroup::new(field, &smooth, group, searched))
        .collect();
    read.sort_by_key(|one| order.iter().position(|&region| region == one.group));
    let mut sizes: Vec<(f64, f64)> =
        read.iter().flat_map(|one| one.sizes(field, searched)).collect();
    let borders = borders(&mut sizes);
    let colours: Vec<String> =
        ramp(borders.len() + 1, sheet.palette.dark).iter().map(|c| c.hex()).collect();
    sheet.inside.put(format_args!(
        "<g data-layer=\"flux-density\">\n<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"{}\"/>\n",
        N(sheet.view.left_px), N(sheet.view.top_px), N(sheet.view.width_px()),
        N(sheet.view.height_px()), colours[0]
    ));
    for one in &read {
        if one.group != AIR {
            cover(&mut sheet, scene, one, &colours[0]);
        }
        for (found, colour) in one.areas(field, &borders, pixel, |b| b).iter().zip(&colours[1..]) {
            outline(&mut sheet, scene, found, colour);
        }
    }
    sheet.inside.put(format_args!("</g>\n"));

    let (flux, ground) = (sheet.palette.flux.clone(), sheet.palette.ground.clone());
    parts::casing(&mut sheet, scene, &ground);
    parts::outlines(&mut sheet, scene, 1.2);
    let found = flux_lines(field, shown, lines, pixel);
    let stroke = Stroke { colour: &flux, width: 0.9, casing: Some(&ground), heads: true };
    trace(&mut sheet, &found, &stroke);
    let names = parts::names(&sheet, scene);
    let (frame, palette) = (sheet.frame(), sheet.palette.clone());
    labels::write(&names, frame, &[], &palette, &mut sheet.inside);
    key::scale(&mut sheet, "Flux density", &colours, &marks(&borders, "T"));
    key::stroke(
        &mut sheet,
        &flux,
        None,
        &crate::report::picture::draw_flux::between_lines(scene, &found),
    );
    for sentence in explained(scene, &found) {
        sheet.caption(sentence);
    }
    sheet.finish()
}

/// Paints a whole part in the colour of the lowest band.
fn cover(sheet: &mut Sheet, scene: &Scene<'_>, one: &OfGroup, colour: &str) {
    let solid = scene.solids().contains(&one.group);
    if let Some(d) = solid.then(|| parts::shape(sheet, scene, one.group, false)).flatten() {
        sheet.inside.put(format_args!("<path d=\"{d}\" fill=\"{colour}\"/>\n"));
    }
}

/// Fills what the lines enclose, in both halves of a round section.
pub(super) fn outline(sheet: &mut Sheet, scene: &Scene<'_>, found: &[Line], colour: &str) {
    let view = sheet.view;
    let mut d = String::new();
    for side in if scene.is_round() { &[1.0, -1.0][..] } else { &[1.0][..] } {
        for line in found {
            let places: Vec<[f64; 2]> = line
                .places
                .iter()
                .map(|p| view.place(crate::point::Point::new(side * p.x, p.y)))
                .collect();
            let places = thinned(&places, true, TOLERANCE);
            let span = |k: usize| {
                let all = places.iter().map(|p| p[k]);
                all.clone().fold(f64::NEG_INFINITY, f64::max) - all.fold(f64::INFINITY, f64::min)
            };
            if places.len() > 2 && (span(0) > SMALLEST || span(1) > SMALLEST) {
                d.push_str(&Polyline { places: &places, closed: true }.to_string());
            }
        }
    }
    if !d.is_empty() {
        sheet
            .inside
            .put(format_args!("<path d=\"{d}\" fill=\"{colour}\" fill-rule=\"evenodd\"/>\n"));
    }
}
