//! The error of each number of a report, from the same section on coarser meshes.
//!
//! In: reports on one section, the finest mesh first, the triangles of each twice as large as those
//! of the one before. Out: the first report, its numbers with errors; SI, as the numbers are.
//!
//! With Q1, Q2, Q4 a number on the three meshes, d1 = |Q1 - Q2| and d2 = |Q2 - Q4|, an error that
//! falls from mesh to mesh by the same share r = d1 / d2 leaves d1 r / (1 - r) in Q1, the tail of a
//! geometric series (L. F. Richardson, "The approximate arithmetical solution by finite differences
//! of physical problems", Phil. Trans. R. Soc. A 210, 1911). The meshes do not lie in each other, so
//! that d1 may come out small by chance: it is taken as d2 / 16 at least, what elements of second
//! order would make of it where the field is smooth, and r as 1/4 at least. Where d1 is not clearly
//! less than d2 the number does not settle, as the peak at a sharp corner, which grows with every
//! refinement: its error is infinite.

use super::record::{Number, Report};
use super::unit::ONE;

/// The least share of a difference that one refinement leaves.
const FASTEST: f64 = 0.25;

/// The largest share that one refinement of a number that settles leaves: the singular field at a
/// right-angled corner of very permeable steel, the slowest there is, has an energy whose error falls
/// with the size to the power 4/3, by 0.4.
const SLOWEST: f64 = 0.5;

/// With a larger share a number is not taken as settling.
const UNSETTLED: f64 = 0.75;

/// Differences of this share of the largest number of their kind, or less, are never taken as a
/// sign that a number does not settle: meshes that do not lie in each other scatter about as much.
const SCATTER: f64 = 0.01;

/// Differences below this share of the largest number of their kind are rounding: Newton's method
/// stops at 1e-10 of what drives the field.
const ROUNDING: f64 = 1e-9;

/// Gives the numbers of `report` their errors. `coarser` are the same numbers with triangles twice
/// and four times as large. Numbers that are the same on all meshes are exact and get none; so do
/// those of a report that has other items.
pub fn add_errors(report: &mut Report, coarser: [&Report; 2]) {
    let one_of = |r: &Report| r.numbers.clone();
    let wholes = [one_of(coarser[0]), one_of(coarser[1])];
    // Pure numbers of the whole say how it was solved.
    for (i, number) in report.numbers.iter_mut().enumerate().filter(|(_, n)| n.unit != ONE) {
        let on = [0, 1].map(|c| wholes[c].get(i).and_then(|n: &Number| n.value));
        number.error = number.value.and_then(|v| error(v, on, v.abs()));
    }
    for group in &mut report.groups {
        let same = |c: &Report| {
            let items = c.items(group.key);
            items.len() == group.items.len()
                && items
                    .iter()
                    .zip(&group.items)
                    .all(|(a, b)| a.get_word("name") == b.get_word("name"))
        };
        if !coarser.iter().all(|c| same(c)) {
            continue;
        }
        let kinds: Vec<Number> = group.items.iter().flat_map(|item| item.numbers.clone()).collect();
        let scale = |of: &Number| {
            let alike = kinds.iter().filter(|n| n.unit == of.unit).filter_map(|n| n.value);
            alike.map(f64::abs).filter(|v| v.is_finite()).fold(0.0, f64::max)
        };
        for (i, item) in group.items.iter_mut().enumerate() {
            for number in &mut item.numbers {
                let on = coarser.map(|c| {
                    c.items(group.key)[i].get(number.name).and_then(|coarse| coarse.value)
                });
                let scale = scale(number);
                number.error = number.value.and_then(|v| error(v, on, scale));
            }
        }
    }
}

/// The error of `fine`, by what it was on the two coarser meshes; `None` where it is exact, or where
/// it could not be had on one of them.
fn error(fine: f64, coarser: [Option<f64>; 2], scale: f64) -> Option<f64> {
    let [Some(coarse), Some(coarsest)] = coarser else { return None };
    let (d1, d2) = ((fine - coarse).abs(), (coarse - coarsest).abs());
    if !(d1.is_finite() && d2.is_finite()) || d1.max(d2) <= ROUNDING * scale {
        return None;
    }
    let left = d1.max(d2 * FASTEST * FASTEST);
    let share = left / d2;
    if share > UNSETTLED && left > SCATTER * scale {
        return Some(f64::INFINITY);
    }
    let share = share.clamp(FASTEST, SLOWEST);
    Some(left * share / (1.0 - share))
}

#[cfg(test)]
mod tests {
    use super::super::record::{Group, Item};
    use super::super::unit::{MM, T};
    use super::*;

    fn of(values: [f64; 3]) -> Option<f64> {
        let report = |v: f64| Report {
            groups: vec![Group {
                key: "parts",
                items: vec![Item::new("rod").number("gap", MM, 0.002).number("field", T, v)],
            }],
            ..Report::default()
        };
        let [mut fine, coarse, coarsest] = values.map(report);
        add_errors(&mut fine, [&coarse, &coarsest]);
        assert_eq!(fine.groups[0].items[0].numbers[0].error, None, "what is given is exact");
        fine.groups[0].items[0].numbers[1].error
    }

    #[test]
    fn a_geometric_series_is_summed() {
        // 1 + 0.03 r^n with r = 1/2: on the finest of three 0.0075 is left.
        let error = of([1.0075, 1.015, 1.03]).unwrap_or_default();
        assert!((error - 0.0075).abs() < 1e-12, "{error}");
    }

    #[test]
    fn falling_fast_is_not_trusted_beyond_a_quarter() {
        // Left by the series: 1e-6; allowed: d2 / 16 / 3.
        let error = of([1.000_001, 1.000_1, 1.01]).unwrap_or_default();
        assert!((error - 0.0099 / 16.0 / 3.0).abs() < 1e-12, "{error}");
    }

    #[test]
    fn a_peak_that_grows_with_every_mesh_has_no_error() {
        // h^(-1/3), as the flux density at a corner of very permeable steel.
        let peaks = [0.0, 1.0, 2.0].map(|n: f64| 2_f64.powf(-n / 3.0));
        assert_eq!(of(peaks), Some(f64::INFINITY));
    }

    #[test]
    fn rounding_is_no_error() {
        assert_eq!(of([1.0, 1.0 + 1e-14, 1.0 - 1e-14]), None);
    }
}
