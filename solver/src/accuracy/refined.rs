//! Ever finer meshes, each where the last one's errors come from, until the leading numbers are good enough.

use crate::accuracy::expected::{Leading, leading, shares, size_of_kind};
use crate::accuracy::leading::put_errors;
use crate::accuracy::level::{Level, Reading};
use crate::accuracy::model::{Accurate, Round, Wish};
use crate::accuracy::others::{add_seen, not_below_leading, peaks_without_bound};
use crate::accuracy::told::{BRACKETS, Miss, not_reached, with_meshes};
use crate::field::FieldError;
use crate::field::enriched::Cubic;
use crate::mesh::SizeMap;
use crate::pipeline::{Fields, Prepared, SolveError, Solved};
use crate::quantity::goals::{Goal, goals};
use crate::quantity::seen_readings::seen_readings;
use crate::quantity::wanted::wanted;
use crate::quantity::weighted::{Seen, error_without};
use crate::quantity::{Quantities, Workings};
use crate::report::error::{Meshes, add_errors};
use crate::report::record::Report;
use crate::report::solve::report as solve_report;

/// Factors on the sizes that the section asks for of the first mesh whose numbers are taken. Where strings are
/// coupled, reading them costs more than the field of a mesh, and one mesh less is worth a finer one.
const FIRST: f64 = 4.0;
const FIRST_COUPLED: f64 = 2.0;

/// Fewest sides to a full circle where strings are meshed: those of many small circles would else be most of the
/// mesh. The parabola through the ends and the middle of such an arc leaves 1.5e-4 of the circle's area out.
const FEWEST_SIDES: f64 = 12.0;

/// Factors on those of a mesh that only serves the next, and of one that serves the errors of the first where
/// it is good enough.
const START: f64 = 2.0;
const BARE: f64 = 4.0;

/// Most meshes whose numbers are taken. Each is to meet the wish; two or three do.
const MOST_ROUNDS: usize = 6;

/// What is asked of the next mesh, as a share of what is wished: less where the way is `FAR`, or was not
/// enough once, for what is foreseen is then less sure.
const AIM: f64 = 1.0;
const AIM_FAR: f64 = 0.6;
const FAR: f64 = 4.0;

/// What the first mesh must meet, as a share of what is wished, to be the last: where parts leave no room for
/// large triangles the mesh before it is hardly coarser, and both may be wrong alike. Found on ten sections: at
/// half of what is wished 6 % of the numbers over six rods lay outside their errors, at two fifths or less the
/// first mesh leaves no more than 5 % on any.
const BY_ITSELF: f64 = 0.4;

/// By how much more than its error the parts of a goal may sum to, counted on to cancel.
const CANCEL: f64 = 3.0;

/// A solved mesh.
struct Solution {
    level: Level,
    fields: Fields,
    /// What the cubic space would change in the field without meshed strings, where it has been asked for.
    lacks: Option<Cubic>,
}

/// A solved mesh and what it tells.
struct Told {
    reading: Reading,
    goals: Vec<Goal>,
    seen: Seen,
    leading: Vec<Leading>,
}

