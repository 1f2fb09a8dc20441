//! `lodestring completions`: a script the build made, printed.

use crate::args::Completions;
use crate::destination::Destination;
use crate::error::CliError;
use crate::pages::COMPLETIONS;

/// Prints the completion script of the shell asked for.
pub fn run(args: &Completions) -> Result<(), CliError> {
    let shell = args.shell.to_string();
    let script = COMPLETIONS.iter().find(|(name, _)| *name == shell).map(|(_, script)| script);
    let script = script.ok_or_else(|| CliError::Usage(format!("no completions for {shell}")))?;
    Destination::stdout().write(Ok(script))
}
