//! Where an axis has its ticks.

use super::number::{shown, signed};

/// Places at steps of 1, 2 or 5 times a power of ten, at most `most` of them between `low` and
/// `high`, each with what is written there.
pub(super) fn ticks(low: f64, high: f64, most: usize) -> Vec<(f64, String)> {
    let span = high - low;
    if !(span.is_finite() && span > 0.0) || most == 0 {
        return Vec::new();
    }
    let least = span / most as f64;
    let power = least.log10().floor();
    let fits = |digit: &&f64| **digit * 10f64.powf(power) >= least * (1.0 - 1e-9);
    let digit = [1.0, 2.0, 5.0].iter().find(fits).copied().unwrap_or(10.0);
    let step = digit * 10f64.powf(power);
    let decimals = (-step.log10().floor()).clamp(0.0, 12.0) as usize;
    let first = (low / step - 1e-9).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    // A million is far beyond what any caller asks for.
    (first..=last.min(first.saturating_add(1_000_000)))
        .map(|k| {
            let text = format!("{:.decimals$}", k as f64 * step);
            (k as f64 * step, if k == 0 { "0".to_owned() } else { signed(&text) })
        })
        .collect()
}

/// Places at 1, 2 and 5 times powers of ten between 10^`low` and 10^`high`, each with what is written
/// there, thousands as `k`; where that is too many, at powers of ten alone.
pub(super) fn tenfold(low: f64, high: f64) -> Vec<(f64, String)> {
    if !(low.is_finite() && high.is_finite()) || high - low > 30.0 {
        return Vec::new();
    }
    let digits: &[f64] = if high - low > 3.5 { &[1.0] } else { &[1.0, 2.0, 5.0] };
    let mut places = Vec::new();
    for power in low.floor() as i32..=high.ceil() as i32 {
        for digit in digits {
            let value = digit * 10f64.powi(power);
            if (low - 1e-9..=high + 1e-9).contains(&value.log10()) {
                let thousands = value >= 1e3;
                let text = shown(if thousands { value * 1e-3 } else { value }, 1);
                places.push((value, if thousands { format!("{text}k") } else { text }));
            }
        }
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_few() {
        let of = |low, high, most| -> Vec<String> {
            ticks(low, high, most).into_iter().map(|(_, text)| text).collect()
        };
        assert_eq!(of(1.0, 5.0, 5), ["1", "2", "3", "4", "5"]);
        assert_eq!(of(-0.12, 0.1, 5), ["\u{2212}0.10", "\u{2212}0.05", "0", "0.05", "0.10"]);
        assert_eq!(of(0.0, 1000.0, 6), ["0", "200", "400", "600", "800", "1000"]);
        for (low, high) in [(0.3, 0.300001), (-7e9, 3e9), (1e-9, 5e-8)] {
            let n = of(low, high, 6).len();
            assert!((2..=7).contains(&n), "{low} {high}: {n}");
        }
        let octaves: Vec<String> = tenfold(1.3, 3.31).into_iter().map(|(_, text)| text).collect();
        assert_eq!(octaves, ["20", "50", "100", "200", "500", "1k", "2k"]);
        assert!(of(1.0, 1.0, 5).is_empty() && of(f64::NAN, 1.0, 5).is_empty());
    }
}
