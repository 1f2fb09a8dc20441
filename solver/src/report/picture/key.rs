//! The key beside a drawing: parts with their hatching, and colour scales.

use crate::report::picture::groups::groups;
use crate::report::picture::parts::pattern;
use crate::report::picture::scene::{Fills, Scene};
use crate::report::picture::sheet::{KEY, Sheet};
use crate::report::picture::svg::{N, Type};
use crate::report::picture::text::{fitted, width};

/// Most parts that are listed.
const MOST: usize = 14;

/// Lists the parts; their fills are shown where the picture is `hatched`.
pub(super) fn parts(sheet: &mut Sheet, scene: &Scene<'_>, fills: &Fills) {
    let all = groups(scene, fills);
    if all.is_empty() {
        return;
    }
    sheet.key_heading("Parts");
    sheet.key_space(2.0);
    for group in all.iter().take(MOST) {
        let (x, y) = (sheet.key_x(), sheet.key_y);
        let fill = match group.fill {
            Some(index) => format!("url(#{})", pattern(&sheet.id, index)),
            None => sheet.palette.ink.clone(),
        };
        let high = if group.string { 4.0 } else { 26.0 };
        if group.string && !scene.strings_lie() {
            sheet.key.put(format_args!(
                "<circle cx=\"{}\" cy=\"{}\" r=\"3.4\" fill=\"{fill}\" stroke=\"{}\" stroke-width=\"1.2\"/>\n",
                N(x + 15.5),
                N(y + 4.5),
                sheet.palette.ink
            ));
        } else {
            sheet.key.put(format_args!(
            "<rect x=\"{}\" y=\"{}\" width=\"30\" height=\"{high}\" fill=\"{fill}\" stroke=\"{}\" stroke-width=\"1.2\"/>\n",
            N(x + 0.5), N(y + 4.5 - 0.5 * high), sheet.palette.ink
        ));
        }
        let name = fitted(&group.name, 12.0, true, 0.6 * KEY);
        let style = Type { bold: true, ..Type::new(12.0, &sheet.palette.ink) };
        sheet.key.line_of_type([x + 40.0, y], &name, &style);
        let beside = 48.0 + width(&name, 12.0, true);
        if beside + width(&group.size, 12.0, false) <= KEY {
            sheet.key_line(&group.size, beside, true);
        } else {
            sheet.key_line("", beside, true);
            sheet.key_lines(&group.size, 40.0, true);
        }
        sheet.key_lines(&group.what, 40.0, false);
        sheet.key_space(7.0);
    }
    if all.len() > MOST {
        sheet.key_line(&format!("and {} more", all.len() - MOST), 40.0, false);
    }
    sheet.key_space(8.0);
}

/// A colour scale that stands upright, least at the bottom: one box per colour, `marks[i]` written
/// at the border between colours i and i + 1.
pub(super) fn scale(sheet: &mut Sheet, heading: &str, colours: &[String], marks: &[String]) {
    sheet.key_heading(heading);
    let (x, top) = (sheet.key_x(), sheet.key_y - 4.0);
    let each = (300.0 / colours.len().max(1) as f64).min(26.0).round();
    sheet.key.put(format_args!("<g data-layer=\"scale\">\n"));
    for (i, colour) in colours.iter().rev().enumerate() {
        sheet.key.put(format_args!(
            "<rect x=\"{}\" y=\"{}\" width=\"34\" height=\"{}\" fill=\"{colour}\"/>\n",
            N(x),
            N(top + each * i as f64),
            N(each)
        ));
    }
    let height = each * colours.len() as f64;
    sheet.key.put(format_args!(
        "<rect x=\"{}\" y=\"{}\" width=\"34\" height=\"{}\" fill=\"none\" stroke=\"{}\"/>\n",
        N(x),
        N(top),
        N(height),
        sheet.palette.ink
    ));
    for (i, mark) in marks.iter().enumerate() {
        let y = top + height - each * (i + 1) as f64;
        sheet.key.put(format_args!(
            "<path d=\"M{} {}h6\" stroke=\"{}\"/>\n",
            N(x + 34.0),
            N(y),
            sheet.palette.ink
        ));
        let style = Type::new(12.0, &sheet.palette.ink);
        sheet.key.line_of_type([x + 46.0, y + 4.0], mark, &style);
    }
    sheet.key.put(format_args!("</g>\n"));
    sheet.key_y = top + height + 26.0;
}

/// A line of the key with a short stroke of a line's own colour before it.
pub(super) fn stroke(sheet: &mut Sheet, colour: &str, dash: Option<&str>, text: &str) {
    let (x, y) = (sheet.key_x(), sheet.key_y);
    let dash = dash.map(|d| format!(" stroke-dasharray=\"{d}\"")).unwrap_or_default();
    sheet.key.put(format_args!(
        "<path d=\"M{} {}h30\" stroke=\"{colour}\" stroke-width=\"1.8\"{dash}/>\n",
        N(x),
        N(y - 4.0)
    ));
    sheet.key_lines(text, 40.0, true);
    sheet.key_space(6.0);
}
