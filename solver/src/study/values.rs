//! A key and the values it is to take, as people write them.
//!
//! ```text
//! string.G3.gap = 1 mm to 4 mm in 16            16 values at equal steps, both ends included
//! string.G3.gap = 1 mm to 4 mm by 0.25 mm       from the first on, as far as the last
//! part.rod.material = alnico 2, alnico 5        a list
//! string.G3.gap = 2 mm +- 0.2 mm                drawn, any value within the tolerance alike
//! string.G3.gap = 2 mm +- 10 % normal           drawn, three standard deviations wide
//! string.G3.gap = +- 0.2 mm                     about what the file says
//! ```
//!
//! A number may have a unit, which is carried along as it was typed; the two ends of a range have the
//! same one. Anything else is text. Steps are computed in decimal to 12 digits, so that the third of
//! "1 mm to 2 mm by 0.1 mm" is "1.2 mm".

use crate::section::read_length;
use crate::study::error::StudyError;
use crate::study::key::KeyPath;

/// Digits to which values are rounded.
const DIGITS: usize = 12;
/// Most values of one key.
pub const MOST_VALUES: u64 = 1_000_000;

/// Most lengths that [`lengths`] reads.
const MOST_LENGTHS: u64 = 1_000;

/// A single value of a section file.
#[derive(Clone, Debug, PartialEq)]
pub enum Setting {
    /// A plain number.
    Number(f64),
    /// Text, lengths with their units among it.
    Text(String),
    /// True or false.
    Truth(bool),
}

impl Setting {
    /// From what was typed: `true` and `false`, a plain number, or text.
    pub fn typed(text: &str) -> Self {
        let text = text.trim();
        let bare = text.strip_prefix('"').and_then(|t| t.strip_suffix('"'));
        match (bare, text, number(text)) {
            (Some(bare), ..) => Self::Text(bare.to_owned()),
            (None, "true", _) => Self::Truth(true),
            (None, "false", _) => Self::Truth(false),
            (None, _, Some(number)) => Self::Number(number),
            (None, _, None) => Self::Text(text.to_owned()),
        }
    }

    /// As it would be typed.
    pub fn shown(&self) -> String {
        match self {
            Self::Number(number) => number.to_string(),
            Self::Text(text) => text.clone(),
            Self::Truth(truth) => truth.to_string(),
        }
    }

    /// The number and unit, where it is one: "4.8 mm" is 4.8 and "mm".
    pub fn measure(&self) -> Option<(f64, &str)> {
        match self {
            Self::Number(number) => Some((*number, "")),
            Self::Text(text) => measure(text),
            Self::Truth(_) => None,
        }
    }
}

/// A number with a unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// The number.
    pub number: f64,
    /// Its unit, as typed; empty for a plain number.
    pub unit: String,
}

impl Measure {
    /// As a value of a section file, rounded to twelve digits.
    pub fn setting(number: f64, unit: &str) -> Setting {
        let rounded = format!("{number:.*e}", DIGITS - 1).parse().unwrap_or(number);
        if unit.is_empty() {
            Setting::Number(rounded)
        } else {
            Setting::Text(format!("{rounded} {unit}"))
        }
    }
}

/// Lengths typed as a range or a list, m: "1 mm to 4 mm in 16" or "1 mm, 2 mm".
///
/// # Errors
/// What cannot be read.
pub fn lengths(typed: &str) -> Result<Vec<f64>, String> {
    let values = Values::parse(typed)?;
    let Some(count) = values.count() else {
        return Err("lengths are not drawn here: write a range or a list".to_owned());
    };
    if count > MOST_LENGTHS {
        return Err(format!("at most {MOST_LENGTHS} lengths are taken"));
    }
    (0..count).filter_map(|i| values.get(i)).map(|s| read_length(&s.shown())).collect()
}

/// How drawn values are spread.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spread {
    /// Any value within the tolerance alike.
    Even,
    /// Normal, the tolerance being three standard deviations; none beyond it.
    Normal,
}

