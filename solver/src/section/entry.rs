//! Values of the file read by type: numbers, words, lengths, places, lists and tables.
//!
//! In: a value with its place. Out: a plain value in SI, or `None` with a problem noted that says
//! how it is written.

use std::ops::{Range, RangeInclusive};

use toml::Spanned;
use toml::de::DeValue;

use crate::point::Point;
use crate::problem::Problem;
use crate::section::lengths::{self, Misread, brief, millimetres};
use crate::section::notes::Notes;
use crate::section::reader::{Table, any_of};

/// Sizes that make sense in a pickup, m.
const SIZES: RangeInclusive<f64> = 1e-6..=1.0;
/// Farthest place from the origin, m.
const FARTHEST: f64 = 1.0;
/// A value, with the key it belongs to.
#[derive(Clone)]
pub(super) struct Entry<'a> {
    key: &'static str,
    key_span: Range<usize>,
    value: &'a Spanned<DeValue<'a>>,
    /// Whether it is one of a list of values.
    in_list: bool,
}

impl<'a> Entry<'a> {
    /// The value of `key`, which stands at `key_span`.
    pub(super) fn new(
        key: &'static str,
        key_span: Range<usize>,
        value: &'a Spanned<DeValue<'a>>,
    ) -> Self {
        Self { key, key_span, value, in_list: false }
    }

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

    /// How to write it.
    fn for_example(&self, example: &str) -> String {
        if self.in_list {
            format!("write e.g. {example}")
        } else {
            format!("write e.g. {} = {example}", self.key)
        }
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
            self.problem(format!("must be {wanted}, not {found}")).help(self.for_example(example)),
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
        self.line(64, example, notes)
    }

    /// One line of 1 to `most` printable characters without blanks at its ends.
    pub(super) fn line(&self, most: usize, example: &str, notes: &mut Notes) -> Option<&'a str> {
        let name = self.text(example, notes)?;
        let fault = if name.trim().is_empty() {
            "is empty".to_owned()
        } else if name.trim() != name {
            "has blanks at its ends".to_owned()
        } else if name.chars().count() > most {
            format!("is longer than {most} characters")
        } else if name.chars().any(char::is_control) {
            "holds characters that cannot be printed".to_owned()
        } else {
            return Some(name);
        };
        notes.add(self.problem(fault).help(self.for_example(example)));
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
                self.problem(format!("is {number}{unit}"))
                    .help(format!("it must lie between {low} and {high}{unit}")),
            );
            return None;
        }
        Some(number)
    }

    /// A finite number above 0 and not above `most`.
    pub(super) fn positive(&self, most: f64, unit: &str, notes: &mut Notes) -> Option<f64> {
        let number = self.number(notes)?;
        if number <= 0.0 {
            notes.add(
                self.problem(format!("must be more than 0, not {number}"))
                    .help("write a number above 0"),
            );
            return None;
        }
        if number > most {
            notes.add(
                self.problem(format!("is {number}{unit}"))
                    .help(format!("at most {most}{unit} are taken; check the unit")),
            );
            return None;
        }
        Some(number)
    }

    /// A whole number within `range`.
    pub(super) fn whole(&self, range: RangeInclusive<usize>, notes: &mut Notes) -> Option<usize> {
        let number = self.number(notes)?;
        let (low, high) = (*range.start(), *range.end());
        if number.fract() != 0.0 {
            notes.add(
                self.problem(format!("must be a whole number, not {number}"))
                    .help("write it without a fraction"),
            );
            return None;
        }
        if number < low as f64 || number > high as f64 {
            notes.add(
                self.problem(format!("is {number}"))
                    .help(format!("it must lie between {low} and {high}")),
            );
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
            notes.add(
                self.problem(format!("must be more than 0, not {shown}"))
                    .help("write a length above 0"),
            );
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
            notes
                .add(self.problem("is more than ten turns").help("angles are in degrees, e.g. 90"));
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
                self.problem(format!("has {} entries", items.len()))
                    .help(format!("at most {most} are taken")),
            );
            return None;
        }
        let entry =
            |value| Entry { key: self.key, key_span: self.key_span(), value, in_list: true };
        Some(items.iter().map(entry).collect())
    }

    /// A pair of distances, m: x and y, or from and to.
    fn pair(&self, example: &str, notes: &mut Notes) -> Option<(f64, f64)> {
        let items = self.list(usize::MAX, example, notes)?;
        if items.len() != 2 {
            notes.add(
                self.problem(format!("needs two lengths, not {}", items.len()))
                    .help(self.for_example(example)),
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
