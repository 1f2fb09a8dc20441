//! `lodestring manual`.

use std::path::PathBuf;

use clap::Args;

/// Print a manual page, or write all of them to a folder
///
/// To read one at once: `lodestring manual solve | man -l -`.
#[derive(Debug, Args)]
pub struct Manual {
    /// Command whose page is wanted; the page of the whole tool if left out
    #[arg(value_name = "COMMAND", conflicts_with = "folder")]
    pub page: Option<String>,

    /// Write every page into this folder, for a place such as `share/man/man1`
    #[arg(long, value_name = "FOLDER")]
    pub folder: Option<PathBuf>,
}
