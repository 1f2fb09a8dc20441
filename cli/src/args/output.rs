//! Options of every command that reports: in which form, and where to.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

/// Form and place of a report.
#[derive(Debug, Args)]
pub struct Output {
    /// Form of the report
    #[arg(long, value_enum, value_name = "FORM", default_value_t = Format::Text)]
    pub format: Format,

    /// Write the report to this file instead of standard output
    ///
    /// The file is written whole or not at all; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// Forms of a report.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// Tables to read
    Text,
    /// One JSON object; keys end in their unit
    Json,
    /// One line per number: what, name, quantity, unit, value
    Csv,
}
