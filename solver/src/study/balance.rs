//! Gaps that give all strings the same level.
//!
//! The level of a string is how much the coil's linkage changes with its upward travel, in dB. It
//! falls as the gap grows, and so does the pull, so a string may come as close as its bounds and the
//! largest pull allow. The common level is the loudest that every string can reach there, with the
//! profile taken into account; the gaps that give it follow from a search with the exact second
//! derivative of the coupled system.
//!
//! Either the strings are moved, or the poles of a row under strings that stay where they are
//! (`pole_heights`).

use rayon::prelude::*;

use crate::material::Library;
use crate::quantity::coupled::StringRange;
use crate::section::{Section, StringSpec};
use crate::strings::CouplingError;
use crate::study::bench::{BenchError, StringBench};
use crate::study::coupled_once::{CoupledOnce, at};
use crate::study::pole_heights::{Settled, settle};
use crate::study::search::{At, Found, search};

/// Halvings that find the gap at which a pull reaches its limit: of some millimetres to some
/// nanometres.
const HALVINGS: u32 = 20;

/// Strings that differ in height by less than this, m, are as high.
const ROUNDING: f64 = 1e-9;

/// What is moved to set a gap.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moved {
    /// The strings, over poles that stay.
    Strings,
    /// The poles of a row, under strings that stay.
    Poles,
}

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct BalanceOptions {
    /// Which of the section's coils.
    pub coil: usize,
    /// Closest and farthest gap, m.
    pub gaps: [f64; 2],
    /// Largest pull, N; infinite: none.
    pub pull: f64,
    /// How much louder each string is to be than the common level, dB, `[n_strings]`.
    pub profile: Vec<f64>,
    /// What is moved.
    pub moved: Moved,
}

/// Why the strings cannot be balanced.
#[derive(Clone, Debug, thiserror::Error)]
pub enum BalanceError {
    /// The section cannot be solved, or not with strings over it.
    #[error(transparent)]
    Bench(#[from] BenchError),
    /// A string could not be coupled.
    #[error("string `{name}` at a gap of {:.3} mm: {source}", .gap * 1e3)]
    Coupling {
        /// The string.
        name: String,
        /// Its gap, m.
        gap: f64,
        /// What went wrong.
        source: CouplingError,
    },
    /// A string has no gap to a pole.
    #[error("string `{0}` has no gap to a pole")]
    NoGap(String),
    /// The pull is too strong everywhere.
    #[error(
        "string `{name}` is pulled harder than allowed even at the farthest gap: {:.3} mN", .pull * 1e3
    )]
    TooStrong {
        /// The string.
        name: String,
        /// Its pull there, N.
        pull: f64,
    },
    /// Poles are to be moved and there is no row of them.
    #[error(
        "only the poles of a row can be set to heights of their own: add [row], or move the strings"
    )]
    NoRow,
    /// Two strings over one pole, which cannot stand at two heights.
    #[error("strings `{one}` and `{other}` are over the same pole, whose height cannot suit both")]
    SamePole {
        /// One string.
        one: String,
        /// The other.
        other: String,
    },
    /// The pole of a high string would stand higher than the lowest string passes.
    #[error(
        "the pole of string `{name}` may come no nearer than {:.2} mm, to stay the closest gap below the \
         lowest string: that is beyond the farthest gap", .closest * 1e3
    )]
    NoRoom {
        /// The string.
        name: String,
        /// Its closest gap, m.
        closest: f64,
    },
}

/// What keeps a string where it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Binds {
    /// Nothing: it has the common level.
    Nothing,
    /// The closest gap.
    Closest,
    /// The farthest gap.
    Farthest,
    /// The largest pull.
    Pull,
    /// Its pole stays the closest gap below the lowest of all strings.
    LowestString,
}

/// A string in balance.
#[derive(Clone, Debug, PartialEq)]
pub struct Balanced {
    /// The string.
    pub name: String,
    /// Its gap in the section, m.
    pub gap_before: f64,
    /// Its gap now, m.
    pub gap: f64,
    /// How much higher than drawn its pole stands, in the section and now, m; `None` where the strings
    /// were moved.
    pub height: Option<[f64; 2]>,
    /// Linkage change with upward travel before and now, Wb-turns/m.
    pub change: [f64; 2],
    /// Upward pull, N.
    pub pull: f64,
    /// Level against the common one, less its profile, dB: 0 where it is in balance.
    pub off: f64,
    /// What binds.
    pub binds: Binds,
}

