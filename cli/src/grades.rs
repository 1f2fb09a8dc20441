//! `lodestring grades`: what the library holds.

use std::path::Path;

use lodestring::material::Library;
use lodestring::report::grades::{as_one_group, markdown, report, text};

use crate::args::Grades;
use crate::destination::Destination;
use crate::error::{CliError, all_of};
use crate::form;

/// Lists the grades that are asked for.
pub fn run(args: &Grades, library: &Library) -> Result<(), CliError> {
    let to = Destination::prepare(args.output.out.as_deref(), Path::new("-"))?;
    let grades = library
        .select(&args.wanted, |grade| !args.magnets || lodestring::material::is_magnet(&grade.law))
        .map_err(|problems| CliError::Usage(all_of(&problems)))?;
    let report = report(&grades);
    let one = as_one_group(&report);
    to.write(form::tabled(&report, (&one, "grades"), args.output.format, text, markdown))
}
