//! `lodestring manual`: the pages the build made, printed or written to a folder.

use std::path::Path;

use crate::args::Manual;
use crate::destination::Destination;
use crate::error::{CliError, visible};
use crate::pages::MANUAL;

/// Prints the page asked for, or writes all of them.
pub fn run(args: &Manual) -> Result<(), CliError> {
    if let Some(folder) = &args.folder {
        for (name, page) in MANUAL {
            let path = folder.join(format!("{name}.1"));
            Destination::prepare(Some(&path), Path::new("-"))?.write(Ok(page))?;
        }
        return Ok(());
    }
    let wanted = match args.page.as_deref() {
        None => "lodestring".to_owned(),
        Some(command) => format!("lodestring-{command}"),
    };
    match MANUAL.iter().find(|(name, _)| *name == wanted) {
        Some((_, page)) => Destination::stdout().write(Ok(page)),
        None => Err(CliError::Usage(unknown(args.page.as_deref().unwrap_or_default()))),
    }
}

fn unknown(page: &str) -> String {
    let known: Vec<&str> =
        MANUAL.iter().filter_map(|(name, _)| name.strip_prefix("lodestring-")).collect();
    format!("there is no command `{}`; there are {}", visible(page), known.join(", "))
}
