//! A report in the form that was asked for.

use std::io;

use lodestring::report::csv::write_csv;
use lodestring::report::record::Report;

use crate::args::output::Format;

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

/// What `write` writes.
pub fn in_memory(write: impl FnOnce(&mut Vec<u8>) -> io::Result<()>) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    write(&mut bytes)?;
    Ok(bytes)
}
