//! `lodestring report`.

use std::path::PathBuf;

use clap::Args;

use super::accuracy::Fineness;
use super::cautions::CAUTIONS;
use super::circuit::Circuit;

/// Write all about a section into one page of HTML, with pictures and curves
///
/// The page holds everything it shows and opens from disk, on a phone, on paper and with a screen
/// reader. It has the section and its field as pictures, every number with its unit and the error
/// that the mesh may have made in it, pull and flux change against the gap, where on its curve each
/// magnet works, and the files it was made from.
#[derive(Debug, Args)]
#[command(after_long_help = CAUTIONS)]
pub struct Report {
    /// Section file; `-` reads standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Page to write; `-` is standard output
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,

    /// Instrument file: adds detuning at every fret, partials, clearance and harmonics
    #[arg(long, value_name = "FILE")]
    pub instrument: Option<PathBuf>,

    /// String that is plucked; the first if left out
    #[arg(long, value_name = "NAME", requires = "instrument")]
    pub string: Option<String>,

    /// Coil that it is heard through; the first if left out
    #[arg(long, hide_short_help = true, value_name = "NAME", requires = "instrument")]
    pub coil: Option<String>,

    /// Add a study of this key, as `vary` takes it; may be given several times, for every pair
    #[arg(long, value_name = "KEY = VALUES")]
    pub vary: Vec<String>,

    /// How often values with a tolerance are drawn
    #[arg(long, hide_short_help = true, value_name = "N", requires = "vary")]
    pub draws: Option<u64>,

    /// Add a comparison of these grades, as `compare` takes them; may be given several times
    #[arg(long, value_name = "GRADE")]
    pub grade: Vec<String>,

    /// How good the numbers are to be.
    #[command(flatten)]
    pub fineness: Fineness,

    /// What hangs on the coil that is heard.
    #[command(flatten)]
    pub circuit: Circuit,
}