/// Solves `prepared` until no leading number has an error of more than `most`.
///
/// # Errors
/// The two coarsest meshes could not be solved.
pub fn solve(prepared: &Prepared, most: f64, wish: Wish) -> Result<Accurate, SolveError> {
    let mut prepared = prepared.clone();
    if prepared.regions.sampling_height.is_none() {
        prepared.regions.fewest_sides = FEWEST_SIDES;
    }
    let prepared = &prepared;
    let scale = first_scale(prepared);
    // Side by side: the coarser takes as long as the other with what it tells.
    let (start, first) = rayon::join(
        || Solution::new(Level::new(prepared, START * scale)),
        || {
            let first = Solution::to_tell(Level::new(prepared, scale))?;
            let told = first.tell(prepared)?;
            Ok::<_, SolveError>((first, told))
        },
    );
    let (mut coarse, (mut fine, mut told)) = (start?, first?);
    let mut rounds: Vec<Round> = coarse.level.round().into_iter().collect();
    // What the mesh before `coarse` tells without strings.
    let mut coarsest: Option<Report> = None;
    let mut coarse_told: Option<Told> = None;
    loop {
        let mut own = shares(&told.leading, coarse_told.as_ref().map(|t| t.leading.as_slice()));
        if largest(&own) <= most && coarse_told.is_none() {
            // Good enough by itself: what it says has to agree with the coarser mesh.
            let before = coarse.tell(prepared)?;
            own = shares(&told.leading, Some(&before.leading));
            coarse_told = Some(before);
        }
        let error = largest(&own);
        rounds.extend(fine.level.round().map(|round| Round { error: Some(error), ..round }));
        let far = coarsest.is_some() || error > FAR * most;
        let (enough, aim) = match (rounds.len(), far) {
            (..=2, _) if error <= most => (BY_ITSELF, BY_ITSELF),
            (_, true) => (1.0, AIM_FAR),
            (_, false) => (1.0, AIM),
        };
        let miss = if error <= enough * most {
            None
        } else if rounds.len() > MOST_ROUNDS {
            Some(Miss::Stuck)
        } else {
            let (next, before) = rayon::join(
                || {
                    let next = fine.finer(prepared, &told, &own, aim * most, wish)?;
                    Ok((next.tell(prepared), next))
                },
                || coarse.bare(),
            );
            match next {
                Ok((next_told, next)) => {
                    coarsest = Some(before?);
                    coarse = std::mem::replace(&mut fine, next);
                    coarse_told = Some(std::mem::replace(&mut told, next_told?));
                    continue;
                }
                // What was wished for is there.
                Err(_) if error <= most => None,
                Err(miss) => Some(miss),
            }
        };
        let meshes = match coarse_told.as_ref().filter(|_| rounds.len() > 2) {
            Some(before) => {
                Meshes::Adapted { left: error / largest(&shares(&before.leading, None)) }
            }
            None => Meshes::Halved,
        };
        let (before, apart) = rayon::join(
            || coarse_told.map_or_else(|| coarse.tell(prepared), Ok),
            || bare(prepared, coarsest),
        );
        let (before, (apart, extra)) = (before?, apart?);
        rounds.splice(0..0, extra);
        let mut report = told.reading.report;
        add_errors(&mut report, [&before.reading.report, &apart], meshes);
        let quantities = told.reading.quantities;
        let section = &prepared.section;
        let seen = fine.seen_readings(&quantities, &told.seen, &told.reading.workings);
        add_seen(&mut report, &solve_report(section, &seen));
        peaks_without_bound(&mut report, section, &quantities);
        not_below_leading(&mut report, &told.leading, &own);
        put_errors(&mut report, section, &quantities, &told.leading, &own);
        let limit = miss.map_or_else(
            || BRACKETS.to_owned(),
            |miss| not_reached(error, most, wish.most_unknowns, &miss),
        );
        report.limits.insert(0, limit);
        with_meshes(&mut report, &rounds);
        let solved = Solved { fields: fine.fields, quantities };
        return Ok(Accurate { solved, report, error: Some(error), rounds });
    }
}

/// The factor on the sizes of the first mesh whose numbers are taken.
fn first_scale(prepared: &Prepared) -> f64 {
    match prepared.regions.sampling_height {
        Some(_) => FIRST_COUPLED,
        None => FIRST,
    }
}

fn largest(shares: &[f64]) -> f64 {
    shares.iter().copied().fold(0.0, f64::max)
}

/// What a third mesh tells without strings: the one before `coarse`, or where there is none a coarser one,
/// which is then a round of its own.
fn bare(
    prepared: &Prepared,
    before: Option<Report>,
) -> Result<(Report, Option<Round>), SolveError> {
    if let Some(report) = before {
        return Ok((report, None));
    }
    let solution = Solution::new(Level::new(prepared, BARE * first_scale(prepared)))?;
    Ok((solution.bare()?, solution.level.round()))
}

