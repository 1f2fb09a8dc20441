//! Instrument files: text to [`Instrument`], with every mistake in it.
//!
//! In: a scale, frets, how high the strings are set, where the pickup is, and the strings with their
//! gauges and pitches. Out: the same in metres and Hz, with the pickup's place along each string
//! worked out: a slanted pickup stands nearer to the bridge under the last string, by
//! (i - (n - 1)/2) spacing tan(slant) under string i of n.
#![doc = include_str!("INSTRUMENT.md")]

use std::ops::Range;

use toml::de::DeTable;

use crate::problem::Problem;
use crate::section::entry::Entry;
use crate::section::lengths::{brief, millimetres};
use crate::section::names::Names;
use crate::section::notes::Notes;
use crate::section::pitch::pitch;
use crate::section::reader::Table;
use crate::section::syntax;

/// Longest file, bytes.
const LONGEST: usize = 100_000;
/// Most strings.
const MOST_STRINGS: usize = 100;
/// Most frets.
const MOST_FRETS: usize = 60;
/// Longest scale, m.
const LONGEST_SCALE: f64 = 3.0;
/// Thickest string, m.
const THICKEST: f64 = 0.02;
/// Frets where the file says nothing.
const FRETS: u32 = 22;
/// Concert pitch where the file says nothing, Hz (ISO 16).
const CONCERT: f64 = 440.0;
/// Densities that a string may have, kg/m3.
const DENSITIES: std::ops::RangeInclusive<f64> = 500.0..=25_000.0;

const KEYS: [&str; 9] = [
    "format",
    "title",
    "scale",
    "frets",
    "action",
    "nut_height",
    "concert_pitch_Hz",
    "pickup",
    "string",
];
const PICKUP_KEYS: [&str; 3] = ["from_bridge", "slant", "spacing"];
const STRING_KEYS: [&str; 7] = [
    "name",
    "pitch",
    "gauge",
    "core_diameter",
    "core_density_kg_per_m3",
    "wrap_density_kg_per_m3",
    "from_bridge",
];

/// What carries the strings over the pickup.
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    /// What the file calls itself.
    pub title: String,
    /// Scale length, m.
    pub scale: f64,
    /// Number of frets.
    pub frets: u32,
    /// Underside of the open string over the twelfth fret, m.
    pub action: f64,
    /// Underside of the string over the line of the fret tops at the nut, m.
    pub nut_height: f64,
    /// Its strings.
    pub strings: Vec<InstrumentString>,
}

/// A string of an instrument.
#[derive(Clone, Debug, PartialEq)]
pub struct InstrumentString {
    /// Its name, by which a section's string is found.
    pub name: String,
    /// Place in the file.
    pub span: Range<usize>,
    /// Pitch of the open string, Hz.
    pub pitch: f64,
    /// Outer diameter, m.
    pub gauge: f64,
    /// Width of the core across its flats, m, of a wound string.
    pub core_diameter: Option<f64>,
    /// Density of the core, kg/m3, where given.
    pub core_density: Option<f64>,
    /// Density of the wrap, kg/m3, where given.
    pub wrap_density: Option<f64>,
    /// Distance of the pickup's middle from the bridge along this string, m.
    pub from_bridge: f64,
}

/// What could be understood of an instrument file, and what could not.
#[derive(Clone, Debug)]
pub struct ParsedInstrument {
    /// Everything that could be understood; complete when there are no problems.
    pub instrument: Instrument,
    /// Every mistake found, in no particular order.
    pub problems: Vec<Problem>,
}

