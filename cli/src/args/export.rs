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

    /// Grid file to write, ending in `.vtu`, or a collection ending in `.pvd`; `-` is standard
    /// output
    ///
    /// A collection lists grids that are written beside it: the section and the strings, of a study
    /// once for every case.
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,

    /// Write the strings to this grid file: a poly-line each, with its magnetisation
    #[arg(long, value_name = "FILE")]
    pub strings: Option<PathBuf>,

    /// With a collection: write every case of this, e.g. "string.G3.gap = 1 mm to 4 mm in 7"
    ///
    /// May be given several times; every value goes with every value of the others.
    #[arg(long, value_name = "KEY = VALUES")]
    pub vary: Vec<String>,

    /// Leave the numbers uncompressed: a larger file, sooner written
    #[arg(long)]
    pub uncompressed: bool,
}
