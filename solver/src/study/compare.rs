//! One section, many magnet grades.
//!
//! In: a section and the names of grades. Out: for each grade the report of the section with that grade
//! in place of its magnets' own. The section is meshed once; every grade is solved on the same unknowns,
//! starting from the field of the grade that levels are told against, so that a row depends on its
//! grade alone and never on the rows around it.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use crate::accuracy::{self, Accurate, Wish};
use crate::field::Space;
use crate::material::{Library, assign, is_magnet};
use crate::pipeline::{Prepared, SolveError, Solved, Start, fields_on, prepare_parsed, read};
use crate::problem::{Problem, sorted};
use crate::report::record::Report;
use crate::report::solve::report;
use crate::section::{Grade, Parsed, Role, Section, Sure, nearest_name};
use crate::study::row::one_line;

/// What is compared.
#[derive(Clone, Debug, Default)]
pub struct CompareOptions {
    /// Names, families and patterns of grades; none: all magnet grades.
    pub grades: Vec<String>,
    /// The grade that levels are told against; `None`: the section as it stands.
    pub against: Option<String>,
    /// The magnets whose grade is replaced, a repeated one by its own name or that of a copy; none: all.
    pub magnets: Vec<String>,
}

/// A grade to be put in place.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// Its name.
    pub name: String,
    /// Its family.
    pub family: String,
    /// How sure its data are.
    pub sure: Sure,
    /// Highest temperature of use, degrees Celsius.
    pub temperature_limit: Option<f64>,
}

/// What a grade gave.
#[derive(Clone, Debug)]
pub struct Compared {
    /// The grade.
    pub candidate: Candidate,
    /// The report on the section with it, or why there is none.
    pub outcome: Result<Report, String>,
    /// What is to be known of the grade here, e.g. that it is too hot for it.
    pub remarks: Vec<String>,
}

/// Why nothing can be compared.
#[derive(Clone, Debug, thiserror::Error)]
pub enum CompareError {
    /// What was asked for is not there: all of it.
    #[error("{} of the names asked for mean nothing", .0.len())]
    Asked(Vec<Problem>),
    /// The section cannot be solved as it stands or with the grade that levels are told against.
    #[error(transparent)]
    Section(#[from] SolveError),
}

/// A section that is ready to be solved with any of the grades.
#[derive(Debug)]
pub struct Comparison {
    prepared: Prepared,
    library: Library,
    /// Indices into the section's parts.
    magnets: Vec<usize>,
    candidates: Vec<Candidate>,
    space: Arc<Space>,
    start: Start,
    reference: Report,
    against: String,
}

impl Comparison {
    /// Prepares the section of `parsed` and solves it with the grade that levels are told against.
    ///
    /// # Errors
    /// A name means nothing, or the section cannot be solved.
    pub fn begin(
        parsed: Parsed,
        library: Library,
        options: &CompareOptions,
    ) -> Result<Self, CompareError> {
        let mut prepared = prepare_parsed(parsed, &library)?;
        let mut problems = Vec::new();
        let magnets = magnets(&prepared.section, &options.magnets, &mut problems);
        let is_magnet = |grade: &Grade| is_magnet(&grade.law);
        let candidates = match library.select(&options.grades, is_magnet) {
            Ok(grades) => grades.into_iter().map(Candidate::of).collect(),
            Err(found) => {
                problems.extend(found);
                Vec::new()
            }
        };
        let against = options.against.as_ref().map(|name| {
            library.select(std::slice::from_ref(name), is_magnet).and_then(|grades| {
                match grades[..] {
                    [grade] => Ok(grade.name.clone()),
                    _ => Err(vec![
                        Problem::general(format!("`{name}` names more than one grade"))
                            .help("levels are told against one grade"),
                    ]),
                }
            })
        });
        let against = match against {
            None => None,
            Some(Ok(name)) => Some(name),
            Some(Err(found)) => {
                problems.extend(found);
                None
            }
        };
        if !problems.is_empty() {
            return Err(CompareError::Asked(problems));
        }
        let own = own_grades(&prepared.section, &magnets);
        if let Some(grade) = &against {
            put(&mut prepared.section, &magnets, grade);
            let (materials, found) = assign(&prepared.section, &library);
            if !found.is_empty() {
                return Err(SolveError::Section(found).into());
            }
            prepared.materials = materials;
        }
        let wish = Wish { error: None, most_unknowns: usize::MAX };
        let Accurate { solved: Solved { fields, .. }, report: reference, .. } =
            accuracy::solve(&prepared, wish)?;
        let against = against.unwrap_or_else(|| format!("the section as it stands ({own})"));
        let start = fields.start();
        let space = Arc::clone(&fields.without.assembly.space);
        Ok(Self { prepared, library, magnets, candidates, space, start, reference, against })
    }

    /// Number of grades.
    pub fn count(&self) -> u64 {
        self.candidates.len() as u64
    }

    /// The section.
    pub fn section(&self) -> &Section {
        &self.prepared.section
    }

    /// Names of the magnets whose grade is replaced.
    pub fn magnets(&self) -> Vec<&str> {
        self.magnets.iter().map(|&m| self.prepared.section.parts[m].name.as_str()).collect()
    }

    /// The report that levels are told against.
    pub fn reference(&self) -> &Report {
        &self.reference
    }

