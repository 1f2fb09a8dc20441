//! Text to [`Section`], with every mistake that can be seen in the text alone.

use toml::de::DeTable;

use crate::problem::Problem;
use crate::section::model::{PickupState, Section, StringRun, Symmetry};
use crate::section::names::Names;
use crate::section::notes::Notes;
use crate::section::reader::Table;
use crate::section::strings::Over;
use crate::section::{coils, history, materials, parts, probes, row, strings, syntax};

/// Longest file, bytes.
const LONGEST: usize = 1_000_000;
/// Most faults of syntax that are listed.
const MOST_FAULTS: usize = 1_000;

const KEYS: [&str; 16] = [
    "format",
    "title",
    "symmetry",
    "strings_run",
    "depth",
    "temperature_C",
    "history",
    "applied_field_T",
    "outer_radius",
    "mesh_scale",
    "part",
    "coil",
    "row",
    "string",
    "probe",
    "material",
];

/// What could be understood of a section file, and what could not.
#[derive(Clone, Debug)]
pub struct Parsed {
    /// Everything that could be understood; complete when there are no problems.
    pub section: Section,
    /// Every mistake found, in no particular order.
    pub problems: Vec<Problem>,
}

/// Reads a section file.
///
/// Never fails: what is wrong is listed in [`Parsed::problems`], and what could be understood is
/// in [`Parsed::section`] so that later stages can add what they find. Material names are not
/// looked up here, and nothing is said of parts that overlap.
pub fn parse(text: &str) -> Parsed {
    let mut section = empty();
    if text.len() > LONGEST {
        let message = format!("the file has {} bytes; at most {LONGEST} are read", text.len());
        let problem = Problem::general(message).help("use `repeat` for rows of parts");
        return Parsed { section, problems: vec![problem] };
    }
    let (tree, faults) = DeTable::parse_recoverable(text);
    let mut notes = Notes::new(text, !faults.is_empty());
    let table = Table::new("the file", 0..0, tree.get_ref(), &KEYS, &mut notes);
    settings(&table, &mut section, &mut notes);
    solids(&table, &mut section, &mut notes);
    let mut problems: Vec<Problem> = faults.iter().map(syntax::problem).collect();
    problems.truncate(MOST_FAULTS);
    problems.extend(syntax::sound(notes.problems, &faults));
    Parsed { section, problems }
}

/// A section with nothing in it.
fn empty() -> Section {
    Section {
        title: String::new(),
        symmetry: Symmetry::Planar,
        string_run: StringRun::InPlane,
        depth: None,
        parts: Vec::new(),
        coils: Vec::new(),
        strings: Vec::new(),
        row: None,
        probes: Vec::new(),
        materials: Vec::new(),
        temperature: 20.0,
        history: vec![PickupState::InPlace],
        applied_field: [0.0; 2],
        outer_radius: None,
        mesh_scale: 1.0,
    }
}

/// The keys that stand before the first table.
fn settings(table: &Table, section: &mut Section, notes: &mut Notes) {
    if let Some(format) = table.require("format", "1", notes)
        && let Some(number) = format.number(notes)
        && number != 1.0
    {
        notes.add(
            format
                .problem(format!("is {number}, which is not known here"))
                .help("this version reads format = 1"),
        );
    }
    if let Some(title) = table.get("title").and_then(|e| e.line(200, "\"one rod\"", notes)) {
        section.title = title.to_owned();
    }
    let symmetries = [("planar", Symmetry::Planar), ("axisymmetric", Symmetry::Axisymmetric)];
    if let Some(symmetry) = table
        .require("symmetry", "\"planar\"", notes)
        .and_then(|entry| entry.choice(&symmetries, notes))
    {
        section.symmetry = symmetry;
    }
    let axisymmetric = section.symmetry == Symmetry::Axisymmetric;
    string_run(table, section, notes);
    if let Some(entry) = table.get("depth") {
        if axisymmetric {
            let message = "`depth` is for planar sections only";
            notes.add(Problem::at(entry.key_span(), message).help("leave it out"));
        } else {
            section.depth = entry.size(notes);
        }
    }
    if let Some(entry) = table.get("temperature_C")
        && let Some(value) = entry.number_in(-273.15..=1000.0, " degrees Celsius", notes)
    {
        section.temperature = value;
    }
    if let Some(entry) = table.get("history")
        && let Some(states) = history::read(&entry, notes)
    {
        section.history = states;
    }
    if let Some(entry) = table.get("applied_field_T")
        && let Some(field) = materials::applied_field(&entry, axisymmetric, notes)
    {
        section.applied_field = field;
    }
    if let Some(entry) = table.get("outer_radius") {
        section.outer_radius = entry.size_up_to(10.0, notes);
    }
    if let Some(entry) = table.get("mesh_scale")
        && let Some(scale) = entry.number_in(0.1..=10.0, "", notes)
    {
        section.mesh_scale = scale;
    }
}

