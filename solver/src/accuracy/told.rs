//! What is said of errors and meshes.

use crate::accuracy::model::Round;
use crate::report::record::{Group, Item, Report};
use crate::report::unit::{ONE, PERCENT};

/// What the brackets say.
pub const BRACKETS: &str = "Brackets hold the error that the mesh may have made, in units of the last digit, \
                            not that of the model or the material data; a number without them is good to \
                            the digits shown, and (?) is one that does not settle as the mesh is refined, \
                            as the field at a sharp corner of steel, which has no bound.";

/// That there are none.
pub const NO_ERRORS: &str = "No errors of the mesh could be told: the section could not be solved on \
                             coarser meshes.";

/// What kept the accuracy from being reached.
pub enum Miss {
    /// The next mesh would take this many unknowns.
    Unknowns(usize),
    /// No finer mesh could be made or solved, or refining did not help.
    Stuck,
}

/// That the accuracy asked for was not reached, and why.
pub fn not_reached(error: f64, most: f64, most_unknowns: usize, miss: &Miss) -> String {
    let percent = |share: f64| format!("{:.2} %", 100.0 * share);
    let why = match miss {
        Miss::Unknowns(next) => format!(
            "a finer mesh would take some {next} unknowns, more than the {most_unknowns} allowed"
        ),
        Miss::Stuck => "a finer mesh could not be solved or did not help".to_owned(),
    };
    format!(
        "The accuracy asked for, {}, is not reached: pull, flux change, linkage or field at a string \
         may be wrong by {}, and {why}. {BRACKETS}",
        percent(most),
        if error.is_finite() { percent(error) } else { "more than can be told".to_owned() },
    )
}

/// Adds the meshes to a report.
pub fn with_meshes(report: &mut Report, rounds: &[Round]) {
    let item = |(i, round): (usize, &Round)| {
        Item::new(format!("{}", i + 1)).number("unknowns", ONE, round.unknowns as f64).number(
            "largest_error",
            PERCENT,
            round.error.filter(|error| error.is_finite()),
        )
    };
    let items = rounds.iter().enumerate().map(item).collect();
    report.groups.push(Group { key: "meshes", items });
}
