//! What a report holds: groups of named items, each with words and numbers, in an order that is
//! always the same. Serialises with keys that end in their unit.
//!
//! The commands fill a [`Report`] (one file each in this folder); [`super::text`], [`super::csv`]
//! and serde write it. Numbers are SI until they are written.

use serde::ser::{Serialize, SerializeMap, Serializer};

use super::unit::{ONE, Unit};

/// Digits that are written to JSON and CSV: more than any result is good for, few enough that
/// a change of unit does not show (0.43 mm and not 0.43000000000000005 mm).
const DIGITS: usize = 10;

/// One report.
#[derive(Clone, Debug, Default)]
pub struct Report {
    /// What it is about, in words: title, symmetry, model.
    pub words: Vec<(&'static str, String)>,
    /// Numbers that belong to the whole.
    pub numbers: Vec<Number>,
    /// Parts, strings, coils ...
    pub groups: Vec<Group>,
    /// What the numbers cannot tell, in whole sentences.
    pub limits: Vec<String>,
}

/// Items of one kind.
#[derive(Clone, Debug)]
pub struct Group {
    /// Plural, as the key of the group: `strings`.
    pub key: &'static str,
    /// The items, in the order of the section file.
    pub items: Vec<Item>,
}

/// One thing and what is known of it.
#[derive(Clone, Debug, Default)]
pub struct Item {
    /// Its words, `name` first.
    pub words: Vec<(&'static str, String)>,
    /// Its numbers.
    pub numbers: Vec<Number>,
    /// Its curves, sampled; written to JSON only.
    pub curves: Vec<Curve>,
    /// Where it is, as far as that tells whose errors are like its own ([`super::error`]); written nowhere.
    pub room: Option<u32>,
}

/// Many values of one thing.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// What it is, without the unit: `sensitivity_up`.
    pub name: &'static str,
    /// Its unit when written.
    pub unit: Unit,
    /// Its values, SI.
    pub values: Vec<f64>,
}

/// A number with its meaning and unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Number {
    /// What it is, without the unit: `pull_up`.
    pub name: &'static str,
    /// Its unit when written.
    pub unit: Unit,
    /// Its value, SI; `None` where it cannot be had.
    pub value: Option<f64>,
    /// By how much the mesh may have put it wrong, SI: infinite where it does not settle as the
    /// mesh is refined, `None` where it is exact or nobody asked. See [`super::error`].
    pub error: Option<f64>,
}

impl Number {
    /// The number as written: in its unit, to ten digits.
    pub fn shown(&self) -> Option<f64> {
        written(self.unit, self.value?)
    }

    /// The error as written: in the number's unit, to two digits, up; `None` where there is none,
    /// infinite where the number does not settle.
    pub fn shown_error(&self) -> Option<f64> {
        let error = self.error? * self.unit.scale.abs();
        if error.is_infinite() { Some(error) } else { format!("{error:.1e}").parse().ok() }
    }

    /// The number as a whole one, where it is pure and small enough to be a count.
    fn count(&self) -> Option<i64> {
        let value = self.value.filter(|v| self.unit == ONE && v.fract() == 0.0)?;
        (value.abs() < 1e15).then_some(value as i64)
    }

    /// Its key: the name and the unit.
    pub fn key(&self) -> String {
        key(self.name, self.unit)
    }

    /// The key of its error: the number's with `error` before the unit.
    pub fn error_key(&self) -> String {
        let name = format!("{}_error", self.name);
        key(&name, self.unit)
    }
}

fn key(name: &str, unit: Unit) -> String {
    if unit.key.is_empty() { name.to_owned() } else { format!("{name}_{}", unit.key) }
}

/// An SI value in `unit`, to ten digits; `None` unless finite.
fn written(unit: Unit, value: f64) -> Option<f64> {
    let value = Some(value).filter(|v| v.is_finite())? * unit.scale;
    format!("{value:.*e}", DIGITS - 1).parse().ok()
}

impl Report {
    /// The group with that key; an empty slice where there is none.
    pub fn items(&self, key: &str) -> &[Item] {
        self.groups.iter().find(|g| g.key == key).map_or(&[], |g| &g.items)
    }
}

