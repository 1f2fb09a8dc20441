//! Solid parts: `[[part]]`, with repeats written out.
//!
//! In: the tables of the file. Out: [`Part`]s in the order of the file, copies left to right, and
//! [`Parts`], which finds them by name for those that refer to them.

use std::collections::BTreeMap;
use std::ops::Range;

use crate::point::Point;
use crate::problem::Problem;
use crate::section::crossing;
use crate::section::entry::Entry;
use crate::section::lengths::millimetres;
use crate::section::model::{Charge, Named, Part, Role, Symmetry};
use crate::section::names::Names;
use crate::section::notes::Notes;
use crate::section::reader::Table;
use crate::section::shapes::{self, Placed};

/// Most parts, copies included.
pub(super) const MOST_PARTS: usize = 2_000;
/// Most copies of one part.
const MOST_COPIES: usize = 1_000;
/// Farthest copy from the middle one, m.
const FARTHEST: f64 = 1.0;
/// Rounding allowed at the axis, m.
const AXIS: f64 = 1e-9;
/// Strongest current through a part, A.
const MOST_CURRENT: f64 = 1e6;

pub(super) const KEYS: [&str; 13] = [
    "name",
    "role",
    "material",
    "rectangle",
    "circle",
    "polygon",
    "at",
    "anchor",
    "turn",
    "charge",
    "passes_through",
    "current_A",
    "repeat",
];

const ROLES: [(&str, Role); 6] = [
    ("magnet", Role::Magnet),
    ("pole piece", Role::PolePiece),
    ("base plate", Role::BasePlate),
    ("cover", Role::Cover),
    ("keeper", Role::Keeper),
    ("body", Role::Body),
];

/// What a name stands for.
pub(super) enum Found {
    /// A part that is not repeated, or one copy of one that is.
    One(usize),
    /// A repeated part: all its copies.
    Copies(Range<usize>),
    /// A part that is in the file but could not be understood.
    Unreadable,
    /// Nothing.
    Nothing,
}

/// All parts, and how to find them.
#[derive(Default)]
pub(super) struct Parts {
    /// In the order of the file.
    pub list: Vec<Part>,
    /// Each entry of the file by its name; `None` where it could not be understood.
    entries: BTreeMap<String, Option<(Range<usize>, bool)>>,
}

impl Parts {
    /// What `name` stands for.
    pub(super) fn find(&self, name: &str) -> Found {
        match self.entries.get(name) {
            Some(None) => return Found::Unreadable,
            Some(Some((range, true))) => return Found::Copies(range.clone()),
            Some(Some((range, false))) => return Found::One(range.start),
            None => {}
        }
        let Some((base, number)) = name.rsplit_once(' ') else { return Found::Nothing };
        match (self.entries.get(base), number.parse::<usize>()) {
            (Some(None), Ok(_)) => Found::Unreadable,
            (Some(Some((range, true))), Ok(n)) if n >= 1 && n <= range.len() => {
                Found::One(range.start + n - 1)
            }
            _ => Found::Nothing,
        }
    }

    /// Every name that [`Parts::find`] knows: those of entries, then those of copies.
    pub(super) fn names(&self) -> impl Iterator<Item = &str> {
        let entries = self.entries.keys().map(String::as_str);
        entries.chain(self.list.iter().map(|part| part.name.as_str()))
    }
}