    /// What that report is of, in words.
    pub fn against(&self) -> &str {
        &self.against
    }

    /// Solves the section with grade `number`, from 1. Never fails: what goes wrong stands in the row.
    pub fn row(&self, number: u64) -> Compared {
        let index = usize::try_from(number.saturating_sub(1)).unwrap_or(usize::MAX);
        let candidate = self.candidates[index.min(self.candidates.len() - 1)].clone();
        let mut remarks = Vec::new();
        // A fault of the program with one grade must not take the others with it.
        let solved = catch_unwind(AssertUnwindSafe(|| self.solved(&candidate, &mut remarks)));
        let outcome = match solved {
            Ok(Ok(report)) => Ok(report),
            Ok(Err(error)) => Err(reason(&error)),
            Err(_) => Err("a fault of the program".to_owned()),
        };
        Compared { candidate, outcome, remarks }
    }

    fn solved(
        &self,
        candidate: &Candidate,
        remarks: &mut Vec<String>,
    ) -> Result<Report, SolveError> {
        let mut section = self.prepared.section.clone();
        put(&mut section, &self.magnets, &candidate.name);
        let (materials, problems) = assign(&section, &self.library);
        if !problems.is_empty() {
            return Err(SolveError::Section(problems));
        }
        let own = materials.provenance.iter().filter(|p| p.material == candidate.name);
        remarks.extend(own.flat_map(|p| p.remarks.iter().cloned()));
        let prepared = Prepared { section, materials, ..self.prepared.clone() };
        let fields = fields_on(&prepared, Arc::clone(&self.space), Some(&self.start))?;
        let mut own = report(&prepared.section, &read(&prepared, &fields)?);
        add_errors_like(&mut own, &self.reference);
        Ok(own)
    }
}

/// Numbers of magnets that may be nothing, the error of which is no share of them.
const NO_SHARE: [&str; 3] = ["margin_to_knee", "share_below_knee", "charge_kept"];

/// Gives every number the error that the same mesh made in `reference`, a report on the same section with
/// another grade: as a share of the number, or as it is.
fn add_errors_like(own: &mut Report, reference: &Report) {
    let all = own.groups.iter_mut().zip(&reference.groups);
    for (own, reference) in all.flat_map(|(a, b)| a.items.iter_mut().zip(&b.items)) {
        for (own, like) in own.numbers.iter_mut().zip(&reference.numbers) {
            own.error = match (own.value, like.value, like.error) {
                (Some(value), Some(theirs), Some(error)) if own.name == like.name => {
                    let as_it_is = theirs == 0.0 || NO_SHARE.contains(&own.name);
                    Some(if as_it_is { error } else { error * (value / theirs).abs() })
                }
                _ => None,
            };
        }
    }
}

impl Candidate {
    fn of(grade: &Grade) -> Self {
        Self {
            name: grade.name.clone(),
            family: grade.family.clone(),
            sure: grade.sure,
            temperature_limit: grade.temperature_limit,
        }
    }
}

/// The magnets of the section that `wanted` names; all where it names none.
fn magnets(section: &Section, wanted: &[String], problems: &mut Vec<Problem>) -> Vec<usize> {
    let magnets = section.parts.iter().enumerate().filter(|(_, part)| part.role == Role::Magnet);
    let magnets: Vec<(usize, &str)> = magnets.map(|(i, part)| (i, part.name.as_str())).collect();
    if magnets.is_empty() {
        let help = "give a part role = \"magnet\" and its `charge`";
        problems.push(Problem::general("the section has no magnet").help(help));
    }
    if wanted.is_empty() {
        return magnets.into_iter().map(|(index, _)| index).collect();
    }
    let mut found = Vec::new();
    for name in wanted {
        // `rod` stands for `rod 1`, `rod 2` ... where the part is repeated.
        let copy = |of: &str| {
            let number = of.strip_prefix(name.as_str()).and_then(|rest| rest.strip_prefix(' '));
            number.is_some_and(|n| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
        };
        let own: Vec<usize> =
            magnets.iter().filter(|(_, of)| of == name || copy(of)).map(|&(i, _)| i).collect();
        if own.is_empty() {
            let names = magnets.iter().map(|&(_, of)| of);
            let all = names.clone().collect::<Vec<_>>().join(", ");
            let help = match nearest_name(name, names) {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the section has {all}"),
            };
            problems.push(Problem::general(format!("no magnet is called `{name}`")).help(help));
        }
        found.extend(own);
    }
    found.sort_unstable();
    found.dedup();
    found
}

/// Makes these parts of this grade.
fn put(section: &mut Section, magnets: &[usize], grade: &str) {
    for &magnet in magnets {
        grade.clone_into(&mut section.parts[magnet].material.name);
    }
}

/// What these magnets are made of, each material once.
fn own_grades(section: &Section, magnets: &[usize]) -> String {
    let mut names: Vec<&str> = Vec::new();
    for &magnet in magnets {
        let name = section.parts[magnet].material.name.as_str();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names.join(", ")
}

/// The error in one line; of a section's problems the first.
fn reason(error: &SolveError) -> String {
    match error {
        SolveError::Section(problems) => match sorted(problems).first() {
            Some(first) => one_line(&first.message),
            None => error.to_string(),
        },
        other => one_line(&other.to_string()),
    }
}