/// How the strings lie; a planar section that has strings has to say so.
fn string_run(table: &Table, section: &mut Section, notes: &mut Notes) {
    let runs = [("in plane", StringRun::InPlane), ("through", StringRun::Through)];
    match (table.get("strings_run"), section.symmetry) {
        (Some(entry), symmetry) => match entry.choice(&runs, notes) {
            Some(StringRun::Through) if symmetry == Symmetry::Axisymmetric => notes.add(
                entry
                    .problem("cannot be `through` in an axisymmetric section")
                    .help("leave it out: there a string always crosses the axis at right angles"),
            ),
            Some(run) => section.string_run = run,
            None => {}
        },
        (None, Symmetry::Planar) => {
            if let Some(strings) = table.get("string") {
                let message = "the file has strings but no `strings_run`";
                notes.add_missing(Problem::at(strings.key_span(), message).help(
                    "add strings_run = \"in plane\" (along the x axis) or \"through\" (the \
                     section shows them as circles) before the first table",
                ));
            }
        }
        (None, Symmetry::Axisymmetric) => {}
    }
}

/// The parts, coils, strings, probes and materials.
fn solids(table: &Table, section: &mut Section, notes: &mut Notes) {
    let symmetry = section.symmetry;
    let mut names = Names::default();
    let tables = |key, what, known: &[&str], most, notes: &mut Notes| {
        table.get(key).map_or_else(Vec::new, |entry| entry.tables(what, known, most, notes))
    };
    let part_tables = tables("part", "a part", &parts::KEYS, parts::MOST_PARTS, notes);
    let coil_tables = tables("coil", "a coil", &coils::KEYS, coils::MOST_COILS, notes);
    let string_tables = tables("string", "a string", &strings::KEYS, strings::MOST_STRINGS, notes);
    let probe_tables = tables("probe", "a probe", &probes::KEYS, probes::MOST_PROBES, notes);
    let material_tables =
        tables("material", "a material", &materials::KEYS, materials::MOST_MATERIALS, notes);
    let parts = parts::read(part_tables, symmetry, &mut names, notes);
    section.coils = coils::read(coil_tables, symmetry, &mut names, notes);
    section.parts.clone_from(&parts.list);
    section.row = row::read(table, section, notes);
    let over = match (&section.row, table.get("row")) {
        (Some(row), _) => Over::Row(row),
        (None, Some(_)) => Over::UnreadableRow,
        (None, None) => Over::Parts,
    };
    section.strings =
        strings::read(string_tables, section.string_run, over, &parts, &mut names, notes);
    if let Some(entry) = table.get("history") {
        history::check(&entry, &section.history, &section.parts, notes);
    }
    section.probes = probes::read(probe_tables, symmetry, notes);
    section.materials = materials::read(material_tables, notes);
}

#[cfg(test)]
#[expect(clippy::unwrap_used, reason = "tests")]
mod tests {
    use super::*;
    use crate::problem::render;

    #[test]
    fn every_shipped_section_reads() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../meshes");
        let mut seen = 0;
        for file in std::fs::read_dir(folder).unwrap() {
            let path = file.unwrap().path();
            if path.extension().is_some_and(|e| e == "toml") {
                let text = std::fs::read_to_string(&path).unwrap();
                let problems = parse(&text).problems;
                let shown = render(&problems, &text, &path.display().to_string());
                assert!(problems.is_empty(), "{shown}");
                seen += 1;
            }
        }
        assert!(seen >= 7, "only {seen} sections found");
    }
}
