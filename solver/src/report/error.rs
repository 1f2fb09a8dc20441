//! The error of each number of a report, from the same section on coarser meshes.
//!
//! In: reports on one section, the finest mesh first, and whether the triangles of each are twice as large
//! as those of the one before or only where that matters for the leading numbers. Out: the first report,
//! its numbers with errors; SI, as the numbers are.
//!
//! With Q1, Q2, Q4 a number on the three meshes, d1 = |Q1 - Q2| and d2 = |Q2 - Q4|, an error that
//! falls from mesh to mesh by the same share r = d1 / d2 leaves d1 r / (1 - r) in Q1, the tail of a
//! geometric series (L. F. Richardson, "The approximate arithmetical solution by finite differences
//! of physical problems", Phil. Trans. R. Soc. A 210, 1911). The meshes do not lie in each other, so
//! that d1 may come out small by chance: it is taken as d2 / 16 at least, what elements of second
//! order would make of it where the field is smooth, and r as 1/4 at least. Where d1 is not clearly
//! less than d2 the number does not settle, as the peak at a sharp corner, which grows with every
//! refinement: its error is infinite.
//!
//! Where the last refinement was not everywhere, a number may have changed little because its own place
//! was left alone: the error is then d1 r / (1 - r) with r what the refinement left of the leading numbers'
//! errors, 3/5 at least, and no less than what the slowest series leaves of d2, with r = 2/5, 2/3 d2. Two meshes that
//! were not made for a number may be wrong alike: that d1 is more than d2 then says nothing, and a peak without bound
//! has to be known as such. Where a number is not known on the coarsest mesh d2 is left out, and r is 1/2 where all
//! triangles were halved.
//!
//! Numbers of a kind that stand in many places, as the samples of a probe, scatter alike, and some differ
//! little by chance: none has an error of less than the root of the mean square over its kind. Where they stand
//! in several rooms ([`crate::quantity::enclosed`]), as in the bore of a shield and around it, the field and its
//! errors may be thousands of times larger in one than in another: with e the errors, s the largest number of
//! the kind in the room of each, and < > a mean over the kind, in a room none is then less than
//!
//! ```text
//! min(sqrt<e^2>, max(sqrt(<e^2> in the room), s sqrt<(e / s)^2>))
//! ```
//!
//! so that a room with few samples still has the share that errors are of the field elsewhere.

use std::collections::BTreeMap;

use super::record::{Item, Number, Report};
use super::unit::ONE;

/// The least share of a difference that one refinement leaves.
const FASTEST: f64 = 0.25;

/// What one refinement leaves of the slowest number that settles: the singular field at a right-angled
/// corner of very permeable steel has an energy whose error falls with the size to the power 4/3.
const CORNER: f64 = 0.4;

/// The largest share that one refinement is taken to leave of a number that settles.
const SLOWEST: f64 = 0.5;

/// Least share that is taken to be left of a number for which the mesh was not made.
const LEFT: f64 = 0.6;

/// With a larger share a number is not taken as settling.
const UNSETTLED: f64 = 0.75;

/// Differences of this share of the largest number of their kind, or less, are never taken as a
/// sign that a number does not settle: meshes that do not lie in each other scatter about as much.
const SCATTER: f64 = 0.01;

/// Differences below this share of the largest number of their kind are rounding: Newton's method
/// stops at 1e-10 of what drives the field.
const ROUNDING: f64 = 1e-9;

/// What sets the meshes of three reports apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Meshes {
    /// Everywhere the triangles are half as large as on the next coarser.
    Halved,
    /// The finest is finer than the next where that matters for the leading numbers.
    Adapted {
        /// Share of the leading numbers' errors that it left.
        left: f64,
    },
}

