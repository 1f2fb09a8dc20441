//! Lengths, angles and wire sizes as people write them.
//!
//! In: text such as "4.8 mm", "0.187 in", "3/16 in", "90 deg" or "42 awg". Out: metres, radian,
//! metres. The inch is 25.4 mm exactly (units.rs), a mil (thou) a thousandth of it. Bare diameter
//! of wire gauge n: 0.127 mm x 92^((36 - n)/39), the definition of the American wire gauge
//! (ASTM B258). What a length is for, and so which values make sense, is decided in `reader`.

use crate::section::suggest::nearest;
use crate::units::{INCH, MM};

/// What is wrong with a length, angle or wire size, and a way out.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Misread {
    /// What is wrong; follows the name of the key, e.g. "has no unit".
    pub message: String,
    /// A way out.
    pub help: String,
}

/// Name and size of each unit of length, m.
const UNITS: [(&str, f64); 6] = [
    ("mm", MM),
    ("cm", 1e-2),
    ("m", 1.0),
    ("in", INCH),
    ("mil", 1e-3 * INCH),
    ("thou", 1e-3 * INCH),
];

/// The units of length in words.
pub(super) const UNIT_LIST: &str = "mm, cm, m, in, mil or thou";

/// A length in metres, from e.g. "4.8 mm" or "3/16 in". "0" needs no unit.
///
/// Finite; its sign and size are not judged here.
pub(super) fn length(text: &str) -> Result<f64, Misread> {
    let (number, unit) = split(text);
    if unit.is_empty() {
        return match number.parse::<f64>() {
            Ok(0.0) => Ok(0.0),
            Ok(x) if x.is_finite() => Err(Misread {
                message: format!("has no unit: \"{}\"", text.trim()),
                help: format!("lengths take {UNIT_LIST}: \"{0} mm\" or \"{0} in\"?", text.trim()),
            }),
            _ => Err(not_a_length(text)),
        };
    }
    let value = quantity(number).ok_or_else(|| not_a_length(text))?;
    let Some(&(_, metres)) = UNITS.iter().find(|(name, _)| *name == unit) else {
        let help = match nearest(unit, UNITS.iter().map(|u| u.0)) {
            Some(near) => format!("did you mean `{near}`? lengths take {UNIT_LIST}"),
            None => format!("lengths take {UNIT_LIST}"),
        };
        return Err(Misread { message: format!("has an unknown unit `{}`", brief(unit)), help });
    };
    finite(value * metres, text)
}

/// As [`length`], for other stages: a length in metres, or what is wrong with it and a way out.
pub(crate) fn metres(text: &str) -> Result<f64, (String, String)> {
    length(text).map_err(|misread| (misread.message, misread.help))
}

/// As the lengths of a section file, for texts outside a section file: the fault and a way out in one sentence.
///
/// # Errors
/// What is wrong with the text.
pub fn read_length(text: &str) -> Result<f64, String> {
    length(text).map_err(|Misread { message, help }| format!("the length {message}; {help}"))
}

/// An angle in radian, counter-clockwise, from e.g. "90 deg" or "90".
pub(super) fn angle(text: &str) -> Result<f64, Misread> {
    let (number, unit) = split(text);
    let misread = || Misread {
        message: format!("is not an angle: \"{}\"", brief(text)),
        help: "angles are in degrees, e.g. 90 or \"90 deg\"".to_owned(),
    };
    if !matches!(unit, "" | "deg" | "\u{b0}") {
        return Err(misread());
    }
    finite(number.parse::<f64>().map_err(|_| misread())?.to_radians(), text)
}

/// Bare diameter of a wire, m, from e.g. "42 awg" or "0.0635 mm".
pub(super) fn wire(text: &str) -> Result<f64, Misread> {
    let (number, unit) = split(text);
    if !unit.eq_ignore_ascii_case("awg") {
        return length(text);
    }
    match number.parse::<f64>() {
        Ok(gauge) if (0.0..=60.0).contains(&gauge) => Ok(awg_diameter(gauge)),
        _ => Err(Misread {
            message: format!("is not a wire gauge: \"{}\"", brief(text)),
            help: "gauges run from 0 to 60, e.g. \"42 awg\"; or give the bare diameter, e.g. \
                   \"0.063 mm\""
                .to_owned(),
        }),
    }
}

/// Bare diameter of American wire gauge `n`, m.
pub(super) fn awg_diameter(n: f64) -> f64 {
    0.127 * MM * libm::pow(92.0, (36.0 - n) / 39.0)
}

