//! Coils: `[[coil]]` with one or more windows.
//!
//! In: the tables of the file. Out: [`Coil`]s whose windows know their sense and their turns: the
//! windows of one sense share the turns of the coil by area, unless they state their own.

use crate::point::Point;
use crate::problem::Problem;
use crate::section::entry::Entry;
use crate::section::extent::area;
use crate::section::lengths::millimetres;
use crate::section::model::{Coil, Shape, Symmetry, Window};
use crate::section::names::Names;
use crate::section::notes::Notes;
use crate::section::reader::Table;
use crate::section::shapes;

/// Most coils.
pub(super) const MOST_COILS: usize = 100;
/// Most windows of one coil.
const MOST_WINDOWS: usize = 100;
/// Most turns.
const MOST_TURNS: f64 = 1e6;
/// Rounding allowed at the axis, m.
const AXIS: f64 = 1e-9;

pub(super) const KEYS: [&str; 4] = ["name", "turns", "wire", "window"];
const WINDOW_KEYS: [&str; 8] =
    ["rectangle", "circle", "polygon", "at", "anchor", "sense", "mirror", "turns"];

/// Reads all coils.
pub(super) fn read(
    tables: Vec<Table>,
    symmetry: Symmetry,
    names: &mut Names,
    notes: &mut Notes,
) -> Vec<Coil> {
    tables.into_iter().filter_map(|table| one(table, symmetry, names, notes)).collect()
}

fn one(mut table: Table, symmetry: Symmetry, names: &mut Names, notes: &mut Notes) -> Option<Coil> {
    let name = names.read("coil", "\"coil\"", &mut table, notes);
    let turns_entry = table.require("turns", "7000", notes);
    let turns = turns_entry.as_ref().and_then(|e| e.positive(MOST_TURNS, " turns", notes));
    let wire_diameter = match table.get("wire") {
        Some(entry) => entry.wire(notes).map(Some),
        None => Some(None),
    };
    let example = "{ rectangle = { x = [\"3 mm\", \"7 mm\"], y = [\"-13 mm\", \"-2 mm\"] } }";
    let entry = table.require("window", example, notes)?;
    let tables = entry.tables("a window", &WINDOW_KEYS, MOST_WINDOWS, notes);
    if tables.is_empty() {
        notes.add(entry.problem("holds no window").help(format!("write e.g. window = {example}")));
        return None;
    }
    let mut windows = Vec::new();
    let mut sound = true;
    for window in &tables {
        match read_window(window, symmetry, notes) {
            Some(read) => windows.extend(read),
            None => sound = false,
        }
    }
    if !sound {
        return None;
    }
    check_senses(&table, symmetry, &windows, notes)?;
    let (turns, wire_diameter) = (turns?, wire_diameter?);
    let mut shared: Vec<Window> = windows.iter().map(|w| w.window.clone()).collect();
    share_turns(&table, turns_entry.as_ref()?, turns, symmetry, &windows, &mut shared, notes)?;
    Some(Coil { name: name?, span: table.span(), turns, wire_diameter, windows: shared })
}

/// A window and the turns it states itself.
struct Stated {
    window: Window,
    turns: Option<f64>,
}

/// A window, and its mirror image of opposite sense where one is asked for.
fn read_window(table: &Table, symmetry: Symmetry, notes: &mut Notes) -> Option<Vec<Stated>> {
    let placed = shapes::read(table, notes);
    let turns = match table.get("turns") {
        Some(entry) => entry.positive(MOST_TURNS, " turns", notes).map(Some),
        None => Some(None),
    };
    let sense = table.get("sense").map_or(Some(1.0), |e| sense(&e, symmetry, notes));
    let mirror = match table.get("mirror") {
        Some(entry) if symmetry == Symmetry::Axisymmetric => {
            let message = "`mirror` is for planar sections only";
            notes.add(
                Problem::at(entry.key_span(), message)
                    .help("a round coil needs one window: leave `mirror` out"),
            );
            None
        }
        Some(entry) => entry.distance(notes).map(Some),
        None => Some(None),
    };
    let placed = placed?;
    let extent = placed.extent();
    if symmetry == Symmetry::Axisymmetric && extent.left < -AXIS {
        notes.add(
            Problem::at(
                table.span(),
                format!("the window reaches a negative radius, {}", millimetres(extent.left)),
            )
            .help("in an axisymmetric section x is the radius: draw the right half only"),
        );
        return None;
    }
    let (turns, sense) = (turns?, sense?);
    let window =
        Window { shape: placed.shape, at: placed.at, sense, turns: 0.0, span: table.span() };
    let mut windows = Vec::new();
    if let Some(about) = mirror? {
        if extent.left < about && extent.right > about {
            let message = format!(
                "`mirror` cuts the window, which reaches from {} to {}",
                millimetres(extent.left),
                millimetres(extent.right)
            );
            let span = table.get("mirror").map_or(table.span(), |e| e.span());
            notes.add(
                Problem::at(span, message)
                    .help("the window must lie on one side of the line it is mirrored about"),
            );
            return None;
        }
        let image = Window {
            shape: mirrored(&window.shape),
            at: Point::new(2.0 * about - window.at.x, window.at.y),
            sense: -sense,
            ..window.clone()
        };
        windows.push(Stated { window: image, turns });
    }
    windows.insert(0, Stated { window, turns });
    Some(windows)
}

