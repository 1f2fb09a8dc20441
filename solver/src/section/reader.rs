//! Typed reading of the parsed text: tables, lists, numbers, words, lengths and places.
//!
//! In: the tree the TOML parser makes, with the place of every key and value. Out: plain values,
//! or `None` with a [`Problem`] noted. Nothing stops at the first mistake: each reader notes what
//! is wrong and goes on, so that one run finds them all.

use std::ops::{Range, RangeInclusive};

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::point::Point;
use crate::problem::{Problem, line_and_column};
use crate::section::lengths::{self, Misread, brief};
use crate::section::suggest::nearest;

/// Sizes that make sense in a pickup, m.
const SIZES: RangeInclusive<f64> = 1e-6..=1.0;
/// Farthest place from the origin, m.
const FARTHEST: f64 = 1.0;
/// More problems than this are not noted: nobody reads them, and they cost memory.
const MOST_PROBLEMS: usize = 2_000;
/// Searches for a near name are worth their time only for the first mistakes.
const MOST_SUGGESTIONS: usize = 200;

/// The problems found so far.
pub(super) struct Notes<'a> {
    /// In the order in which they were found.
    pub problems: Vec<Problem>,
    text: &'a str,
    broken_syntax: bool,
    suggestions: usize,
}

impl<'a> Notes<'a> {
    /// An empty list for `text`. Where its syntax is broken, what is missing is not noted: it may
    /// stand in the part that could not be read.
    pub(super) fn new(text: &'a str, broken_syntax: bool) -> Self {
        Self { problems: Vec::new(), text, broken_syntax, suggestions: 0 }
    }

    /// Notes a problem.
    pub(super) fn add(&mut self, problem: Problem) {
        if self.problems.len() < MOST_PROBLEMS {
            self.problems.push(problem);
        }
    }

    /// Notes that something is not there.
    pub(super) fn add_missing(&mut self, problem: Problem) {
        if !self.broken_syntax {
            self.add(problem);
        }
    }

    /// "did you mean `x`?", or `otherwise` where nothing is near.
    pub(super) fn did_you_mean<'c>(
        &mut self,
        typed: &str,
        candidates: impl IntoIterator<Item = &'c str>,
        otherwise: &str,
    ) -> String {
        self.suggestions += 1;
        if self.suggestions > MOST_SUGGESTIONS {
            return otherwise.to_owned();
        }
        match nearest(typed, candidates) {
            Some(near) => format!("did you mean `{near}`?"),
            None => otherwise.to_owned(),
        }
    }

    /// Number of the line on which `span` starts, from 1.
    pub(super) fn line(&self, span: &Range<usize>) -> usize {
        line_and_column(self.text, span.start).0
    }
}

/// A table of the file whose keys have been checked against those it may have.
pub(super) struct Table<'a> {
    what: String,
    span: Range<usize>,
    entries: &'a DeTable<'a>,
}

impl<'a> Table<'a> {
    /// The table, called `what` in messages. Keys that are not in `known` are noted.
    pub(super) fn new(
        what: impl Into<String>,
        span: Range<usize>,
        entries: &'a DeTable<'a>,
        known: &[&str],
        notes: &mut Notes,
    ) -> Self {
        let what = what.into();
        for key in entries.keys() {
            let name = key.get_ref().as_ref();
            if !known.contains(&name) {
                let help = notes.did_you_mean(
                    name,
                    known.iter().copied(),
                    &format!("it takes {}", any_of(known)),
                );
                let message = format!("unknown key `{}` in {what}", brief(name));
                notes.add(Problem::at(key.span(), message).help(help));
            }
        }
        Self { what, span, entries }
    }

    /// Where the table stands: its header, or the value of `name` where it has one.
    pub(super) fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// What messages call it.
    pub(super) fn what(&self) -> &str {
        &self.what
    }

    /// Gives the table the name by which messages call it, and the place to point at.
    pub(super) fn rename(&mut self, what: String, span: Range<usize>) {
        self.what = what;
        self.span = span;
    }

    /// The value of a key, where it is there.
    pub(super) fn get(&self, key: &'static str) -> Option<Entry<'a>> {
        self.entries.get_key_value(key).map(|(key_at, value)| Entry {
            key,
            key_span: key_at.span(),
            value,
        })
    }

    /// The value of a key that has to be there; `example` shows how it is written.
    pub(super) fn require(
        &self,
        key: &'static str,
        example: &str,
        notes: &mut Notes,
    ) -> Option<Entry<'a>> {
        let entry = self.get(key);
        if entry.is_none() {
            notes.add_missing(
                Problem::at(self.span(), format!("{} has no `{key}`", self.what))
                    .help(format!("add e.g. {key} = {example}")),
            );
        }
        entry
    }

