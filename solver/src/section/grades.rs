//! Grade files: named materials with their law, where the data come from and how sure they are.
//!
//! In: the text of a grade file, `format = 1` and `[[grade]]` tables. Out: [`Grade`]s with SI
//! numbers, and every mistake with its place. The law of a grade is written with the same keys as a
//! `[[material]]` of a section file; whether it makes sense as a whole is decided by the material
//! stage.

use std::ops::Range;

use toml::de::DeTable;

use crate::problem::Problem;
use crate::section::model::LawSpec;
use crate::section::names::Names;
use crate::section::notes::Notes;
use crate::section::reader::Table;
use crate::section::{materials, syntax};

/// Longest file, bytes.
const LONGEST: usize = 1_000_000;
/// Most faults of syntax that are listed.
const MOST_FAULTS: usize = 1_000;
/// Most grades in a file.
const MOST_GRADES: usize = 5_000;
/// Longest source or note, characters.
const LONGEST_TEXT: usize = 500;

/// Keys of a grade besides those of its law.
const OWN_KEYS: [&str; 11] = [
    "name",
    "also",
    "family",
    "density_kg_per_m3",
    "temperature_limit_C",
    "listed_coercivity_kA_per_m",
    "listed_intrinsic_coercivity_kA_per_m",
    "listed_energy_product_kJ_per_m3",
    "source",
    "sure",
    "note",
];

/// How far the data of a grade can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sure {
    /// Exact by definition, or known far better than any use here needs.
    Exact,
    /// Read from a published table or from makers' data sheets.
    DataSheet,
    /// Nominal: typed from memory of a standard, to be checked against it.
    Nominal,
    /// An estimate from textbook ranges; depends on the state of the material.
    Estimate,
    /// Stated by the user.
    User,
}

impl Sure {
    /// The word for it in grade files and reports.
    pub fn word(self) -> &'static str {
        match self {
            Self::Exact => "exact",
            Self::DataSheet => "data sheet",
            Self::Nominal => "nominal",
            Self::Estimate => "estimate",
            Self::User => "user",
        }
    }

    /// What it means, in a few words.
    pub fn meaning(self) -> &'static str {
        match self {
            Self::Exact => "known far better than any use here needs",
            Self::DataSheet => "read from a published table or from makers' data sheets",
            Self::Nominal => "nominal, from memory of a standard: check against the data sheet",
            Self::Estimate => "an estimate from textbook ranges; depends on the material's state",
            Self::User => "stated by the user",
        }
    }
}

/// One named material of a grade file.
#[derive(Clone, Debug, PartialEq)]
pub struct Grade {
    /// Its name.
    pub name: String,
    /// Other names for it. One that several grades share is refused with a list of them.
    pub also: Vec<String>,
    /// What it belongs to, e.g. "alnico".
    pub family: String,
    /// Its magnetic law.
    pub law: LawSpec,
    /// Density, kg/m3.
    pub density: Option<f64>,
    /// Highest temperature of use, degrees Celsius.
    pub temperature_limit: Option<f64>,
    /// Coercivity of B that the source lists though the law does not use it, A/m.
    pub listed_coercivity: Option<f64>,
    /// Coercivity of J that the source lists though the law does not use it, A/m.
    pub listed_intrinsic_coercivity: Option<f64>,
    /// Energy product that the source lists though the law does not use it, J/m3.
    pub listed_energy_product: Option<f64>,
    /// Where the data come from.
    pub source: String,
    /// How far they can be trusted.
    pub sure: Sure,
    /// Anything else worth saying.
    pub note: Option<String>,
    /// Place in its file.
    pub span: Range<usize>,
}

/// What could be understood of a grade file, and what could not.
#[derive(Clone, Debug)]
pub struct ParsedGrades {
    /// Every grade that could be understood, in the order of the file.
    pub grades: Vec<Grade>,
    /// Every mistake found.
    pub problems: Vec<Problem>,
}

