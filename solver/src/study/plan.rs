//! Which cases a study has, and in which order.
//!
//! Keys with listed values make a grid, the first key varying slowest, or go side by side. Keys with
//! drawn values are drawn together, so many times for every case of the grid. Case 1 is the first;
//! any case is worked out from its number, so a study of any size takes no memory.

use crate::study::draw::draw;
use crate::study::error::StudyError;
use crate::study::key::KeyPath;
use crate::study::template::Template;
use crate::study::values::{Axis, Measure, Setting, Spread, Values};

/// Values of a list that [`Plan::ends`] looks at.
const MOST_LISTED: u64 = 64;
/// Most cases.
const MOST_CASES: u64 = 100_000_000;

/// How several keys go together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Together {
    /// Every value of one with every value of the others.
    Grid,
    /// First with first, second with second, ...
    SideBySide,
}

/// A study's cases.
#[derive(Clone, Debug)]
pub struct Plan {
    axes: Vec<Planned>,
    together: Together,
    draws: Option<u64>,
    seed: u64,
    count: u64,
}

#[derive(Clone, Debug)]
struct Planned {
    key: KeyPath,
    values: PlannedValues,
}

#[derive(Clone, Debug)]
enum PlannedValues {
    Listed(Values, u64),
    Drawn { middle: f64, half: f64, unit: String, spread: Spread },
}

impl Plan {
    /// The plan of `axes` over the file `template`.
    ///
    /// # Errors
    /// A key leads nowhere or is named twice, numbers of values do not match, draws are missing.
    pub fn new(
        template: &Template,
        axes: &[Axis],
        together: Together,
        draws: Option<u64>,
        seed: u64,
    ) -> Result<Self, StudyError> {
        let mut planned: Vec<Planned> = Vec::new();
        for axis in axes {
            if planned.iter().any(|p| p.key == axis.key) {
                return Err(StudyError::Twice(axis.key.to_string()));
            }
            planned.push(Planned::new(template, axis)?);
        }
        if planned.is_empty() {
            return Err(StudyError::Nothing);
        }
        let drawn = planned.iter().find(|p| p.count().is_none());
        let draws = match (drawn, draws) {
            (Some(p), None | Some(0)) => return Err(StudyError::NoDraws(p.key.to_string())),
            (None, Some(_)) => return Err(StudyError::IdleDraws),
            (_, draws) => draws,
        };
        let mut listed = planned.iter().filter_map(|p| p.count().map(|n| (&p.key, n)));
        let cells = match together {
            Together::Grid => listed.try_fold(1_u64, |all, (_, n)| all.checked_mul(n)),
            Together::SideBySide => match listed.next() {
                None => Some(1),
                Some((one, ones)) => {
                    if let Some((other, others)) = listed.find(|(_, n)| *n != ones) {
                        let (one, other) = (one.to_string(), other.to_string());
                        return Err(StudyError::Uneven { one, ones, other, others });
                    }
                    Some(ones)
                }
            },
        };
        let count = cells.and_then(|n| n.checked_mul(draws.unwrap_or(1)));
        match count.filter(|n| *n <= MOST_CASES) {
            Some(count) => Ok(Self { axes: planned, together, draws, seed, count }),
            None => Err(StudyError::TooMany(MOST_CASES)),
        }
    }

    /// Number of cases.
    pub fn count(&self) -> u64 {
        self.count
    }

    /// The keys, in the order in which they were named.
    pub fn keys(&self) -> Vec<&KeyPath> {
        self.axes.iter().map(|a| &a.key).collect()
    }

    /// Settings at the ends of what each key takes, for one key at a time: number of the key and the
    /// setting. Long lists are told by their first values.
    pub fn ends(&self) -> Vec<(usize, Setting)> {
        let of = |(i, axis): (usize, &Planned)| -> Vec<(usize, Setting)> {
            let settings: Vec<Setting> = match &axis.values {
                PlannedValues::Listed(values @ Values::Steps { count, .. }, _) => {
                    [0, count - 1].iter().filter_map(|i| values.get(*i)).collect()
                }
                PlannedValues::Listed(values, count) => {
                    (0..*count.min(&MOST_LISTED)).filter_map(|i| values.get(i)).collect()
                }
                PlannedValues::Drawn { middle, half, unit, .. } => {
                    [middle - half, middle + half].map(|v| Measure::setting(v, unit)).to_vec()
                }
            };
            settings.into_iter().map(|s| (i, s)).collect()
        };
        self.axes.iter().enumerate().flat_map(of).collect()
    }

