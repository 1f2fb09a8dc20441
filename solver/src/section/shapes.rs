//! Shapes and where they stand: `rectangle`, `circle` or `polygon` with `at`, `anchor`, `turn`.
//!
//! In: the table of a part or of a coil window. Out: a [`Shape`] about its own origin with the
//! place of that origin (m) and its turn (radian).

use crate::point::Point;
use crate::problem::Problem;
use crate::section::entry::Entry;
use crate::section::extent::{Extent, area, bends, extent};
use crate::section::lengths::millimetres;
use crate::section::model::{Corner, PolygonSide, Shape};
use crate::section::notes::Notes;
use crate::section::reader::{Table, any_of};

/// The keys that say a shape.
pub(super) const SHAPES: [&str; 3] = ["rectangle", "circle", "polygon"];
/// Most corners of a polygon.
const MOST_CORNERS: usize = 1_000;
const RECTANGLE_KEYS: [&str; 10] = [
    "width",
    "height",
    "x",
    "y",
    "round",
    "round_top",
    "round_bottom",
    "bevel",
    "bevel_top",
    "bevel_bottom",
];
const RECTANGLE: &str = "{ width = \"4.8 mm\", height = \"17 mm\" }";
const POLYGON: &str = "[[\"0 mm\", \"0 mm\"], [\"5 mm\", \"0 mm\"], [\"0 mm\", \"3 mm\"]]";
const AT: &str = "[\"0 mm\", \"0 mm\"]";

/// A shape that stands somewhere.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub shape: Shape,
    /// Place of the shape's origin, m.
    pub at: Point,
    /// Turn about the origin, radian.
    pub rotation: f64,
}

impl Placed {
    /// The box around it, m.
    pub(super) fn extent(&self) -> Extent {
        extent(&self.shape, self.at, self.rotation)
    }
}

/// Which point of the box around a shape stands at `at`; `None` is the shape's own origin.
type Anchor = Option<(f64, f64)>;

const ANCHORS: [(&str, Anchor); 10] = [
    ("centre", Some((0.5, 0.5))),
    ("top", Some((0.5, 1.0))),
    ("bottom", Some((0.5, 0.0))),
    ("left", Some((0.0, 0.5))),
    ("right", Some((1.0, 0.5))),
    ("top left", Some((0.0, 1.0))),
    ("top right", Some((1.0, 1.0))),
    ("bottom left", Some((0.0, 0.0))),
    ("bottom right", Some((1.0, 0.0))),
    ("origin", None),
];

/// Reads the one shape of `table` and its place.
pub(super) fn read(table: &Table, notes: &mut Notes) -> Option<Placed> {
    let given = table.present(&SHAPES);
    let rotation = table.get("turn").map(|e| e.angle(notes));
    let anchor = table.get("anchor").map(|e| e.choice(&ANCHORS, notes));
    let at = table.get("at").map(|e| e.place(notes));
    let shape = match given.as_slice() {
        [] => {
            notes.add_missing(
                Problem::at(table.span(), format!("{} has no shape", table.what()))
                    .help(format!("add e.g. rectangle = {RECTANGLE}; or a circle or a polygon")),
            );
            return None;
        }
        [first, others @ ..] => {
            for other in others {
                let message = format!("{} has a second shape, `{}`", table.what(), other.key());
                let help = format!("keep one of {}", any_of(&SHAPES));
                notes.add(Problem::at(other.key_span(), message).help(help));
                shape_of(other, notes);
            }
            first
        }
    };
    let drawn_in_place = shape.key() == "polygon";
    let (shape, stands) = shape_of(shape, notes)?;
    if given.len() > 1 {
        return None;
    }
    let rotation = rotation.unwrap_or(Some(0.0))?;
    if let Some(centre) = stands {
        let reason = "is not needed: `x` and `y` of the rectangle say where it stands";
        table.refuse(&["at", "anchor"], reason, notes);
        return Some(Placed { shape, at: centre, rotation });
    }
    if at.is_none() && !drawn_in_place {
        table.require("at", AT, notes);
        return None;
    }
    let at = at.unwrap_or(Some(Point::default()))?;
    let anchor = anchor.unwrap_or(Some(None))?;
    let origin = match anchor {
        None => at,
        Some((across, up)) => {
            let e = extent(&shape, Point::default(), rotation);
            let x = e.left + across * (e.right - e.left);
            let y = e.bottom + up * (e.top - e.bottom);
            at - Point::new(x, y)
        }
    };
    Some(Placed { shape, at: origin, rotation })
}