/// Strings in balance.
#[derive(Clone, Debug, PartialEq)]
pub struct Balance {
    /// The strings.
    pub strings: Vec<Balanced>,
    /// Loudest less softest, profile taken out, before and now, dB.
    pub imbalance: [f64; 2],
    /// The string that sets the common level, since it can get no louder.
    pub softest: usize,
    /// How often the row was put together anew; 0 where the strings were moved.
    pub rounds: u32,
}

/// One string at one gap.
#[derive(Clone, Copy, Debug)]
pub(super) struct StringAt {
    /// Linkage change with upward travel, Wb-turns/m.
    pub change: f64,
    /// Its level, dB, and how much that changes with the gap, dB/m.
    pub level: f64,
    pub slope: f64,
    /// Upward pull, N.
    pub pull: f64,
}

/// What is asked of the strings of a section, with the gaps between which each may stand.
pub(super) struct Asked<'a> {
    pub section: &'a Section,
    pub options: &'a BalanceOptions,
    /// Between which gaps each string may stand.
    pub bounds: Vec<Bounds>,
}

/// Between which gaps a string may stand.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bounds {
    /// m.
    pub closest: f64,
    /// What sets the closest gap.
    pub by: Binds,
    /// m.
    pub farthest: f64,
}

/// Gaps in balance.
pub(super) struct Gaps {
    /// Gap of each string, m.
    pub gaps: Vec<f64>,
    pub binds: Vec<Binds>,
    pub softest: usize,
}

/// Balances the strings of `section`.
///
/// # Errors
/// The section cannot be solved, a string not be coupled, or the limits not be kept.
pub fn balance(
    section: &Section,
    library: &Library,
    options: &BalanceOptions,
) -> Result<Balance, BalanceError> {
    let mut start = Vec::new();
    for spec in &section.strings {
        start.push(spec.gap.ok_or_else(|| BalanceError::NoGap(spec.name.clone()))?);
    }
    let asked = Asked::new(section, options, &start)?;
    let closest = |(spec, own): (&StringSpec, &Bounds)| {
        StringRange::of_string(&at(section, spec, own.closest))
    };
    let at_closest = section.strings.iter().zip(&asked.bounds).map(closest);
    let range = at_closest.reduce(StringRange::and).ok_or(BenchError::NoStrings)?;
    let bench = CoupledOnce::new(&asked, StringBench::new(section, range, library)?);
    let before = asked.each(|i| bench.couple(i, start[i]))?;
    let (found, now, heights, rounds) = match (options.moved, &section.row) {
        (Moved::Strings, _) => {
            let found = asked.gaps(&asked.bounds, &start, |i, gap| bench.couple(i, gap))?;
            let now = asked.each(|i| bench.couple(i, found.gaps[i]))?;
            (found, now, None, 0)
        }
        (Moved::Poles, None) => return Err(BalanceError::NoRow),
        (Moved::Poles, Some(row)) => {
            let Settled { gaps, now, rounds } = settle(&asked, row, bench, &start, &before)?;
            (gaps, now, Some(&row.heights), rounds)
        }
    };
    let level = |i: usize, all: &[StringAt]| all[i].level - options.profile[i];
    let common = level(found.softest, &now);
    let string = |(i, spec): (usize, &StringSpec)| Balanced {
        name: spec.name.clone(),
        gap_before: start[i],
        gap: found.gaps[i],
        height: heights
            .and_then(|heights| heights.get(spec.pole.unwrap_or(0)))
            .map(|&own| [own, own + start[i] - found.gaps[i]]),
        change: [before[i].change, now[i].change],
        pull: now[i].pull,
        off: level(i, &now) - common,
        binds: found.binds[i],
    };
    let spread = |all: &[StringAt]| {
        let (low, high) = (0..all.len())
            .map(|i| level(i, all))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), l| (low.min(l), high.max(l)));
        high - low
    };
    Ok(Balance {
        strings: section.strings.iter().enumerate().map(string).collect(),
        imbalance: [spread(&before), spread(&now)],
        softest: found.softest,
        rounds,
    })
}

