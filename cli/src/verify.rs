//! `lodestring verify`: the cases with an exact solution, on this machine.

use std::path::{Path, PathBuf};

use lodestring::study::in_order::in_order;
use lodestring_validation::measure::run as run_case;
use lodestring_validation::table::Ended;
use lodestring_validation::verify::{closed_forms, markdown, off, report, text};

use crate::args::Verify;
use crate::destination::Destination;
use crate::error::CliError;
use crate::form;
use crate::interrupt::Interrupt;
use crate::progress::Progress;

/// Runs the cases, reports those that are done, and fails where one is off.
pub fn run(args: &Verify, grade_files: &[PathBuf]) -> Result<(), CliError> {
    if !grade_files.is_empty() {
        let message = "--materials changes nothing here: the cases bring their own materials";
        return Err(CliError::Usage(message.to_owned()));
    }
    let to = Destination::prepare(args.output.out.as_deref(), Path::new("-"))?;
    let cases = closed_forms();
    let asked = cases.len() as u64;
    let interrupt = Interrupt::watch();
    let mut progress = Progress::new("case", asked, 0);
    let mut done: Vec<Ended> = Vec::new();
    // The error is no error: it ends the work early.
    let whole = in_order(
        1..=asked,
        |number| {
            let case = cases[number as usize - 1];
            (case, run_case(case))
        },
        |_, ended| {
            done.push(ended);
            progress.one_more();
            if interrupt.came() { Err(()) } else { Ok(()) }
        },
    );
    progress.clear();
    let report = report(&done);
    to.write(form::tabled(
        &report,
        (&report, "checks"),
        args.output.format,
        |_| text(&done),
        |_| markdown(&done),
    ))?;
    if whole.is_err() && (done.len() as u64) < asked {
        return Err(CliError::Interrupted { done: done.len() as u64, asked });
    }
    verdict(off(&done), done.len())
}

/// An error where some of the `of` cases are off.
fn verdict(off: usize, of: usize) -> Result<(), CliError> {
    if off == 0 { Ok(()) } else { Err(CliError::Off { off, of }) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exit;

    #[test]
    fn one_case_off_ends_with_the_exit_code_of_its_own() {
        assert!(verdict(0, 36).is_ok());
        let error = verdict(1, 36).expect_err("one is off");
        assert_eq!(error.exit_code(), exit::OFF);
        assert!(
            error.to_string().starts_with("1 of 36 cases are off their exact solution: do not")
        );
    }
}
