//! `lodestring export`: a section is prepared and solved, and its field written for a VTK viewer;
//! of a study every case, and a collection of them.

use std::io::{IsTerminal, Write};
use std::path::Path;

use lodestring::material::Library;
use lodestring::pipeline;
use lodestring::report::grid::{write_field, write_strings};
use lodestring::report::pvd::{Entry, write_pvd};
use lodestring::report::vtk::Packing;
use lodestring::study::plan::Together;
use lodestring::study::{Axis, Plan, StudyError, Template};

use crate::args::Export;
use crate::destination::Destination;
use crate::error::CliError;
use crate::form;
use crate::progress::Progress;
use crate::section_file::{self, SectionFile};

/// A grid of a few megabytes each: more would fill a disk before anyone looks at them.
const MOST_GRIDS: u64 = 1000;

/// Solves a section, or every case of a study, and writes the field with everything in place.
pub fn run(args: &Export, library: &Library) -> Result<(), CliError> {
    let ending = args.out.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
    match ending.as_deref() {
        Some("pvd") => collection(args, library),
        _ if !args.vary.is_empty() => Err(CliError::Usage(
            "a study is many grids; name a collection ending in .pvd with --out".into(),
        )),
        _ => single(args, library),
    }
}

fn single(args: &Export, library: &Library) -> Result<(), CliError> {
    let to_a_person = args.out.as_os_str() == "-" && std::io::stdout().is_terminal();
    if to_a_person {
        return Err(CliError::Usage("a grid is not for a terminal; name a file with --out".into()));
    }
    let grid_to = Destination::prepare(Some(&args.out), &args.file)?;
    let strings_to = Destination::prepare_if_asked(args.strings.as_deref(), &args.file)?;
    strings_to.iter().try_for_each(|strings_to| strings_to.is_not(&grid_to))?;
    let file = section_file::read(&args.file)?;
    let grids = Grids::solve(&file, args, library)?;
    if let Some(strings_to) = strings_to {
        let strings = grids.strings.ok_or_else(|| {
            CliError::Usage("no string of this section is coupled in three dimensions".into())
        })?;
        strings_to.write(Ok(strings))?;
    }
    grid_to.write(Ok(grids.field))
}

/// Writes the grids beside the collection, and the collection last.
fn collection(args: &Export, library: &Library) -> Result<(), CliError> {
    let collection_to = Destination::prepare(Some(&args.out), &args.file)?;
    if args.strings.is_some() {
        return Err(CliError::Usage("a collection has files of its own for the strings".into()));
    }
    let file = section_file::read(&args.file)?;
    // The section as it stands must be sound, whatever the cases are.
    pipeline::prepare(&file.text, library).map_err(|e| file.error(e))?;
    let study = study(&file, &args.vary)?;
    let count = study.as_ref().map_or(1, |(_, plan)| plan.count());
    if count > MOST_GRIDS {
        return Err(CliError::Usage(format!(
            "the study has {count} cases, and a collection holds at most {MOST_GRIDS}; take fewer \
             values, or write rows with `lodestring vary`"
        )));
    }
    let mut progress = Progress::new("case", count, 0);
    let stem = args.out.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    let mut entries = Vec::new();
    for number in 1..=count {
        let case = match &study {
            None => file.clone(),
            Some((template, plan)) => SectionFile {
                name: format!("case {number} of {}", file.name),
                text: plan.text(template, number).map_err(usage)?,
            },
        };
        let solved = Grids::solve(&case, args, library);
        progress.one_more();
        let grids = match solved {
            Ok(grids) => grids,
            Err(error) if count > 1 => {
                // Nothing can be done where standard error itself is gone.
                let _ = writeln!(anstream::stderr(), "left out: {error}");
                continue;
            }
            Err(error) => return Err(error),
        };
        let parts =
            [(0, "section", "", Some(grids.field)), (1, "strings", "-strings", grids.strings)];
        for (part, name, mark, bytes) in parts {
            let Some(bytes) = bytes else { continue };
            let grid = format!("{stem}-{number}{mark}.vtu");
            let path = args.out.with_file_name(&grid);
            Destination::prepare(Some(&path), Path::new(&args.file))?.write(Ok(bytes))?;
            entries.push(Entry { step: number as f64, part, name: name.into(), file: grid });
        }
    }
    progress.finish(&format!("{} grids", entries.len()));
    collection_to.write(form::in_memory(|out| write_pvd(&entries, out)))
}

fn study(file: &SectionFile, vary: &[String]) -> Result<Option<(Template, Plan)>, CliError> {
    if vary.is_empty() {
        return Ok(None);
    }
    let template = Template::new(&file.text).map_err(usage)?;
    let axes: Vec<Axis> =
        vary.iter().map(|typed| Axis::parse(typed)).collect::<Result<_, _>>().map_err(usage)?;
    let plan = Plan::new(&template, &axes, Together::Grid, None, 1).map_err(usage)?;
    Ok(Some((template, plan)))
}

fn usage(error: StudyError) -> CliError {
    CliError::Usage(error.to_string())
}

/// The grids of one solved section.
struct Grids {
    field: Vec<u8>,
    strings: Option<Vec<u8>>,
}

impl Grids {
    fn solve(file: &SectionFile, args: &Export, library: &Library) -> Result<Self, CliError> {
        let packing = if args.uncompressed { Packing::Plain } else { Packing::Compressed };
        let section = pipeline::prepare(&file.text, library).map_err(|e| file.error(e))?;
        let solved = pipeline::solve(&section).map_err(|e| file.error(e))?;
        let unwritten = |source| CliError::Write { name: crate::error::shown(&args.out), source };
        let mut field = Vec::new();
        write_field(solved.field(), packing, &mut field)
            .map_err(|e| unwritten(std::io::Error::other(e)))?;
        let mut bytes = Vec::new();
        let strings = write_strings(&section.section, &solved.quantities, packing, &mut bytes)
            .transpose()
            .map_err(|e| unwritten(std::io::Error::other(e)))?
            .map(|()| bytes);
        Ok(Self { field, strings })
    }
}