impl<'a> Asked<'a> {
    fn new(
        section: &'a Section,
        options: &'a BalanceOptions,
        start: &[f64],
    ) -> Result<Self, BalanceError> {
        let [closest, farthest] = options.gaps;
        let mut all = vec![Bounds { closest, by: Binds::Closest, farthest }; start.len()];
        if options.moved == Moved::Poles {
            let row = section.row.as_ref().ok_or(BalanceError::NoRow)?;
            let pole = |i: usize| section.strings[i].pole.unwrap_or(0);
            let height = |i: usize| row.heights.get(pole(i)).copied().unwrap_or(0.0) + start[i];
            let lowest = (0..start.len()).map(height).fold(f64::INFINITY, f64::min);
            for (i, own) in all.iter_mut().enumerate() {
                let name = |i: usize| section.strings[i].name.clone();
                if let Some(other) = (0..i).find(|&other| pole(other) == pole(i)) {
                    return Err(BalanceError::SamePole { one: name(other), other: name(i) });
                }
                let higher = height(i) - lowest;
                if higher > ROUNDING {
                    (own.closest, own.by) = (closest + higher, Binds::LowestString);
                }
                if own.closest >= farthest {
                    return Err(BalanceError::NoRoom { name: name(i), closest: own.closest });
                }
            }
        }
        Ok(Self { section, options, bounds: all })
    }

    /// `work` for each string, in parallel, results in order.
    pub fn each<T: Send>(
        &self,
        work: impl Fn(usize) -> Result<T, BalanceError> + Sync,
    ) -> Result<Vec<T>, BalanceError> {
        (0..self.section.strings.len()).into_par_iter().map(&work).collect()
    }

    /// Gaps in balance within `allowed`, where `couple` tells of each string what it gives at a gap.
    pub fn gaps(
        &self,
        allowed: &[Bounds],
        start: &[f64],
        couple: impl Fn(usize, f64) -> Result<StringAt, BalanceError> + Sync,
    ) -> Result<Gaps, BalanceError> {
        let profile = &self.options.profile;
        let bounds = self.each(|i| self.lower_bound(i, allowed[i], |gap| couple(i, gap)))?;
        let loudest: Vec<f64> = self.each(|i| Ok(couple(i, bounds[i].0)?.level - profile[i]))?;
        let softest =
            (0..loudest.len()).fold(0, |s, i| if loudest[i] < loudest[s] { i } else { s });
        let targets: Vec<f64> = profile.iter().map(|p| loudest[softest] + p).collect();
        let boxes: Vec<[f64; 2]> =
            bounds.iter().zip(allowed).map(|(b, own)| [b.0, own.farthest]).collect();
        let n = start.len();
        let Found { mut x, mut held } = search(start, &boxes, &targets, |gaps: &[f64]| {
            let all = self.each(|i| couple(i, gaps[i]))?;
            let slope = |i: usize, k: usize| if i == k { all[i].slope } else { 0.0 };
            Ok::<At, BalanceError>(At {
                values: all.iter().map(|s| s.level).collect(),
                slopes: (0..n).map(|i| (0..n).map(|k| slope(i, k)).collect()).collect(),
            })
        })?;
        // The one that sets the level is at its bound by definition, whichever side rounding leaves it.
        held[softest] = -1;
        x[softest] = boxes[softest][0];
        let binds = held.iter().zip(&bounds).map(|(held, bound)| match held {
            0 => Binds::Nothing,
            1 => Binds::Farthest,
            _ => bound.1,
        });
        Ok(Gaps { gaps: x, binds: binds.collect(), softest })
    }

