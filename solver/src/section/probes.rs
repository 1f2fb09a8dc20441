//! Probes: `[[probe]]`, a point or a straight line sampled at equal steps.

use crate::point::Point;
use crate::problem::Problem;
use crate::section::entry::Entry;
use crate::section::model::{Probe, Symmetry};
use crate::section::names::Names;
use crate::section::notes::Notes;
use crate::section::reader::Table;

/// Most probes.
pub(super) const MOST_PROBES: usize = 1_000;
/// Most points of all probes together.
const MOST_POINTS: usize = 100_000;

pub(super) const KEYS: [&str; 5] = ["name", "at", "from", "to", "samples"];

/// Reads all probes.
pub(super) fn read(tables: Vec<Table>, symmetry: Symmetry, notes: &mut Notes) -> Vec<Probe> {
    let mut names = Names::default();
    let mut left = MOST_POINTS;
    let mut probes = Vec::new();
    for table in tables {
        probes.extend(one(table, symmetry, &mut left, &mut names, notes));
    }
    probes
}

fn one(
    mut table: Table,
    symmetry: Symmetry,
    left: &mut usize,
    names: &mut Names,
    notes: &mut Notes,
) -> Option<Probe> {
    let name = names.read("probe", "\"above the pole\"", &mut table, notes);
    let place = |entry: Option<Entry>, notes: &mut Notes| {
        let entry = entry?;
        let place = entry.place(notes)?;
        if symmetry == Symmetry::Axisymmetric && place.x < 0.0 {
            notes.add(
                entry
                    .problem("lies at a negative radius")
                    .help("in an axisymmetric section x is the radius, 0 on the axis"),
            );
            return None;
        }
        Some(place)
    };
    let points = if let Some(at) = table.get("at") {
        let reason = "does not go with `at`: a probe is a point or a line";
        table.refuse(&["from", "to", "samples"], reason, notes);
        vec![place(Some(at), notes)?]
    } else if table.present(&["from", "to", "samples"]).is_empty() {
        notes
            .add_missing(Problem::at(table.span(), format!("{} has no place", table.what())).help(
            "add at = [\"0 mm\", \"2 mm\"] for a point, or `from`, `to` and `samples` for a line",
        ));
        return None;
    } else {
        let from = place(table.require("from", "[\"-5 mm\", \"2 mm\"]", notes), notes);
        let to = place(table.require("to", "[\"5 mm\", \"2 mm\"]", notes), notes);
        let samples_entry = table.require("samples", "101", notes);
        let samples = samples_entry.as_ref().and_then(|e| e.whole(2..=MOST_POINTS, notes));
        let (from, to, samples) = (from?, to?, samples?);
        if from == to {
            let message = format!("{} starts where it ends", table.what());
            notes.add(Problem::at(table.span(), message).help("use `at` for a single point"));
            return None;
        }
        if samples > *left {
            let message = "makes too many points with the other probes";
            let help = format!("at most {MOST_POINTS} are taken in all");
            notes.add(samples_entry?.problem(message).help(help));
            return None;
        }
        line(from, to, samples)
    };
    *left = left.saturating_sub(points.len());
    Some(Probe { name: name?, span: table.span(), points })
}

/// `samples` points at equal steps, both ends exact.
fn line(from: Point, to: Point, samples: usize) -> Vec<Point> {
    let last = (samples - 1) as f64;
    (0..samples)
        .map(|i| {
            let t = i as f64 / last;
            from * (1.0 - t) + to * t
        })
        .collect()
}
