//! Why a command ended early, what to tell the person, and with which exit code.

use std::io::{self, ErrorKind, Write};
use std::path::Path;

use lodestring::pipeline::SolveError;
use lodestring::problem::Problem;
use thiserror::Error;

use crate::args::STYLES;
use crate::exit;

/// Why a command ended early.
#[derive(Debug, Error)]
pub enum CliError {
    /// A file or standard input could not be read.
    #[error("cannot read {name}: {}", reason(.source))]
    Read {
        /// The file as typed.
        name: String,
        /// What the system said.
        source: io::Error,
    },
    /// A section file far larger than any section.
    #[error("{name} is larger than {} kB, which no section file is", .limit / 1000)]
    TooLarge {
        /// The file as typed.
        name: String,
        /// The limit, bytes.
        limit: u64,
    },
    /// A section file that is not text.
    #[error("{name} is not UTF-8 text (line {line}, column {column})")]
    NotText {
        /// The file as typed.
        name: String,
        /// Line of the first bad byte, from 1.
        line: usize,
        /// Column of the first bad byte, from 1.
        column: usize,
    },
    /// A file or standard output could not be written.
    #[error("cannot write {name}: {}", reason(.source))]
    Write {
        /// The file as typed.
        name: String,
        /// What the system said.
        source: io::Error,
    },
    /// The rows that a file holds are of another study, or it holds something else.
    #[error("{name} cannot be taken up: {reason}")]
    NotOurs {
        /// The file as typed.
        name: String,
        /// Why, and a way out.
        reason: String,
    },
    /// The section has mistakes; the text shows each with its place.
    #[error("{0}")]
    BadSection(String),
    /// The section is free of mistakes but could not be meshed or solved.
    #[error("cannot solve {name}: {source}")]
    Solve {
        /// The file as typed.
        name: String,
        /// Why.
        source: SolveError,
    },
    /// The strings could not be coupled to the field.
    #[error("cannot solve {name}: {reason}")]
    Strings {
        /// The file as typed.
        name: String,
        /// Why.
        reason: String,
    },
    /// Ctrl-C came; what was done has been printed.
    #[error("interrupted: {done} of {asked} are done and stand above")]
    Interrupted {
        /// How many are done.
        done: u64,
        /// How many there were to be.
        asked: u64,
    },
    /// Cases of `verify` are off; which and by how much has been printed.
    #[error(
        "{off} of {of} cases are off their exact solution: do not rely on results from this machine until it \
         is known why; `verify --format json` has every number, `--version` what to tell with it"
    )]
    Off {
        /// How many are off.
        off: usize,
        /// How many were run.
        of: usize,
    },
    /// The command line parsed but makes no sense.
    #[error("{0}")]
    Usage(String),
}

impl CliError {
    /// The exit code that goes with it.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::BadSection(_) => exit::BAD_SECTION,
            Self::Usage(_) => exit::USAGE,
            Self::Interrupted { .. } => exit::INTERRUPTED,
            Self::Off { .. } => exit::OFF,
            Self::Strings { .. } => exit::NOT_CONVERGED,
            Self::Solve { source, .. } => match source {
                SolveError::Section(_) => exit::BAD_SECTION,
                SolveError::Mesh(_) => exit::MESHING_FAILED,
                _ => exit::NOT_CONVERGED,
            },
            Self::Read { .. }
            | Self::TooLarge { .. }
            | Self::NotText { .. }
            | Self::NotOurs { .. }
            | Self::Write { .. } => exit::CANNOT_READ_OR_WRITE,
        }
    }

    /// Whether only the reader of our output went away, which is no error.
    pub fn is_broken_pipe(&self) -> bool {
        matches!(self, Self::Write { source, .. } if source.kind() == ErrorKind::BrokenPipe)
    }

    /// Tells the person, on standard error.
    pub fn report(&self) {
        let mut err = anstream::stderr();
        // Nothing can be done where standard error itself is gone.
        let _ = match self {
            Self::BadSection(text) => write!(err, "{text}"),
            other => {
                let label = STYLES.get_error();
                writeln!(err, "{label}error:{label:#} {other}")
            }
        };
    }
}

/// Problems without a place, in one text.
pub fn all_of(problems: &[Problem]) -> String {
    let said = problems.iter().map(|problem| {
        let help = problem.help.as_ref().map_or_else(String::new, |help| format!("; {help}"));
        visible(&format!("{}{help}", problem.message))
    });
    said.collect::<Vec<_>>().join("\n       ")
}

/// Tells the person something that is no error, on standard error.
pub fn note(text: &str) {
    // Nothing can be done where standard error itself is gone.
    let _ = writeln!(anstream::stderr(), "note: {text}");
}

/// What the system said, in words of our own where its are terse.
fn reason(source: &io::Error) -> String {
    match source.kind() {
        ErrorKind::NotFound => "there is no such file or folder".into(),
        ErrorKind::PermissionDenied => "permission denied".into(),
        ErrorKind::IsADirectory => "it is a folder".into(),
        ErrorKind::NotADirectory => "part of the path is not a folder".into(),
        ErrorKind::StorageFull => "no space left".into(),
        ErrorKind::ReadOnlyFilesystem => "the file system is read-only".into(),
        _ => source.to_string(),
    }
}

/// A path as shown to a person: in back quotes, control characters made visible.
pub fn shown(path: &Path) -> String {
    format!("`{}`", visible(&path.to_string_lossy()))
}

/// `text` with control characters escaped, so that it cannot steer a terminal.
pub fn visible(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_control() {
            shown.extend(c.escape_default());
        } else {
            shown.push(c);
        }
    }
    shown
}
