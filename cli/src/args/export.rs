//! `lodestring export`.

use std::path::PathBuf;

use clap::Args;

/// Solve a section and write its field for a VTK viewer
///
/// The file holds an unstructured grid of quadratic triangles: vector potential at the nodes; flux
/// density, its magnitude, field strength, relative permeability and region number in each
/// triangle; the names of the regions as field data. Lengths are in metres.
#[derive(Debug, Args)]
pub struct Export {
    /// Section file; `-` reads standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Grid file to write, ending in `.vtu`; `-` is standard output
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,

    /// Leave the numbers uncompressed: a larger file, sooner written
    #[arg(long)]
    pub uncompressed: bool,
}
