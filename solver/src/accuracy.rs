//! A section solved on ever finer meshes, until its numbers are as good as asked.
//!
//! Three meshes to begin with, of the size that the section asks for and twice and four times as
//! large; from them every number of the report has its error ([`crate::report::error`]). Where
//! the errors of the leading numbers (pull, flux change, field at the string, linkage,
//! inductance) are too large the sizes are halved, as long as the unknowns stay within bounds.

use std::sync::Arc;

use crate::field::Space;
use crate::pipeline::{Fields, Prepared, SolveError, Solved, fields_on, read, unknowns};
use crate::quantity::Quantities;
use crate::report::error::add_errors;
use crate::report::record::{Number, Report};
use crate::report::solve::report;

/// How good the leading numbers are to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wish {
    /// Largest error, as a share of the largest number of the same kind; `None` leaves the mesh as
    /// the section asks for it.
    pub error: Option<f64>,
    /// Most unknowns of a mesh.
    pub most_unknowns: usize,
}

/// A solved section whose numbers have errors.
#[derive(Clone, Debug)]
pub struct Accurate {
    /// The section on the finest mesh.
    pub solved: Solved,
    /// Its report, errors and all.
    pub report: Report,
    /// The largest error of a leading number, as a share of the largest of its kind; `None` where
    /// the meshes did not allow one to be told.
    pub error: Option<f64>,
    /// Factor on the sizes of the finest mesh, against those the section asks for.
    pub scale: f64,
}

/// Names of the leading numbers, by group.
const LEADING: [(&str, &[&str]); 5] = [
    ("strings", &["pull_up", "pull_across"]),
    ("strings", &["flux_density_without_up", "flux_density_without_across"]),
    ("linkage_changes", &["linkage_change_up", "linkage_change_across"]),
    ("coils", &["linkage", "linkage_without"]),
    ("coils", &["inductance"]),
];

/// Half the size makes four times the unknowns.
const GROWTH: usize = 4;

/// Solves `prepared`, and again on finer meshes until `wish` is met or its bounds are.
///
/// The coarsest mesh comes first, and the two others, side by side, begin where it ended: that takes a
/// sixteenth of the finest, and saves the finest most of its factorisations.
///
/// # Errors
/// As [`crate::pipeline::solve`], on the mesh that the section asks for.
pub fn solve(prepared: &Prepared, wish: Wish) -> Result<Accurate, SolveError> {
    let scaled = |scale: f64| Level::new(prepared, scale);
    let (level, (coarse_level, coarsest_level)) =
        rayon::join(|| scaled(1.0), || rayon::join(|| scaled(2.0), || scaled(4.0)));
    let coarsest = coarsest_level.fields(None);
    let near = coarsest.as_ref().ok();
    let ((fields, its_read), (coarse_read, coarsest_read)) = rayon::join(
        || level.solved(near),
        || (coarse_level.solved(near).1, coarsest_level.read(&coarsest)),
    );
    let (mut quantities, mut finest) = its_read?;
    let mut fields = fields?;
    let (Ok((_, mut coarse)), Ok((_, mut coarsest))) = (coarse_read, coarsest_read) else {
        finest.limits.insert(0, NO_ERRORS.to_owned());
        let solved = Solved { fields, quantities };
        return Ok(Accurate { solved, report: finest, error: None, scale: 1.0 });
    };
    let mut scale = 1.0;
    loop {
        let mut report = finest.clone();
        add_errors(&mut report, [&coarse, &coarsest]);
        let error = largest_error(&report);
        let next = fields.without.info.unknowns.saturating_mul(GROWTH);
        let met = wish.error.is_none_or(|most| error <= most);
        if !met && next <= wish.most_unknowns {
            let level = Level::new(prepared, 0.5 * scale);
            // Where it fails, what there is stays good.
            if let (Ok(finer), Ok(of_finer)) = level.solved(Some(&fields)) {
                scale *= 0.5;
                coarsest = std::mem::replace(&mut coarse, finest);
                (quantities, finest) = of_finer;
                fields = finer;
                continue;
            }
        }
        report.limits.insert(0, told(error, wish, next));
        let solved = Solved { fields, quantities };
        return Ok(Accurate { solved, report, error: Some(error), scale });
    }
}

/// What the errors behind numbers are.
pub const BRACKETS: &str = "Brackets hold the error that the mesh may have made, in units of the last digit, \
                            not that of the model or the material data; a number without them is good to \
                            the digits shown, and (?) is one that does not settle as the mesh is refined, \
                            as the field at a sharp corner of steel, which has no bound.";

/// What is said where no errors could be told.
pub const NO_ERRORS: &str = "No errors of the mesh could be told: the section could not be solved on \
                         coarser meshes.";

/// The section on a mesh of its own.
struct Level {
    prepared: Prepared,
    space: Result<Arc<Space>, SolveError>,
}

impl Level {
    /// Meshes the section with sizes `scale` times those it asks for.
    fn new(prepared: &Prepared, scale: f64) -> Self {
        let mut prepared = prepared.clone();
        prepared.regions.mesh_scale *= scale;
        let space = unknowns(&prepared, None);
        Self { prepared, space }
    }

    /// Solves it, starting from the fields on another mesh.
    fn fields(&self, before: Option<&Fields>) -> Result<Fields, SolveError> {
        let space = Arc::clone(self.space.as_ref().map_err(SolveError::clone)?);
        let start = before.map(|before| before.start_on(&space.mesh));
        fields_on(&self.prepared, space, start.as_ref())
    }

    /// Its fields, starting from those on another mesh, and what they tell.
    fn solved(
        &self,
        before: Option<&Fields>,
    ) -> (Result<Fields, SolveError>, Result<(Quantities, Report), SolveError>) {
        let fields = self.fields(before);
        let read = self.read(&fields);
        (fields, read)
    }

    /// What the fields tell.
    fn read(
        &self,
        fields: &Result<Fields, SolveError>,
    ) -> Result<(Quantities, Report), SolveError> {
        let quantities = read(&self.prepared, fields.as_ref().map_err(SolveError::clone)?)?;
        let report = report(&self.prepared.section, &quantities);
        Ok((quantities, report))
    }
}

/// The largest error of a leading number, as a share of the largest number of its kind.
fn largest_error(report: &Report) -> f64 {
    let mut worst: f64 = 0.0;
    for (group, names) in LEADING {
        let alike = report.items(group).iter().flat_map(|item| &item.numbers);
        let alike: Vec<&Number> = alike.filter(|n| names.contains(&n.name)).collect();
        // Up and across are one kind: a pull that is all but vertical has a small other part. A
        // coupled string's numbers are of the whole and a meshed one's are per metre.
        for number in &alike {
            let Some(error) = number.error else { continue };
            let same = alike.iter().filter(|n| n.unit == number.unit).filter_map(|n| n.value);
            worst = worst.max(error / same.map(f64::abs).fold(0.0, f64::max));
        }
    }
    worst
}

/// What the brackets say, and whether the wish was met.
fn told(error: f64, wish: Wish, next: usize) -> String {
    let Some(most) = wish.error.filter(|most| error > *most) else { return BRACKETS.to_owned() };
    let percent = |share: f64| format!("{:.2} %", 100.0 * share);
    format!(
        "The accuracy asked for, {}, is not reached: pull, flux change, linkage or field at a string \
         may be wrong by {}, and a finer mesh would take some {next} unknowns, more than the {} \
         allowed. {BRACKETS}",
        percent(most),
        if error.is_finite() { percent(error) } else { "more than can be told".to_owned() },
        wish.most_unknowns,
    )
}
