//! What can be typed: the commands and their options, one file per command.
//!
//! Only clap is used here, so that the build script can read these files too and make the shell
//! completions and manual pages from the same definitions.

pub mod accuracy;
pub mod balance;
mod cautions;
mod check;
pub mod circuit;
mod compare;
mod completions;
pub mod draw;
mod export;
mod grades;
mod manual;
pub mod output;
mod pull;
mod report;
pub mod signal;
mod solve;
pub mod vary;
mod verify;

use std::path::PathBuf;

use clap::builder::styling::{AnsiColor, Styles};
use clap::{Parser, Subcommand};

pub use balance::Balance;
pub use check::Check;
pub use compare::Compare;
pub use completions::Completions;
pub use draw::Draw;
pub use export::Export;
pub use grades::Grades;
pub use manual::Manual;
pub use output::Output;
pub use pull::Pull;
pub use report::Report;
pub use signal::Signal;
pub use solve::Solve;
pub use vary::Vary;
pub use verify::Verify;

/// Colours of the help and of error labels: the terminal's own, bold or plain.
pub const STYLES: Styles = Styles::styled()
    .header(AnsiColor::White.on_default().bold())
    .usage(AnsiColor::White.on_default().bold())
    .literal(AnsiColor::Cyan.on_default())
    .placeholder(AnsiColor::Green.on_default())
    .error(AnsiColor::Red.on_default().bold())
    .valid(AnsiColor::Cyan.on_default())
    .invalid(AnsiColor::Yellow.on_default());

/// Magnetics of string-instrument pickups, from a cross-section file.
///
/// Flux at each string, how hard the magnets pull it, and how much the coil's flux changes for
/// every millimetre the string moves. A section file says what the parts are, where they stand
/// and what they are made of.
#[derive(Debug, Parser)]
#[command(
    name = "lodestring",
    bin_name = "lodestring",
    version = crate::VERSION,
    styles = STYLES,
    max_term_width = 100,
    after_long_help = crate::exit::help(),
    disable_help_subcommand = true,
)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,

    /// How many threads to use, at most; all cores if left out
    ///
    /// The results do not depend on it.
    #[arg(long, global = true, hide_short_help = true, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=1024))]
    pub threads: Option<u16>,

    /// Add the grades of this file to the library; may be given several times
    ///
    /// A grade of the same name is replaced. How a grade file is written stands in the
    /// documentation of the library's module `material`.
    #[arg(long, global = true, value_name = "FILE")]
    pub materials: Vec<PathBuf>,
}

/// The commands. Their help stands in each command's own file; a text here would replace it.
#[derive(Debug, Subcommand)]
pub enum Command {
    Check(Check),
    Solve(Solve),
    Draw(Draw),
    Report(Report),
    Export(Export),
    Balance(Balance),
    Compare(Compare),
    Grades(Grades),
    Pull(Pull),
    Signal(Box<Signal>),
    Vary(Vary),
    Verify(Verify),
    Completions(Completions),
    Manual(Manual),
}
