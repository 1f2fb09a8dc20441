//! Heights of the poles of a row that bring the strings over them into balance.
//!
//! In: the strings and their gaps in the row as it stands. Out: the gaps to poles at other heights, the
//! strings staying where they are, and what the strings give there. A pole that is raised comes nearer to
//! its string and also moves inside the coil and beside its neighbours. The first has an exact derivative,
//! that of the string's own coupling; the rest has none and is small. So the gaps are searched with the row
//! held as it stands, every string being moved over its pole instead, with the exact derivative; then the
//! poles are set to those gaps, the row is put together anew, and what the levels really did against what
//! they were to do,
//!
//! ```text
//! s_i = (L_i now - L_i before) / (change of L_i in the search)
//! ```
//!
//! scales the changes of the next search, until no pole moves any more. A search moves no string far, nor
//! down into the coil. What is told in the end is that
//! of the row put together at the last heights.

use crate::section::{Row, Section, Shape, StringSpec, Window};
use crate::study::balance::{Asked, BalanceError, Bounds, Gaps, StringAt};
use crate::study::bench::BenchError;
use crate::study::coupled_once::CoupledOnce;

/// Most searches; each is some ten times nearer than the last.
const MOST_ROUNDS: u32 = 20;
/// Farthest that a search moves a string, m.
const STRIDE: f64 = 2e-3;
/// The same as a share of its height over the coil.
const OVER_COIL: f64 = 0.5;
/// Poles that move less than this stand, m: some 1e-4 dB.
const SETTLED: f64 = 2e-8;
/// Bounds of s, which is 0.8 to 1 for rods in a coil.
const SCALES: [f64; 2] = [0.3, 3.0];
/// A change of level too small to tell s from, dB.
const NO_CHANGE: f64 = 1e-4;

/// A row in balance.
pub(super) struct Settled {
    /// The gaps.
    pub gaps: Gaps,
    /// What the strings give there.
    pub now: Vec<StringAt>,
    /// How often the row was put together.
    pub rounds: u32,
}

/// Sets the poles of `row`, which `bench` holds as it stands; the strings are at the gaps `start` and give
/// `before` there.
pub(super) fn settle<'a>(
    asked: &'a Asked<'a>,
    row: &Row,
    mut bench: CoupledOnce<'a>,
    start: &[f64],
    before: &[StringAt],
) -> Result<Settled, BalanceError> {
    let mut now = before.to_vec();
    let mut at = start.to_vec();
    let mut scale = vec![1.0; at.len()];
    let strides: Vec<f64> =
        asked.section.strings.iter().map(|s| stride(asked.section, s)).collect();
    let mut rounds = 0;
    loop {
        rounds += 1;
        let held = &bench;
        let scaled = |i: usize, gap: f64| {
            let found = held.couple(i, gap)?;
            let level = now[i].level + scale[i] * (found.level - now[i].level);
            Ok(StringAt { level, slope: scale[i] * found.slope, ..found })
        };
        let allowed: Vec<Bounds> = (asked.bounds.iter().zip(&at).zip(&strides))
            .map(|((own, gap), stride)| Bounds {
                closest: own.closest.max(gap - stride).min(own.farthest),
                farthest: own.farthest.min(gap + stride).max(own.closest),
                ..*own
            })
            .collect();
        let gaps = asked.gaps(&allowed, &at, scaled)?;
        let told = asked.each(|i| held.couple(i, gaps.gaps[i]))?;
        let other = held.bench.with_heights(&heights(asked, row, start, &gaps.gaps))?;
        let other = other.ok_or(BalanceError::Bench(BenchError::NotCoupled))?;
        bench = CoupledOnce::new(asked, other);
        let next = asked.each(|i| bench.couple(i, gaps.gaps[i]))?;
        for (i, scale) in scale.iter_mut().enumerate() {
            let wanted = told[i].level - now[i].level;
            if wanted.abs() > NO_CHANGE {
                *scale = ((next[i].level - now[i].level) / wanted).clamp(SCALES[0], SCALES[1]);
            }
        }
        let moved = gaps.gaps.iter().zip(&at).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        now = next;
        at.clone_from(&gaps.gaps);
        if moved < SETTLED || rounds == MOST_ROUNDS {
            return Ok(Settled { gaps, now, rounds });
        }
    }
}

/// How far a search may move a string, m.
fn stride(section: &Section, spec: &StringSpec) -> f64 {
    let highest = section.row.as_ref().map_or(0.0, Row::highest);
    let windows = section.coils.iter().flat_map(|coil| &coil.windows);
    let top = |window: &Window| match window.shape {
        Shape::Rectangle { height, .. } => window.at.y + 0.5 * height,
        // Refused when the section is read.
        _ => f64::NEG_INFINITY,
    };
    let tops = windows.map(top);
    let over = spec.axis.y + highest - 0.5 * spec.gauge - tops.fold(f64::NEG_INFINITY, f64::max);
    STRIDE.min(OVER_COIL * over)
}

/// Heights of all poles with the strings at `gaps` over theirs; a pole without string stays.
fn heights(asked: &Asked<'_>, row: &Row, start: &[f64], gaps: &[f64]) -> Vec<f64> {
    let mut heights = row.heights.clone();
    for ((spec, start), gap) in asked.section.strings.iter().zip(start).zip(gaps) {
        if let Some(height) = spec.pole.and_then(|pole| heights.get_mut(pole)) {
            *height += start - gap;
        }
    }
    heights
}
