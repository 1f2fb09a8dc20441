//! The output of a study: rows that are appended one by one, to standard output or to a file that
//! can be taken up again after any interruption.
//!
//! The file only ever grows by whole rows; a row that was cut short (the process killed, the disk
//! full, the power gone) is cut off, now or when the study is taken up. Two runs cannot write the
//! same file at once.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, BufReader, ErrorKind, Seek, SeekFrom, Write};
use std::ops::RangeInclusive;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use lodestring::study::kept::{Kept, KeptError, kept};

use crate::error::{CliError, shown};

/// How often rows are pressed through to the disk.
const SYNC: Duration = Duration::from_secs(2);

/// Where rows go.
pub struct RowFile {
    /// As typed, for messages.
    name: String,
    kind: Kind,
}

enum Kind {
    Stdout,
    File {
        file: File,
        /// Begin anew.
        restart: bool,
        /// Where the last whole row ends.
        good: u64,
        /// Made by this run and nothing written yet: goes again if it comes to nothing.
        made: Option<PathBuf>,
        synced: Instant,
    },
}

impl RowFile {
    /// Opens `out` (`None` or `-`: standard output) for rows made from `input`. Nothing in it is
    /// changed yet.
    ///
    /// # Errors
    /// [`CliError::Write`] where it cannot be opened, is the input itself, or another run holds it.
    pub fn open(out: Option<&Path>, restart: bool, input: &Path) -> Result<Self, CliError> {
        let Some(path) = out.filter(|path| path.as_os_str() != "-") else {
            return Ok(Self { name: "standard output".to_owned(), kind: Kind::Stdout });
        };
        let name = shown(path);
        let made = (!path.exists()).then(|| path.to_owned());
        match Self::lock(path, input) {
            Ok(file) => {
                let kind = Kind::File { file, restart, good: 0, made, synced: Instant::now() };
                Ok(Self { name, kind })
            }
            Err(source) => Err(CliError::Write { name, source }),
        }
    }

    fn lock(path: &Path, input: &Path) -> io::Result<File> {
        // Looked at before it is opened, since opening makes it.
        if let (Ok(path), Ok(input)) = (path.canonicalize(), input.canonicalize())
            && path == input
        {
            return Err(io::Error::other("it is the section file itself"));
        }
        let file =
            OpenOptions::new().read(true).write(true).create(true).truncate(false).open(path)?;
        if !file.metadata()?.is_file() {
            return Err(io::Error::other("rows are appended to a plain file only"));
        }
        match file.try_lock() {
            Ok(()) => Ok(file),
            Err(TryLockError::WouldBlock) => Err(io::Error::other("another run is writing it")),
            // A file system without locks: the person takes care.
            Err(TryLockError::Error(e)) if e.kind() == ErrorKind::Unsupported => Ok(file),
            Err(TryLockError::Error(e)) => Err(e),
        }
    }

    /// Finds the rows that are there already, cuts off a torn end, and writes `heads` where they
    /// are missing. Gives the number of rows that stand.
    ///
    /// # Errors
    /// The file holds something else than rows of this study, or cannot be read or written.
    pub fn take_up(
        &mut self,
        heads: &str,
        numbers: RangeInclusive<u64>,
        start: impl Fn(u64) -> String,
    ) -> Result<u64, CliError> {
        let found = match &mut self.kind {
            Kind::Stdout => Kept { rows: 0, bytes: 0 },
            Kind::File { restart: true, .. } => Kept { rows: 0, bytes: 0 },
            Kind::File { file, .. } => {
                let looked = kept(&mut BufReader::new(&*file), heads, numbers, start);
                match looked {
                    Ok(found) => found,
                    Err(KeptError::Read(source)) => return Err(self.cannot_write(source)),
                    Err(e @ KeptError::Foreign { .. }) => {
                        let name = self.name.clone();
                        let hint = "use another file, or --restart to lose what it holds";
                        return Err(CliError::NotOurs { name, reason: format!("{e}; {hint}") });
                    }
                }
            }
        };
        if let Kind::File { file, good, made, .. } = &mut self.kind {
            *made = None;
            *good = found.bytes;
            let cut = file.set_len(found.bytes).and_then(|()| file.seek(SeekFrom::End(0)));
            if let Err(source) = cut {
                return Err(self.cannot_write(source));
            }
        }
        if found.bytes == 0 && !heads.is_empty() {
            self.append(heads)?;
        }
        Ok(found.rows)
    }

    /// Appends a row, line feed and all.
    ///
    /// # Errors
    /// It cannot be written; the rows before it stand, and none is left half-written.
    pub fn append(&mut self, row: &str) -> Result<(), CliError> {
        let written = match &mut self.kind {
            Kind::Stdout => {
                let mut stdout = io::stdout().lock();
                stdout.write_all(row.as_bytes()).and_then(|()| stdout.flush())
            }
            Kind::File { file, good, synced, .. } => {
                let written = file.write_all(row.as_bytes());
                if written.is_ok() {
                    *good += row.len() as u64;
                    if synced.elapsed() > SYNC {
                        *synced = Instant::now();
                        file.sync_data()
                    } else {
                        written
                    }
                } else {
                    // What of the row did get there goes; shrinking needs no space.
                    let _ = file.set_len(*good);
                    written
                }
            }
        };
        written.map_err(|source| self.cannot_write(source))
    }

    /// Presses everything through to the disk.
    ///
    /// # Errors
    /// It cannot be written.
    pub fn finish(&mut self) -> Result<(), CliError> {
        match &mut self.kind {
            Kind::Stdout => Ok(()),
            Kind::File { file, .. } => file.sync_all().map_err(|source| self.cannot_write(source)),
        }
    }

    fn cannot_write(&self, source: io::Error) -> CliError {
        CliError::Write { name: self.name.clone(), source }
    }
}

impl Drop for RowFile {
    fn drop(&mut self) {
        if let Kind::File { made: Some(path), .. } = &self.kind {
            // An empty file left behind is no harm.
            let _ = fs::remove_file(path);
        }
    }
}
