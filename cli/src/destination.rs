//! Where a command's data go: standard output, or a file that appears whole or not at all.

use std::fs::{self, Metadata, OpenOptions};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use crate::error::{CliError, shown};
use crate::exit;

/// A place for data that has been looked at before the work begins.
pub struct Destination {
    /// As typed, for messages.
    name: String,
    kind: Kind,
}

enum Kind {
    Stdout,
    /// A file: new bytes go beside it and take its place at the end.
    File {
        path: PathBuf,
        folder: PathBuf,
        old: Option<Metadata>,
    },
    /// A pipe or a device: nothing that could be replaced.
    Device(PathBuf),
}

impl Destination {
    /// Looks whether data can be written to `out` (`None` or `-`: standard output), so that this
    /// is known before a long computation and not after it. `input` is the file the data are made
    /// from; it is never overwritten.
    ///
    /// # Errors
    /// [`CliError::Write`], with the place as it now is.
    pub fn prepare(out: Option<&Path>, input: &Path) -> Result<Self, CliError> {
        match out {
            None => Ok(Self::stdout()),
            Some(path) if path.as_os_str() == "-" => Ok(Self::stdout()),
            Some(path) => {
                let name = shown(path);
                match Kind::of_file(path, input) {
                    Ok(kind) => Ok(Self { name, kind }),
                    Err(source) => Err(CliError::Write { name, source }),
                }
            }
        }
    }

    /// As [`Destination::prepare`], where a place was named.
    ///
    /// # Errors
    /// As [`Destination::prepare`].
    pub fn prepare_if_asked(out: Option<&Path>, input: &Path) -> Result<Option<Self>, CliError> {
        out.map(|out| Self::prepare(Some(out), input)).transpose()
    }

    /// Fails where `other` is the same file or both are standard output: one would take the place
    /// of the other.
    ///
    /// # Errors
    /// [`CliError::Usage`].
    pub fn is_not(&self, other: &Self) -> Result<(), CliError> {
        let same = match (&self.kind, &other.kind) {
            (Kind::Stdout, Kind::Stdout) => true,
            (Kind::File { path: a, .. }, Kind::File { path: b, .. }) => a == b,
            _ => false,
        };
        if same {
            return Err(CliError::Usage(format!("two things would be written to {}", self.name)));
        }
        Ok(())
    }

    /// Standard output.
    pub fn stdout() -> Self {
        Self { name: "standard output".into(), kind: Kind::Stdout }
    }

    /// Writes `bytes`, where they could be made, all or nothing where the place is a file.
    ///
    /// # Errors
    /// [`CliError::Write`]; a file that was there before is then still there, unchanged.
    pub fn write(self, bytes: io::Result<impl AsRef<[u8]>>) -> Result<(), CliError> {
        bytes
            .and_then(|bytes| self.kind.write(|out| out.write_all(bytes.as_ref())))
            .map_err(|source| CliError::Write { name: self.name, source })
    }

    /// As [`Destination::write`], for bytes that are too many to be held at once.
    ///
    /// # Errors
    /// As [`Destination::write`]; what `make` gives is passed on as such.
    #[cfg(feature = "parquet")]
    pub fn write_with(
        self,
        make: impl FnOnce(&mut (dyn Write + Send)) -> io::Result<()>,
    ) -> Result<(), CliError> {
        self.kind.write(make).map_err(|source| CliError::Write { name: self.name, source })
    }
}

impl Kind {
    fn of_file(path: &Path, input: &Path) -> io::Result<Self> {
        let (path, old) = match fs::metadata(path) {
            Ok(old) if old.is_dir() => return Err(ErrorKind::IsADirectory.into()),
            // A link stays, what it points to is replaced.
            Ok(old) if old.is_file() => (path.canonicalize()?, Some(old)),
            Ok(_) => {
                OpenOptions::new().write(true).open(path)?;
                return Ok(Self::Device(path.to_owned()));
            }
            Err(e) if e.kind() == ErrorKind::NotFound => (path.to_owned(), None),
            Err(e) => return Err(e),
        };
        let Some(file_name) = path.file_name() else {
            return Err(ErrorKind::IsADirectory.into());
        };
        if old.as_ref().is_some_and(|old| old.permissions().readonly()) {
            return Err(io::Error::other("the file is read-only"));
        }
        if input.canonicalize().is_ok_and(|input| input == path) {
            return Err(io::Error::other("it is the section file itself"));
        }
        let folder = match path.parent() {
            Some(folder) if folder != Path::new("") => folder.canonicalize()?,
            _ => Path::new(".").canonicalize()?,
        };
        beside(&folder, old.as_ref())?;
        Ok(Self::File { path: folder.join(file_name), folder, old })
    }

    fn write(
        &self,
        make: impl FnOnce(&mut (dyn Write + Send)) -> io::Result<()>,
    ) -> io::Result<()> {
        match self {
            Self::Stdout => {
                let mut stdout = io::stdout();
                make(&mut stdout)?;
                stdout.flush()
            }
            Self::Device(path) => make(&mut OpenOptions::new().write(true).open(path)?),
            Self::File { path, folder, old } => {
                let mut file = beside(folder, old.as_ref())?;
                make(&mut file)?;
                file.as_file().sync_all()?;
                file.persist(path)?;
                Ok(())
            }
        }
    }
}

/// A new file in `folder` that goes away unless it is kept, with the permissions of the `old` one
/// or those any new file gets.
fn beside(folder: &Path, old: Option<&Metadata>) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".lodestring-").suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let file = builder.tempfile_in(folder)?;
    if let Some(old) = old {
        file.as_file().set_permissions(old.permissions())?;
    }
    Ok(file)
}

/// Prints what clap has to say (help and version are data, the rest is not) and gives its exit
/// code.
///
/// # Errors
/// [`CliError::Write`] where help was asked for and could not be printed.
pub fn print_clap(answer: &clap::Error) -> Result<u8, CliError> {
    let printed = answer.print().and_then(|()| io::stdout().flush());
    match printed {
        Err(source) if !answer.use_stderr() => {
            Err(CliError::Write { name: "standard output".into(), source })
        }
        _ if answer.use_stderr() => Ok(exit::USAGE),
        _ => Ok(exit::DONE),
    }
}