/// Reads a grade file. Never fails: what is wrong is listed in [`ParsedGrades::problems`].
pub fn parse_grades(text: &str) -> ParsedGrades {
    if text.len() > LONGEST {
        let message = format!("the file has {} bytes; at most {LONGEST} are read", text.len());
        let problem = Problem::general(message).help("split it, or shorten its tables");
        return ParsedGrades { grades: Vec::new(), problems: vec![problem] };
    }
    let (tree, faults) = DeTable::parse_recoverable(text);
    let mut notes = Notes::new(text, !faults.is_empty());
    let file = Table::new("the file", 0..0, tree.get_ref(), &["format", "grade"], &mut notes);
    if let Some(format) = file.require("format", "1", &mut notes)
        && let Some(number) = format.number(&mut notes)
        && number != 1.0
    {
        notes.add(format.problem(format!("is {number}")).help("this version reads format = 1"));
    }
    let known: Vec<&str> = OWN_KEYS.iter().chain(&materials::KEYS[1..]).copied().collect();
    let tables = file
        .get("grade")
        .map_or_else(Vec::new, |entry| entry.tables("a grade", &known, MOST_GRADES, &mut notes));
    let mut names = Names::default();
    let grades = tables.into_iter().filter_map(|table| one(table, &mut names, &mut notes));
    let grades = grades.collect();
    let mut problems: Vec<Problem> = faults.iter().map(syntax::problem).collect();
    problems.truncate(MOST_FAULTS);
    problems.extend(syntax::sound(notes.problems, &faults));
    ParsedGrades { grades, problems }
}

fn one(mut table: Table, names: &mut Names, notes: &mut Notes) -> Option<Grade> {
    let name = names.read("grade", "\"my alnico\"", &mut table, notes);
    let law = materials::law(&table, notes);
    let also = table.get("also").map(|entry| {
        let items = entry.list(20, "[\"another name\"]", notes).unwrap_or_default();
        items.iter().filter_map(|e| Some(e.name("\"another name\"", notes)?.to_owned())).collect()
    });
    let family = match table.get("family") {
        Some(entry) => entry.name("\"alnico\"", notes).map(str::to_owned),
        None => Some("user".to_owned()),
    };
    let text = |key: &'static str, example: &str, notes: &mut Notes| {
        let entry = table.get(key)?;
        let text = entry.line(LONGEST_TEXT, example, notes)?;
        Some(text.to_owned())
    };
    let number = |key: &'static str, most: f64, unit: &str, notes: &mut Notes| {
        table.get(key).and_then(|entry| entry.positive(most, unit, notes))
    };
    let words = [Sure::Exact, Sure::DataSheet, Sure::Nominal, Sure::Estimate, Sure::User]
        .map(|sure| (sure.word(), sure));
    let sure = table.get("sure").map_or(Some(Sure::User), |entry| entry.choice(&words, notes));
    let source = text("source", "\"data sheet of the maker\"", notes);
    let note = text("note", "\"measured on the first batch\"", notes);
    let density = number("density_kg_per_m3", 3e4, " kg/m3", notes);
    let limit = number("temperature_limit_C", 2e3, " C", notes);
    let of_b = number("listed_coercivity_kA_per_m", 1e4, " kA/m", notes);
    let of_j = number("listed_intrinsic_coercivity_kA_per_m", 1e4, " kA/m", notes);
    let product = number("listed_energy_product_kJ_per_m3", 1e3, " kJ/m3", notes);
    Some(Grade {
        name: name?,
        also: also.unwrap_or_default(),
        family: family?,
        law: law?,
        density,
        temperature_limit: limit,
        listed_coercivity: of_b.map(|h| h * 1e3),
        listed_intrinsic_coercivity: of_j.map(|h| h * 1e3),
        listed_energy_product: product.map(|w| w * 1e3),
        source: source.unwrap_or_else(|| "stated by the user".to_owned()),
        sure: sure?,
        note,
        span: table.span(),
    })
}
