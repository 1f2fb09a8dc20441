//! `lodestring pull`: what the pull does to the strings of an instrument.

use lodestring::material::Library;
use lodestring::pipeline;
use lodestring::section::Section;
use lodestring::study::pull::{PullError, PullOptions, pull};
use lodestring::study::pull_report::{report, text};
use lodestring::study::three_meshes::with_errors;

use crate::args::Pull;
use crate::destination::Destination;
use crate::error::CliError;
use crate::typed::{length, positive, several_lengths};
use crate::{form, instrument_file, section_file};

/// Couples every string at many gaps and reports.
pub fn run(args: &Pull, library: &Library) -> Result<(), CliError> {
    let options = options(args)?;
    let report_to = Destination::prepare(args.output.out.as_deref(), &args.file)?;
    let file = section_file::read(&args.file)?;
    let instrument = instrument_file::read(&args.instrument)?;
    let section = pipeline::prepare(&file.text, library).map_err(|e| file.error(e))?.section;
    let (strings, notes) = instrument_file::strings(&file, &section, &instrument)?;
    let study = |section: &Section, _| {
        let pulls = pull(section, library, &instrument, &strings, &options)?;
        let report = report(section, &instrument, &options, &pulls, &notes);
        Ok::<_, PullError>((pulls, report))
    };
    let (_, report) = with_errors(&section, study).map_err(|e| file.study_error(e.into()))?;
    report_to.write(form::written(&report, args.output.format, text))
}

fn options(args: &Pull) -> Result<PullOptions, CliError> {
    let range = [length("closest", &args.closest)?, length("farthest", &args.farthest)?];
    if range[0] >= range[1] {
        let message = "--closest must be less than --farthest";
        return Err(CliError::Usage(message.to_owned()));
    }
    Ok(PullOptions {
        gaps: several_lengths("gaps", &args.gaps)?,
        amplitude: length("amplitude", &args.amplitude)?,
        partials: args.partials,
        limit: positive("limit", args.limit)?,
        range,
    })
}
