//! A report in the form that was asked for.

use std::io;

use lodestring::report::csv::write_csv;
use lodestring::report::record::Report;
use lodestring::report::sheet::write_rows;

use crate::args::output::{Format, TableFormat};

/// `report` as bytes; `text` says how this kind of report reads.
pub fn written(
    report: &Report,
    format: Format,
    text: impl Fn(&Report) -> String,
) -> io::Result<Vec<u8>> {
    match format {
        Format::Text => Ok(text(report).into_bytes()),
        Format::Json => {
            let mut bytes = serde_json::to_vec_pretty(report)?;
            bytes.push(b'\n');
            Ok(bytes)
        }
        Format::Csv => in_memory(|out| write_csv(report, out)),
    }
}

/// `report` as bytes; `text` and `markdown` say how it reads, and `rows`, a report and the key of one
/// of its groups, has a row for each thing that is listed.
pub fn tabled(
    report: &Report,
    rows: (&Report, &str),
    format: TableFormat,
    text: impl Fn(&Report) -> String,
    markdown: impl Fn(&Report) -> String,
) -> io::Result<Vec<u8>> {
    match format {
        TableFormat::Text => Ok(text(report).into_bytes()),
        TableFormat::Markdown => Ok(markdown(report).into_bytes()),
        TableFormat::Json => written(report, Format::Json, text),
        TableFormat::Csv => in_memory(|out| write_rows(rows.0, rows.1, out)),
    }
}

/// What `write` writes.
pub fn in_memory(write: impl FnOnce(&mut Vec<u8>) -> io::Result<()>) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    write(&mut bytes)?;
    Ok(bytes)
}
