//! Clearances between strings, metal and coils, and the problems they reveal. Lengths in metres.

use super::Scale;
use super::distance::between_outlines;
use super::items::Item;
use super::model::Source;
use super::pairs::meeting_pairs;
use super::piece::{Bounds, Piece};
use super::strings::{is_away, lie_in_plane, passes_over};
use super::words::length;
use crate::problem::Problem;
use crate::section::{Role, Section, StringSpec};

/// The shortest distance between two things.
#[derive(Clone, Debug, PartialEq)]
pub struct Clearance {
    /// Name of the one: a string or a coil window.
    pub first: String,
    /// Name of the other.
    pub second: String,
    /// Shortest distance between their surfaces, m. For a string in the plane: from the item's
    /// highest point up to the string's underside.
    pub distance: f64,
}

/// Strings against everything else: clearances to the nearest part, to the pole each stands over
/// and to the nearest coil window.
pub(crate) fn strings(
    section: &Section,
    items: &[Item],
    scale: &Scale,
    problems: &mut Vec<Problem>,
) -> Vec<Clearance> {
    let mut found = Vec::new();
    for (s, string) in section.strings.iter().enumerate() {
        if !(string.gauge > scale.thin && string.core_diameter > scale.thin) {
            problems.push(
                Problem::at(
                    string.span.clone(),
                    format!(
                        "string `{}` is thinner than can be meshed ({})",
                        string.name,
                        length(scale.thin)
                    ),
                )
                .help("check the unit of the gauge"),
            );
            continue;
        }
        let wrapped = items.iter().any(|i| i.source == Source::Wrap(s));
        if wrapped && string.ring_thickness() <= scale.thin {
            problems.push(
                Problem::at(
                    string.span.clone(),
                    format!(
                        "the wrap of string `{}` is thinner than can be meshed ({})",
                        string.name,
                        length(scale.thin)
                    ),
                )
                .help("check `gauge` and `core_diameter`"),
            );
        }
        let mut measured: Vec<(f64, &Item)> = items
            .iter()
            .filter(|i| i.role != Role::String && !is_away(section, i))
            .filter_map(|i| clearance_of(section, string, i).map(|d| (d, i)))
            .collect();
        measured.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (distance, item) in measured.iter().filter(|(d, _)| *d <= scale.tolerance) {
            problems.push(touching(section, string, item, *distance));
        }
        below_its_pole(section, string, items, &measured, scale, problems);
        let nearest = |coil: bool| measured.iter().find(|(_, i)| (i.role == Role::Coil) == coil);
        let over = measured
            .iter()
            .find(|(_, i)| matches!(i.source, Source::Part(p) if string.over == Some(p)));
        let mut listed: Vec<&(f64, &Item)> =
            [nearest(false), over, nearest(true)].into_iter().flatten().collect();
        listed.dedup_by_key(|(_, i)| i.name.clone());
        found.extend(listed.into_iter().map(|(distance, item)| Clearance {
            first: string.name.clone(),
            second: item.name.clone(),
            distance: *distance,
        }));
    }
    strings_apart(section, scale, problems);
    found
}

/// From the string's surface to the item's; negative inside. `None` where a string in the plane
/// does not pass over the item.
fn clearance_of(section: &Section, string: &StringSpec, item: &Item) -> Option<f64> {
    let radius = 0.5 * string.gauge;
    if lie_in_plane(section) {
        passes_over(section, string, item).then_some(string.axis.y - radius - item.bounds.high.y)
    } else {
        let to_sides = Piece::all_of(&item.outline)
            .iter()
            .map(|p| p.distance_to(string.axis))
            .fold(f64::INFINITY, f64::min);
        let inside = item.outline.contains(string.axis);
        Some(if inside { -to_sides } else { to_sides } - radius)
    }
}

fn touching(section: &Section, string: &StringSpec, item: &Item, distance: f64) -> Problem {
    let what = if lie_in_plane(section) { "does not clear the top of" } else { "touches" };
    Problem::at(
        string.span.clone(),
        format!("string `{}` {what} `{}` (clearance {})", string.name, item.name, length(distance)),
    )
    .help("raise the string, or lower the part under it")
}

