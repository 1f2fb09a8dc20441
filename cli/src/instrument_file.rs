//! An instrument file, and the strings of a section as they are on it.

use std::path::Path;

use lodestring::problem::Problem;
use lodestring::section::{Instrument, ParsedInstrument, Section, parse_instrument};
use lodestring::study::strung::{Strung, strung};

use crate::error::CliError;
use crate::problems;
use crate::section_file::{self, SectionFile};

/// Reads the instrument file at `path`.
///
/// # Errors
/// It cannot be read, or has mistakes.
pub fn read(path: &Path) -> Result<Instrument, CliError> {
    let file = section_file::read(path)?;
    let ParsedInstrument { instrument, problems } = parse_instrument(&file.text);
    if problems.is_empty() { Ok(instrument) } else { Err(mistakes(&file, &problems)) }
}

/// The strings of `section`, which was read from `file`, as they are on `instrument`; and notes.
///
/// # Errors
/// A string is not on the instrument.
pub fn strings(
    file: &SectionFile,
    section: &Section,
    instrument: &Instrument,
) -> Result<(Vec<Strung>, Vec<String>), CliError> {
    strung(section, instrument).map_err(|problems| mistakes(file, &problems))
}

fn mistakes(file: &SectionFile, problems: &[Problem]) -> CliError {
    CliError::BadSection(problems::shown(file, problems))
}