/// The values that a key takes.
#[derive(Clone, Debug, PartialEq)]
pub enum Values {
    /// At equal steps: value i is first + i step.
    Steps {
        /// First value.
        first: f64,
        /// Step.
        step: f64,
        /// How many.
        count: u64,
        /// Unit of all.
        unit: String,
    },
    /// One after another.
    List(Vec<Setting>),
    /// Drawn about a middle.
    Drawn {
        /// The middle; `None`: what the file says.
        middle: Option<Measure>,
        /// Half width, in the unit of the middle or, where `relative`, as a share of it.
        tolerance: Measure,
        /// Whether the tolerance is a share of the middle.
        relative: bool,
        /// How the values are spread.
        spread: Spread,
    },
}

/// A key and its values.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// The key.
    pub key: KeyPath,
    /// Its values.
    pub values: Values,
}

impl Axis {
    /// Reads "KEY = VALUES".
    ///
    /// # Errors
    /// [`StudyError::Unreadable`].
    pub fn parse(typed: &str) -> Result<Self, StudyError> {
        let wrong = |reason: String| StudyError::Unreadable { typed: typed.to_owned(), reason };
        let Some((key, values)) = typed.split_once('=') else {
            return Err(wrong(
                "there is no `=`; write e.g. \"string.G3.gap = 1 mm to 4 mm in 16\"".to_owned(),
            ));
        };
        let key = KeyPath::parse(key)?;
        let values = Values::parse(values).map_err(wrong)?;
        Ok(Self { key, values })
    }
}

impl Values {
    /// How many; `None` where they are drawn.
    pub fn count(&self) -> Option<u64> {
        match self {
            Self::Steps { count, .. } => Some(*count),
            Self::List(list) => Some(list.len() as u64),
            Self::Drawn { .. } => None,
        }
    }

    /// Value `i` from 0, where they are not drawn.
    pub fn get(&self, i: u64) -> Option<Setting> {
        match self {
            Self::Steps { first, step, count, unit } => {
                let value = first + i as f64 * step;
                // What rounding leaves of a zero is small against the steps.
                let value = if value.abs() < 1e-9 * step.abs() { 0.0 } else { value };
                (i < *count).then(|| Measure::setting(value, unit))
            }
            Self::List(list) => list.get(usize::try_from(i).ok()?).cloned(),
            Self::Drawn { .. } => None,
        }
    }

    fn parse(typed: &str) -> Result<Self, String> {
        let typed = typed.trim();
        if typed.is_empty() {
            return Err("there are no values after the `=`".to_owned());
        }
        if let Some((middle, tolerance)) = typed.split_once("+-").or(typed.split_once('\u{b1}')) {
            return drawn(middle.trim(), tolerance.trim());
        }
        if let Some((first, rest)) = typed.split_once(" to ")
            && measure(first).is_some()
        {
            return steps(first, rest);
        }
        let list: Vec<Setting> = typed.split(',').map(Setting::typed).collect();
        if list.iter().any(|s| s.shown().is_empty()) {
            return Err("a value of the list is empty".to_owned());
        }
        Ok(Self::List(list))
    }
}

