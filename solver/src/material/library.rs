//! The grade library: named materials from data files.
//!
//! In: the files shipped with the crate, and the user's own. Out: [`Grade`]s by name. A user's
//! grade comes in place of a shipped one of the same name.
//!
//! Names are compared without regard to case, and `-`, `_` and blanks count as the same. A name
//! that several grades list under `also` is refused, so that nobody gets the wrong one of two
//! materials that the trade calls alike.

use std::sync::LazyLock;

use crate::material::model::Law;
use crate::material::{LawError, REFERENCE_TEMPERATURE};
use crate::problem::Problem;
use crate::section::{Grade, LawSpec, nearest_name, parse_grades};

/// The files shipped with the crate: their names and texts.
pub const SHIPPED_FILES: [(&str, &str); 5] = [
    ("alnico.toml", include_str!("../../data/alnico.toml")),
    ("ferrite.toml", include_str!("../../data/ferrite.toml")),
    ("rare-earth.toml", include_str!("../../data/rare-earth.toml")),
    ("soft.toml", include_str!("../../data/soft.toml")),
    ("strings.toml", include_str!("../../data/strings.toml")),
];

/// Grades in the order of their files; a test holds that the files are free of problems.
static SHIPPED: LazyLock<Vec<Grade>> = LazyLock::new(|| {
    SHIPPED_FILES.iter().flat_map(|(_, text)| parse_grades(text).grades).collect()
});

/// Named materials.
#[derive(Clone, Debug)]
pub struct Library {
    grades: Vec<Grade>,
}

/// Why a name finds no grade.
#[derive(Clone, Debug, PartialEq)]
pub enum NotFound {
    /// No grade has it; the nearest name, if any is near.
    Unknown(Option<String>),
    /// These grades share it.
    Ambiguous(Vec<String>),
}

impl Library {
    /// The grades shipped with the crate.
    pub fn built_in() -> Self {
        Self { grades: SHIPPED.clone() }
    }

    /// The grades of `text`, a grade file, added to these; those of the same name are replaced.
    ///
    /// # Errors
    /// Every mistake in the file, with its place in `text`, also laws that make no sense.
    pub fn with_user_file(mut self, text: &str) -> Result<Self, Vec<Problem>> {
        let parsed = parse_grades(text);
        let mut problems = parsed.problems;
        for grade in &parsed.grades {
            if let Err(error) = Law::from_spec(&grade.law, REFERENCE_TEMPERATURE) {
                problems.push(law_problem(&format!("grade `{}`", grade.name), grade, &error));
            }
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        for grade in parsed.grades {
            let name = fold(&grade.name);
            match self.grades.iter_mut().find(|g| fold(&g.name) == name) {
                Some(old) => *old = grade,
                None => self.grades.push(grade),
            }
        }
        Ok(self)
    }

    /// All grades: the shipped ones in the order of their files, then the user's.
    pub fn grades(&self) -> impl Iterator<Item = &Grade> + '_ {
        self.grades.iter()
    }

    /// The families, each once, in order of first appearance.
    pub fn families(&self) -> Vec<&str> {
        let mut families: Vec<&str> = Vec::new();
        for grade in &self.grades {
            if !families.contains(&grade.family.as_str()) {
                families.push(&grade.family);
            }
        }
        families
    }

    /// The grades of a family, in order.
    pub fn family<'l>(&'l self, family: &str) -> impl Iterator<Item = &'l Grade> + 'l {
        let wanted = fold(family);
        self.grades.iter().filter(move |grade| fold(&grade.family) == wanted)
    }

    /// The grade called `name`, by its own name or by one that it alone is also called.
    ///
    /// # Errors
    /// [`NotFound`] with the nearest name, or the grades that share it.
    pub fn find(&self, name: &str) -> Result<&Grade, NotFound> {
        let wanted = fold(name);
        if let Some(grade) = self.grades.iter().find(|grade| fold(&grade.name) == wanted) {
            return Ok(grade);
        }
        let is_also = |grade: &&Grade| grade.also.iter().any(|also| fold(also) == wanted);
        let also: Vec<&Grade> = self.grades.iter().filter(is_also).collect();
        match also[..] {
            [] => Err(NotFound::Unknown(self.nearest(name).map(str::to_owned))),
            [grade] => Ok(grade),
            _ => Err(NotFound::Ambiguous(also.iter().map(|grade| grade.name.clone()).collect())),
        }
    }

    /// The name nearest to a mistyped one, if any is near.
    pub fn nearest(&self, typed: &str) -> Option<&str> {
        let names: Vec<&str> = self.grades.iter().map(|grade| grade.name.as_str()).collect();
        nearest_name(typed, names.iter().copied())
    }
}

/// A problem with the law of a grade of a file.
fn law_problem(what: &str, grade: &Grade, error: &LawError) -> Problem {
    Problem::at(grade.span.clone(), format!("{what}: {error}")).help(error.help())
}

/// Lower case, with `_` and `-` as blanks and one blank between words.
pub(super) fn fold(name: &str) -> String {
    let words = name.to_lowercase().replace(['_', '-'], " ");
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Whether `spec` is a permanent magnet's.
pub fn is_magnet(spec: &LawSpec) -> bool {
    match spec {
        LawSpec::Linear { .. } | LawSpec::Table { .. } | LawSpec::Saturating { .. } => false,
        LawSpec::StraightMagnet { .. }
        | LawSpec::Magnet { .. }
        | LawSpec::KneeMagnet { .. }
        | LawSpec::MagnetTable { .. } => true,
    }
}
