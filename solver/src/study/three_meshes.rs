//! A study done on three meshes, so that its numbers have errors.
//!
//! In: a section and what is to be done with it. Out: what it gives on the mesh that the section asks for,
//! with the errors that follow from meshes of twice and four times the size
//! ([`crate::report::error`]). They are of the mesh alone: what a study adds of its own, such as a curve
//! through some gaps, it tells in its limits.

use crate::accuracy::{BRACKETS, NO_ERRORS};
use crate::report::error::{Meshes, add_errors};
use crate::report::record::Report;
use crate::report::unit::ONE;
use crate::section::Section;

/// Does `study` with `section`, and with coarser meshes, which it is told by the second argument.
///
/// # Errors
/// Those of `study` on the mesh that the section asks for; where it fails on a coarser one, the report
/// says that no errors could be told.
pub fn with_errors<T: Send, E: Send>(
    section: &Section,
    study: impl Fn(&Section, bool) -> Result<(T, Report), E> + Sync,
) -> Result<(T, Report), E> {
    let on = |scale: f64| {
        let section = Section { mesh_scale: scale * section.mesh_scale, ..section.clone() };
        study(&section, scale > 1.0)
    };
    let (finest, (coarse, coarsest)) =
        rayon::join(|| on(1.0), || rayon::join(|| on(2.0), || on(4.0)));
    let (found, mut report) = finest?;
    let says = match (coarse, coarsest) {
        (Ok((_, coarse)), Ok((_, coarsest))) => {
            add_errors(&mut report, [&coarse, &coarsest], Meshes::Halved);
            without_those_of_counts(&mut report);
            BRACKETS
        }
        _ => NO_ERRORS,
    };
    report.limits.insert(0, says.to_owned());
    Ok((found, report))
}

/// A fret or a partial is the one or the other, on any mesh.
fn without_those_of_counts(report: &mut Report) {
    let items = report.groups.iter_mut().flat_map(|group| &mut group.items);
    for number in items.flat_map(|item| &mut item.numbers) {
        if number.unit == ONE && number.value.is_some_and(|v| v.fract() == 0.0) {
            number.error = None;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::record::{Group, Item};
    use crate::report::unit::MN;
    use crate::section::parse;

    /// A pull that is wrong by 1 % of the mesh's size, and a fret that jumps.
    fn study(section: &Section, coarser: bool) -> Result<(bool, Report), String> {
        let h = section.mesh_scale;
        if h > 15.0 {
            return Err("too coarse".to_owned());
        }
        let fret = if coarser { 3.0 } else { 4.0 };
        let item = Item::new("G3").number("pull_up", MN, 5.0 + 0.01 * h).number("fret", ONE, fret);
        let groups = vec![Group { key: "strings", items: vec![item] }];
        Ok((coarser, Report { groups, ..Report::default() }))
    }

    #[test]
    fn errors_are_of_the_mesh_that_is_asked_for() {
        let section = |scale: f64| Section { mesh_scale: scale, ..parse("format = 1").section };
        let (coarser, report) = with_errors(&section(2.0), study).expect("works");
        let [pull, fret] = &report.items("strings")[0].numbers[..] else { unreachable!("two") };
        assert!(!coarser && report.limits == [BRACKETS]);
        // Half is left by each refinement: as much again as the last difference, 0.02.
        assert!((pull.error.unwrap_or_default() - 0.02).abs() < 1e-12, "{:?}", pull.error);
        assert_eq!((fret.value, fret.error), (Some(4.0), None));
        let (_, report) = with_errors(&section(4.0), study).expect("works on the finest");
        assert_eq!(report.limits, [NO_ERRORS]);
        assert_eq!(report.items("strings")[0].numbers[0].error, None);
        assert!(with_errors(&section(16.0), study).is_err());
    }
}
