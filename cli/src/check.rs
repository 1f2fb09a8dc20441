//! `lodestring check`: a section is prepared and meshed, not solved.

use lodestring::material::Library;
use lodestring::mesh::mesh;
use lodestring::pipeline::{self, Prepared};
use lodestring::report::check;

use crate::args::Check;
use crate::destination::Destination;
use crate::error::CliError;
use crate::{form, section_file};

/// Reads a section, arranges and meshes it, and reports what is there.
pub fn run(args: &Check, library: &Library) -> Result<(), CliError> {
    let report_to = Destination::prepare(args.output.out.as_deref(), &args.file)?;

    let file = section_file::read(&args.file)?;
    let Prepared { section, regions, clearances, .. } =
        pipeline::prepare(&file.text, library).map_err(|e| file.error(e))?;
    let mesh = mesh(&regions).map_err(|e| file.error(e.into()))?;
    mesh.check().map_err(|e| file.error(e.into()))?;
    let report = check::report(&section, &regions, &clearances, &mesh);

    report_to.write(form::written(&report, args.output.format, check::text))
}
