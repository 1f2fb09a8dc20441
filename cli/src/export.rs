//! `lodestring export`: a section is prepared and solved, and its field written for a VTK viewer.

use std::io::IsTerminal;

use lodestring::material::Library;
use lodestring::pipeline;
use lodestring::report::grid::write_field;
use lodestring::report::vtk::Packing;

use crate::args::Export;
use crate::destination::Destination;
use crate::error::CliError;
use crate::{form, section_file};

/// Solves a section and writes the field with everything in place.
pub fn run(args: &Export, library: &Library) -> Result<(), CliError> {
    let to_a_person = args.out.as_os_str() == "-" && std::io::stdout().is_terminal();
    if to_a_person {
        return Err(CliError::Usage("a grid is not for a terminal; name a file with --out".into()));
    }
    let grid_to = Destination::prepare(Some(&args.out), &args.file)?;
    let packing = if args.uncompressed { Packing::Plain } else { Packing::Compressed };

    let file = section_file::read(&args.file)?;
    let section = pipeline::prepare(&file.text, library).map_err(|e| file.error(e))?;
    let solved = pipeline::solve(&section).map_err(|e| file.error(e))?;
    grid_to.write(form::in_memory(|out| {
        write_field(solved.field(), packing, out).map_err(std::io::Error::other)
    }))
}