/// Gives the numbers of `report` their errors. `coarser` are the same numbers on the next coarser mesh and
/// on the one before that; the last may hold some of the groups only. Numbers that are the same on all
/// meshes are exact and get none; so do those of a group that has other items on the next coarser mesh.
pub fn add_errors(report: &mut Report, coarser: [&Report; 2], meshes: Meshes) {
    let one_of = |r: &Report| r.numbers.clone();
    let wholes = [one_of(coarser[0]), one_of(coarser[1])];
    // Pure numbers of the whole say how it was solved.
    for (i, number) in report.numbers.iter_mut().enumerate().filter(|(_, n)| n.unit != ONE) {
        let on = [0, 1].map(|c| wholes[c].get(i).and_then(|n: &Number| n.value));
        number.error = number.value.and_then(|v| error(v, on, v.abs(), meshes));
    }
    for group in &mut report.groups {
        let same = |c: &Report| -> bool {
            let items = c.items(group.key);
            items.len() == group.items.len()
                && items
                    .iter()
                    .zip(&group.items)
                    .all(|(a, b)| a.get_word("name") == b.get_word("name"))
        };
        let [coarse_too, coarsest_too] = coarser.map(same);
        if !coarse_too {
            continue;
        }
        let kinds: Vec<Number> = group.items.iter().flat_map(|item| item.numbers.clone()).collect();
        let scale = |of: &Number| {
            let alike = kinds.iter().filter(|n| n.unit == of.unit).filter_map(|n| n.value);
            alike.map(f64::abs).filter(|v| v.is_finite()).fold(0.0, f64::max)
        };
        for (i, item) in group.items.iter_mut().enumerate() {
            for number in &mut item.numbers {
                let of = |c: &Report| {
                    c.items(group.key)[i].get(number.name).and_then(|coarse| coarse.value)
                };
                let on = [of(coarser[0]), if coarsest_too { of(coarser[1]) } else { None }];
                let scale = scale(number);
                number.error = number.value.and_then(|v| error(v, on, scale, meshes));
            }
        }
        pool(&mut group.items);
    }
}

/// No error less than the root of the mean square over numbers of the same name, up and across together, or
/// what is left of it in the item's room.
pub fn pool(items: &mut [Item]) {
    fn kind(number: &Number) -> (&'static str, &'static str) {
        let name = number.name;
        let base = name.strip_suffix("_up").or_else(|| name.strip_suffix("_across"));
        (base.unwrap_or(name), number.unit.key)
    }
    let numbers = || items.iter().flat_map(|item| item.numbers.iter().map(|n| (item.room, n)));
    let mut sizes: BTreeMap<_, f64> = BTreeMap::new();
    for (room, number) in numbers() {
        let size = sizes.entry((kind(number), room)).or_default();
        *size = size.max(number.value.map_or(0.0, f64::abs));
    }
    let (mut whole, mut own) = (BTreeMap::<_, Mean>::new(), BTreeMap::<_, Mean>::new());
    let mut shares = BTreeMap::<_, Mean>::new();
    for (room, number) in numbers() {
        let (kind, Some(error)) = (kind(number), number.error.filter(|e| e.is_finite())) else {
            continue;
        };
        whole.entry(kind).or_default().add(error);
        own.entry((kind, room)).or_default().add(error);
        let share = error / sizes[&(kind, room)];
        if share.is_finite() {
            shares.entry(kind).or_default().add(share);
        }
    }
    for item in items.iter_mut() {
        for number in &mut item.numbers {
            let kind = kind(number);
            if let (Some(error), Some(whole)) = (number.error, whole.get(&kind)) {
                let here = (kind, item.room);
                let root = |mean: Option<&Mean>| mean.map_or(0.0, Mean::root);
                let own = root(own.get(&here)).max(sizes[&here] * root(shares.get(&kind)));
                number.error = Some(error.max(whole.root().min(own)));
            }
        }
    }
}

/// A mean square.
#[derive(Clone, Copy, Debug, Default)]
struct Mean {
    sum: f64,
    n: usize,
}

impl Mean {
    fn add(&mut self, x: f64) {
        self.sum += x * x;
        self.n += 1;
    }

    fn root(&self) -> f64 {
        (self.sum / self.n as f64).sqrt()
    }
}

