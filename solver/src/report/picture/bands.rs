//! Values that part a range into bands, each with a colour of its own.

use crate::report::picture::steps::{round_down, with_unit};

/// Most bands.
const MOST: usize = 11;
/// Decades below the largest value that get bands of their own.
const DECADES: f64 = 3.0;

/// Borders between bands, rising, for sizes (with their areas): even steps where the sizes differ
/// little, else 1, 2, 5, 10, because the air at a string and the steel under it differ a
/// hundredfold and both matter. The thousandth largest of the area is left out: at sharp corners
/// the flux density has no bound.
pub(super) fn borders(sizes: &mut [(f64, f64)]) -> Vec<f64> {
    sizes.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = sizes.iter().map(|(_, area)| area).sum();
    let at = |share: f64| {
        let mut sum = 0.0;
        sizes
            .iter()
            .find(|(_, area)| {
                sum += area;
                sum >= share * total
            })
            .map_or(0.0, |s| s.0)
    };
    let (low, high) = (at(0.01), at(0.999));
    if !(high.is_finite() && high > 0.0) {
        return Vec::new();
    }
    if low > high / 8.0 {
        let step = round_down((high - low).max(1e-6 * high) / 6.0);
        let (first, last) = ((low / step).ceil() as i64, (high / step).floor() as i64);
        return (first..=last).take(MOST - 1).map(|k| k as f64 * step).collect();
    }
    let mut borders = vec![round_down(high)];
    while borders.len() < MOST - 1 && borders[0] > low && borders[0] > high * 10f64.powf(-DECADES) {
        borders.insert(0, step_down(borders[0]));
    }
    borders
}

fn step_down(x: f64) -> f64 {
    let digit = x / 10f64.powi(x.log10().floor() as i32);
    let digit = if digit > 9.5 { 1.0 } else { digit.round() };
    if digit == 5.0 { round_down(x / 2.5) } else { round_down(x / 2.0) }
}

/// How borders are written on a scale.
pub(super) fn marks(borders: &[f64], unit: &str) -> Vec<String> {
    borders.iter().map(|b| with_unit(*b, unit, 3)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::picture::steps::next_up;

    #[test]
    fn wide_ranges_go_by_one_two_five() {
        let mut sizes: Vec<(f64, f64)> = (0..1000).map(|i| (1.6 * 0.99f64.powi(i), 1.0)).collect();
        let borders = borders(&mut sizes);
        let ratio: Vec<f64> = borders.windows(2).map(|w| w[1] / w[0]).collect();
        assert_eq!(borders.last(), Some(&1.0));
        assert!(ratio.iter().all(|r| (1.9..2.6).contains(r)), "{borders:?}");
        assert_eq!(
            marks(&borders[borders.len() - 3..], "T"),
            ["200 mT", "500 mT", "1 T"].map(|s| s.replace(' ', "\u{a0}"))
        );
    }

    #[test]
    fn narrow_ranges_go_by_even_steps() {
        let mut sizes: Vec<(f64, f64)> =
            (0..100).map(|i| (1.0 + 0.004 * f64::from(i), 1.0)).collect();
        let borders = borders(&mut sizes);
        assert!(borders.len() > 4 && borders.len() < MOST, "{borders:?}");
        assert!(borders[0] >= 1.0 && borders[borders.len() - 1] <= 1.4);
    }

    #[test]
    fn no_field_no_bands() {
        assert!(borders(&mut [(0.0, 1.0)]).is_empty());
        assert!(borders(&mut []).is_empty());
    }

    #[test]
    fn steps_up_and_down_agree() {
        for x in [1.0, 2.0, 5.0, 0.01, 2e-3] {
            assert!((step_down(next_up(x)) / x - 1.0).abs() < 1e-12, "{x}");
        }
    }
}