/// A shape, and where its origin stands if it says so itself.
fn shape_of(entry: &Entry, notes: &mut Notes) -> Option<(Shape, Option<Point>)> {
    match entry.key() {
        "rectangle" => rectangle(entry, notes),
        "circle" => Some((circle(entry, notes)?, None)),
        _ => Some((polygon(entry, notes)?, None)),
    }
}

/// A rectangle, and its centre where it says so itself.
fn rectangle(entry: &Entry, notes: &mut Notes) -> Option<(Shape, Option<Point>)> {
    let table = entry.table("the rectangle", &RECTANGLE_KEYS, RECTANGLE, notes)?;
    let cuts = Cuts::read(&table, notes);
    let by_stretch = !table.present(&["x", "y"]).is_empty();
    let (width, height, centre) = if by_stretch {
        let reason = "does not go with `x` and `y`, which say from where to where it reaches";
        table.refuse(&["width", "height"], reason, notes);
        let x = table.require("x", "[\"3 mm\", \"7 mm\"]", notes).and_then(|e| e.stretch(notes));
        let y = table.require("y", "[\"-13 mm\", \"-2 mm\"]", notes).and_then(|e| e.stretch(notes));
        let ((left, right), (bottom, top)) = (x?, y?);
        let centre = Point::new(0.5 * (left + right), 0.5 * (bottom + top));
        (right - left, top - bottom, Some(centre))
    } else {
        let width = table.require("width", "\"4.8 mm\"", notes).and_then(|e| e.size(notes));
        let height = table.require("height", "\"17 mm\"", notes).and_then(|e| e.size(notes));
        (width?, height?, None)
    };
    let corners = cuts?.fitted(width, height, notes)?;
    Some((Shape::Rectangle { width, height, corners }, centre))
}

