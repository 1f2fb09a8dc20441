//! `lodestring report`: a section is solved, what was asked for is added, and all of it becomes one
//! page.

use std::path::{Path, PathBuf};

use lodestring::accuracy::{self, Accurate, USUAL_ERROR};
use lodestring::material::Library;
use lodestring::pipeline::{self, Prepared};
use lodestring::report::html::{Block, Chapter, File, Page};
use lodestring::section::{Instrument, Section, parse};
use lodestring::study::compare::{CompareOptions, Comparison};
use lodestring::study::compare_report::{TableOptions, TablePlan};
use lodestring::study::in_order::in_order;
use lodestring::study::plan::Together;
use lodestring::study::pull::{PullError, PullOptions, pull};
use lodestring::study::signal::{Parts, SignalError, SignalOptions, signal};
use lodestring::study::three_meshes::with_errors;
use lodestring::study::{Axis, BeginError, Plan, Study, StudyError, Template};
use lodestring::study::{compare_report, page, pull_report, signal_report};

use crate::args::Report;
use crate::args::accuracy::Fineness;
use crate::args::circuit::Circuit;
use crate::compare::begin_error;
use crate::destination::Destination;
use crate::error::CliError;
use crate::progress::Progress;
use crate::section_file::{self, SectionFile};
use crate::{circuit, instrument_file, solve, typed};

/// Solves a section and whatever is to be added, and writes the page.
pub fn run(args: &Report, library: &Library, grade_files: &[PathBuf]) -> Result<(), CliError> {
    let page_to = Destination::prepare(Some(&args.out), &args.file)?;
    let file = section_file::read(&args.file)?;
    let prepared = pipeline::prepare(&file.text, library).map_err(|e| file.error(e))?;
    let circuit = circuit::parts(args.circuit)?;
    if circuit.is_some() && args.instrument.is_none() {
        let text = "--resistance: a circuit is heard with --instrument only";
        return Err(CliError::Usage(text.to_owned()));
    }
    let study = study(args, &file, library)?;
    let mut files = vec![of(&file)];
    for path in args.instrument.iter().map(PathBuf::as_path).chain(paths(grade_files)) {
        files.push(of(&section_file::read(path)?));
    }

    // Studies are on the section's own mesh, whose errors are to stand beside them.
    let studies = args.instrument.is_some() || study.is_some() || !args.grade.is_empty();
    let wish = solve::wish(args.fineness, if studies { f64::INFINITY } else { USUAL_ERROR });
    let Accurate { solved, report, .. } =
        accuracy::solve(&prepared, wish).map_err(|e| file.error(e))?;
    let mut chapters = page::solved(&prepared, &solved, &report);
    chapters.extend(page::curves(&prepared, &solved, &report, library));
    let told = chapters.len();
    if let Some(path) = &args.instrument {
        chapters.extend(instrument(args, &file, &prepared, library, path, circuit)?);
    }
    if let Some(study) = study {
        chapters.push(page::varied(&study, &cases(&study)));
    }
    if !args.grade.is_empty() {
        chapters.push(grades(args, &file, library)?);
    }
    if let Some(errors) = page::mesh_errors(&report, wish.error.is_none()) {
        chapters[told..].iter_mut().for_each(|chapter| chapter.blocks.insert(0, errors.clone()));
    }
    chapters.push(page::limits(&report));
    let page = Page {
        title: prepared.section.title.clone(),
        model: report.words.iter().find(|w| w.0 == "model").map_or(String::new(), |w| w.1.clone()),
        version: crate::VERSION.to_owned(),
        command: command(args, grade_files),
        files,
        chapters,
    };
    page_to.write(Ok(page.html()))
}

fn paths(files: &[PathBuf]) -> impl Iterator<Item = &Path> {
    files.iter().map(PathBuf::as_path)
}

fn of(file: &SectionFile) -> File {
    File { name: file.name.clone(), text: file.text.clone() }
}

/// What was typed, in the words that a shell takes.
fn command(args: &Report, grade_files: &[PathBuf]) -> String {
    let mut words = vec!["lodestring".to_owned(), "report".to_owned()];
    words.push(args.file.to_string_lossy().into_owned());
    let mut add = |option: &str, value: &str| words.extend([option.to_owned(), value.to_owned()]);
    add("--out", &args.out.to_string_lossy());
    let instrument = args.instrument.as_ref().map(|path| path.to_string_lossy().into_owned());
    instrument.iter().for_each(|path| add("--instrument", path));
    args.string.iter().for_each(|name| add("--string", name));
    args.coil.iter().for_each(|name| add("--coil", name));
    args.vary.iter().for_each(|axis| add("--vary", axis));
    args.draws.iter().for_each(|n| add("--draws", &n.to_string()));
    args.grade.iter().for_each(|grade| add("--grade", grade));
    let share = |share: f64| match share.is_finite() {
        true => format!("{} %", 100.0 * share),
        false => "mesh".to_owned(),
    };
    args.fineness.accuracy.iter().for_each(|a| add("--accuracy", &share(*a)));
    if args.fineness.most_unknowns != Fineness::MOST_UNKNOWNS {
        add("--most-unknowns", &args.fineness.most_unknowns.to_string());
    }
    if let Some(resistance) = args.circuit.resistance {
        let Circuit { inductance, own_capacitance, cable_capacitance, load, .. } = args.circuit;
        add("--resistance", &resistance.to_string());
        inductance.iter().for_each(|l| add("--inductance", &l.to_string()));
        add("--own-capacitance", &own_capacitance.to_string());
        add("--cable-capacitance", &cable_capacitance.to_string());
        load.iter().for_each(|l| add("--load", &l.to_string()));
    }
    grade_files.iter().for_each(|path| add("--materials", &path.to_string_lossy()));
    words.iter().map(|word| quoted(word)).collect::<Vec<_>>().join(" ")
}