/// The number and the unit: the unit is the run of letters and signs at the end.
fn split(text: &str) -> (&str, &str) {
    let text = text.trim();
    let number = text.trim_end_matches(|c: char| !c.is_ascii_digit() && c != '.');
    (number.trim_end(), text[number.len()..].trim())
}

/// A number or a fraction such as 3/16.
fn quantity(number: &str) -> Option<f64> {
    match number.split_once('/') {
        Some((above, below)) => {
            let (above, below) = (above.trim(), below.trim());
            let whole = |s: &str| s.chars().all(|c| c.is_ascii_digit()) && s.len() <= 6;
            if !whole(above.trim_start_matches('-')) || !whole(below) {
                return None;
            }
            let ratio = above.parse::<f64>().ok()? / below.parse::<f64>().ok()?;
            ratio.is_finite().then_some(ratio)
        }
        None => number.parse().ok(),
    }
}

fn finite(value: f64, text: &str) -> Result<f64, Misread> {
    if value.is_finite() { Ok(value) } else { Err(not_a_length(text)) }
}

fn not_a_length(text: &str) -> Misread {
    Misread {
        message: format!("is not a number with a unit: \"{}\"", brief(text)),
        help: "write e.g. \"4.8 mm\", \"0.187 in\" or \"3/16 in\"".to_owned(),
    }
}

/// At most 40 characters of what was typed, for messages.
pub(super) fn brief(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= 40 {
        return text.to_owned();
    }
    let mut short: String = text.chars().take(37).collect();
    short.push_str("...");
    short
}

/// A length for messages: up to six digits, in mm.
pub(super) fn millimetres(length: f64) -> String {
    let mm = length * 1e3;
    if mm != 0.0 && !(1e-6..1e7).contains(&mm.abs()) {
        return format!("{mm:.2e} mm");
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

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;

    /// Within rounding of one product: 1e-15 relative.
    fn same(a: f64, b: f64) {
        assert!((a - b).abs() <= 1e-15 * b.abs(), "{a} is not {b}");
    }

    #[test]
    fn every_unit_in_metres() {
        same(length("4.8 mm").unwrap(), 4.8e-3);
        same(length("4.8mm").unwrap(), 4.8e-3);
        same(length(" 1.2e1 cm ").unwrap(), 0.12);
        same(length("0.06 m").unwrap(), 0.06);
        same(length("0.187 in").unwrap(), 4.7498e-3);
        same(length("3/16 in").unwrap(), 4.7625e-3);
        same(length("10 mil").unwrap(), 0.254e-3);
        same(length("46 thou").unwrap(), 1.1684e-3);
        same(length("-2.5 mm").unwrap(), -2.5e-3);
        assert_eq!(length("0").unwrap(), 0.0);
    }

    #[test]
    fn says_what_is_wrong_with_a_length() {
        let said = |text: &str| length(text).unwrap_err();
        assert_eq!(said("4.8").message, "has no unit: \"4.8\"");
        assert_eq!(
            said("4.8").help,
            "lengths take mm, cm, m, in, mil or thou: \"4.8 mm\" or \"4.8 in\"?"
        );
        assert_eq!(said("4.8 mmm").message, "has an unknown unit `mmm`");
        assert_eq!(
            said("4.8 mmm").help,
            "did you mean `mm`? lengths take mm, cm, m, in, mil or thou"
        );
        for text in
            ["", "mm", "nan mm", "inf mm", "-inf mm", "1e999 mm", "1/0 in", "4,8 mm", "a/b in"]
        {
            assert_eq!(said(text).message, format!("is not a number with a unit: \"{text}\""));
        }
    }

    #[test]
    fn angles_in_degrees() {
        same(angle("90").unwrap(), std::f64::consts::FRAC_PI_2);
        same(angle("-45 deg").unwrap(), -std::f64::consts::FRAC_PI_4);
        same(angle("180\u{b0}").unwrap(), std::f64::consts::PI);
        assert_eq!(angle("1 rad").unwrap_err().message, "is not an angle: \"1 rad\"");
        assert!(angle("nan").is_err());
    }

    #[test]
    fn wire_gauges() {
        // 36 is the anchor of the definition; 42 is 0.0633 mm (0.00249 in) in the standard's table.
        same(wire("36 awg").unwrap(), 0.127e-3);
        assert!((wire("42 AWG").unwrap() - 0.0633e-3).abs() < 0.5e-7);
        same(wire("0.063 mm").unwrap(), 0.063e-3);
        assert_eq!(wire("420 awg").unwrap_err().message, "is not a wire gauge: \"420 awg\"");
    }
}