/// Reads an instrument file. Never fails: mistakes are listed in [`ParsedInstrument::problems`].
pub fn parse_instrument(text: &str) -> ParsedInstrument {
    let mut instrument = Instrument {
        title: String::new(),
        scale: 0.0,
        frets: FRETS,
        action: 0.0,
        nut_height: 0.0,
        strings: Vec::new(),
    };
    if text.len() > LONGEST {
        let message = format!("the file has {} bytes; at most {LONGEST} are read", text.len());
        return ParsedInstrument { instrument, problems: vec![Problem::general(message)] };
    }
    let (tree, faults) = DeTable::parse_recoverable(text);
    let mut notes = Notes::new(text, !faults.is_empty());
    let table = Table::new("the file", 0..0, tree.get_ref(), &KEYS, &mut notes);
    read(&table, &mut instrument, &mut notes);
    let mut problems: Vec<Problem> = faults.iter().map(syntax::problem).collect();
    problems.extend(syntax::sound(notes.problems, &faults));
    ParsedInstrument { instrument, problems }
}

fn read(table: &Table, instrument: &mut Instrument, notes: &mut Notes) {
    if let Some(entry) = table.require("format", "1", notes)
        && let Some(number) = entry.number(notes)
        && number != 1.0
    {
        let message = format!("is {number}, which is not known here");
        notes.add(entry.problem(message).help("this version reads format = 1"));
    }
    if let Some(title) = table.get("title").and_then(|e| e.line(200, "\"six strings\"", notes)) {
        instrument.title = title.to_owned();
    }
    let scale = table
        .require("scale", "\"25.5 in\"", notes)
        .and_then(|e| e.size_up_to(LONGEST_SCALE, notes));
    if let Some(frets) = table.get("frets").and_then(|e| e.whole(0..=MOST_FRETS, notes)) {
        instrument.frets = frets as u32;
    }
    let action = table.require("action", "\"1.8 mm\"", notes).and_then(|e| e.size(notes));
    let nut_height = table.require("nut_height", "\"0.5 mm\"", notes).and_then(|e| e.size(notes));
    let concert = match table.get("concert_pitch_Hz") {
        Some(entry) => entry.number_in(200.0..=900.0, " Hz", notes).unwrap_or(CONCERT),
        None => CONCERT,
    };
    if let (Some(action), Some(nut_height)) = (action, nut_height)
        && 2.0 * action <= nut_height
        && let Some(entry) = table.get("action")
    {
        let message = format!(
            "is {}, not more than half the height at the nut of {}: the strings would meet the \
             frets before the bridge",
            millimetres(action),
            millimetres(nut_height)
        );
        notes.add(entry.problem(message).help("`action` is the height over the twelfth fret"));
    }
    instrument.scale = scale.unwrap_or(0.0);
    instrument.action = action.unwrap_or(0.0);
    instrument.nut_height = nut_height.unwrap_or(0.0);
    let pickup = table
        .require("pickup", "{ from_bridge = \"160 mm\" }", notes)
        .and_then(|entry| Pickup::read(&entry, scale, notes));
    let mut names = Names::default();
    let tables = table
        .require("string", "[{ name = \"E2\", ... }]", notes)
        .map_or_else(Vec::new, |entry| entry.tables("a string", &STRING_KEYS, MOST_STRINGS, notes));
    let count = tables.len();
    for (i, table) in tables.into_iter().enumerate() {
        let place = pickup.as_ref().map(|p| p.under(i, count));
        let string = one(table, concert, scale, place, &mut names, notes);
        instrument.strings.extend(string);
    }
}

/// Where the pickup is.
struct Pickup<'a> {
    entry: Entry<'a>,
    from_bridge: f64,
    /// How much nearer to the bridge the pickup is from one string to the next, m.
    step: f64,
}

impl<'a> Pickup<'a> {
    fn read(entry: &Entry<'a>, scale: Option<f64>, notes: &mut Notes) -> Option<Self> {
        let example = "{ from_bridge = \"160 mm\" }";
        let table = entry.table("`pickup`", &PICKUP_KEYS, example, notes)?;
        let from_bridge = table.require("from_bridge", "\"160 mm\"", notes);
        let from_bridge = from_bridge.and_then(|e| place(&e, scale, notes));
        let slant = table.get("slant").map(|e| (e.angle(notes), e));
        let spacing = table.get("spacing").map(|e| e.size(notes));
        let step = match (slant, spacing) {
            (None, _) => 0.0,
            (Some((_, entry)), None) => {
                let message = "`pickup` has a `slant` but no `spacing` of its strings";
                notes.add_missing(
                    Problem::at(entry.key_span(), message).help("add e.g. spacing = \"10.5 mm\""),
                );
                return None;
            }
            (Some((slant, entry)), Some(spacing)) => {
                let slant = slant?;
                if slant.abs() > 80.0_f64.to_radians() {
                    notes.add(entry.problem("is more than 80 degrees from straight across"));
                    return None;
                }
                spacing? * slant.tan()
            }
        };
        Some(Self { entry: entry.clone(), from_bridge: from_bridge?, step })
    }

