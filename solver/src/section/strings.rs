//! Strings: `[[string]]`.
//!
//! In: the tables of the file and the parts they refer to. Out: [`StringSpec`]s with the height of
//! the axis worked out: top of the pole + gap + half the gauge.

use crate::point::Point;
use crate::problem::Problem;
use crate::section::entry::Entry;
use crate::section::extent::extent;
use crate::section::lengths::millimetres;
use crate::section::model::{Named, Row, StringRun, StringSpec};
use crate::section::names::Names;
use crate::section::notes::Notes;
use crate::section::parts::{Found, Parts};
use crate::section::reader::Table;

/// Most strings.
pub(super) const MOST_STRINGS: usize = 200;
/// Material of the core where the file says nothing.
const DEFAULT_CORE: &str = "music wire";
/// Thickest string, m.
const THICKEST: f64 = 0.02;

pub(super) const KEYS: [&str; 11] = [
    "name",
    "gauge",
    "core",
    "core_diameter",
    "wrap",
    "over",
    "pole",
    "gap",
    "height",
    "offset",
    "bend",
];

/// Most offsets of one bend.
const MOST_BENDS: usize = 100;

/// What strings are over.
#[derive(Clone, Copy)]
pub(super) enum Over<'a> {
    /// The parts of the section.
    Parts,
    /// Such parts in a row.
    Row(&'a Row),
    /// A row that could not be understood.
    UnreadableRow,
}

/// Reads all strings.
pub(super) fn read(
    tables: Vec<Table>,
    run: StringRun,
    over: Over,
    parts: &Parts,
    names: &mut Names,
    notes: &mut Notes,
) -> Vec<StringSpec> {
    tables.into_iter().filter_map(|table| one(table, run, over, parts, names, notes)).collect()
}

fn one(
    mut table: Table,
    run: StringRun,
    over: Over,
    parts: &Parts,
    names: &mut Names,
    notes: &mut Notes,
) -> Option<StringSpec> {
    let name = names.read("string", "\"E4\"", &mut table, notes);
    let gauge =
        table.require("gauge", "\"0.010 in\"", notes).and_then(|e| e.size_up_to(THICKEST, notes));
    let wire = Wire::read(&table, gauge, notes);
    let place = Place::read(&table, gauge, parts, notes);
    let in_row = InRow::read(&table, over, place.as_ref().and_then(|p| p.gap), notes);
    let (gauge, wire, place, in_row) = (gauge?, wire?, place?, in_row?);
    let (axis, offset) = match run {
        StringRun::Through => (Point::new(place.pole_x + place.offset, place.height), 0.0),
        StringRun::InPlane => (Point::new(0.0, place.height - in_row.lowered), place.offset),
    };
    Some(StringSpec {
        name: name?,
        span: table.span(),
        gauge,
        core_diameter: wire.core_diameter,
        core: wire.core,
        wrap: wire.wrap,
        axis,
        offset,
        over: place.over,
        gap: place.gap,
        pole: in_row.pole,
        bends: in_row.bends,
    })
}

/// Which pole of a row a string is over.
struct InRow {
    pole: Option<usize>,
    bends: Vec<f64>,
    /// How much lower than the highest that pole stands, m.
    lowered: f64,
}

impl InRow {
    fn read(table: &Table, over: Over, gap: Option<f64>, notes: &mut Notes) -> Option<Self> {
        let row = match over {
            Over::Row(row) => row,
            Over::UnreadableRow => return None,
            Over::Parts => {
                table.refuse(&["pole", "bend"], "is for strings over a row of poles", notes);
                return Some(Self { pole: None, bends: Vec::new(), lowered: 0.0 });
            }
        };
        let bends = match table.get("bend") {
            None => Some(Vec::new()),
            Some(entry) => {
                entry.list(MOST_BENDS, "[\"1 mm\", \"3 mm\"]", notes).and_then(|items| {
                    let read: Vec<_> = items.iter().map(|item| item.distance(notes)).collect();
                    read.into_iter().collect()
                })
            }
        };
        let pole = table.require("pole", "3", notes)?.whole(1..=row.count, notes)? - 1;
        let lowered = row.below_highest(pole);
        if let Some(gap) = gap
            && gap <= lowered
        {
            let (gap, lowered) = (millimetres(gap), millimetres(lowered));
            let message = format!(
                "{} passes no higher than the top of the highest pole of the row",
                table.what()
            );
            notes.add(Problem::at(table.span(), message).help(format!(
                "that pole stands {lowered} above this one, and the gap is {gap}: string and pole \
                 must clear each other all along the row"
            )));
            return None;
        }
        Some(Self { pole: Some(pole), bends: bends?, lowered })
    }
}

/// What a string is made of.
struct Wire {
    core_diameter: f64,
    core: Named,
    wrap: Option<Named>,
}

