//! A section on the mesh that it asks for, with errors from meshes twice and four times as coarse.
//!
//! The coarsest field comes first, while the finest mesh is made, and the two others begin where it ended: that
//! takes a sixteenth of the finest, and saves the finest most of its factorisations.

use crate::accuracy::leading::{forces_as_pulls, largest_error};
use crate::accuracy::level::Level;
use crate::accuracy::model::{Accurate, Round};
use crate::accuracy::told::{BRACKETS, NO_ERRORS, with_meshes};
use crate::pipeline::{Prepared, SolveError, Solved};
use crate::report::error::{Meshes, add_errors};

/// Solves `prepared` on its three meshes.
///
/// # Errors
/// As [`crate::pipeline::solve`].
pub fn solve(prepared: &Prepared) -> Result<Accurate, SolveError> {
    let scaled = |scale: f64| Level::new(prepared, scale);
    let (level, (coarsest_level, coarsest)) = rayon::join(
        || scaled(1.0),
        || {
            let level = scaled(4.0);
            let fields = level.fields();
            (level, fields)
        },
    );
    let near = coarsest.as_ref().ok();
    let solved = |level: &Level| {
        let fields = near.map_or_else(|| level.fields(), |near| level.fields_near(near))?;
        let reading = level.read(&fields)?;
        Ok::<_, SolveError>((fields, reading))
    };
    let read_coarsest = || coarsest_level.read(coarsest.as_ref().map_err(SolveError::clone)?);
    let solved_coarse = || {
        let level = scaled(2.0);
        let solved = solved(&level);
        (level, solved)
    };
    let (fine, ((coarse_level, coarse), coarsest)) =
        rayon::join(|| solved(&level), || rayon::join(solved_coarse, read_coarsest));
    let (fields, reading) = fine?;
    let mut report = reading.report;
    let mut rounds: Vec<Round> =
        [&coarsest_level, &coarse_level, &level].into_iter().filter_map(Level::round).collect();
    let error = match (&coarse, &coarsest) {
        (Ok((_, coarse)), Ok(coarsest)) => {
            add_errors(&mut report, [&coarse.report, &coarsest.report], Meshes::Halved);
            forces_as_pulls(&mut report, &prepared.section);
            Some(largest_error(&report))
        }
        _ => None,
    };
    if let Some(last) = rounds.last_mut() {
        last.error = error;
    }
    report.limits.insert(0, if error.is_some() { BRACKETS } else { NO_ERRORS }.to_owned());
    with_meshes(&mut report, &rounds);
    let solved = Solved { fields, quantities: reading.quantities };
    Ok(Accurate { solved, report, error, rounds })
}
