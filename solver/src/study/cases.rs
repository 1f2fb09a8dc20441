//! A study that is ready to run: every case from its number.
//!
//! A case is the section's text with the case's settings put in, read and solved as any section. Where
//! it differs from the section as it stands in its strings alone, and those are coupled in three
//! dimensions, they are put over that section's field instead ([`crate::study::bench`]). Where sizes and
//! places alone differ, that section's mesh is made to fit ([`crate::study::moved_mesh`]), which saves
//! the meshing and the order of elimination, and its field is where Newton's method starts. Which way a
//! case goes depends on the study and the case alone, never on the cases around it. The columns are those of the section as it stands. The mark, a hash of everything a row depends on,
//! tells rows of different studies apart.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use crate::field::{FieldError, Space};
use crate::material::Library;
use crate::pipeline::{
    Prepared, SolveError, Solved, Start, fields, fields_on, prepare, read, solve,
};
use crate::quantity::coupled::StringRange;
use crate::report::record::Report;
use crate::report::solve::report;
use crate::section::parse;
use crate::study::bench::{StringBench, same_but_for_strings};
use crate::study::columns::Columns;
use crate::study::error::StudyError;
use crate::study::moved_mesh::MovableMesh;
use crate::study::plan::Plan;
use crate::study::row::{Form, How, Outcome, Row, heads, one_line};
use crate::study::template::Template;
use crate::study::values::Setting;

/// The field is not sampled closer over the metal than this share of the section's own lowest gap:
/// the mesh grows as the gap shrinks, and all cases would pay for it.
const CLOSEST: f64 = 0.2;

/// A study.
#[derive(Debug)]
pub struct Study {
    template: Template,
    plan: Plan,
    library: Library,
    keys: Vec<String>,
    columns: Columns,
    mark: String,
    base: Base,
}

/// The section as it stands, solved.
#[derive(Debug)]
struct Base {
    /// Where its strings are coupled in three dimensions.
    bench: Option<StringBench>,
    space: Arc<Space>,
    start: Start,
    movable: MovableMesh,
}