fn steps(first: &str, rest: &str) -> Result<Values, String> {
    const EXAMPLE: &str = "e.g. `1 mm to 4 mm in 16` or `1 mm to 4 mm by 0.5 mm`";
    fn known(text: &str) -> Result<(f64, &str), String> {
        measure(text).ok_or_else(|| format!("`{}` is no number; write {EXAMPLE}", text.trim()))
    }
    // From the right, since "in" is a unit too.
    let (last, count, step) = if let Some((last, step)) = rest.rsplit_once(" by ") {
        (last, None, Some(step))
    } else if let Some((last, count)) = rest.rsplit_once(" in ") {
        (last, Some(count), None)
    } else {
        return Err(format!("a range needs the number of values or the step, {EXAMPLE}"));
    };
    let (from, unit) = known(first)?;
    let (to, to_unit) = known(last)?;
    let same = |other: &str| {
        if other == unit {
            Ok(())
        } else {
            Err(format!("the units `{unit}` and `{other}` differ; write all of them in one"))
        }
    };
    same(to_unit)?;
    let unit_text = unit.to_owned();
    if let Some(count) = count {
        let count = count.trim().trim_end_matches("steps").trim();
        return match count.parse::<u64>() {
            Ok(1) if from == to => {
                Ok(Values::Steps { first: from, step: 0.0, count: 1, unit: unit_text })
            }
            Ok(count) if (2..=MOST_VALUES).contains(&count) => {
                let step = (to - from) / (count - 1) as f64;
                Ok(Values::Steps { first: from, step, count, unit: unit_text })
            }
            _ => Err(format!("the number of values must lie between 2 and {MOST_VALUES}")),
        };
    }
    let (step, step_unit) = known(step.unwrap_or_default())?;
    same(step_unit)?;
    let whole = (to - from) / step;
    // A last value that rounding leaves a hair short still belongs to it.
    let count = (whole * (1.0 + 1e-12) + 1e-9).floor() + 1.0;
    if step == 0.0 || !count.is_finite() || count < 1.0 {
        return Err("the step leads away from the last value, or is 0".to_owned());
    }
    if count > MOST_VALUES as f64 {
        return Err(format!("the range has more than {MOST_VALUES} values"));
    }
    Ok(Values::Steps { first: from, step, count: count as u64, unit: unit_text })
}

fn drawn(middle: &str, tolerance: &str) -> Result<Values, String> {
    let (tolerance, spread) = match tolerance.strip_suffix("normal") {
        Some(rest) => (rest.trim(), Spread::Normal),
        None => (tolerance, Spread::Even),
    };
    let example = "e.g. `2 mm +- 0.2 mm`, `2 mm +- 10 %` or `+- 0.2 mm normal`";
    let Some((number, unit)) = measure(tolerance) else {
        return Err(format!("`{tolerance}` is no tolerance; write {example}"));
    };
    if number < 0.0 {
        return Err("a tolerance cannot be negative".to_owned());
    }
    let relative = unit == "%";
    let middle = if middle.is_empty() {
        None
    } else {
        let Some((about, about_unit)) = measure(middle) else {
            return Err(format!("`{middle}` is no number; write {example}"));
        };
        if !relative && about_unit != unit {
            return Err(format!("the units `{about_unit}` and `{unit}` differ; write both in one"));
        }
        Some(Measure { number: about, unit: about_unit.to_owned() })
    };
    let tolerance = if relative {
        Measure { number: number / 100.0, unit: String::new() }
    } else {
        Measure { number, unit: unit.to_owned() }
    };
    Ok(Values::Drawn { middle, tolerance, relative, spread })
}

/// A finite plain number.
fn number(text: &str) -> Option<f64> {
    let digits = text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.'));
    text.parse().ok().filter(|n: &f64| digits && n.is_finite())
}