    /// Those of `keys` that are there.
    pub(super) fn present(&self, keys: &[&'static str]) -> Vec<Entry<'a>> {
        keys.iter().filter_map(|key| self.get(key)).collect()
    }

    /// Notes every one of `keys` that is there though it makes no sense, because `reason`.
    pub(super) fn refuse(&self, keys: &[&'static str], reason: &str, notes: &mut Notes) {
        for entry in self.present(keys) {
            notes.add(Problem::at(entry.key_span(), format!("`{}` {reason}", entry.key)));
        }
    }
}

/// A value, with the key it belongs to.
#[derive(Clone)]
pub(super) struct Entry<'a> {
    key: &'static str,
    key_span: Range<usize>,
    value: &'a Spanned<DeValue<'a>>,
}

impl<'a> Entry<'a> {
    /// The key.
    pub(super) fn key(&self) -> &'static str {
        self.key
    }

    /// Where the key stands.
    pub(super) fn key_span(&self) -> Range<usize> {
        self.key_span.clone()
    }

    /// Where the value stands.
    pub(super) fn span(&self) -> Range<usize> {
        self.value.span()
    }

    /// A problem with this value; `message` follows the key, e.g. "must be more than 0".
    pub(super) fn problem(&self, message: impl AsRef<str>) -> Problem {
        Problem::at(self.span(), format!("`{}` {}", self.key, message.as_ref()))
    }

    fn wrong_type(&self, wanted: &str, example: &str, notes: &mut Notes) {
        let found = match self.value.get_ref() {
            DeValue::String(_) => "text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        notes.add(
            self.problem(format!("must be {wanted}, not {found}"))
                .help(format!("write e.g. {} = {example}", self.key)),
        );
    }

    /// Text, as it stands.
    pub(super) fn text(&self, example: &str, notes: &mut Notes) -> Option<&'a str> {
        let text = self.value.get_ref().as_str();
        if text.is_none() {
            self.wrong_type("text in quotes", example, notes);
        }
        text
    }

