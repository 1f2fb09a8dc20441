//! Gaps that give all strings the same level.
//!
//! The level of a string is how much the coil's linkage changes with its upward travel, in dB. It
//! falls as the gap grows, and so does the pull, so a string may come as close as its bounds and the
//! largest pull allow. The common level is the loudest that every string can reach there, with the
//! profile taken into account; the gaps that give it follow from a search with the exact second
//! derivative of the coupled system.

use rayon::prelude::*;

use crate::material::Library;
use crate::quantity::coupled::StringRange;
use crate::section::{Section, StringSpec};
use crate::strings::CouplingError;
use crate::strings::signal::harmonics::decibels;
use crate::study::bench::{BenchError, StringBench};
use crate::study::search::{At, Found, search};

/// Halvings that find the gap at which a pull reaches its limit: of some millimetres to some
/// nanometres.
const HALVINGS: u32 = 20;
/// Nepers to decibels: 20 / ln 10.
const DB: f64 = 20.0 / std::f64::consts::LN_10;

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
}

/// One string at one gap.
struct StringAt {
    /// Linkage change with upward travel, Wb-turns/m, and its change with the gap.
    change: [f64; 2],
    /// Upward pull, N.
    pull: f64,
}

impl StringAt {
    fn level(&self) -> f64 {
        decibels(self.change[0].abs())
    }
}

/// Balances the strings of `section`.
///
/// # Errors
/// The section cannot be solved, a string not be coupled, or the pull limit not be kept.
pub fn balance(
    section: &Section,
    library: &Library,
    options: &BalanceOptions,
) -> Result<Balance, BalanceError> {
    let [closest, farthest] = options.gaps;
    for spec in &section.strings {
        spec.gap.ok_or_else(|| BalanceError::NoGap(spec.name.clone()))?;
    }
    let at_closest = section.strings.iter().map(|s| StringRange::of_string(&at(s, closest)));
    let range = at_closest.reduce(StringRange::and).ok_or(BenchError::NoStrings)?;
    let bench = StringBench::new(section, range, library)?;
    let couple = |i: usize, gap: f64| couple(&bench, &section.strings[i], i, gap, options.coil);

    let before: Vec<StringAt> =
        each(section, |i| couple(i, section.strings[i].gap.unwrap_or(closest)))?;
    let bounds: Vec<([f64; 2], bool)> = each(section, |i| {
        let (lower, by_pull) = lower_bound(&section.strings[i].name, options, |g| couple(i, g))?;
        Ok(([lower, farthest], by_pull))
    })?;
    let loudest: Vec<f64> =
        each(section, |i| Ok(couple(i, bounds[i].0[0])?.level() - options.profile[i]))?;
    let softest = (0..loudest.len()).fold(0, |s, i| if loudest[i] < loudest[s] { i } else { s });
    let common = loudest[softest];
    let targets: Vec<f64> = options.profile.iter().map(|p| common + p).collect();

    let n = section.strings.len();
    let start: Vec<f64> = section.strings.iter().map(|s| s.gap.unwrap_or(closest)).collect();
    let boxes: Vec<[f64; 2]> = bounds.iter().map(|b| b.0).collect();
    let Found { mut x, mut held } = search(&start, &boxes, &targets, |gaps: &[f64]| {
        let all = each(section, |i| couple(i, gaps[i]))?;
        let slope = |i: usize, k: usize| {
            if i == k { DB * all[i].change[1] / all[i].change[0] } else { 0.0 }
        };
        Ok::<At, BalanceError>(At {
            values: all.iter().map(StringAt::level).collect(),
            slopes: (0..n).map(|i| (0..n).map(|k| slope(i, k)).collect()).collect(),
        })
    })?;
    // The one that sets the level is at its bound by definition, whichever side rounding leaves it.
    held[softest] = -1;
    x[softest] = boxes[softest][0];
    let now = each(section, |i| couple(i, x[i]))?;
    let strings = (0..n)
        .map(|i| Balanced {
            name: section.strings[i].name.clone(),
            gap_before: start[i],
            gap: x[i],
            change: [before[i].change[0], now[i].change[0]],
            pull: now[i].pull,
            off: now[i].level() - targets[i],
            binds: match (held[i], bounds[i].1) {
                (0, _) => Binds::Nothing,
                (1, _) => Binds::Farthest,
                (_, true) => Binds::Pull,
                (_, false) => Binds::Closest,
            },
        })
        .collect();
    let spread = |all: &[StringAt]| {
        let off = all.iter().zip(&options.profile).map(|(s, p)| s.level() - p);
        let (low, high) = off
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), l| (low.min(l), high.max(l)));
        high - low
    };
    Ok(Balance { strings, imbalance: [spread(&before), spread(&now)], softest })
}

