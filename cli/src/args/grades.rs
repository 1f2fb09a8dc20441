//! `lodestring grades`.

use clap::Args;

use super::output::TableOutput;

/// List the grades of the library: magnets, steels, string wire
///
/// Each with its data, where they come from and how sure they are. Grades of your own are added
/// with --materials. Data are nominal: the maker's data sheet comes first.
#[derive(Debug, Args)]
pub struct Grades {
    /// Grades or families, `*` standing for anything, e.g. alnico "n4*"; all if left out
    #[arg(value_name = "GRADE")]
    pub wanted: Vec<String>,

    /// Magnets only
    #[arg(long)]
    pub magnets: bool,

    /// Form and place of the table.
    #[command(flatten)]
    pub output: TableOutput,
}