    /// The closest gap that bounds and pull allow string `i`, and what sets it.
    fn lower_bound(
        &self,
        i: usize,
        Bounds { closest, by, farthest }: Bounds,
        couple: impl Fn(f64) -> Result<StringAt, BalanceError>,
    ) -> Result<(f64, Binds), BalanceError> {
        let allowed = self.options.pull;
        let too_strong = |gap: f64| Ok::<bool, BalanceError>(-couple(gap)?.pull > allowed);
        if !allowed.is_finite() || !too_strong(closest)? {
            return Ok((closest, by));
        }
        if too_strong(farthest)? {
            if farthest < self.bounds[i].farthest {
                return Ok((farthest, Binds::Pull));
            }
            let name = self.section.strings[i].name.clone();
            return Err(BalanceError::TooStrong { name, pull: -couple(farthest)?.pull });
        }
        let (mut near, mut far) = (closest, farthest);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (near + far);
            if too_strong(middle)? {
                near = middle;
            } else {
                far = middle;
            }
        }
        Ok((far, Binds::Pull))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::section::parse;
    use crate::strings::signal::harmonics::decibels;
    use crate::study::sample::{row_under, string, string_over, under};

    const GAUGES: [(&str, &str); 3] =
        [("thick", "0.46 mm"), ("middle", "0.33 mm"), ("thin", "0.25 mm")];

    /// A rod under three strings: each is alone over it.
    fn balanced(options: &BalanceOptions) -> Result<Balance, BalanceError> {
        let strings = GAUGES.map(|(name, gauge)| string(name, gauge, "2 mm"));
        balance(&parse(&under(&strings)).section, &Library::built_in(), options)
    }