/// The error of `fine`, by what it was on the two coarser meshes; `None` where it is exact, or where
/// it could not be had on the next coarser one.
fn error(fine: f64, coarser: [Option<f64>; 2], scale: f64, meshes: Meshes) -> Option<f64> {
    let [Some(coarse), coarsest] = coarser else { return None };
    let d1 = (fine - coarse).abs();
    let d2 = coarsest.map(|coarsest| (coarse - coarsest).abs());
    let largest = d1.max(d2.unwrap_or(0.0));
    if !largest.is_finite() || largest <= ROUNDING * scale {
        return None;
    }
    if let (Meshes::Halved, Some(d2)) = (meshes, d2)
        && d1 > UNSETTLED * d2
        && d1 > SCATTER * scale
    {
        return Some(f64::INFINITY);
    }
    let series = |difference: f64, share: f64| difference * share / (1.0 - share);
    match (meshes, d2) {
        (Meshes::Adapted { left }, d2) => {
            let share = left.clamp(LEFT, UNSETTLED);
            Some(series(d1, share).max(series(d2.unwrap_or(0.0), CORNER)))
        }
        (Meshes::Halved, Some(d2)) => {
            let left = d1.max(d2 * FASTEST * FASTEST);
            Some(series(left, (left / d2).clamp(FASTEST, SLOWEST)))
        }
        (Meshes::Halved, None) => Some(series(d1, SLOWEST)),
    }
}

#[cfg(test)]
mod tests {
    use super::super::record::Group;
    use super::super::unit::{MM, T};
    use super::*;

    fn of(values: [f64; 3]) -> Option<f64> {
        of_meshes(values, Meshes::Halved)
    }

    fn of_meshes(values: [f64; 3], meshes: Meshes) -> Option<f64> {
        let report = |v: f64| Report {
            groups: vec![Group {
                key: "parts",
                items: vec![Item::new("rod").number("gap", MM, 0.002).number("field", T, v)],
            }],
            ..Report::default()
        };
        let [mut fine, coarse, coarsest] = values.map(report);
        add_errors(&mut fine, [&coarse, &coarsest], meshes);
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
    fn coarse_meshes_that_are_wrong_alike_do_not_make_a_number_unsettled() {
        // Two meshes that were made for other numbers, and one on which this one has come nearer by 0.1.
        let values = [1.0, 1.1, 1.101];
        assert_eq!(of(values), Some(f64::INFINITY));
        // 3/5 are taken to be left of the number for which no mesh was made: 0.1 * 0.6 / 0.4, but for rounding.
        let error = of_meshes(values, Meshes::Adapted { left: 0.2 }).unwrap_or_default();
        assert!((error - 0.15).abs() < 1e-12, "{error}");
    }

    #[test]
    fn rounding_is_no_error() {
        assert_eq!(of([1.0, 1.0 + 1e-14, 1.0 - 1e-14]), None);
    }

    /// Samples of (room, field, error), as their errors are told.
    fn pooled(samples: &[(u32, f64, f64)]) -> Vec<f64> {
        let sample = |&(room, value, error): &(u32, f64, f64)| {
            let mut item =
                Item::new("probe").number("flux_density_up", T, value).in_room(Some(room));
            item.numbers[0].error = Some(error);
            item
        };
        let mut items: Vec<Item> = samples.iter().map(sample).collect();
        pool(&mut items);
        items.iter().filter_map(|item| item.numbers[0].error).collect()
    }

    #[test]
    fn errors_are_pooled_by_room() {
        // In one room the root of the mean square; here and below but for rounding.
        let one = pooled(&[(0, 1.0, 3e-3), (0, 0.01, 1e-3)]);
        assert!(
            (one[0] - 3e-3).abs() < 1e-15 && (one[1] - 5e-6_f64.sqrt()).abs() < 1e-15,
            "{one:?}"
        );
        // In a bore the share that errors are of the largest field in each room, here a thousandth and none.
        let bore = pooled(&[(0, 1.0, 1e-3), (0, 0.5, 1e-3), (7, 1e-4, 0.0)]);
        assert!((bore[2] - 1e-7 * (2.0_f64 / 3.0).sqrt()).abs() < 1e-20, "{bore:?}");
        // A bore that is badly solved is no better than it is, and does not spoil what is around it.
        let bad = pooled(&[(0, 1.0, 1e-3), (7, 1e-4, 5e-5), (7, 1e-4, 1e-5)]);
        let own = (0.5 * (5e-5_f64.powi(2) + 1e-5_f64.powi(2))).sqrt();
        assert!((bad[2] - own).abs() < 1e-4 * own && bad[0] < 1.01e-3, "{bad:?}");
    }
}
