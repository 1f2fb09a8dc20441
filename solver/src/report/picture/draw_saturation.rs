//! Where soft parts are near saturation: their polarisation J = B - mu_0 H as a share of the most
//! it can be.

use crate::field::{Body, Field};
use crate::geometry::RegionId;
use crate::material::{Law, SoftLaw};
use crate::report::picture::draw_density::outline;
use crate::report::picture::draw_flux::{Stroke, trace, with_air};
use crate::report::picture::draw_section::symmetry;
use crate::report::picture::flux_lines::{flux_lines, triangles_in};
use crate::report::picture::level::Line;
use crate::report::picture::magnitude::OfGroup;
use crate::report::picture::ramp::ramp;
use crate::report::picture::scene::Scene;
use crate::report::picture::sheet::{Look, Picture, Sheet};
use crate::report::picture::smooth::Smooth;
use crate::report::picture::steps::with_unit;
use crate::report::picture::view::Window;
use crate::report::picture::{key, labels, parts};
use crate::units::MU_0;

/// Field strength at which a soft law has nothing left to give, A/m.
const SATURATING: f64 = 1e9;
/// Shares below the stated one that get a band each.
const SHARES: [f64; 4] = [0.25, 0.5, 0.75, 0.9];

/// Draws the soft parts in bands of their share of saturation, and marks where it is more than
/// `share` (0 to 1). `window` (m) is what is shown at least; `None` shows all parts.
pub fn draw_saturation(
    scene: &Scene<'_>,
    field: &Field,
    window: Option<Window>,
    share: f64,
    look: &Look,
) -> Picture {
    let share = if share.is_finite() { share.clamp(0.01, 0.999) } else { 0.9 };
    let window = window.unwrap_or_else(|| with_air(scene.extent()));
    let kind = format!("Saturation of the soft parts; {}", symmetry(scene));
    let mut sheet = Sheet::new(&scene.section.title, &kind, window, look);
    let shown = sheet.view.window;
    let pixel = 1.0 / sheet.view.scale;
    let mut levels: Vec<f64> = SHARES.iter().copied().filter(|s| *s < share - 0.01).collect();
    levels.push(share);
    let colours: Vec<String> =
        ramp(levels.len() + 2, sheet.palette.dark)[1..].iter().map(|c| c.hex()).collect();
    let alert = define_alert(&mut sheet);
    let mut shades = colours.clone();
    if let Some(last) = shades.last_mut() {
        *last = format!("url(#{alert})");
    }

    let fills = scene.fills();
    let mut said = Vec::new();
    let mut over = Vec::new();
    sheet.inside.put(format_args!("<g data-layer=\"saturation\">\n"));
    for region in scene.solids() {
        let Some(law) = soft(field, region) else {
            faint(&mut sheet, scene, &fills, region);
            continue;
        };
        let most = saturation(law);
        let part = |b: f64| (b - MU_0 * law.h_of_b(b).0) / most;
        // All of the part, so that the share of its section is that of the whole.
        let Some(all) = scene.bounds(region) else { continue };
        let triangles =
            triangles_in(field.mesh(), all, |t| field.mesh().region_of[t as usize] == region);
        let smooth = Smooth::new(field, &triangles);
        let Some(one) = OfGroup::new(field, &smooth, region, all) else { continue };
        if let Some(d) = parts::shape(&sheet, scene, region, false) {
            sheet.inside.put(format_args!("<path d=\"{d}\" fill=\"{}\"/>\n", colours[0]));
        }
        let found = one.areas(field, &levels, pixel, part);
        for (lines, colour) in found.iter().zip(&colours[1..]) {
            outline(&mut sheet, scene, lines, colour);
        }
        if let Some(lines) = found.last() {
            let name = &scene.regions.regions[region as usize].name;
            let beyond = lines.iter().map(enclosed).sum::<f64>() / whole(field, region);
            said.push((name.clone(), beyond, most));
            over.push(lines.clone());
        }
    }
    for lines in &over {
        outline(&mut sheet, scene, lines, &format!("url(#{alert})"));
    }
    sheet.inside.put(format_args!("</g>\n"));

    parts::outlines(&mut sheet, scene, 1.3);
    let found = flux_lines(field, shown, 14, pixel);
    let muted = sheet.palette.muted.clone();
    trace(&mut sheet, &found, &Stroke { colour: &muted, width: 0.6, casing: None, heads: false });
    let names = parts::names(&sheet, scene);
    let (frame, palette) = (sheet.frame(), sheet.palette.clone());
    labels::write(&names, frame, &[], &palette, &mut sheet.inside);
    if said.is_empty() {
        sheet.caption("This section has no soft part that could saturate.");
        return sheet.finish();
    }
    let marks: Vec<String> = levels.iter().map(|s| percent(*s)).collect();
    key::scale(&mut sheet, "Share of saturation", &shades, &marks);
    for (name, beyond, most) in said.iter().take(6) {
        let most = with_unit(*most, "T", 3);
        let text = if *beyond > 0.0 {
            format!(
                "{name}: {} of its section is beyond {} of saturation ({most}).",
                percent(*beyond),
                percent(share)
            )
        } else {
            format!("{name}: nowhere beyond {} of saturation ({most}).", percent(share))
        };
        sheet.caption(text);
    }
    if said.len() > 6 {
        sheet.caption(format!("And {} more soft parts.", said.len() - 6));
    }
    sheet.finish()
}

