//! `lodestring compare`.

use std::path::PathBuf;

use clap::Args;

use super::cautions::CAUTIONS;
use super::output::TableOutput;

/// Compare magnet grades in one section
///
/// Every grade is put in place of the section's magnets and solved. One row per grade: flux density
/// at the string with and without it, pull and its gradient, flux change and level, inductance,
/// where the magnet works, its margin to the knee, what share of it lies below, its limit of use.
/// A grade that cannot be solved is a row that says why. Ctrl-C ends it and prints what is done.
#[derive(Debug, Args)]
#[command(after_long_help = CAUTIONS)]
pub struct Compare {
    /// Section file; `-` reads standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Grades or families, `*` standing for anything, e.g. "alnico 5" ferrite "n4*"; all if left out
    #[arg(value_name = "GRADE")]
    pub grades: Vec<String>,

    /// Grade that levels are told against; the section's own if left out
    #[arg(long, value_name = "GRADE")]
    pub against: Option<String>,

    /// Magnet whose grade is replaced, may be given several times; all if left out
    #[arg(long, value_name = "NAME")]
    pub magnet: Vec<String>,

    /// String whose figures are shown; the first if left out
    #[arg(long, value_name = "NAME")]
    pub string: Option<String>,

    /// Coil whose figures are shown; the first if left out
    #[arg(long, value_name = "NAME")]
    pub coil: Option<String>,

    /// A row for each string and each coil that is not named, instead of the first
    #[arg(long, hide_short_help = true)]
    pub each: bool,

    /// Sort by this column, e.g. level, pull_up, charge_kept, name
    #[arg(long, value_name = "COLUMN")]
    pub sort: Option<String>,

    /// Greatest first
    #[arg(long, requires = "sort")]
    pub descending: bool,

    /// Form and place of the table.
    #[command(flatten)]
    pub output: TableOutput,
}