    /// Its place under string `i` of `count`, m from the bridge.
    fn under(&self, i: usize, count: usize) -> (f64, Entry<'a>) {
        let from_middle = i as f64 - 0.5 * (count as f64 - 1.0);
        (self.from_bridge - from_middle * self.step, self.entry.clone())
    }
}

/// A place between bridge and nut, m.
fn place(entry: &Entry, scale: Option<f64>, notes: &mut Notes) -> Option<f64> {
    let place = entry.size_up_to(LONGEST_SCALE, notes)?;
    if let Some(scale) = scale
        && place >= scale
    {
        let message = format!("is {}, beyond the nut", millimetres(place));
        let help = format!("the scale is {} long", millimetres(scale));
        notes.add(entry.problem(message).help(help));
        return None;
    }
    Some(place)
}

fn one(
    mut table: Table,
    concert: f64,
    scale: Option<f64>,
    pickup: Option<(f64, Entry)>,
    names: &mut Names,
    notes: &mut Notes,
) -> Option<InstrumentString> {
    let name = names.read("string", "\"E4\"", &mut table, notes);
    let pitch =
        table.require("pitch", "\"E4\"", notes).and_then(|e| read_pitch(&e, concert, notes));
    let gauge =
        table.require("gauge", "\"0.010 in\"", notes).and_then(|e| e.size_up_to(THICKEST, notes));
    let core = table.get("core_diameter").map(|e| (e.size_up_to(THICKEST, notes), e));
    let mut density = |key| {
        let entry = table.get(key)?;
        entry.number_in(DENSITIES, " kg/m3", notes)
    };
    let core_density = density("core_density_kg_per_m3");
    let wrap_density = density("wrap_density_kg_per_m3");
    let core_diameter = match (core, gauge) {
        (None, _) => None,
        (Some((core, entry)), gauge) => {
            let core = core?;
            if gauge.is_some_and(|gauge| core >= gauge) {
                let message = format!("is {}, no less than the gauge", millimetres(core));
                notes.add(entry.problem(message).help("a plain string has no `core_diameter`"));
                return None;
            }
            Some(core)
        }
    };
    let from_bridge = match table.get("from_bridge") {
        Some(entry) => place(&entry, scale, notes),
        None => pickup.and_then(|(place, entry)| {
            let on_string = scale.is_none_or(|scale| place > 0.0 && place < scale);
            if !on_string {
                let what = table.what();
                let message = format!("does not pass under {what} between bridge and nut");
                notes.add(entry.problem(message).help("check slant and spacing"));
            }
            on_string.then_some(place)
        }),
    };
    Some(InstrumentString {
        name: name?,
        span: table.span(),
        pitch: pitch?,
        gauge: gauge?,
        core_diameter,
        core_density,
        wrap_density,
        from_bridge: from_bridge?,
    })
}

/// A note, or a frequency in Hz.
fn read_pitch(entry: &Entry, concert: f64, notes: &mut Notes) -> Option<f64> {
    if !entry.is_text() {
        return entry.number_in(10.0..=5_000.0, " Hz", notes);
    }
    let text = entry.text("\"E4\"", notes)?;
    let found = pitch(text, concert);
    if found.is_none() {
        notes.add(
            entry
                .problem(format!("is no pitch of a string: \"{}\"", brief(text)))
                .help("write a note with its octave, e.g. \"E4\", \"F#3\" or \"Bb2\", or Hz"),
        );
    }
    found
}