/// The law of a region if it is soft and saturates.
fn soft(field: &Field, region: RegionId) -> Option<&SoftLaw> {
    let body: &Body = field.setup().bodies.get(region as usize)?;
    match &body.law {
        Law::Soft(law) => Some(law),
        Law::Linear { .. } | Law::Magnet(_) => None,
    }
}

/// Largest polarisation, T.
fn saturation(law: &SoftLaw) -> f64 {
    MU_0 * law.magnetisation(SATURATING).0
}

/// Area inside a closed line, m2; negative where it runs round a hole.
fn enclosed(line: &Line) -> f64 {
    let p = &line.places;
    (0..p.len()).map(|i| 0.5 * p[i].cross(p[(i + 1) % p.len()])).sum()
}

/// Area of a region's triangles, m2.
fn whole(field: &Field, region: RegionId) -> f64 {
    let mesh = field.mesh();
    (0..mesh.triangles.len())
        .filter(|&t| mesh.region_of[t] == region)
        .map(|t| {
            let c = crate::field::element::corners(mesh, t);
            crate::field::element::quadrature(&c).map(|(_, w)| w).sum::<f64>()
        })
        .sum()
}

fn percent(share: f64) -> String {
    let p = 100.0 * share;
    if p > 0.0 && p < 0.1 {
        return "less than 0.1\u{a0}%".into();
    }
    let text = if p < 10.0 { format!("{p:.1}") } else { format!("{p:.0}") };
    format!("{}\u{a0}%", text.trim_end_matches(".0"))
}

/// A part that does not saturate: pale, with its own hatching behind.
fn faint(
    sheet: &mut Sheet,
    scene: &Scene<'_>,
    fills: &crate::report::picture::scene::Fills,
    region: RegionId,
) {
    let hue = fills.of_region[region as usize].map(|i| fills.list[i].hue);
    let (Some(hue), Some(d)) = (hue, parts::shape(sheet, scene, region, false)) else { return };
    let tint = sheet.palette.tint(hue);
    sheet.inside.put(format_args!("<path d=\"{d}\" fill=\"{tint}\" fill-opacity=\"0.5\"/>\n"));
}

/// The pattern laid over what is beyond the stated share.
fn define_alert(sheet: &mut Sheet) -> String {
    let id = format!("{}-beyond", sheet.id);
    let (ground, alert) = (&sheet.palette.ground, &sheet.palette.alert);
    sheet.defs.put(format_args!(
        concat!(
            "<pattern id=\"{}\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\" ",
            "patternTransform=\"rotate(-60)\"><rect width=\"7\" height=\"7\" fill=\"{}\"/>",
            "<path d=\"M0 2H7\" stroke=\"{}\" stroke-width=\"2.6\"/></pattern>\n"
        ),
        id, alert, ground
    ));
    id
}