impl Solution {
    fn new(level: Level) -> Result<Self, SolveError> {
        let fields = level.fields()?;
        Ok(Self { level, fields, lacks: None })
    }

    /// As [`Solution::new`] for one that is told at once: beside the strings' field there is time for what
    /// that without them lacks.
    fn to_tell(level: Level) -> Result<Self, SolveError> {
        let (fields, lacks) = level.fields_and_lack()?;
        Ok(Self { level, fields, lacks })
    }

    /// What it tells without strings.
    fn bare(&self) -> Result<Report, SolveError> {
        self.level.read_bare(&self.fields)
    }

    /// The numbers of parts and the forces on bodies as the cubic space would have them.
    fn seen_readings(
        &self,
        quantities: &Quantities,
        seen: &Seen,
        workings: &Workings,
    ) -> Quantities {
        let (field, without) = (self.fields.field(), &self.fields.without);
        seen_readings(quantities, field, without, &seen.field, &workings.movement)
    }

    fn tell(&self, prepared: &Prepared) -> Result<Told, SolveError> {
        let reading = self.level.read(&self.fields)?;
        let Prepared { section, regions, .. } = prepared;
        let field = self.fields.field();
        let Reading { workings, quantities, .. } = &reading;
        let without = &self.fields.without;
        let lacks = match (&self.lacks, &self.fields.with) {
            (None, Some(_)) => Some(error_without(without).map_err(FieldError::from)?),
            (lacks, _) => lacks.clone(),
        };
        let (seen, goals) = Seen::new(field, without, lacks, workings, || {
            goals(section, regions, field, workings, quantities)
        })
        .map_err(FieldError::from)?;
        let leading = leading(&goals, &seen.errors(&goals));
        Ok(Told { reading, goals, seen, leading })
    }

    /// The next mesh, solved: finer where the errors come from.
    fn finer(
        &self,
        prepared: &Prepared,
        told: &Told,
        shares: &[f64],
        aim: f64,
        wish: Wish,
    ) -> Result<Self, Miss> {
        let sizes = self.sizes(told, shares, aim, first_scale(prepared));
        let within = |level: &Level| level.unknowns().is_some_and(|n| n <= wish.most_unknowns);
        let mut level = Level::after(prepared, 1.0, &sizes, &self.fields);
        let asked = level.unknowns().ok_or(Miss::Stuck)?;
        if !within(&level) {
            // As fine as may be.
            let coarser = 1.05 * (asked as f64 / wish.most_unknowns as f64).sqrt();
            level = Level::after(prepared, coarser, &sizes, &self.fields);
            let now = self.level.unknowns().unwrap_or(0);
            if !within(&level) || level.unknowns().is_none_or(|n| n <= now) {
                return Err(Miss::Unknowns(asked));
            }
        }
        Self::to_tell(level).map_err(|_| Miss::Stuck)
    }

    /// Sizes with which no error is expected to be more than the share `aim` of its kind, none more than `coarsest`
    /// times what the section asks for.
    fn sizes(&self, told: &Told, shares: &[f64], aim: f64, coarsest: f64) -> SizeMap {
        let parts = told.seen.parts(self.fields.field(), &told.reading.workings, &told.goals);
        let worst =
            shares.iter().zip(&told.leading).zip(&parts).max_by(|a, b| a.0.0.total_cmp(b.0.0));
        // What is told of the worst error over what its parts sum to.
        let ratio = worst.map_or(1.0, |((share, l), parts)| {
            share * size_of_kind(&told.leading, l.number) / parts.iter().sum::<f64>()
        });
        let ratio = if ratio.is_finite() { ratio.max(1.0 / CANCEL) } else { 1.0 };
        let most: Vec<f64> = told
            .leading
            .iter()
            .map(|l| aim * size_of_kind(&told.leading, l.number) / ratio)
            .collect();
        wanted(&self.fields.mesh, &parts, &most, coarsest)
    }
}
