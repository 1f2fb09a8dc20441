//! The list of parts: what is drawn more than once is named once, with its material and size.

use crate::geometry::Source;
use crate::report::picture::scene::{Fills, Scene};
use crate::report::picture::steps::millimetres;
use crate::section::{Shape, Symmetry};

/// A line of the list.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Group {
    /// Name, with a range for copies: "rod 1\u{2013}6".
    pub name: String,
    /// What it is made of, and more.
    pub what: String,
    /// Its size.
    pub size: String,
    /// True for strings.
    pub string: bool,
    /// Its fill.
    pub fill: Option<usize>,
}

/// Everything in the section, parts first, then coils, then strings.
pub(super) fn groups(scene: &Scene<'_>, fills: &Fills) -> Vec<Group> {
    let section = scene.section;
    let fill_of = |wanted: &dyn Fn(Source) -> bool| {
        let at = scene.regions.regions.iter().position(|region| wanted(region.source))?;
        fills.of_region[at]
    };
    let round = section.symmetry == Symmetry::Axisymmetric;
    let mut list: Vec<(String, Group)> = Vec::new();
    let mut add = |name: &str, what: String, size: String, string: bool, fill: Option<usize>| {
        let stem = stem(name).to_owned();
        let same = |(other, group): &&mut (String, Group)| {
            *other == stem && group.what == what && group.size == size
        };
        match list.iter_mut().rev().find(same) {
            Some((stem, group)) if name.len() > stem.len() => {
                let first = group.name.split('\u{2013}').next().unwrap_or_default().to_owned();
                group.name = format!("{first}\u{2013}{}", name[stem.len()..].trim());
            }
            _ => list.push((stem, Group { name: name.to_owned(), what, size, string, fill })),
        }
    };
    for (i, part) in section.parts.iter().enumerate() {
        let on_axis = round && part.at.x == 0.0;
        let fill = fill_of(&|source| source == Source::Part(i));
        add(&part.name, part.material.name.clone(), size(&part.shape, on_axis), false, fill);
    }
    for (c, coil) in section.coils.iter().enumerate() {
        let turns = format!("{} turns of copper", coil.turns);
        let windows = match coil.windows.as_slice() {
            [one] => size(&one.shape, false),
            [first, ..] => format!("{} windows {}", coil.windows.len(), size(&first.shape, false)),
            [] => String::new(),
        };
        let fill = fill_of(&|source| matches!(source, Source::Window(index, _) if index == c));
        add(&coil.name, turns, windows, false, fill);
    }
    for (s, string) in section.strings.iter().enumerate() {
        let mut size = format!("\u{2300} {}", millimetres(string.gauge));
        if let Some(gap) = string.gap {
            size.push_str(&format!(", gap {}", millimetres(gap)));
        }
        let what = match &string.wrap {
            Some(wrap) => format!("{}, wound with {}", string.core.name, wrap.name),
            None => string.core.name.clone(),
        };
        let fill = fill_of(&|source| matches!(source, Source::String(index) if index == s));
        add(&string.name, what, size, true, fill);
    }
    list.into_iter().map(|(_, group)| group).collect()
}

/// A name without the number of the copy.
fn stem(name: &str) -> &str {
    let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
    if stem.ends_with(' ') { stem.trim_end() } else { name }
}

fn size(shape: &Shape, on_axis: bool) -> String {
    let across = |w: f64, h: f64| {
        let w = millimetres(w);
        format!("{} \u{d7} {}", w.trim_end_matches("\u{a0}mm"), millimetres(h))
    };
    match shape {
        Shape::Rectangle { width, height, .. } if on_axis => {
            format!("\u{2300} {}", across(*width, *height))
        }
        Shape::Rectangle { width, height, .. } => across(*width, *height),
        Shape::Circle { radius } => format!("\u{2300} {}", millimetres(2.0 * radius)),
        Shape::Polygon { corners, .. } => {
            let span = |of: fn(&crate::point::Point) -> f64| {
                let most = corners.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
                most - corners.iter().map(of).fold(f64::INFINITY, f64::min)
            };
            let radius = corners.iter().map(|p| p.x.abs()).fold(0.0, f64::max);
            if on_axis {
                format!("\u{2300} {}", across(2.0 * radius, span(|p| p.y)))
            } else {
                across(span(|p| p.x), span(|p| p.y))
            }
        }
    }
}
