//! A row of round poles: `[row]` in an axisymmetric section.
//!
//! In: the table of the file, the pole's parts and the coils. Out: a [`Row`]. The section draws one pole
//! and one end of the coil; the row says how many poles stand beside each other, and its coils become
//! racetracks round all of them.

use crate::problem::Problem;
use crate::section::entry::Entry;
use crate::section::extent::extent;
use crate::section::lengths::millimetres;
use crate::section::model::{Row, Section, Shape, Symmetry};
use crate::section::notes::Notes;
use crate::section::reader::Table;

/// Most poles in a row.
const MOST_POLES: usize = 24;
/// Rounding allowed where poles touch, m.
const SAME: f64 = 1e-9;

const KEYS: [&str; 5] = ["count", "pitch", "stagger", "polarity", "straight"];

/// Reads the row of the file `table`, whose parts and coils are in `section` already.
pub(super) fn read(table: &Table, section: &Section, notes: &mut Notes) -> Option<Row> {
    let entry = table.get("row")?;
    let example = "{ count = 6, pitch = \"10.5 mm\" }";
    let own = entry.table("the row", &KEYS, example, notes)?;
    check_surroundings(&entry, table, section, notes);
    let count = own.require("count", "6", notes).and_then(|e| e.whole(1..=MOST_POLES, notes));
    let pitch_entry = own.require("pitch", "\"10.5 mm\"", notes);
    let pitch = pitch_entry.as_ref().and_then(|e| e.size_up_to(0.1, notes));
    let stagger = match own.get("stagger") {
        None => Some(None),
        Some(e) => heights(&e, count, notes).map(Some),
    };
    let alternating = match own.get("polarity") {
        None => Some(false),
        Some(e) => e.choice(&[("alike", false), ("alternating", true)], notes),
    };
    let straight = own.get("straight").map(|e| (e.size(notes), e));
    let (count, pitch) = (count?, pitch?);
    if let Some(e) = pitch_entry {
        check_width(&e, pitch, count, section, notes);
    }
    let length = pitch * (count - 1) as f64;
    let straight = match straight {
        None => length,
        Some((size, e)) => {
            let size = size?;
            if size < length - SAME {
                let (size, length) = (millimetres(size), millimetres(length));
                notes.add(
                    e.problem(format!("is {size}, less than the {length} from first to last pole"))
                        .help("leave it out, or make the straight sides at least that long"),
                );
                return None;
            }
            size
        }
    };
    let heights = stagger?.unwrap_or_else(|| vec![0.0; count]);
    Some(Row { count, pitch, heights, alternating: alternating?, straight })
}

/// One height for each pole.
fn heights(entry: &Entry, count: Option<usize>, notes: &mut Notes) -> Option<Vec<f64>> {
    let items = entry.list(MOST_POLES, "[\"0 mm\", \"0.5 mm\"]", notes)?;
    let read: Vec<_> = items.iter().map(|item| item.distance(notes)).collect();
    if let Some(count) = count
        && items.len() != count
    {
        notes.add(
            entry
                .problem(format!("has {} heights for {count} poles", items.len()))
                .help("give one height for each pole, in order"),
        );
        return None;
    }
    read.into_iter().collect()
}

/// What a row cannot stand beside.
fn check_surroundings(entry: &Entry, table: &Table, section: &Section, notes: &mut Notes) {
    if section.symmetry == Symmetry::Planar {
        notes.add(
            Problem::at(entry.key_span(), "a row of round poles needs symmetry = \"axisymmetric\"")
                .help(
                    "draw one pole turned about its axis, or `repeat` a part in a planar section",
                ),
        );
        return;
    }
    if let Some(applied) = table.get("applied_field_T") {
        notes.add(
            Problem::at(applied.key_span(), "`applied_field_T` cannot act on a row of poles")
                .help("leave it out: the poles lay their own field on each other"),
        );
    }
    if let Some(probe) = table.get("probe") {
        notes.add(
            Problem::at(probe.key_span(), "a row of poles takes no probes")
                .help("probe one pole by itself, in a section without [row]"),
        );
    }
    for coil in &section.coils {
        for window in &coil.windows {
            if !matches!(window.shape, Shape::Rectangle { .. }) {
                let message = format!("a window of coil `{}` is no upright rectangle", coil.name);
                notes.add(
                    Problem::at(window.span.clone(), message)
                        .help("a coil round a row of poles has rectangular windows"),
                );
            }
        }
    }
}

/// Poles and their plates must not reach into each other.
fn check_width(
    pitch_entry: &Entry,
    pitch: f64,
    count: usize,
    section: &Section,
    notes: &mut Notes,
) {
    if count < 2 || section.symmetry == Symmetry::Planar {
        return;
    }
    for part in &section.parts {
        let reach = extent(&part.shape, part.at, part.rotation).right;
        if reach > 0.5 * pitch + SAME {
            let (reach, pitch) = (millimetres(reach), millimetres(pitch));
            notes.add(
                pitch_entry
                    .problem(format!("is {pitch}: `{}`, of radius {reach}, overlaps the next one", part.name))
                    .help("the parts of a pole stand beside those of the next; a plate under the whole row cannot be in it"),
            );
        }
    }
}
