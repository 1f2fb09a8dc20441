//! Round numbers for scales, flux per line and dimensions, and how they are written.

/// The largest of 1, 2, 5 times a power of ten that is not more than `x`; 0 where `x` is not
/// positive.
pub fn round_down(x: f64) -> f64 {
    if !(x.is_finite() && x > 0.0) {
        return 0.0;
    }
    let power = x.log10().floor() as i32;
    // A little slack, so that a round number is its own answer.
    let slack = x * (1.0 + 1e-9);
    for exponent in [power + 1, power, power - 1] {
        for digit in [5.0, 2.0, 1.0] {
            let step = ten_to(digit, exponent);
            if step <= slack {
                return step;
            }
        }
    }
    0.0
}

/// The step after `x` in 1, 2, 5, 10.
pub fn next_up(x: f64) -> f64 {
    let down = round_down(x);
    let digit = (down / 10f64.powi(down.log10().floor() as i32)).round();
    if digit == 2.0 { down * 2.5 } else { down * 2.0 }
}

/// `digit` times ten to the `exponent`, rounded only once.
fn ten_to(digit: f64, exponent: i32) -> f64 {
    if exponent < 0 { digit / 10f64.powi(-exponent) } else { digit * 10f64.powi(exponent) }
}

/// SI prefixes that are used.
const PREFIXES: [(f64, &str); 6] =
    [(1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "\u{b5}"), (1e-9, "n"), (1e-12, "p")];

/// `x` with `digits` significant digits, the prefix that suits it, and its unit: "12.5 mT".
pub fn with_unit(x: f64, unit: &str, digits: usize) -> String {
    let size = x.abs();
    if size == 0.0 || !size.is_finite() {
        return format!("{x}\u{a0}{unit}");
    }
    let fits = |(factor, _): &&(f64, &str)| size >= factor * (1.0 - 1e-9);
    let (factor, prefix) = PREFIXES.iter().find(fits).unwrap_or(&PREFIXES[5]);
    format!("{}\u{a0}{prefix}{unit}", significant(x / factor, digits))
}

/// `x` in millionths of its unit, as fluxes of pickups are given: "0.5 \u{b5}Wb".
pub fn micro(x: f64, unit: &str) -> String {
    format!("{}\u{a0}\u{b5}{unit}", significant(x * 1e6, 3))
}

/// `x` with `digits` significant digits, without zeros at the end of a fraction.
pub fn significant(x: f64, digits: usize) -> String {
    if x == 0.0 || !x.is_finite() {
        return "0".into();
    }
    let before = x.abs().log10().floor() as i32 + 1;
    let decimals = (digits as i32 - before).max(0) as usize;
    let text = format!("{x:.decimals$}");
    let text =
        if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    text.to_owned()
}

/// A length (m) in millimetres, to the hundredth: "4.8 mm".
pub fn millimetres(length: f64) -> String {
    let text = format!("{:.2}", length * 1e3);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    let text = if text == "-0" { "0" } else { text };
    format!("{text}\u{a0}mm")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_one_two_five() {
        for (x, step) in
            [(1.0, 1.0), (1.9, 1.0), (2.0, 2.0), (4.9e-6, 2e-6), (5e-6, 5e-6), (999.0, 500.0)]
        {
            assert_eq!(round_down(x), step, "{x}");
        }
        assert_eq!(round_down(0.0), 0.0);
        assert_eq!(round_down(f64::NAN), 0.0);
        let mut x = 1e-3;
        for wanted in [2e-3, 5e-3, 1e-2, 2e-2] {
            x = next_up(x);
            assert!((x / wanted - 1.0).abs() < 1e-12, "{x} {wanted}");
        }
    }

    #[test]
    fn units_get_the_prefix_that_suits() {
        assert_eq!(with_unit(0.0125, "T", 3), "12.5\u{a0}mT");
        assert_eq!(with_unit(5e-6, "Wb/m", 3), "5\u{a0}\u{b5}Wb/m");
        assert_eq!(with_unit(1.0, "T", 3), "1\u{a0}T");
        assert_eq!(with_unit(-0.5, "T", 2), "-500\u{a0}mT");
        assert_eq!(significant(0.999_9, 3), "1");
        assert_eq!(significant(1234.0, 2), "1234");
        assert_eq!(millimetres(4.8e-3), "4.8\u{a0}mm");
        assert_eq!(millimetres(-1e-9), "0\u{a0}mm");
    }
}