    /// The text of case `number` (from 1): that of `template` with the case's settings put in; the
    /// last settings beyond the last.
    ///
    /// # Errors
    /// A key leads nowhere in `template`.
    pub fn text(&self, template: &Template, number: u64) -> Result<String, StudyError> {
        let settings = self.case(number.clamp(1, self.count)).unwrap_or_default();
        let pairs: Vec<_> = self.keys().into_iter().zip(&settings).collect();
        template.with(&pairs)
    }

    /// The settings of case `number` (from 1), in the order of [`Self::keys`]; `None` beyond the
    /// last.
    pub fn case(&self, number: u64) -> Option<Vec<Setting>> {
        if !(1..=self.count).contains(&number) {
            return None;
        }
        let draws = self.draws.unwrap_or(1);
        let mut cell = (number - 1) / draws;
        let mut settings = vec![None; self.axes.len()];
        // The last key varies fastest.
        for (i, axis) in self.axes.iter().enumerate().rev() {
            settings[i] = match &axis.values {
                PlannedValues::Listed(values, count) => match self.together {
                    Together::SideBySide => values.get(cell),
                    Together::Grid => {
                        let own = cell % count;
                        cell /= count;
                        values.get(own)
                    }
                },
                PlannedValues::Drawn { middle, half, unit, spread } => {
                    let value = middle + half * draw(self.seed, i as u64, number - 1, *spread);
                    Some(Measure::setting(value, unit))
                }
            };
        }
        settings.into_iter().collect()
    }
}

impl Planned {
    fn new(template: &Template, axis: &Axis) -> Result<Self, StudyError> {
        let found = template.value(&axis.key)?;
        let values = match &axis.values {
            Values::Drawn { middle, tolerance, relative, spread } => {
                let no_middle = |reason: &str| StudyError::NoSuchPlace {
                    key: axis.key.to_string(),
                    reason: reason.to_owned(),
                };
                let middle = match (middle, &found) {
                    (Some(middle), _) => middle.clone(),
                    (None, Some(found)) => {
                        let (number, unit) = found.measure().ok_or_else(|| {
                            no_middle("what the file says there is no number to draw about")
                        })?;
                        Measure { number, unit: unit.to_owned() }
                    }
                    (None, None) => {
                        return Err(no_middle("the file says nothing there to draw about"));
                    }
                };
                if !relative && tolerance.unit != middle.unit {
                    return Err(no_middle(&format!(
                        "the file has `{}` there, the tolerance is in `{}`",
                        middle.unit, tolerance.unit
                    )));
                }
                let half = if *relative {
                    (tolerance.number * middle.number).abs()
                } else {
                    tolerance.number
                };
                PlannedValues::Drawn {
                    middle: middle.number,
                    half,
                    unit: middle.unit,
                    spread: *spread,
                }
            }
            listed => PlannedValues::Listed(listed.clone(), listed.count().unwrap_or(0)),
        };
        Ok(Self { key: axis.key.clone(), values })
    }

    fn count(&self) -> Option<u64> {
        match &self.values {
            PlannedValues::Listed(_, count) => Some(*count),
            PlannedValues::Drawn { .. } => None,
        }
    }
}

