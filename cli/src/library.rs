//! The grade library: the shipped one with the files of the person's own.

use std::path::PathBuf;

use lodestring::material::Library;

use crate::error::CliError;
use crate::{problems, section_file};

/// The shipped library with the grades of `files` added, in order; a later grade takes the place of an
/// earlier one of the same name.
///
/// # Errors
/// A file cannot be read, or has mistakes: all of them.
pub fn with_files(files: &[PathBuf]) -> Result<Library, CliError> {
    files.iter().try_fold(Library::built_in(), |library, path| {
        let file = section_file::read(path)?;
        library
            .with_user_file(&file.text)
            .map_err(|found| CliError::BadSection(problems::shown(&file, &found)))
    })
}
