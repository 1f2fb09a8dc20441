//! `lodestring vary`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

/// Solve a section many times with some of its values varied
///
/// Each case is the section file with other values at the keys that are named; it gives one row.
/// A case that cannot be solved is a row that says why. Rows are written as they are done, always
/// in the same order. A study that is interrupted goes on where it stopped when the same command
/// is given again.
#[derive(Debug, Args)]
#[command(after_long_help = EXAMPLES)]
pub struct Vary {
    /// Section file; `-` reads standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Keys of the file and their values, e.g. "string.G3.gap = 1 mm to 4 mm in 16"
    #[arg(value_name = "KEY = VALUES", required = true)]
    pub axes: Vec<String>,

    /// Take first values with first, second with second ..., instead of every pair
    #[arg(long)]
    pub side_by_side: bool,

    /// How often values with a tolerance are drawn
    #[arg(long, value_name = "N")]
    pub draws: Option<u64>,

    /// Where the drawing starts: the same seed gives the same draws
    #[arg(long, value_name = "SEED", default_value_t = 1)]
    pub seed: u64,

    /// Numbers to write, `*` standing for anything, e.g. "strings.*.pull_up*"
    ///
    /// May be given several times. Without it: all numbers of strings, coils and parts.
    #[arg(long, value_name = "NAME")]
    pub take: Vec<String>,

    /// Form of the rows; without it what the ending of --out says, else csv
    #[arg(long, value_enum, value_name = "FORM")]
    pub format: Option<RowFormat>,

    /// Append the rows to this file instead of printing them
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,

    /// Begin anew: what the file of --out holds is lost
    #[arg(long, requires = "out")]
    pub restart: bool,

    /// Solve only piece K of N pieces; the pieces' files one after another are the whole (each piece
    /// in Parquet is a file with all columns, to be read together with the others)
    #[arg(long, value_name = "K/N", value_parser = shard)]
    pub shard: Option<(u64, u64)>,
}

/// Forms of rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum RowFormat {
    /// Comma-separated, with a line of heads
    Csv,
    /// One JSON object per line
    Jsonl,
    /// Parquet, written when all rows are done; until then, and for taking the study up again, they
    /// stand as CSV in the file of --out with `.rows.csv` added, which is kept
    #[cfg(feature = "parquet")]
    Parquet,
}

/// "K/N" with 1 <= K <= N.
fn shard(typed: &str) -> Result<(u64, u64), String> {
    let parts = typed.split_once('/').and_then(|(k, n)| Some((k.parse().ok()?, n.parse().ok()?)));
    match parts {
        Some((k, n)) if k >= 1 && k <= n => Ok((k, n)),
        _ => Err("a piece is written K/N, from 1/N to N/N".to_owned()),
    }
}

const EXAMPLES: &str = "\
Values:
  1 mm to 4 mm in 16         16 values at equal steps
  1 mm to 4 mm by 0.5 mm     at this step
  alnico 2, alnico 5         a list
  2 mm +- 0.2 mm             drawn evenly within the tolerance
  2 mm +- 10 % normal        drawn normally, three standard deviations wide
  +- 0.2 mm                  drawn about what the file says

Keys are the file's own, a list entry by its name or its number from 1:
  string.G3.gap   part.rod 2.at.y   coil.coil.window.1.turns   temperature_C

Example:
  lodestring vary rod.toml \"string.G3.gap = 1 mm to 4 mm in 16\" --out gaps.csv";
