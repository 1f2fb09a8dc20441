//! `lodestring compare`: one section with many magnet grades, a row for each.

use lodestring::material::Library;
use lodestring::section::parse;
use lodestring::study::compare::{CompareError, CompareOptions, Compared, Comparison};
use lodestring::study::compare_report::{TableOptions, TablePlan, markdown, report, text};
use lodestring::study::in_order::in_order;

use crate::args::Compare;
use crate::destination::Destination;
use crate::error::{CliError, all_of};
use crate::interrupt::Interrupt;
use crate::progress::Progress;
use crate::section_file::SectionFile;
use crate::{form, section_file};

/// Solves the section with every grade and reports those that are done.
pub fn run(args: &Compare, library: &Library) -> Result<(), CliError> {
    let to = Destination::prepare(args.output.out.as_deref(), &args.file)?;
    let file = section_file::read(&args.file)?;
    let options = CompareOptions {
        grades: args.grades.clone(),
        against: args.against.clone(),
        magnets: args.magnet.clone(),
    };
    let comparison = Comparison::begin(parse(&file.text), library.clone(), &options)
        .map_err(|error| begin_error(&file, error))?;
    let plan = TablePlan::new(&comparison, table(args)).map_err(CliError::Usage)?;

    let asked = comparison.count();
    let interrupt = Interrupt::watch();
    let mut progress = Progress::new("grade", asked, 0);
    let mut done: Vec<Compared> = Vec::new();
    // The error is no error: it ends the work early.
    let whole = in_order(
        1..=asked,
        |number| comparison.row(number),
        |_, row| {
            done.push(row);
            progress.one_more();
            if interrupt.came() { Err(()) } else { Ok(()) }
        },
    );
    progress.clear();
    let report = report(&comparison, &plan, &done, asked);
    to.write(form::tabled(&report, (&report, "grades"), args.output.format, text, markdown))?;
    if whole.is_err() && (done.len() as u64) < asked {
        return Err(CliError::Interrupted { done: done.len() as u64, asked });
    }
    Ok(())
}

fn table(args: &Compare) -> TableOptions {
    TableOptions {
        string: args.string.clone(),
        coil: args.coil.clone(),
        each: args.each,
        sort: args.sort.clone(),
        descending: args.descending,
    }
}

/// Why the comparison could not be begun.
pub fn begin_error(file: &SectionFile, error: CompareError) -> CliError {
    match error {
        CompareError::Asked(problems) => CliError::Usage(all_of(&problems)),
        CompareError::Section(error) => file.error(error),
    }
}