/// Reads all parts.
pub(super) fn read(
    tables: Vec<Table>,
    symmetry: Symmetry,
    names: &mut Names,
    notes: &mut Notes,
) -> Parts {
    let mut parts = Parts::default();
    let mut crossings = Vec::new();
    for mut table in tables {
        let name = names.read("part", "\"rod\"", &mut table, notes);
        let passes = table.get("passes_through").map(|e| crossing::named(&e, notes));
        let repeat = table.get("repeat").map(|e| Repeat::read(&e, symmetry, notes));
        let part = one(&table, symmetry, notes);
        let Some(name) = name else { continue };
        crossings.push((name.clone(), passes.unwrap_or_default()));
        let first = parts.list.len();
        let entry = match (part, repeat) {
            (Some((part, placed)), None) => {
                check_axis(&table, &placed, symmetry, notes);
                parts.list.push(Part { name: name.clone(), ..part });
                Some((first..first + 1, false))
            }
            (Some((part, placed)), Some(Some(repeat))) => {
                let copies = repeat.copies(&name, &part);
                if first + copies.len() > MOST_PARTS {
                    let message = format!("{} and its copies make too many parts", table.what());
                    let help = format!("at most {MOST_PARTS} are taken, copies included");
                    notes.add(Problem::at(table.span(), message).help(help));
                    None
                } else if copies.iter().any(|c| !names.take(&c.name, &c.span, notes)) {
                    None
                } else {
                    for copy in &copies {
                        let placed = Placed { at: copy.at, ..placed.clone() };
                        if !check_axis(&table, &placed, symmetry, notes) {
                            break;
                        }
                    }
                    parts.list.extend(copies);
                    Some((first..parts.list.len(), true))
                }
            }
            _ => None,
        };
        parts.entries.insert(name, entry);
    }
    crossing::resolve(&mut parts, &crossings, notes);
    parts
}

/// A part without its name, and its shape in place.
fn one(table: &Table, symmetry: Symmetry, notes: &mut Notes) -> Option<(Part, Placed)> {
    let role = table.require("role", "\"pole piece\"", notes).and_then(|e| e.choice(&ROLES, notes));
    let material = table.require("material", "\"steel 1010\"", notes).and_then(|e| {
        let name = e.name("\"steel 1010\"", notes)?;
        Some(Named { name: name.to_owned(), span: e.span() })
    });
    let placed = shapes::read(table, notes);
    let charge = match (table.get("charge"), role) {
        (Some(entry), Some(Role::Magnet)) => charge(&entry, symmetry, notes).map(Some),
        (Some(entry), Some(_)) => {
            notes.add(
                Problem::at(entry.key_span(), "`charge` is for magnets only")
                    .help("set role = \"magnet\", or leave `charge` out"),
            );
            None
        }
        (None, Some(Role::Magnet)) => {
            table.require("charge", "\"up\"", notes);
            None
        }
        (_, None) => None,
        (None, Some(_)) => Some(None),
    };
    let current = match table.get("current_A") {
        Some(entry) if symmetry == Symmetry::Axisymmetric => {
            let message = "`current_A` is for planar sections only";
            notes.add(
                Problem::at(entry.key_span(), message).help("a current around the axis is a coil"),
            );
            None
        }
        Some(entry) => entry.number_in(-MOST_CURRENT..=MOST_CURRENT, " A", notes),
        None => Some(0.0),
    };
    let placed = placed?;
    let part = Part {
        name: String::new(),
        span: table.span(),
        role: role?,
        material: material?,
        shape: placed.shape.clone(),
        at: placed.at,
        rotation: placed.rotation,
        charge: charge?,
        passes_through: Vec::new(),
        current: current?,
    };
    Some((part, placed))
}

/// The direction in which a magnet is charged.
fn charge(entry: &Entry, symmetry: Symmetry, notes: &mut Notes) -> Option<Charge> {
    use std::f64::consts::{FRAC_PI_2, PI};
    const WORDS: [(&str, Charge); 6] = [
        ("up", Charge::Angle(FRAC_PI_2)),
        ("down", Charge::Angle(-FRAC_PI_2)),
        ("left", Charge::Angle(PI)),
        ("right", Charge::Angle(0.0)),
        ("outward", Charge::Radial(1.0)),
        ("inward", Charge::Radial(-1.0)),
    ];
    let by_word = entry.is_text() && !entry.text("", notes)?.contains(|c: char| c.is_ascii_digit());
    let charge =
        if by_word { entry.choice(&WORDS, notes)? } else { Charge::Angle(entry.angle(notes)?) };
    match (charge, symmetry) {
        (Charge::Radial(_), Symmetry::Planar) => {
            notes.add(
                entry
                    .problem("can be outward or inward in axisymmetric sections only")
                    .help("use up, down, left, right or an angle in degrees"),
            );
            None
        }
        (Charge::Angle(angle), Symmetry::Axisymmetric) => {
            let (sin, cos) = libm::sincos(angle);
            if cos.abs() > 1e-9 {
                notes.add(
                    entry
                        .problem("must lie along the axis or straight away from it")
                        .help("use up, down, outward or inward"),
                );
                return None;
            }
            Some(Charge::Angle(sin.signum() * FRAC_PI_2))
        }
        _ => Some(charge),
    }
}