/// The cases of piece `piece` (from 1) of `pieces`: a run of neighbours, so that pieces put one
/// after another are the whole.
pub fn piece(count: u64, piece: u64, pieces: u64) -> std::ops::RangeInclusive<u64> {
    let bound = |k: u64| (u128::from(count) * u128::from(k) / u128::from(pieces.max(1))) as u64;
    bound(piece.saturating_sub(1)) + 1..=bound(piece)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "temperature_C = 20\n[[string]]\nname = \"G3\"\ngap = \"2 mm\"\n";

    fn plan(axes: &[&str], together: Together, draws: Option<u64>) -> Result<Plan, StudyError> {
        let axes: Vec<Axis> = axes.iter().map(|a| Axis::parse(a).expect("readable")).collect();
        let template = Template::new(TEXT).expect("toml");
        Plan::new(&template, &axes, together, draws, 11)
    }

    fn shown(plan: &Plan, number: u64) -> Vec<String> {
        plan.case(number).expect("a case").iter().map(Setting::shown).collect()
    }

    #[test]
    fn a_grid_has_every_pair_in_order() {
        let axes = ["string.G3.gap = 1 mm to 2 mm in 2", "temperature_C = 20, 40, 60"];
        let plan = plan(&axes, Together::Grid, None).expect("a plan");
        assert_eq!(plan.count(), 6);
        assert_eq!(shown(&plan, 1), ["1 mm", "20"]);
        assert_eq!(shown(&plan, 2), ["1 mm", "40"]);
        assert_eq!(shown(&plan, 4), ["2 mm", "20"]);
        assert_eq!(shown(&plan, 6), ["2 mm", "60"]);
        assert!(plan.case(0).is_none() && plan.case(7).is_none());
    }

    #[test]
    fn ends_are_those_of_each_key() {
        let axes = ["string.G3.gap = 1 mm to 2 mm in 9", "temperature_C = 20, 40, 60"];
        let plan = plan(&axes, Together::Grid, None).expect("a plan");
        let ends: Vec<(usize, String)> =
            plan.ends().into_iter().map(|(i, s)| (i, s.shown())).collect();
        let want = [(0, "1 mm"), (0, "2 mm"), (1, "20"), (1, "40"), (1, "60")];
        assert_eq!(ends, want.map(|(i, s)| (i, s.to_owned())));
    }

    #[test]
    fn side_by_side_needs_as_many() {
        let axes = ["string.G3.gap = 1 mm to 2 mm in 3", "temperature_C = 20, 40, 60"];
        let even = plan(&axes, Together::SideBySide, None).expect("a plan");
        assert_eq!(even.count(), 3);
        assert_eq!(shown(&even, 2), ["1.5 mm", "40"]);
        let axes = ["string.G3.gap = 1 mm to 2 mm in 2", "temperature_C = 20, 40, 60"];
        let error = plan(&axes, Together::SideBySide, None).expect_err("uneven");
        assert!(error.to_string().contains("has 2"), "{error}");
    }

    #[test]
    fn draws_repeat_with_the_seed_and_stay_within() {
        let axes = ["string.G3.gap = +- 10 %", "temperature_C = 20, 40"];
        let plan = plan(&axes, Together::Grid, Some(50)).expect("a plan");
        assert_eq!(plan.count(), 100);
        let mut seen = std::collections::BTreeSet::new();
        for number in 1..=100 {
            let [gap, temperature] = &plan.case(number).expect("a case")[..] else {
                unreachable!("two keys")
            };
            let (gap, unit) = gap.measure().expect("a measure");
            assert!((1.8..=2.2).contains(&gap) && unit == "mm");
            seen.insert(gap.to_bits());
            let cell = if number <= 50 { 20.0 } else { 40.0 };
            assert_eq!(*temperature, Setting::Number(cell));
        }
        assert_eq!(seen.len(), 100);
    }

    #[test]
    fn what_makes_no_study_is_refused() {
        let gap = "string.G3.gap = 1 mm, 2 mm";
        let refused =
            |axes: &[&str], draws| plan(axes, Together::Grid, draws).expect_err("refused");
        assert_eq!(refused(&[], None), StudyError::Nothing);
        assert_eq!(refused(&[gap, gap], None), StudyError::Twice("string.G3.gap".to_owned()));
        assert_eq!(refused(&[gap], Some(3)), StudyError::IdleDraws);
        let drawn = "string.G3.gap = +- 0.1 mm";
        assert_eq!(refused(&[drawn], None), StudyError::NoDraws("string.G3.gap".to_owned()));
        let many: Vec<String> = (0..4).map(|i| format!("k{i} = 1 to 1000 in 1000")).collect();
        let many: Vec<&str> = many.iter().map(String::as_str).collect();
        assert_eq!(refused(&many, None), StudyError::TooMany(MOST_CASES));
        let said = |axis| refused(&[axis], Some(2)).to_string();
        assert!(said("string.G3.gap = +- 1 in").contains("the file has `mm`"));
        assert!(said("string.G3.name = +- 1 mm").contains("no number to draw about"));
        assert!(said("string.G3.offset = +- 1 mm").contains("says nothing there"));
    }

    #[test]
    fn pieces_make_the_whole() {
        for (count, pieces) in [(10, 3), (3, 7), (0, 2), (100, 1)] {
            let all: Vec<u64> = (1..=pieces).flat_map(|k| piece(count, k, pieces)).collect();
            assert_eq!(all, (1..=count).collect::<Vec<u64>>());
        }
    }
}
