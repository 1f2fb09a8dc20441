//! `lodestring solve`: a section is prepared, solved and reported.

use lodestring::accuracy::{self, USUAL_ERROR, Wish};
use lodestring::material::Library;
use lodestring::pipeline;
use lodestring::report::solve;

use crate::args::Solve;
use crate::args::accuracy::Fineness;
use crate::destination::Destination;
use crate::error::CliError;
use crate::{form, section_file};

/// Solves a section and reports its quantities; the field along its probes too, where asked for.
pub fn run(args: &Solve, library: &Library) -> Result<(), CliError> {
    let report_to = Destination::prepare(args.output.out.as_deref(), &args.file)?;
    let probes_to = Destination::prepare_if_asked(args.probes.as_deref(), &args.file)?;
    probes_to.iter().try_for_each(|probes_to| probes_to.is_not(&report_to))?;

    let file = section_file::read(&args.file)?;
    let section = pipeline::prepare(&file.text, library).map_err(|e| file.error(e))?;
    let report = accuracy::solve(&section, wish(args.fineness, USUAL_ERROR))
        .map_err(|e| file.error(e))?
        .report;

    if let Some(probes_to) = probes_to {
        probes_to.write(form::in_memory(|out| solve::write_probes(&report, out)))?;
    }
    report_to.write(form::written(&report, args.output.format, solve::text))
}

/// How good the numbers are to be: as `usual` unless typed; infinite is as good as the section's own mesh.
pub fn wish(typed: Fineness, usual: f64) -> Wish {
    let asked = typed.accuracy.unwrap_or(usual);
    Wish {
        error: Some(asked).filter(|share| share.is_finite()),
        most_unknowns: typed.most_unknowns,
    }
}