/// Notes a part that cannot stand where it does in a section that turns about x = 0.
fn check_axis(table: &Table, placed: &Placed, symmetry: Symmetry, notes: &mut Notes) -> bool {
    let e = placed.extent();
    if symmetry == Symmetry::Planar || e.left >= -AXIS {
        return true;
    }
    let name = table.what();
    if e.right <= AXIS {
        notes.add(
            Problem::at(
                table.span(),
                format!("{name} lies at a negative radius, from {} on", millimetres(e.left)),
            )
            .help("in an axisymmetric section x is the radius: draw the right half only"),
        );
        return false;
    }
    if !crate::section::extent::mirrors_itself(&placed.shape, placed.at, placed.rotation) {
        notes.add(
            Problem::at(
                table.span(),
                format!(
                    "{name} stands off the axis: it reaches from {} to {}",
                    millimetres(e.left),
                    millimetres(e.right)
                ),
            )
            .help(
                "centre it on x = 0 with its full width, the same left and right, or keep all of \
                 it at x >= 0 for a ring",
            ),
        );
        return false;
    }
    true
}

/// A part set down several times.
struct Repeat {
    count: usize,
    step: Point,
    stagger: Vec<f64>,
}

impl Repeat {
    fn read(entry: &Entry, symmetry: Symmetry, notes: &mut Notes) -> Option<Self> {
        let example = "{ count = 6, pitch = \"10.5 mm\" }";
        let known = ["count", "pitch", "along", "stagger"];
        let table = entry.table("the repeat", &known, example, notes)?;
        let count =
            table.require("count", "6", notes).and_then(|e| e.whole(1..=MOST_COPIES, notes));
        let pitch_entry = table.require("pitch", "\"10.5 mm\"", notes);
        let pitch = pitch_entry.as_ref().and_then(|e| e.size(notes));
        let along_y = match table.get("along") {
            Some(e) => e.choice(&[("x", false), ("y", true)], notes)?,
            None => false,
        };
        if symmetry == Symmetry::Axisymmetric && !along_y {
            notes.add(
                Problem::at(entry.key_span(), "a repeat across the axis makes no round part")
                    .help("repeat along = \"y\", or use a planar section"),
            );
            return None;
        }
        let stagger = match table.get("stagger") {
            None => Some(Vec::new()),
            Some(e) => {
                let items = e.list(MOST_COPIES, "[\"0 mm\", \"0.5 mm\"]", notes)?;
                if let Some(count) = count
                    && items.len() != count
                {
                    notes.add(
                        e.problem(format!("has {} heights for {count} copies", items.len()))
                            .help("give one height for each copy, from left to right"),
                    );
                    return None;
                }
                let read: Vec<_> = items.iter().map(|item| item.distance(notes)).collect();
                read.into_iter().collect()
            }
        };
        let (count, pitch, stagger) = (count?, pitch?, stagger?);
        if let Some(pitch_entry) = pitch_entry
            && 0.5 * pitch * (count - 1) as f64 > FARTHEST
        {
            let row = millimetres(pitch * (count - 1) as f64);
            notes.add(
                pitch_entry
                    .problem(format!("makes a row of {row}; places lie within 1 m"))
                    .help("check the unit"),
            );
            return None;
        }
        let step = if along_y { Point::new(0.0, pitch) } else { Point::new(pitch, 0.0) };
        Some(Self { count, step, stagger })
    }

    /// The copies, centred about the place of the part.
    fn copies(&self, name: &str, part: &Part) -> Vec<Part> {
        let middle = 0.5 * (self.count - 1) as f64;
        (0..self.count)
            .map(|i| {
                let raise = self.stagger.get(i).copied().unwrap_or(0.0);
                let at = part.at + self.step * (i as f64 - middle) + Point::new(0.0, raise);
                Part { name: format!("{name} {}", i + 1), at, ..part.clone() }
            })
            .collect()
    }
}
