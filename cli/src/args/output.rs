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

/// Form and place of a table with a row for each thing that is listed.
#[derive(Debug, Args)]
pub struct TableOutput {
    /// Form of the table
    #[arg(long, value_enum, value_name = "FORM", default_value_t = TableFormat::Text)]
    pub format: TableFormat,

    /// Write the table to this file instead of standard output
    ///
    /// The file is written whole or not at all; `-` is standard output.
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// Forms of a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TableFormat {
    /// To read
    Text,
    /// One JSON object; keys end in their unit
    Json,
    /// One line per row under a line of heads that end in their unit
    Csv,
    /// A table of Markdown
    Markdown,
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