impl Item {
    /// An item called `name`.
    pub fn new(name: impl Into<String>) -> Self {
        Self { words: vec![("name", name.into())], ..Self::default() }
    }

    /// Adds a word, unless it is empty.
    #[must_use]
    pub fn word(mut self, key: &'static str, word: impl Into<String>) -> Self {
        let word = word.into();
        if !word.is_empty() {
            self.words.push((key, word));
        }
        self
    }

    /// Adds a number, SI.
    #[must_use]
    pub fn number(mut self, name: &'static str, unit: Unit, value: impl Into<Option<f64>>) -> Self {
        self.numbers.push(Number { name, unit, value: value.into(), error: None });
        self
    }

    /// Adds a curve, SI.
    #[must_use]
    pub fn curve(mut self, name: &'static str, unit: Unit, values: Vec<f64>) -> Self {
        self.curves.push(Curve { name, unit, values });
        self
    }

    /// The item in that room.
    #[must_use]
    pub fn in_room(mut self, room: Option<u32>) -> Self {
        self.room = room;
        self
    }

    /// The word with that key, or nothing.
    pub fn get_word(&self, key: &str) -> &str {
        self.words.iter().find(|(k, _)| *k == key).map_or("", |(_, word)| word)
    }

    /// The number with that name.
    pub fn get(&self, name: &str) -> Option<&Number> {
        self.numbers.iter().find(|n| n.name == name)
    }
}

impl Serialize for Report {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        map.serialize_entry("lodestring", env!("CARGO_PKG_VERSION"))?;
        words_and_numbers(&mut map, &self.words, &self.numbers)?;
        for group in &self.groups {
            map.serialize_entry(group.key, &group.items)?;
        }
        map.serialize_entry("limits", &self.limits)?;
        map.end()
    }
}

impl Serialize for Item {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(None)?;
        words_and_numbers(&mut map, &self.words, &self.numbers)?;
        for Curve { name, unit, values } in &self.curves {
            let shown: Vec<Option<f64>> = values.iter().map(|&v| written(*unit, v)).collect();
            map.serialize_entry(&key(name, *unit), &shown)?;
        }
        map.end()
    }
}

fn words_and_numbers<M: SerializeMap>(
    map: &mut M,
    words: &[(&'static str, String)],
    numbers: &[Number],
) -> Result<(), M::Error> {
    for (key, word) in words {
        map.serialize_entry(key, word)?;
    }
    for number in numbers {
        match number.count() {
            Some(count) => map.serialize_entry(&number.key(), &count)?,
            None => map.serialize_entry(&number.key(), &number.shown())?,
        }
        if let Some(error) = number.shown_error() {
            // JSON knows no infinity: null stands for a number that does not settle.
            map.serialize_entry(&number.error_key(), &error.is_finite().then_some(error))?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::super::unit::MM;
    use super::*;

    #[test]
    fn keys_end_in_units_and_values_are_converted() {
        let item = Item::new("rod")
            .word("role", "magnet")
            .number("width", MM, 0.000_43)
            .number("turns", ONE, 7000.0)
            .number("gap", MM, None)
            .number("wrong", MM, f64::NAN)
            .curve("x", MM, vec![-0.04, 0.0]);
        let mut item = item;
        item.numbers[0].error = Some(0.000_001_234);
        assert_eq!(
            serde_json::to_string(&item).unwrap_or_default(),
            r#"{"name":"rod","role":"magnet","width_mm":0.43,"width_error_mm":0.0012,"turns":7000,"gap_mm":null,"wrong_mm":null,"x_mm":[-40.0,0.0]}"#
        );
    }

    #[test]
    fn a_report_keeps_its_order() {
        let report = Report {
            words: vec![("title", "x".into())],
            numbers: vec![Number { name: "depth", unit: MM, value: Some(0.06), error: None }],
            groups: vec![Group { key: "strings", items: vec![Item::new("E")] }],
            limits: vec!["per metre".into()],
        };
        let version = env!("CARGO_PKG_VERSION");
        assert_eq!(
            serde_json::to_string(&report).unwrap_or_default(),
            format!(
                r#"{{"lodestring":"{version}","title":"x","depth_mm":60.0,"strings":[{{"name":"E"}}],"limits":["per metre"]}}"#
            )
        );
    }
}