    /// Each over a rod of its own in a row.
    fn row(gaps: [f64; 3], stagger: [f64; 3]) -> Section {
        let strings: Vec<String> = (0..3)
            .map(|i| {
                let (name, gauge) = GAUGES[i];
                string_over(i + 1, name, gauge, &format!("{:.9} mm", gaps[i] * 1e3))
            })
            .collect();
        let [a, b, c] = stagger.map(|h| h * 1e3);
        let keys = format!(
            "count = 3
pitch = \"10 mm\"
stagger = [\"{a:.9} mm\", \"{b:.9} mm\", \"{c:.9} mm\"]"
        );
        let parsed = parse(&row_under(&keys, &strings));
        assert!(parsed.problems.is_empty(), "{:?}", parsed.problems);
        parsed.section
    }

    fn options() -> BalanceOptions {
        BalanceOptions {
            coil: 0,
            gaps: [1.5e-3, 6e-3],
            pull: f64::INFINITY,
            profile: vec![0.0; 3],
            moved: Moved::Strings,
        }
    }

    #[test]
    fn strings_get_the_level_of_the_softest() {
        let balance = balanced(&options()).expect("works");
        assert!(balance.imbalance[0] > 4.0, "{:?}", balance.imbalance);
        // The search is flat to 1e-9 dB.
        assert!(balance.imbalance[1] < 1e-6, "{:?}", balance.imbalance);
        let [thick, middle, thin] = &balance.strings[..] else { unreachable!("three") };
        assert_eq!((balance.softest, thin.binds, thin.gap), (2, Binds::Closest, 1.5e-3));
        assert_eq!((thick.binds, middle.binds), (Binds::Nothing, Binds::Nothing));
        assert!(thick.gap > middle.gap && middle.gap > thin.gap);
        let change = |s: &Balanced| s.change[1].abs();
        assert!((change(thick) / change(thin) - 1.0).abs() < 1e-6);
    }

    #[test]
    fn profile_and_limits_are_kept() {
        let mut asked = options();
        asked.profile = vec![3.0, 0.0, -2.0];
        let balance = balanced(&asked).expect("works");
        assert!(balance.imbalance[1] < 1e-6, "{:?}", balance.imbalance);
        let change = |i: usize| balance.strings[i].change[1].abs();
        assert!((decibels(change(0) / change(1)) - 3.0).abs() < 1e-6);

        // A limit of 8 mN keeps the thick string away, and it becomes the softest or the others wait
        // for it.
        let mut limited = options();
        limited.pull = 8e-3;
        let balance = balanced(&limited).expect("works");
        assert!(balance.strings.iter().all(|s| -s.pull <= 8e-3));
        assert!(balance.strings.iter().any(|s| s.binds == Binds::Pull));
        assert!(balance.imbalance[1] < 1e-6);

        // Too little room for the thick string to get away.
        let mut narrow = options();
        narrow.gaps = [1.5e-3, 1.8e-3];
        let balance = balanced(&narrow).expect("works");
        assert_eq!(balance.strings[0].binds, Binds::Farthest);
        assert!(balance.strings[0].off > 1.0 && balance.imbalance[1] > 1.0);

        limited.pull = 1e-6;
        assert!(matches!(balanced(&limited), Err(BalanceError::TooStrong { .. })));
    }

    /// The poles of a row, set to the heights that are told, give all strings the same level when that row
    /// is solved as a section of its own.
    #[test]
    #[ignore = "slow: puts a row together some ten times"]
    fn poles_of_a_row_are_set_to_heights() {
        let (gaps, stagger) = ([2.4e-3, 2.2e-3, 2.5e-3], [0.0, 0.3e-3, -0.1e-3]);
        let asked = BalanceOptions { moved: Moved::Poles, gaps: [1.5e-3, 9e-3], ..options() };
        let library = Library::built_in();
        let found = balance(&row(gaps, stagger), &library, &asked).expect("works");
        assert!(found.imbalance[0] > 2.0, "{:?}", found.imbalance);
        // Poles that no longer move by 2e-8 m, some 5 dB/mm.
        assert!(found.imbalance[1] < 1e-4, "{found:?}");
        // Some strides of two millimetres, and some to settle.
        assert!(found.rounds <= 12, "{found:?}");
        let [thick, middle, thin] = &found.strings[..] else { unreachable!("three") };
        assert_eq!((thick.binds, middle.binds, found.softest), (Binds::Nothing, Binds::Nothing, 2));
        let heights: Vec<[f64; 2]> = found.strings.iter().filter_map(|s| s.height).collect();
        for (i, s) in found.strings.iter().enumerate() {
            // The string stays where it is.
            assert_eq!(heights[i][0], stagger[i]);
            assert!((heights[i][1] + s.gap - (stagger[i] + gaps[i])).abs() < 1e-12);
        }
        // The thin string is one of the two lowest.
        assert_eq!(thin.binds, Binds::Closest, "{thin:?}");
        assert!((thin.gap - 1.5e-3).abs() < 1e-12);
        let now = |i: usize| found.strings[i].gap;
        let section = row([now(0), now(1), now(2)], [heights[0][1], heights[1][1], heights[2][1]]);
        let parsed = crate::section::Parsed { section, problems: Vec::new() };
        let prepared = crate::pipeline::prepare_parsed(parsed, &library).expect("no mistakes");
        let solved = crate::pipeline::solve(&prepared).expect("solves").quantities;
        for (s, own) in found.strings.iter().zip(&solved.strings) {
            // The field is sampled along another line: both are good to some 1e-3 at this mesh scale.
            let change = own.linkage_change[0][1];
            assert!((s.change[1] / change - 1.0).abs() < 3e-3, "{} {change}", s.change[1]);
            assert!((s.pull / own.pull[1] - 1.0).abs() < 3e-3, "{} {:?}", s.pull, own.pull);
        }
    }

    #[test]
    fn poles_that_cannot_be_set_are_told() {
        let library = Library::built_in();
        let poles = BalanceOptions { moved: Moved::Poles, ..options() };
        assert!(matches!(balanced(&poles), Err(BalanceError::NoRow)));
        let mut section = row([2e-3; 3], [0.0; 3]);
        section.strings[2].pole = Some(0);
        let refused = balance(&section, &library, &poles);
        assert!(matches!(refused, Err(BalanceError::SamePole { .. })), "{refused:?}");
        // The first string is 5 mm higher than the others, and its pole must not be.
        let refused = balance(&row([7e-3, 2e-3, 2e-3], [0.0; 3]), &library, &poles);
        assert!(matches!(refused, Err(BalanceError::NoRoom { .. })), "{refused:?}");
        // Strings can be moved over a row, too.
        let found = balance(&row([2e-3; 3], [0.0; 3]), &library, &options()).expect("works");
        assert!(found.imbalance[1] < 1e-6 && found.strings[0].height.is_none());
    }
}
