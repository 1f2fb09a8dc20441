//! `lodestring balance`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::Output;

/// Find the gaps or pole heights that give all strings the same level
///
/// Level is the flux change per millimetre of travel. The common level is the loudest that every
/// string can reach within the gaps and the pull that are allowed. The strings must run over a
/// round pole, over a row of them, or in the plane of the section. Over a row the poles are set to
/// heights of their own under strings that stay where they are.
#[derive(Debug, Args)]
pub struct Balance {
    /// Section file; `-` reads standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Closest gap
    #[arg(long, value_name = "LENGTH", default_value = "1.5 mm")]
    pub closest: String,

    /// Farthest gap
    #[arg(long, value_name = "LENGTH", default_value = "5 mm")]
    pub farthest: String,

    /// What is moved; without it the poles where the section has a [row], else the strings
    #[arg(long = "move", value_enum, value_name = "WHAT")]
    pub moved: Option<MovedParts>,

    /// Largest pull, in millinewton; without it, none
    #[arg(long, value_name = "MN")]
    pub pull_limit: Option<f64>,

    /// Strings that are to be louder or softer, in dB, e.g. "E2 = -1, G3 = 0.5"
    #[arg(long, value_name = "NAME = DB", default_value = "", hide_default_value = true)]
    pub profile: String,

    /// The coil; may be left out where the section has only one
    #[arg(long, value_name = "NAME")]
    pub coil: Option<String>,

    /// Form and place of the report.
    #[command(flatten)]
    pub output: Output,
}

/// What is moved to set a gap.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum MovedParts {
    /// The strings, over poles that stay
    Strings,
    /// The poles of a row, under strings that stay; none comes nearer to the height of the lowest
    /// string than the closest gap
    Poles,
}