/// +1 or -1, by the words that suit the section.
fn sense(entry: &Entry, symmetry: Symmetry, notes: &mut Notes) -> Option<f64> {
    match symmetry {
        Symmetry::Planar => entry.choice(&[("out", 1.0), ("in", -1.0)], notes),
        Symmetry::Axisymmetric => {
            entry.choice(&[("counter-clockwise", 1.0), ("clockwise", -1.0)], notes)
        }
    }
}

/// The mirror image of a shape about the line x = 0 through its origin.
fn mirrored(shape: &Shape) -> Shape {
    use crate::section::model::PolygonSide::{ArcThrough, Straight};
    let flip = |p: Point| Point::new(-p.x, p.y);
    match shape {
        Shape::Rectangle { width, height, corners: [bl, br, tr, tl] } => {
            Shape::Rectangle { width: *width, height: *height, corners: [*br, *bl, *tl, *tr] }
        }
        Shape::Circle { .. } => shape.clone(),
        Shape::Polygon { corners, sides } => Shape::Polygon {
            corners: corners.iter().map(|p| flip(*p)).collect(),
            sides: sides
                .iter()
                .map(|side| match side {
                    Straight => Straight,
                    ArcThrough(p) => ArcThrough(flip(*p)),
                })
                .collect(),
        },
    }
}

/// In a planar section the wire that comes out of the page has to go back in somewhere.
fn check_senses(
    table: &Table,
    symmetry: Symmetry,
    windows: &[Stated],
    notes: &mut Notes,
) -> Option<()> {
    if symmetry == Symmetry::Axisymmetric {
        return Some(());
    }
    let has = |sense: f64| windows.iter().any(|w| w.window.sense == sense);
    let missing = match (has(1.0), has(-1.0)) {
        (true, true) => return Some(()),
        (true, false) => "in",
        _ => "out",
    };
    notes.add(
        Problem::at(table.span(), format!("{} has no window of sense `{missing}`", table.what()))
            .help("add its return side, or mirror = \"0 mm\" in the window for its mirror image"),
    );
    None
}

/// Gives each window its turns. Planar: the windows of each sense hold all turns of the coil.
/// Axisymmetric: all windows together do, and windows of both senses have to state theirs.
fn share_turns(
    table: &Table,
    entry: &Entry,
    turns: f64,
    symmetry: Symmetry,
    stated: &[Stated],
    windows: &mut [Window],
    notes: &mut Notes,
) -> Option<()> {
    let senses = match symmetry {
        Symmetry::Planar => vec![Some(1.0), Some(-1.0)],
        Symmetry::Axisymmetric => vec![None],
    };
    let mixed = stated.iter().any(|w| w.window.sense != stated[0].window.sense);
    if symmetry == Symmetry::Axisymmetric && mixed && stated.iter().any(|w| w.turns.is_none()) {
        let message = format!("{} has windows of both senses", table.what());
        notes.add(Problem::at(table.span(), message).help("give each window its own `turns`"));
        return None;
    }
    for sense in senses {
        let chosen: Vec<usize> = (0..stated.len())
            .filter(|&i| sense.is_none_or(|s| stated[i].window.sense == s))
            .collect();
        let own: f64 = chosen.iter().filter_map(|&i| stated[i].turns).sum();
        let free: f64 = chosen
            .iter()
            .filter(|&&i| stated[i].turns.is_none())
            .map(|&i| area(&stated[i].window.shape))
            .sum();
        let rest = turns - own;
        // Turns are typed in decimals: their sum may miss the total by rounding only.
        let slack = 1e-9 * turns;
        if (free > 0.0 && rest <= slack) || (free == 0.0 && rest.abs() > slack) {
            let of = match sense {
                Some(1.0) => " of sense `out`",
                Some(_) => " of sense `in`",
                None => "",
            };
            notes.add(
                entry
                    .problem(format!("is {turns}, but the windows{of} state {own}"))
                    .help("leave `turns` out of the windows to share them by area"),
            );
            return None;
        }
        for &i in &chosen {
            windows[i].turns = match stated[i].turns {
                Some(own) => own,
                None => rest * area(&stated[i].window.shape) / free,
            };
        }
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::section::model::Corner::{Bevel, Round, Sharp};

    #[test]
    fn a_mirrored_rectangle_swaps_left_and_right() {
        let shape = |corners| Shape::Rectangle { width: 2.0, height: 1.0, corners };
        assert_eq!(
            mirrored(&shape([Sharp, Round(0.1), Bevel(0.2), Round(0.3)])),
            shape([Round(0.1), Sharp, Round(0.3), Bevel(0.2)])
        );
    }
}
