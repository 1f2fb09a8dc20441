//! `lodestring pull`.

use std::path::PathBuf;

use clap::Args;

use super::Output;

/// Tell what the magnets' pull does to each string
///
/// Sag, detuning of its partials and their beats, clearance, and the nearest gap within a limit.
/// The section says what the magnets do; the instrument file says where the pickup stands along
/// the strings, how they are tuned and how high they are set. The strings must run over a round
/// pole, over a row of them, or in the plane of the section. Brackets hold the error that the mesh
/// may have made. JSON and CSV also tell every fret: where it is, the gap there and the largest
/// detuning.
#[derive(Debug, Args)]
pub struct Pull {
    /// Section file; `-` reads standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Instrument file: scale, frets, action, strings and their pitches
    #[arg(long, value_name = "FILE")]
    pub instrument: PathBuf,

    /// Gaps at which the pull is told, e.g. "1 mm to 5 mm in 9" or "1 mm, 2 mm"
    #[arg(long, value_name = "LENGTHS", default_value = "1 mm to 5 mm in 9")]
    pub gaps: String,

    /// Amplitude of vibration in the middle of the string
    #[arg(long, value_name = "LENGTH", default_value = "1 mm")]
    pub amplitude: String,

    /// Largest detuning allowed, in cents
    #[arg(long, value_name = "CENTS", default_value_t = 1.0)]
    pub limit: f64,

    /// Number of partials
    #[arg(long, value_name = "N", default_value_t = 8,
          value_parser = clap::value_parser!(u32).range(1..=100))]
    pub partials: u32,

    /// Closest gap looked at
    #[arg(long, value_name = "LENGTH", default_value = "0.3 mm")]
    pub closest: String,

    /// Farthest gap looked at
    #[arg(long, value_name = "LENGTH", default_value = "10 mm")]
    pub farthest: String,

    /// Form and place of the report.
    #[command(flatten)]
    pub output: Output,
}