/// Why a study cannot be begun.
#[derive(Clone, Debug, thiserror::Error)]
pub enum BeginError {
    /// The plan or the columns make no sense.
    #[error(transparent)]
    Study(#[from] StudyError),
    /// The section as it stands cannot be solved.
    #[error(transparent)]
    Section(#[from] SolveError),
}

impl Study {
    /// The study of `plan` over the section `text`; `take` are patterns of column names (none: the
    /// usual ones). Solves the section once, as it stands.
    ///
    /// # Errors
    /// The section cannot be solved as it stands, or a pattern matches none of its numbers.
    pub fn begin(
        text: &str,
        template: Template,
        plan: Plan,
        take: &[String],
        library: Library,
    ) -> Result<Self, BeginError> {
        let prepared = prepare(text, &library)?;
        let bench = range(&prepared, &template, &plan)
            .and_then(|range| StringBench::new(&prepared.section, range, &library).ok());
        let (quantities, fields) = match &bench {
            Some(bench) => {
                let quantities = bench.quantities(&prepared.section, &prepared.materials);
                (quantities.map_err(SolveError::from)?, bench.fields().clone())
            }
            None => {
                let Solved { fields, quantities } = solve(&prepared)?;
                (quantities, fields)
            }
        };
        let regions = bench.as_ref().map_or(&prepared.regions, StringBench::regions);
        let movable = MovableMesh::new(&fields.mesh, regions)
            .map_err(|e| SolveError::Field(FieldError::from(e)))?;
        let base = report(&prepared.section, &quantities);
        let columns = Columns::of(&base, take)?;
        let keys: Vec<String> = plan.keys().iter().map(ToString::to_string).collect();
        let mut hash = Fnv::new();
        hash.add(env!("CARGO_PKG_VERSION"));
        hash.add(text);
        hash.add(&format!("{library:?}"));
        hash.add(&format!("{} {:?}", plan.count(), plan.ends()));
        keys.iter().chain(columns.names()).for_each(|name| hash.add(name));
        let mark = format!("{:016x}", hash.0);
        Ok(Self {
            template,
            plan,
            library,
            keys,
            columns,
            mark,
            base: Base {
                bench,
                start: fields.start(),
                space: Arc::clone(&fields.without.assembly.space),
                movable,
            },
        })
    }

    /// Number of cases.
    pub fn count(&self) -> u64 {
        self.plan.count()
    }

    /// The line of heads in `form`, with its line feed; empty where there is none.
    pub fn heads(&self, form: Form) -> String {
        heads(form, &self.keys, self.columns.names())
    }

    /// What the line of case `number` starts with.
    pub fn start(&self, number: u64, form: Form) -> String {
        let settings = self.settings(number);
        self.row(number, &settings).start(form)
    }

    /// Solves case `number`; its line in `form`, and whether it could be solved. Never fails: what
    /// goes wrong stands in the line.
    pub fn line(&self, number: u64, form: Form) -> (String, bool) {
        let settings = self.settings(number);
        let outcome = self.outcome(&settings);
        let solved = matches!(outcome, Outcome::Solved { .. });
        (self.row(number, &settings).line(form, &outcome), solved)
    }

    /// The keys that are varied, as they were named.
    pub fn keys(&self) -> &[String] {
        &self.keys
    }

    /// The names of the columns.
    pub fn columns(&self) -> &[String] {
        self.columns.names()
    }

    /// Solves case `number`: its settings, in the order of [`Self::keys`], and what came of it.
    pub fn case(&self, number: u64) -> (Vec<Setting>, Outcome) {
        let settings = self.settings(number);
        let outcome = self.outcome(&settings);
        (settings, outcome)
    }

    fn settings(&self, number: u64) -> Vec<Setting> {
        self.plan.case(number).unwrap_or_default()
    }

    fn row<'a>(&'a self, number: u64, settings: &'a [Setting]) -> Row<'a> {
        Row { number, mark: &self.mark, keys: &self.keys, settings, columns: self.columns.names() }
    }

    fn solved(&self, text: &str) -> Result<(Report, How), SolveError> {
        let prepared = prepare(text, &self.library)?;
        let Prepared { section, regions, materials, .. } = &prepared;
        if let Some(bench) = &self.base.bench
            && same_but_for_strings(section, bench.section())
            && StringRange::of(section, regions).is_some_and(|own| bench.range().holds(own))
        {
            let quantities = bench.quantities(section, materials)?;
            return Ok((report(section, &quantities), How::StringsMoved));
        }
        let (fields, how) = match self.base.movable.fitted(regions) {
            Some(mesh) => {
                let space = self.base.space.on(Arc::new(mesh));
                let start = Some(&self.base.start);
                let moved = self.base.movable.moves(regions);
                let how = if moved { How::MovedMesh } else { How::SameMesh };
                (fields_on(&prepared, Arc::new(space), start)?, how)
            }
            None => (fields(&prepared)?, How::NewMesh),
        };
        let quantities = read(&prepared, &fields)?;
        Ok((report(section, &quantities), how))
    }

    fn outcome(&self, settings: &[Setting]) -> Outcome {
        let keys = self.plan.keys();
        let pairs: Vec<_> = keys.into_iter().zip(settings).collect();
        let text = match self.template.with(&pairs) {
            Ok(text) => text,
            Err(error) => return Outcome::Failed(error.to_string()),
        };
        // A fault of the program in one case must not take the others with it.
        match catch_unwind(AssertUnwindSafe(|| self.solved(&text))) {
            Ok(Ok((report, how))) => Outcome::Solved { how, values: self.columns.values(&report) },
            Ok(Err(error)) => Outcome::Failed(reason(&error)),
            Err(_) => Outcome::Failed("a fault of the program".to_owned()),
        }
    }
}

/// Where the coupled strings of all cases will be, as far as the ends of each key tell; `None` where
/// the section has none.
fn range(base: &Prepared, template: &Template, plan: &Plan) -> Option<StringRange> {
    let own = StringRange::of(&base.section, &base.regions)?;
    let keys = plan.keys();
    let mut all = own;
    for (key, setting) in plan.ends() {
        let Ok(text) = template.with(&[(keys[key], &setting)]) else { continue };
        let parsed = parse(&text);
        if parsed.problems.is_empty() && same_but_for_strings(&parsed.section, &base.section) {
            let strings = parsed.section.strings.iter().map(StringRange::of_string);
            all = strings.fold(all, StringRange::and);
        }
    }
    // The line lies 0.35 of the lowest gap over the metal.
    let top = (base.regions.sampling_height? - 0.35 * own.lowest) / 0.65;
    all.lowest = all.lowest.max(top + CLOSEST * (own.lowest - top));
    Some(all)
}

/// The error in one line; of a section's problems the first.
fn reason(error: &SolveError) -> String {
    let SolveError::Section(problems) = error else { return one_line(&error.to_string()) };
    let sorted = crate::problem::sorted(problems);
    let Some(first) = sorted.first() else { return error.to_string() };
    let help = first.help.as_ref().map_or_else(String::new, |help| format!("; {help}"));
    let more = match sorted.len() {
        1 => String::new(),
        n => format!(" (and {} more)", n - 1),
    };
    one_line(&format!("{}{help}{more}", first.message))
}

/// Fowler, Noll and Vo's hash, variant 1a, 64 bits.
struct Fnv(u64);

impl Fnv {
    fn new() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }

    /// Adds a text and an end mark, so that "ab", "c" is not "a", "bc".
    fn add(&mut self, text: &str) {
        for byte in text.bytes().chain([0xff]) {
            self.0 = (self.0 ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::plan::Together;
    use crate::study::values::Axis;

    const TEXT: &str = include_str!("../../../tests/sections/rod-through.toml");

    fn begun(axes: &[&str], take: &[&str]) -> Result<Study, BeginError> {
        let axes: Vec<Axis> = axes.iter().map(|a| Axis::parse(a).expect("readable")).collect();
        let template = Template::new(TEXT)?;
        let plan = Plan::new(&template, &axes, Together::Grid, None, 1)?;
        let take: Vec<String> = take.iter().map(|t| (*t).to_owned()).collect();
        Study::begin(TEXT, template, plan, &take, Library::built_in())
    }

    /// The hash's published value for "a", to which the end mark is added here.
    #[test]
    fn the_hash_is_the_known_one() {
        let mut hash = Fnv::new();
        hash.add("a");
        let known = 0xaf63_dc4c_8601_ec8c_u64;
        assert_eq!(hash.0, (known ^ 0xff).wrapping_mul(0x0100_0000_01b3));
    }

    #[test]
    fn a_case_gives_what_its_own_file_gives() {
        let take = ["strings.G3.pull_up*"];
        let study = begun(&["string.G3.gap = 2 mm, 3 mm, -1 mm, 0.3 in"], &take).expect("solves");
        assert_eq!(study.count(), 4);
        let (line, solved) = study.line(2, Form::Csv);
        assert!(solved && line.starts_with(&study.start(2, Form::Csv)), "{line}");
        let (own, _) = study.solved(&TEXT.replace("2 mm", "3 mm")).expect("solves");
        let pull = own.items("strings")[0].get("pull_up").and_then(|n| n.shown());
        let pull = format!("{:?}", pull.expect("a pull"));
        assert!(line.contains(&format!(",{pull}")), "{line} without {pull}");
        // One that cannot be solved says why, on one line.
        let (line, solved) = study.line(3, Form::Csv);
        assert!(!solved && line.contains(",failed,,") && line.contains("`gap`"), "{line}");
        assert_eq!(line.matches('\n').count(), 1);
        // Rows of another study bear another mark.
        let other = begun(&["string.G3.gap = 2 mm"], &take).expect("solves");
        assert_ne!(other.mark, study.mark);
    }

    /// On a mesh that is made to fit, and on one of its own, a section gives the same but for what
    /// either mesh leaves out.
    #[test]
    fn a_mesh_made_to_fit_is_as_good_as_one_of_its_own() {
        let text = include_str!("../../../meshes/rod.toml");
        let key = "part.rod.rectangle.height";
        let axis = Axis::parse(&format!("{key} = 16 mm, 17 mm, 6 mm")).expect("readable");
        let template = Template::new(text).expect("toml");
        let plan = Plan::new(&template, &[axis], Together::Grid, None, 1).expect("a plan");
        let library = Library::built_in();
        let study = Study::begin(text, template, plan, &[], library.clone()).expect("solves");
        let other = text.replace("17 mm", "16 mm");
        let (moved, how) = study.solved(&other).expect("solves");
        assert_eq!(how, How::MovedMesh);
        let prepared = prepare(&other, &library).expect("no mistakes");
        let own = report(&prepared.section, &solve(&prepared).expect("solves").quantities);
        let mut compared = 0;
        for (a, b) in study.columns.values(&moved).into_iter().zip(study.columns.values(&own)) {
            let (Some(a), Some(b)) = (a, b) else { continue };
            // What is zero by symmetry is left out.
            if b.abs() > 1e-3 {
                // Default meshes are good to some 1e-3 of forces and their changes.
                assert!((a / b - 1.0).abs() < 3e-3, "{a} {b}");
                compared += 1;
            }
        }
        assert!(compared > 20, "{compared}");
        // The bench of the strings has the mesh of the base: what moves nothing is on it.
        let as_it_is = study.solved(&text.replace("7000", "7001")).expect("solves");
        assert_eq!(as_it_is.1, How::SameMesh);
        // A third of the height is too far to go.
        let far = study.solved(&text.replace("17 mm", "6 mm")).expect("solves");
        assert_eq!(far.1, How::NewMesh);
    }

    #[test]
    fn what_cannot_begin_says_why() {
        let said = |axes: &[&str], take: &[&str]| match begun(axes, take) {
            Err(error) => error.to_string(),
            Ok(_) => "began".to_owned(),
        };
        assert!(said(&["strin.G3.gap = 1 mm"], &[]).contains("did you mean `string`?"));
        assert!(said(&["string.G3.gap = 1 mm"], &["strings.G3.pul"]).contains("did you mean"));
    }
}
