//! Strings over a bench, each gap coupled once however often it is asked for.
//!
//! A search asks for the place where it began, and the last place it found is asked for again when the
//! result is told; a coupling over a row takes as long as everything else together.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};

use crate::quantity::row::over_its_pole;
use crate::section::{Section, StringSpec};
use crate::strings::signal::harmonics::decibels;
use crate::study::balance::{Asked, BalanceError, StringAt};
use crate::study::bench::StringBench;

/// Nepers to decibels: 20 / ln 10.
const DB: f64 = 20.0 / std::f64::consts::LN_10;

/// The string with its gap at `gap`, as its own pole sees it.
pub(super) fn at(section: &Section, spec: &StringSpec, gap: f64) -> StringSpec {
    let mut moved = match &section.row {
        Some(row) => over_its_pole(row, spec),
        None => spec.clone(),
    };
    moved.axis.y += gap - spec.gap.unwrap_or(gap);
    moved.gap = Some(gap);
    moved
}

/// Strings over a bench, each gap coupled once however often it is asked for.
pub(super) struct CoupledOnce<'a> {
    asked: &'a Asked<'a>,
    pub bench: StringBench,
    /// By string and gap.
    known: Mutex<BTreeMap<(usize, u64), StringAt>>,
}

impl<'a> CoupledOnce<'a> {
    pub fn new(asked: &'a Asked<'a>, bench: StringBench) -> Self {
        Self { asked, bench, known: Mutex::default() }
    }

    /// String `i` at a gap over its pole.
    pub fn couple(&self, i: usize, gap: f64) -> Result<StringAt, BalanceError> {
        let key = (i, gap.to_bits());
        let known = || self.known.lock().unwrap_or_else(PoisonError::into_inner);
        let before = known().get(&key).copied();
        if let Some(told) = before {
            return Ok(told);
        }
        let spec = &self.asked.section.strings[i];
        let coupled = self
            .bench
            .couple_as_seen(i, &at(self.asked.section, spec, gap))
            .map_err(|source| BalanceError::Coupling { name: spec.name.clone(), gap, source })?;
        let own = &coupled.coils[self.asked.options.coil];
        let change = own.change[1];
        let told = StringAt {
            change,
            level: decibels(change.abs()),
            slope: DB * own.second[1][1] / change,
            pull: coupled.pull[2],
        };
        known().insert(key, told);
        Ok(told)
    }
}