/// `work` for each string, in parallel, results in order.
fn each<T: Send>(
    section: &Section,
    work: impl Fn(usize) -> Result<T, BalanceError> + Sync,
) -> Result<Vec<T>, BalanceError> {
    (0..section.strings.len()).into_par_iter().map(&work).collect()
}

fn at(spec: &StringSpec, gap: f64) -> StringSpec {
    let mut moved = spec.clone();
    moved.axis.y += gap - spec.gap.unwrap_or(gap);
    moved.gap = Some(gap);
    moved
}

fn couple(
    bench: &StringBench,
    spec: &StringSpec,
    index: usize,
    gap: f64,
    coil: usize,
) -> Result<StringAt, BalanceError> {
    match bench.couple(index, &at(spec, gap)) {
        Ok(coupled) => {
            let own = &coupled.coils[coil];
            Ok(StringAt { change: [own.change[1], own.second[1][1]], pull: coupled.pull[2] })
        }
        Err(source) => Err(BalanceError::Coupling { name: spec.name.clone(), gap, source }),
    }
}

/// The closest gap that bounds and pull allow, and whether it is the pull that sets it.
fn lower_bound(
    name: &str,
    options: &BalanceOptions,
    couple: impl Fn(f64) -> Result<StringAt, BalanceError>,
) -> Result<(f64, bool), BalanceError> {
    let [closest, farthest] = options.gaps;
    let too_strong = |gap: f64| Ok::<bool, BalanceError>(-couple(gap)?.pull > options.pull);
    if !options.pull.is_finite() || !too_strong(closest)? {
        return Ok((closest, false));
    }
    if too_strong(farthest)? {
        let pull = -couple(farthest)?.pull;
        return Err(BalanceError::TooStrong { name: name.to_owned(), pull });
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
    Ok((far, true))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::section::parse;

    /// A rod under three strings: each is alone over it.
    const ROD: &str = "format = 1
symmetry = \"axisymmetric\"
mesh_scale = 2
[[part]]
name = \"rod\"
role = \"magnet\"
material = \"alnico 5\"
rectangle = { width = \"4.8 mm\", height = \"17 mm\" }
at = [\"0 mm\", \"0 mm\"]
anchor = \"top\"
charge = \"up\"
[[coil]]
name = \"coil\"
turns = 7000
window = { rectangle = { x = [\"3 mm\", \"7 mm\"], y = [\"-13 mm\", \"-2 mm\"] } }
[[string]]
name = \"thick\"
gauge = \"0.46 mm\"
over = \"rod\"
gap = \"2 mm\"
[[string]]
name = \"middle\"
gauge = \"0.33 mm\"
over = \"rod\"
gap = \"2 mm\"
[[string]]
name = \"thin\"
gauge = \"0.25 mm\"
over = \"rod\"
gap = \"2 mm\"
";

    fn balanced(options: &BalanceOptions) -> Result<Balance, BalanceError> {
        balance(&parse(ROD).section, &Library::built_in(), options)
    }

    fn options() -> BalanceOptions {
        BalanceOptions { coil: 0, gaps: [1.5e-3, 6e-3], pull: f64::INFINITY, profile: vec![0.0; 3] }
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
}