/// A number and the unit after it.
fn measure(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let unit_from = text.char_indices().rfind(|(_, c)| c.is_ascii_digit() || *c == '.')?.0 + 1;
    let (value, unit) = text.split_at(unit_from);
    let unit = unit.trim_start();
    if unit.contains(char::is_whitespace) {
        return None;
    }
    number(value).map(|number| (number, unit))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(typed: &str) -> Vec<String> {
        let axis = Axis::parse(typed).expect("readable");
        let count = axis.values.count().expect("not drawn");
        (0..count).map(|i| axis.values.get(i).expect("there").shown()).collect()
    }

    #[test]
    fn ranges_and_lists() {
        assert_eq!(all("a.b = 1 mm to 2 mm in 3"), ["1 mm", "1.5 mm", "2 mm"]);
        assert_eq!(all("a = 1 mm to 1.35mm by 0.1 mm"), ["1 mm", "1.1 mm", "1.2 mm", "1.3 mm"]);
        assert_eq!(all("a = 0.3 to 0 by -0.1"), ["0.3", "0.2", "0.1", "0"]);
        assert_eq!(all("a = 1 in to 2 in in 2"), ["1 in", "2 in"]);
        assert_eq!(all("a = 1 in to 2 in by 0.5 in"), ["1 in", "1.5 in", "2 in"]);
        assert_eq!(all("a = 5 to 7 in 2 steps"), ["5", "7"]);
        assert_eq!(all("a = 1e-3 m to 2e-3 m in 2"), ["0.001 m", "0.002 m"]);
        assert_eq!(all("a = alnico 2, alnico 5"), ["alnico 2", "alnico 5"]);
        assert_eq!(all("a = 3/16 in, 0.2 in"), ["3/16 in", "0.2 in"]);
        assert_eq!(all("a = \"12\", 12, true"), ["12", "12", "true"]);
        let axis = Axis::parse("a = \"12\", 12, true").expect("readable");
        assert_eq!(axis.values.get(0), Some(Setting::Text("12".to_owned())));
        assert_eq!(axis.values.get(1), Some(Setting::Number(12.0)));
        assert_eq!(axis.values.get(2), Some(Setting::Truth(true)));
        assert_eq!(axis.values.get(3), None);
        assert_eq!(all("a = one to two"), ["one to two"]);
    }

    #[test]
    fn tolerances() {
        let values = |typed: &str| Axis::parse(typed).expect("readable").values;
        assert_eq!(
            values("a = 2 mm +- 0.2 mm"),
            Values::Drawn {
                middle: Some(Measure { number: 2.0, unit: "mm".to_owned() }),
                tolerance: Measure { number: 0.2, unit: "mm".to_owned() },
                relative: false,
                spread: Spread::Even,
            }
        );
        assert_eq!(
            values("a = \u{b1} 5 % normal"),
            Values::Drawn {
                middle: None,
                tolerance: Measure { number: 0.05, unit: String::new() },
                relative: true,
                spread: Spread::Normal,
            }
        );
        assert_eq!(values("a = 2 mm +- 0.2 mm").count(), None);
    }

    #[test]
    fn lengths_are_read() {
        let read = lengths("1 mm to 2 mm in 3").expect("lengths");
        assert_eq!(read.iter().map(|l| (l * 1e6).round()).collect::<Vec<_>>(), [1e3, 1.5e3, 2e3]);
        assert_eq!(lengths("0.5 in").map(|l| l.len()), Ok(1));
        for (typed, part) in
            [("1", "no unit"), ("1 mm +- 1 mm", "not drawn"), ("1 mm to 2 mm in 9999", "at most")]
        {
            assert!(lengths(typed).is_err_and(|e| e.contains(part)), "{typed}");
        }
    }

    #[test]
    fn what_cannot_be_read_is_said() {
        for (typed, part) in [
            ("string.G3.gap", "no `=`"),
            ("a =", "no values"),
            ("a = 1 mm to 2 mm", "number of values or the step"),
            ("a = 1 mm to 2 in in 3", "the units `mm` and `in` differ"),
            ("a = 1 mm to 2 mm in 1", "between 2 and"),
            ("a = 1 mm to 2 mm in 2000000", "between 2 and"),
            ("a = 1 mm to 2 mm by -0.1 mm", "leads away"),
            ("a = 1 mm to 2 mm by 0 mm", "or is 0"),
            ("a = 1 mm to 2 mm by 1e-9 mm", "more than"),
            ("a = 1 mm to x in 3", "`x` is no number"),
            ("a = 2 mm +- 0.1 in", "differ"),
            ("a = 2 mm +- much", "no tolerance"),
            ("a = some +- 1 mm", "`some` is no number"),
            ("a = 2 mm +- -1 mm", "cannot be negative"),
            ("a = 1,,2", "is empty"),
            ("a..b = 1", "a step of the key is empty"),
        ] {
            let said = Axis::parse(typed).map_err(|e| e.to_string());
            assert!(said.as_ref().is_err_and(|s| s.contains(part)), "{typed}: {said:?}");
        }
    }
}
