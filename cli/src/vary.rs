//! `lodestring vary`: a section is solved many times and its rows are written in order.

use lodestring::material::Library;
use lodestring::study::in_order::in_order;
use lodestring::study::plan::{Together, piece};
use lodestring::study::row::Form;
use lodestring::study::{Axis, BeginError, Plan, Study, StudyError, Template};

use crate::args::Vary;
use crate::args::vary::RowFormat;
use crate::columnar;
use crate::error::CliError;
use crate::progress::Progress;
use crate::row_file::RowFile;
use crate::section_file::{self, SectionFile};

/// Solves the cases of a study that are not there yet.
pub fn run(args: &Vary, library: &Library) -> Result<(), CliError> {
    let format = format(args);
    let form = form(format);
    let columnar = columnar::Output::of(format, args)?;
    let rows_to = columnar.as_ref().map_or(args.out.as_deref(), |c| Some(c.rows()));
    let mut rows = RowFile::open(rows_to, args.restart, &args.file)?;
    let file = section_file::read(&args.file)?;
    let study = study(args, &file, library)?;
    let (k, n) = args.shard.unwrap_or((1, 1));
    let cases = piece(study.count(), k, n);
    // Pieces in Parquet are not put together by their bytes.
    let heads = if k == 1 || columnar.is_some() { study.heads(form) } else { String::new() };
    let kept = rows.take_up(&heads, cases.clone(), |number| study.start(number, form))?;

    let total = cases.clone().count() as u64;
    let mut progress = Progress::new("case", total, kept);
    let mut failed = 0;
    let left = cases.start() + kept..=*cases.end();
    in_order(
        left,
        |number| study.line(number, form),
        |_, (line, solved)| {
            failed += u64::from(!solved);
            rows.append(&line)?;
            progress.one_more();
            Ok(())
        },
    )?;
    rows.finish()?;
    if let Some(columnar) = columnar {
        columnar.write(args.axes.len())?;
    }
    progress.finish(&summary(total, kept, failed));
    Ok(())
}

fn study(args: &Vary, file: &SectionFile, library: &Library) -> Result<Study, CliError> {
    let usage = |error: StudyError| CliError::Usage(error.to_string());
    // A file with mistakes is told with all of them, not with what the editor makes of it.
    lodestring::pipeline::prepare(&file.text, library).map_err(|e| file.error(e))?;
    let template = Template::new(&file.text).map_err(usage)?;
    let axes: Result<Vec<Axis>, StudyError> = args.axes.iter().map(|a| Axis::parse(a)).collect();
    let together = if args.side_by_side { Together::SideBySide } else { Together::Grid };
    let plan = Plan::new(&template, &axes.map_err(usage)?, together, args.draws, args.seed)
        .map_err(usage)?;
    Study::begin(&file.text, template, plan, &args.take, library.clone()).map_err(|error| {
        match error {
            BeginError::Study(error) => usage(error),
            BeginError::Section(error) => file.error(error),
        }
    })
}

fn format(args: &Vary) -> RowFormat {
    let by_ending = args.out.as_ref().and_then(|out| match out.extension()?.to_str()? {
        "jsonl" | "ndjson" => Some(RowFormat::Jsonl),
        #[cfg(feature = "parquet")]
        "parquet" => Some(RowFormat::Parquet),
        _ => None,
    });
    args.format.or(by_ending).unwrap_or(RowFormat::Csv)
}

/// The form in which rows are appended.
fn form(format: RowFormat) -> Form {
    match format {
        RowFormat::Jsonl => Form::JsonLines,
        _ => Form::Csv,
    }
}

fn summary(total: u64, kept: u64, failed: u64) -> String {
    let mut text = format!("{total} case{}", if total == 1 { "" } else { "s" });
    if kept > 0 {
        text.push_str(&format!(", {kept} of them done before"));
    }
    if failed > 0 {
        text.push_str(&format!("; {failed} could not be solved, their rows say why"));
    }
    text
}