    /// A name: text of 1 to 64 printable characters without blanks at its ends.
    pub(super) fn name(&self, example: &str, notes: &mut Notes) -> Option<&'a str> {
        let name = self.text(example, notes)?;
        let fault = if name.trim().is_empty() {
            "is empty"
        } else if name.trim() != name {
            "has blanks at its ends"
        } else if name.chars().count() > 64 {
            "is longer than 64 characters"
        } else if name.chars().any(char::is_control) {
            "holds characters that cannot be printed"
        } else {
            return Some(name);
        };
        notes.add(self.problem(fault).help(format!("write e.g. {} = {example}", self.key)));
        None
    }

    /// One of a list of words.
    pub(super) fn choice<T: Copy>(&self, words: &[(&str, T)], notes: &mut Notes) -> Option<T> {
        let example = format!("\"{}\"", words.first().map_or("", |w| w.0));
        let typed = self.text(&example, notes)?;
        let found = words.iter().find(|(word, _)| *word == typed).map(|w| w.1);
        if found.is_none() {
            let list: Vec<&str> = words.iter().map(|w| w.0).collect();
            let all = any_of(&list);
            let help = notes.did_you_mean(typed, list, &format!("it takes {all}"));
            notes.add(self.problem(format!("cannot be `{}`", brief(typed))).help(help));
        }
        found
    }

    /// A finite number.
    pub(super) fn number(&self, notes: &mut Notes) -> Option<f64> {
        let number = match self.value.get_ref() {
            DeValue::Integer(i) => integer(i.as_str(), i.radix()),
            DeValue::Float(f) => f.as_str().replace('_', "").parse().unwrap_or(f64::NAN),
            _ => {
                self.wrong_type("a number", "1.5", notes);
                return None;
            }
        };
        if !number.is_finite() {
            notes.add(self.problem("must be a finite number").help("write it in plain digits"));
            return None;
        }
        Some(number)
    }

    /// A finite number within `range`; `unit` (may be empty) is said in messages.
    pub(super) fn number_in(
        &self,
        range: RangeInclusive<f64>,
        unit: &str,
        notes: &mut Notes,
    ) -> Option<f64> {
        let number = self.number(notes)?;
        if !range.contains(&number) {
            let (low, high) = (range.start(), range.end());
            notes.add(
                self.problem(format!("must lie between {low} and {high}{unit}, not at {number}")),
            );
            return None;
        }
        Some(number)
    }

    /// A finite number above 0 and not above `most`.
    pub(super) fn positive(&self, most: f64, unit: &str, notes: &mut Notes) -> Option<f64> {
        let number = self.number(notes)?;
        if number <= 0.0 {
            notes.add(self.problem(format!("must be more than 0, not {number}")));
            return None;
        }
        if number > most {
            notes.add(self.problem(format!("is {number}{unit}; more than {most}{unit} is absurd")));
            return None;
        }
        Some(number)
    }

    /// A whole number within `range`.
    pub(super) fn whole(&self, range: RangeInclusive<usize>, notes: &mut Notes) -> Option<usize> {
        let number = self.number(notes)?;
        let (low, high) = (*range.start(), *range.end());
        if number.fract() != 0.0 {
            notes.add(self.problem(format!("must be a whole number, not {number}")));
            return None;
        }
        if number < low as f64 || number > high as f64 {
            notes.add(self.problem(format!("must lie between {low} and {high}, not at {number}")));
            return None;
        }
        Some(number as usize)
    }

    /// A length of any sign, m.
    fn any_length(&self, notes: &mut Notes) -> Option<f64> {
        match self.value.get_ref() {
            DeValue::String(text) => self.understood(lengths::length(text), notes),
            DeValue::Integer(_) | DeValue::Float(_) => match self.number(notes)? {
                0.0 => Some(0.0),
                number => {
                    let help = format!("write it as text with its unit, e.g. \"{number} mm\"");
                    notes.add(self.problem(format!("has no unit: {number}")).help(help));
                    None
                }
            },
            _ => {
                self.wrong_type("a length", "\"4.8 mm\"", notes);
                None
            }
        }
    }

    fn understood(&self, read: Result<f64, Misread>, notes: &mut Notes) -> Option<f64> {
        match read {
            Ok(value) => Some(value),
            Err(Misread { message, help }) => {
                notes.add(self.problem(message).help(help));
                None
            }
        }
    }

    /// A size, m: more than 0, and between 1 micrometre and 1 m.
    pub(super) fn size(&self, notes: &mut Notes) -> Option<f64> {
        self.size_up_to(*SIZES.end(), notes)
    }

    /// A size, m: more than 0, and between 1 micrometre and `most`.
    pub(super) fn size_up_to(&self, most: f64, notes: &mut Notes) -> Option<f64> {
        let size = self.any_length(notes)?;
        self.check_size(size, most, notes)
    }

    fn check_size(&self, size: f64, most: f64, notes: &mut Notes) -> Option<f64> {
        let shown = millimetres(size);
        if size <= 0.0 {
            notes.add(self.problem(format!("must be more than 0, not {shown}")));
            return None;
        }
        if !(*SIZES.start()..=most).contains(&size) {
            notes.add(
                self.problem(format!(
                    "is {shown}; sizes lie between 0.001 mm and {}",
                    millimetres(most)
                ))
                .help("check the unit"),
            );
            return None;
        }
        Some(size)
    }

    /// A distance of any sign, m, not more than 1 m.
    pub(super) fn distance(&self, notes: &mut Notes) -> Option<f64> {
        let distance = self.any_length(notes)?;
        if distance.abs() > FARTHEST {
            notes.add(
                self.problem(format!("is {}; places lie within 1 m", millimetres(distance)))
                    .help("check the unit"),
            );
            return None;
        }
        Some(distance)
    }

    /// Bare diameter of a wire, m, from a gauge number or a diameter.
    pub(super) fn wire(&self, notes: &mut Notes) -> Option<f64> {
        let DeValue::String(text) = self.value.get_ref() else {
            self.wrong_type("a wire gauge or a bare diameter", "\"42 awg\"", notes);
            return None;
        };
        let diameter = self.understood(lengths::wire(text), notes)?;
        self.check_size(diameter, 0.01, notes)
    }

    /// An angle, radian, from degrees; within ten turns.
    pub(super) fn angle(&self, notes: &mut Notes) -> Option<f64> {
        let angle = match self.value.get_ref() {
            DeValue::String(text) => self.understood(lengths::angle(text), notes)?,
            DeValue::Integer(_) | DeValue::Float(_) => self.number(notes)?.to_radians(),
            _ => {
                self.wrong_type("an angle in degrees", "90", notes);
                return None;
            }
        };
        if angle.abs() > 3600_f64.to_radians() {
            notes.add(self.problem("is more than ten turns"));
            return None;
        }
        Some(angle)
    }

    /// Whether the value is text.
    pub(super) fn is_text(&self) -> bool {
        self.value.get_ref().is_str()
    }

    /// Whether the value is a table.
    pub(super) fn is_table(&self) -> bool {
        self.value.get_ref().is_table()
    }

    /// The entries of a list of at most `most`.
    pub(super) fn list(
        &self,
        most: usize,
        example: &str,
        notes: &mut Notes,
    ) -> Option<Vec<Entry<'a>>> {
        let DeValue::Array(items) = self.value.get_ref() else {
            self.wrong_type("a list", example, notes);
            return None;
        };
        if items.len() > most {
            notes.add(
                self.problem(format!("has {} entries; at most {most} are taken", items.len())),
            );
            return None;
        }
        let entry = |value| Entry { key: self.key, key_span: self.key_span(), value };
        Some(items.iter().map(entry).collect())
    }

    /// A pair of distances, m: x and y, or from and to.
    fn pair(&self, example: &str, notes: &mut Notes) -> Option<(f64, f64)> {
        let items = self.list(usize::MAX, example, notes)?;
        if items.len() != 2 {
            notes.add(
                self.problem(format!("needs two lengths, not {}", items.len()))
                    .help(format!("write e.g. {} = {example}", self.key)),
            );
            return None;
        }
        let first = items[0].distance(notes);
        let second = items[1].distance(notes);
        Some((first?, second?))
    }

    /// A place, m.
    pub(super) fn place(&self, notes: &mut Notes) -> Option<Point> {
        let (x, y) = self.pair("[\"0 mm\", \"2.5 mm\"]", notes)?;
        Some(Point::new(x, y))
    }

    /// A stretch from a smaller to a larger coordinate, m.
    pub(super) fn stretch(&self, notes: &mut Notes) -> Option<(f64, f64)> {
        let (from, to) = self.pair("[\"3 mm\", \"7 mm\"]", notes)?;
        if to <= from {
            notes.add(
                self.problem(format!("runs from {} to {}", millimetres(from), millimetres(to)))
                    .help("write the smaller one first"),
            );
            return None;
        }
        self.check_size(to - from, *SIZES.end(), notes)?;
        Some((from, to))
    }

    /// A table with `known` keys, called `what` in messages.
    pub(super) fn table(
        &self,
        what: impl Into<String>,
        known: &[&str],
        example: &str,
        notes: &mut Notes,
    ) -> Option<Table<'a>> {
        let DeValue::Table(entries) = self.value.get_ref() else {
            self.wrong_type("a table", example, notes);
            return None;
        };
        Some(Table::new(what, self.span(), entries, known, notes))
    }

    /// The tables of an array of tables, or a single one.
    pub(super) fn tables(
        &self,
        what: &str,
        known: &[&str],
        most: usize,
        notes: &mut Notes,
    ) -> Vec<Table<'a>> {
        let header = format!("[[{}]]", self.key);
        let entries = if self.is_table() {
            vec![self.clone()]
        } else {
            match self.value.get_ref() {
                DeValue::Array(_) => self.list(most, "", notes).unwrap_or_default(),
                _ => {
                    notes.add(
                        self.problem("must be a table")
                            .help(format!("start each one with {header} on a line of its own")),
                    );
                    Vec::new()
                }
            }
        };
        entries
            .iter()
            .filter_map(|entry| match entry.value.get_ref() {
                DeValue::Table(table) => Some(Table::new(what, entry.span(), table, known, notes)),
                _ => {
                    notes.add(
                        entry
                            .problem("must hold tables only")
                            .help(format!("start each one with {header} on a line of its own")),
                    );
                    None
                }
            })
            .collect()
    }
}

/// An integer as a number; NaN where it is out of every range.
fn integer(digits: &str, radix: u32) -> f64 {
    i64::from_str_radix(&digits.replace('_', ""), radix).map_or(f64::NAN, |i| i as f64)
}

/// A length for messages: up to six digits, in mm.
pub(super) fn millimetres(length: f64) -> String {
    let mm = length * 1e3;
    if mm != 0.0 && !(1e-6..1e7).contains(&mm.abs()) {
        return format!("{mm:e} mm");
    }
    let digits = if mm == 0.0 { 0 } else { (5 - mm.abs().log10().floor() as i32).clamp(0, 9) };
    let mut shown = format!("{mm:.*}", digits as usize);
    if shown.contains('.') {
        shown.truncate(shown.trim_end_matches('0').trim_end_matches('.').len());
    }
    if shown == "-0" {
        shown = "0".to_owned();
    }
    shown + " mm"
}

/// "`a`, `b` or `c`".
pub(super) fn any_of(words: &[&str]) -> String {
    let quoted: Vec<String> = words.iter().map(|w| format!("`{w}`")).collect();
    match quoted.split_last() {
        None => String::new(),
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}