/// How the lower and the upper corners are cut, with the key that says so.
struct Cuts<'a> {
    bottom: Option<(Entry<'a>, Corner)>,
    top: Option<(Entry<'a>, Corner)>,
}

impl<'a> Cuts<'a> {
    fn read(table: &Table<'a>, notes: &mut Notes) -> Option<Self> {
        let all = Self::one(table, ["round", "bevel"], notes)?;
        let top = Self::one(table, ["round_top", "bevel_top"], notes)?;
        let bottom = Self::one(table, ["round_bottom", "bevel_bottom"], notes)?;
        Some(Self { bottom: bottom.or_else(|| all.clone()), top: top.or(all) })
    }

    /// At most one of a rounding and a bevel; the outer `None` means a problem.
    #[expect(clippy::option_option, reason = "unread and not given are different")]
    fn one(
        table: &Table<'a>,
        keys: [&'static str; 2],
        notes: &mut Notes,
    ) -> Option<Option<(Entry<'a>, Corner)>> {
        let [round, bevel] = keys.map(|key| table.get(key));
        match (round, bevel) {
            (Some(_), Some(bevel)) => {
                let [a, b] = keys;
                let message = format!("the rectangle has both `{a}` and `{b}`");
                notes.add(Problem::at(bevel.key_span(), message).help("keep one of them"));
                None
            }
            (Some(entry), None) => {
                let radius = entry.size(notes)?;
                Some(Some((entry, Corner::Round(radius))))
            }
            (None, Some(entry)) => {
                let cut = entry.size(notes)?;
                Some(Some((entry, Corner::Bevel(cut))))
            }
            (None, None) => Some(None),
        }
    }

    /// Bottom left, bottom right, top right, top left, if the sides are long enough for the cuts.
    fn fitted(&self, width: f64, height: f64, notes: &mut Notes) -> Option<[Corner; 4]> {
        let cut = |side: &Option<(Entry, Corner)>| match side {
            Some((_, Corner::Round(c) | Corner::Bevel(c))) => *c,
            _ => 0.0,
        };
        let (below, above) = (cut(&self.bottom), cut(&self.top));
        // A cut of exactly half a side, converted from inches, may pass it by a rounding.
        let slack = 1.0 + 1e-12;
        for (side, size) in [(&self.top, above), (&self.bottom, below)] {
            let Some((entry, _)) = side else { continue };
            let too_wide = 2.0 * size > width * slack;
            if too_wide || below + above > height * slack {
                let (name, length) = if too_wide { ("width", width) } else { ("height", height) };
                let message = format!(
                    "of {} does not fit the {name} of {}",
                    millimetres(size),
                    millimetres(length)
                );
                notes.add(entry.problem(message).help(format!(
                    "two corners share a side: together they take at most the whole {name}"
                )));
                return None;
            }
        }
        let corner = |side: &Option<(Entry, Corner)>| side.as_ref().map_or(Corner::Sharp, |c| c.1);
        let (low, high) = (corner(&self.bottom), corner(&self.top));
        Some([low, low, high, high])
    }
}

fn circle(entry: &Entry, notes: &mut Notes) -> Option<Shape> {
    let table = entry.table("the circle", &["diameter"], "{ diameter = \"5 mm\" }", notes)?;
    let diameter = table.require("diameter", "\"5 mm\"", notes)?.size(notes)?;
    Some(Shape::Circle { radius: 0.5 * diameter })
}

/// A list of corners; `{ through = [x, y] }` between two of them makes that side an arc.
fn polygon(entry: &Entry, notes: &mut Notes) -> Option<Shape> {
    let items = entry.list(2 * MOST_CORNERS, POLYGON, notes)?;
    let mut corners: Vec<(Point, Entry)> = Vec::new();
    let mut sides: Vec<(PolygonSide, Entry)> = Vec::new();
    let mut sound = true;
    for item in items {
        if !item.is_table() {
            match item.place(notes) {
                Some(place) => {
                    corners.push((place, item.clone()));
                    sides.push((PolygonSide::Straight, item));
                }
                None => sound = false,
            }
            continue;
        }
        let example = "{ through = [\"0 mm\", \"1 mm\"] }";
        let through = item
            .table("the arc", &["through"], example, notes)
            .and_then(|arc| arc.require("through", "[\"0 mm\", \"1 mm\"]", notes))
            .and_then(|e| e.place(notes));
        let Some(through) = through else {
            sound = false;
            continue;
        };
        match sides.last_mut() {
            Some(side) if matches!(side.0, PolygonSide::Straight) => {
                *side = (PolygonSide::ArcThrough(through), item);
            }
            _ => {
                sound = false;
                let message = "has an arc that does not follow a corner";
                notes.add(item.problem(message).help("one { through = ... } between two corners"));
            }
        }
    }
    if !sound {
        return None;
    }
    let count = corners.len();
    let arcs = sides.iter().filter(|s| !matches!(s.0, PolygonSide::Straight)).count();
    if count > MOST_CORNERS {
        notes.add(
            entry
                .problem(format!("has {count} corners"))
                .help(format!("at most {MOST_CORNERS} are taken")),
        );
        return None;
    }
    if count < 2 || (count == 2 && arcs == 0) {
        let message = format!("has {count} {}", if count == 1 { "corner" } else { "corners" });
        notes.add(entry.problem(message).help("three corners or more, or two and an arc"));
        return None;
    }
    for i in 0..count {
        let (from, to) = (corners[i].0, corners[(i + 1) % count].0);
        if from == to {
            sound = false;
            let message = "has the same corner twice in a row";
            notes.add(
                corners[(i + 1) % count]
                    .1
                    .problem(message)
                    .help("leave one out; the last corner joins the first by itself"),
            );
        } else if let (PolygonSide::ArcThrough(middle), item) = &sides[i]
            && !bends(from, *middle, to)
        {
            sound = false;
            notes.add(
                item.problem("has an arc whose three points lie on one line")
                    .help("leave the arc out for a straight side"),
            );
        }
    }
    if !sound {
        return None;
    }
    let shape = Shape::Polygon {
        corners: corners.into_iter().map(|c| c.0).collect(),
        sides: sides.into_iter().map(|s| s.0).collect(),
    };
    // The smallest area that a shape of permitted size has: 1 um x 1 um.
    if area(&shape) < 1e-12 {
        notes.add(entry.problem("encloses no area").help("list the corners in order around it"));
        return None;
    }
    Some(shape)
}