/// A string through the plane must not hang below the top of the pole it stands over.
fn below_its_pole(
    section: &Section,
    string: &StringSpec,
    items: &[Item],
    measured: &[(f64, &Item)],
    scale: &Scale,
    problems: &mut Vec<Problem>,
) {
    let Some(pole) =
        items.iter().find(|i| matches!(i.source, Source::Part(p) if Some(p) == string.over))
    else {
        return;
    };
    let rise = string.axis.y - 0.5 * string.gauge - pole.bounds.high.y;
    let reported = measured.iter().any(|(d, i)| i.source == pole.source && *d <= scale.tolerance);
    if !lie_in_plane(section) && rise <= scale.tolerance && !reported {
        problems.push(
            Problem::at(
                string.span.clone(),
                format!(
                    "string `{}` hangs {} below the top of `{}`, which it stands over",
                    string.name,
                    length(-rise),
                    pole.name
                ),
            )
            .help("give a gap above zero, or the height of the string above the pole's top"),
        );
    }
}

/// Strings through the plane must not touch each other.
fn strings_apart(section: &Section, scale: &Scale, problems: &mut Vec<Problem>) {
    if lie_in_plane(section) {
        return;
    }
    let boxes: Vec<Bounds> = section
        .strings
        .iter()
        .map(|s| Bounds::EMPTY.with(s.axis).grown(0.5 * s.gauge + scale.tolerance))
        .collect();
    meeting_pairs(&boxes, |i, j| {
        let (a, b) = (&section.strings[i.min(j)], &section.strings[i.max(j)]);
        let distance = a.axis.distance(b.axis) - 0.5 * (a.gauge + b.gauge);
        if distance <= scale.tolerance {
            problems.push(
                Problem::at(
                    b.span.clone(),
                    format!(
                        "strings `{}` and `{}` touch (clearance {})",
                        a.name,
                        b.name,
                        length(distance)
                    ),
                )
                .help("move one of them"),
            );
        }
    });
}

/// Coil windows against the nearest part, and gaps too narrow to be meshed between any two items.
pub(crate) fn coils_and_gaps(
    items: &[Item],
    scale: &Scale,
    problems: &mut Vec<Problem>,
) -> Vec<Clearance> {
    let mut found = Vec::new();
    for coil in items.iter().filter(|i| i.role == Role::Coil) {
        let mut nearest: Option<(f64, &Item)> = None;
        for item in items.iter().filter(|i| !matches!(i.role, Role::Coil | Role::String)) {
            let best = nearest.map_or(f64::INFINITY, |n| n.0);
            // No outline is nearer than its box.
            if coil.bounds.distance_to(&item.bounds) < best {
                let distance = between_outlines(&coil.outline, &item.outline);
                if distance < best {
                    nearest = Some((distance, item));
                }
            }
        }
        if let Some((distance, item)) = nearest {
            found.push(Clearance { first: coil.name.clone(), second: item.name.clone(), distance });
        }
    }
    let boxes: Vec<Bounds> = items.iter().map(|i| i.bounds.grown(0.5 * scale.thin)).collect();
    meeting_pairs(&boxes, |i, j| {
        let (a, b) = (&items[i.min(j)], &items[i.max(j)]);
        // Between a core and its wrap there is no gap.
        if a.source.string().is_some() && a.source.string() == b.source.string() {
            return;
        }
        let distance = between_outlines(&a.outline, &b.outline);
        if distance > scale.tolerance && distance < scale.thin {
            problems.push(
                Problem::at(
                    b.span.clone(),
                    format!(
                        "the gap of {} between `{}` and `{}` is thinner than can be meshed ({})",
                        length(distance),
                        a.name,
                        b.name,
                        length(scale.thin)
                    ),
                )
                .help("let them touch or move them apart"),
            );
        }
    });
    found
}
