//! A section file read from disk or standard input, before anything is made of it.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use lodestring::pipeline::SolveError;
use lodestring::study::BenchError;
use lodestring::study::balance::BalanceError;
use lodestring::study::pull::PullError;
use lodestring::study::signal::SignalError;

use crate::error::{CliError, shown};
use crate::problems;

/// No section file is larger, bytes.
const LIMIT: u64 = 1_000_000;

/// The text of a section file and what to call it in messages.
#[derive(Clone)]
pub struct SectionFile {
    /// The file as typed, or `standard input`.
    pub name: String,
    /// What it holds.
    pub text: String,
}

impl SectionFile {
    /// Why this section could not be solved, told with its text at hand.
    pub fn error(&self, error: SolveError) -> CliError {
        match error {
            SolveError::Section(problems) => CliError::BadSection(problems::shown(self, &problems)),
            error => CliError::Solve { name: self.name.clone(), source: error },
        }
    }
}

impl SectionFile {
    /// Why a study of this section could not be done.
    pub fn study_error(&self, error: StudyFailure) -> CliError {
        match error {
            StudyFailure::Section(error) => self.error(error),
            StudyFailure::Asked(text) => CliError::Usage(text),
            StudyFailure::Strings(reason) => CliError::Strings { name: self.name.clone(), reason },
        }
    }
}

/// Why a study could not be done.
pub enum StudyFailure {
    /// The section cannot be solved.
    Section(SolveError),
    /// What was asked for makes no sense for this section.
    Asked(String),
    /// A string could not be coupled to its field.
    Strings(String),
}

impl From<BenchError> for StudyFailure {
    fn from(error: BenchError) -> Self {
        match error {
            BenchError::Section(error) => Self::Section(error),
            other => Self::Asked(other.to_string()),
        }
    }
}

impl From<PullError> for StudyFailure {
    fn from(error: PullError) -> Self {
        match error {
            PullError::Bench(error) => error.into(),
            PullError::Coupling { .. } => Self::Strings(error.to_string()),
            PullError::OffString { .. } => Self::Asked(error.to_string()),
        }
    }
}

impl From<BalanceError> for StudyFailure {
    fn from(error: BalanceError) -> Self {
        match error {
            BalanceError::Bench(error) => error.into(),
            BalanceError::Coupling { .. } => Self::Strings(error.to_string()),
            other => Self::Asked(other.to_string()),
        }
    }
}

impl From<SignalError> for StudyFailure {
    fn from(error: SignalError) -> Self {
        match error {
            SignalError::Bench(error) => error.into(),
            SignalError::Coupling(_) | SignalError::Rough => Self::Strings(error.to_string()),
            other => Self::Asked(other.to_string()),
        }
    }
}

/// Reads the section file at `path`; `-` is standard input.
///
/// # Errors
/// [`CliError::Read`], [`CliError::TooLarge`] past 1 MB, [`CliError::NotText`].
pub fn read(path: &Path) -> Result<SectionFile, CliError> {
    let (name, bytes) = if path.as_os_str() == "-" {
        ("standard input".to_owned(), read_at_most(io::stdin().lock()))
    } else {
        (shown(path), File::open(path).and_then(read_at_most))
    };
    let bytes = match bytes {
        Ok(bytes) => bytes,
        Err(source) => return Err(CliError::Read { name, source }),
    };
    if bytes.len() as u64 > LIMIT {
        return Err(CliError::TooLarge { name, limit: LIMIT });
    }
    match String::from_utf8(bytes) {
        Ok(text) => Ok(SectionFile { name, text }),
        Err(e) => {
            let good = e.utf8_error().valid_up_to();
            let before = String::from_utf8_lossy(&e.as_bytes()[..good]);
            let line = before.matches('\n').count() + 1;
            let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
            Err(CliError::NotText { name, line, column })
        }
    }
}

/// Reads one byte more than the limit at most, so that an endless source is told from a full one.
fn read_at_most(source: impl Read) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    source.take(LIMIT + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}