fn quoted(word: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./=+,:".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}

fn study(args: &Report, file: &SectionFile, library: &Library) -> Result<Option<Study>, CliError> {
    if args.vary.is_empty() {
        return Ok(None);
    }
    let usage = |error: StudyError| CliError::Usage(error.to_string());
    let template = Template::new(&file.text).map_err(usage)?;
    let axes: Result<Vec<Axis>, StudyError> = args.vary.iter().map(|a| Axis::parse(a)).collect();
    let plan = Plan::new(&template, &axes.map_err(usage)?, Together::Grid, args.draws, 1)
        .map_err(usage)?;
    if plan.count() > page::MOST_CASES {
        return Err(CliError::Usage(format!(
            "{} cases are too many for a page, which takes {}; `lodestring vary` has no such limit",
            plan.count(),
            page::MOST_CASES
        )));
    }
    let study = Study::begin(&file.text, template, plan, &[], library.clone());
    study.map(Some).map_err(|error| match error {
        BeginError::Study(error) => usage(error),
        BeginError::Section(error) => file.error(error),
    })
}

/// All cases of a study.
fn cases(study: &Study) -> Vec<(Vec<lodestring::study::Setting>, lodestring::study::row::Outcome)> {
    let mut done = Vec::new();
    let mut progress = Progress::new("case", study.count(), 0);
    let take = |_, case| {
        done.push(case);
        progress.one_more();
        Ok::<(), std::convert::Infallible>(())
    };
    match in_order(1..=study.count(), |number| study.case(number), take) {
        Ok(()) => progress.clear(),
        Err(never) => match never {},
    }
    done
}

fn instrument(
    args: &Report,
    file: &SectionFile,
    prepared: &Prepared,
    library: &Library,
    path: &Path,
    circuit: Option<Parts>,
) -> Result<Vec<Chapter>, CliError> {
    let instrument: Instrument = instrument_file::read(path)?;
    let section = &prepared.section;
    let (mut strings, notes) = instrument_file::strings(file, section, &instrument)?;
    let options = PullOptions::default();
    let study = |section: &Section, _| {
        let pulls = pull(section, library, &instrument, &strings, &options)?;
        let report = pull_report::report(section, &instrument, &options, &pulls, &notes);
        Ok::<_, PullError>((pulls, report))
    };
    let (pulls, report) = with_errors(section, study).map_err(|e| file.study_error(e.into()))?;
    let mut chapters = vec![page::pulled(&report, &pulls)];

    let names: Vec<&str> = strings.iter().map(|s| s.spec.name.as_str()).collect();
    let index = match &args.string {
        Some(name) => typed::pick("string", Some(name), &names)?,
        None => 0,
    };
    let string = strings.swap_remove(index);
    let coils: Vec<&str> = section.coils.iter().map(|c| c.name.as_str()).collect();
    let coil = match &args.coil {
        Some(name) => typed::pick("coil", Some(name), &coils)?,
        None => 0,
    };
    let options = SignalOptions { coil, circuit, ..SignalOptions::default() };
    let study = |section: &Section, _| {
        let signal = signal(section, library, &instrument, &string, &options)?;
        let report = signal_report::report(section, &string, &options, &signal, &notes);
        Ok::<_, SignalError>((signal, report))
    };
    chapters.push(match with_errors(section, study) {
        Ok((signal, report)) => page::sounded(&report, &signal),
        Err(error) => Chapter {
            title: "What is heard",
            blocks: vec![Block::Text(format!(
                "String {} could not be plucked: {error}",
                string.spec.name
            ))],
        },
    });
    Ok(chapters)
}

fn grades(args: &Report, file: &SectionFile, library: &Library) -> Result<Chapter, CliError> {
    let options = CompareOptions { grades: args.grade.clone(), against: None, magnets: Vec::new() };
    let comparison = Comparison::begin(parse(&file.text), library.clone(), &options)
        .map_err(|error| begin_error(file, error))?;
    let plan = TablePlan::new(&comparison, TableOptions { each: true, ..TableOptions::default() })
        .map_err(CliError::Usage)?;
    let asked = comparison.count();
    let mut done = Vec::new();
    let mut progress = Progress::new("grade", asked, 0);
    let take = |_, row| {
        done.push(row);
        progress.one_more();
        Ok::<(), std::convert::Infallible>(())
    };
    match in_order(1..=asked, |number| comparison.row(number), take) {
        Ok(()) => progress.clear(),
        Err(never) => match never {},
    }
    Ok(page::grades(&compare_report::report(&comparison, &plan, &done, asked)))
}
