//! `lodestring solve`.

use std::path::PathBuf;

use clap::Args;

use super::Output;
use super::accuracy::Fineness;
use super::cautions::CAUTIONS;

/// Solve the field of a section and report what a pickup maker needs
///
/// For each string: flux density with and without it, pull and its gradient. For each coil: flux
/// linkage, its change per millimetre of string travel, inductance. For each part: flux and force.
/// Numbers come with the error that the mesh may have made in them, in brackets and in units of the
/// last digit: 12.34(2) is 12.34 give or take 0.02; (?) says that a number does not settle as the
/// mesh is refined. The report names what the model cannot show.
#[derive(Debug, Args)]
#[command(after_long_help = CAUTIONS)]
pub struct Solve {
    /// Section file; `-` reads standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Write the flux density along every probe to this file, as CSV with a line per sample
    #[arg(long, value_name = "FILE")]
    pub probes: Option<PathBuf>,

    /// How good the numbers are to be.
    #[command(flatten)]
    pub fineness: Fineness,

    /// Form and place of the report.
    #[command(flatten)]
    pub output: Output,
}
