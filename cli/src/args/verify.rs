//! `lodestring verify`.

use clap::Args;

use super::output::TableOutput;

/// Check this machine's results against exact solutions
///
/// Runs the sections that have an exact solution (cylinders, balls, tubes, bars, wires, coils and magnets
/// on their demagnetisation curve) and sets every number beside it: value, reference, deviation,
/// tolerance, verdict. As text each case shows the number that is nearest to its tolerance; JSON and CSV
/// have every number. Exit code 7 where one is off. Ctrl-C ends it and prints what is done.
#[derive(Debug, Args)]
pub struct Verify {
    /// Form and place of the table.
    #[command(flatten)]
    pub output: TableOutput,
}