impl Wire {
    fn read(table: &Table, gauge: Option<f64>, notes: &mut Notes) -> Option<Self> {
        let material = |entry: &Entry, example: &str, notes: &mut Notes| {
            let name = entry.name(example, notes)?.to_owned();
            Some(Named { name, span: entry.span() })
        };
        let core = match table.get("core") {
            Some(entry) => material(&entry, "\"music wire\"", notes),
            None => Some(Named { name: DEFAULT_CORE.to_owned(), span: table.span() }),
        };
        let wrap = table.get("wrap").map(|e| material(&e, "\"nickel wrap\"", notes));
        let diameter = table.get("core_diameter").map(|e| (e.size_up_to(THICKEST, notes), e));
        match (&wrap, diameter) {
            (None, None) => Some(Self { core_diameter: gauge?, core: core?, wrap: None }),
            (Some(_), None) => {
                table.require("core_diameter", "\"0.017 in\"", notes);
                None
            }
            (None, Some((_, entry))) => {
                let message = format!("{} has a `core_diameter` but no `wrap`", table.what());
                notes.add_missing(
                    Problem::at(entry.key_span(), message)
                        .help("add e.g. wrap = \"nickel wrap\"; a plain string needs neither"),
                );
                None
            }
            (Some(wrap), Some((core_diameter, entry))) => {
                let core_diameter = core_diameter?;
                if let Some(gauge) = gauge
                    && core_diameter >= gauge
                {
                    let (core, gauge) = (millimetres(core_diameter), millimetres(gauge));
                    notes.add(
                        entry
                            .problem(format!("is {core}, no less than the gauge of {gauge}"))
                            .help("the gauge is the outer diameter, wrap included"),
                    );
                    return None;
                }
                Some(Self { core_diameter, core: core?, wrap: Some(wrap.clone()?) })
            }
        }
    }
}

/// Where a string passes.
struct Place {
    /// Height of the axis, m.
    height: f64,
    /// Middle of the pole below, m; 0 without one.
    pole_x: f64,
    offset: f64,
    over: Option<usize>,
    gap: Option<f64>,
}

impl Place {
    fn read(table: &Table, gauge: Option<f64>, parts: &Parts, notes: &mut Notes) -> Option<Self> {
        let offset = table.get("offset").map_or(Some(0.0), |e| e.distance(notes));
        let over = table.get("over").map(|e| pole(&e, parts, notes));
        let gap = table.get("gap").map(|e| e.size(notes));
        let height = table.get("height").map(|e| e.distance(notes));
        if let (Some(_), Some(entry)) = (&gap, table.get("height")) {
            notes.add(
                Problem::at(
                    entry.key_span(),
                    format!("{} has both `gap` and `height`", table.what()),
                )
                .help("keep one: `gap` is clear distance to the pole, `height` that of the axis"),
            );
            return None;
        }
        if let (Some(_), None) = (&gap, &over) {
            notes.add_missing(
                Problem::at(table.span(), format!("{} has a `gap` but no pole", table.what()))
                    .help("add e.g. over = \"rod\", the part whose face the gap is measured from"),
            );
            return None;
        }
        if gap.is_none() && height.is_none() {
            notes.add_missing(
                Problem::at(table.span(), format!("{} has no place", table.what())).help(
                    "add over = \"rod\" and gap = \"2.5 mm\", or height = \"3 mm\" of its axis",
                ),
            );
            return None;
        }
        let over = match over {
            None => None,
            Some(pole) => Some(pole?),
        };
        let box_of = |index: usize| {
            let part = &parts.list[index];
            extent(&part.shape, part.at, part.rotation)
        };
        let pole = over.map(box_of);
        let (height, gap) = match (pole, gap, height) {
            (Some(pole), Some(gap), _) => {
                let gap = gap?;
                (pole.top + gap + 0.5 * gauge?, Some(gap))
            }
            (Some(pole), None, Some(height)) => {
                let height = height?;
                (height, Some(height - 0.5 * gauge? - pole.top))
            }
            (_, _, height) => (height??, None),
        };
        let pole_x = pole.map_or(0.0, |e| e.middle_x());
        Some(Self { height, pole_x, offset: offset?, over, gap })
    }
}

/// The part whose face the gap is measured from.
fn pole(entry: &Entry, parts: &Parts, notes: &mut Notes) -> Option<usize> {
    let name = entry.text("\"rod\"", notes)?;
    match parts.find(name) {
        Found::One(index) => Some(index),
        Found::Unreadable => None,
        Found::Copies(range) => {
            let (first, last) = (&parts.list[range.start].name, &parts.list[range.end - 1].name);
            notes.add(
                entry
                    .problem(format!("names `{name}`, which is repeated"))
                    .help(format!("name one copy, `{first}` to `{last}`")),
            );
            None
        }
        Found::Nothing => {
            let names: Vec<&str> = parts.names().collect();
            let help = notes.did_you_mean(name, names, "name a part of this file");
            notes.add_missing(
                Problem::at(entry.span(), format!("no part is called `{name}`")).help(help),
            );
            None
        }
    }
}
