//! Rows of a study as Parquet: a file that is written whole once all rows are there.
//!
//! A Parquet file cannot grow row by row. The rows stand as CSV beside it, which can be taken up after
//! any interruption as always.

use std::path::{Path, PathBuf};

use crate::args::Vary;
use crate::args::vary::RowFormat;
use crate::error::CliError;

#[cfg(feature = "parquet")]
use crate::{destination::Destination, error::shown};

/// Where rows and Parquet go.
pub struct Output {
    rows: PathBuf,
    #[cfg(feature = "parquet")]
    to: Destination,
}

impl Output {
    /// Looks whether Parquet is asked for and can be written.
    ///
    /// # Errors
    /// No file is named, it cannot be written, or it is there without its rows.
    #[cfg(feature = "parquet")]
    pub fn of(format: RowFormat, args: &Vary) -> Result<Option<Self>, CliError> {
        if format != RowFormat::Parquet {
            return Ok(None);
        }
        let Some(out) = args.out.as_deref().filter(|out| out.as_os_str() != "-") else {
            let message = "Parquet is written to a file only: name one with --out";
            return Err(CliError::Usage(message.to_owned()));
        };
        // The rows go beside it, and there is no beside to a device.
        if std::fs::metadata(out).is_ok_and(|m| !m.is_file() && !m.is_dir()) {
            let source = std::io::Error::other("Parquet is written to a plain file only");
            return Err(CliError::Write { name: shown(out), source });
        }
        let mut rows = out.as_os_str().to_owned();
        rows.push(".rows.csv");
        let to = Destination::prepare(Some(out), &args.file)?;
        let rows = PathBuf::from(rows);
        // Without its rows nothing tells of which study it is.
        if out.exists() && !rows.exists() && !args.restart {
            let reason = format!(
                "its rows, {}, are not beside it; use another file, or --restart to lose what it holds",
                shown(&rows)
            );
            return Err(CliError::NotOurs { name: shown(out), reason });
        }
        Ok(Some(Self { rows, to }))
    }

    /// This build knows no Parquet.
    ///
    /// # Errors
    /// Never.
    #[cfg(not(feature = "parquet"))]
    pub fn of(_: RowFormat, _: &Vary) -> Result<Option<Self>, CliError> {
        Ok(None)
    }

    /// Where the rows are appended.
    pub fn rows(&self) -> &Path {
        &self.rows
    }

    /// Writes the Parquet file of the rows of a study that varies `keys` keys.
    ///
    /// # Errors
    /// The rows cannot be read, or the file not be written.
    #[cfg(feature = "parquet")]
    pub fn write(self, keys: usize) -> Result<(), CliError> {
        self.to.write_with(|out| {
            let rows = std::fs::File::open(&self.rows)?;
            lodestring::report::columnar::write_columnar(rows, keys, out).map(|_| ())
        })
    }

    /// Never called.
    ///
    /// # Errors
    /// Never.
    #[cfg(not(feature = "parquet"))]
    pub fn write(self, _: usize) -> Result<(), CliError> {
        Ok(())
    }
}
