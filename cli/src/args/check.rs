//! `lodestring check`.

use std::path::PathBuf;

use clap::Args;

use super::Output;

/// Read a section, lay out its parts and mesh it, without solving
///
/// Prints every part with its role, material, size and area, the clearances between parts, and
/// how good the mesh is. All mistakes in the file are reported at once, each with its place.
#[derive(Debug, Args)]
pub struct Check {
    /// Section file; `-` reads standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Form and place of the report.
    #[command(flatten)]
    pub output: Output,
}
