//! Gives every part and every string of a section its material.
//!
//! In: a section, whose own materials come first, and the library. Out: a [`Material`] for each
//! part and each string, with a record of where each law came from; and every name that is unknown,
//! every law that makes no sense, every magnet without a magnet's material and the reverse.

use std::collections::BTreeMap;

use crate::material::library::{Library, NotFound, fold, is_magnet};
use crate::material::model::{Law, Material};
use crate::problem::Problem;
use crate::section::{Grade, LawSpec, Named, Part, Role, Section, Sure, nearest_name};

/// The materials of a section.
#[derive(Clone, Debug)]
pub struct Assigned {
    /// One for each of [`Section::parts`], in the same order.
    pub parts: Vec<Material>,
    /// One for each of [`Section::strings`], in the same order.
    pub strings: Vec<StringMaterial>,
    /// Where each law came from, each once, in order of first use.
    pub provenance: Vec<Provenance>,
}

/// What a string is made of.
#[derive(Clone, Debug)]
pub struct StringMaterial {
    /// The core, or all of a plain string.
    pub core: Material,
    /// The wrap of a wound string.
    pub wrap: Option<Material>,
}

/// Where a material's law came from.
#[derive(Clone, Debug, PartialEq)]
pub struct Provenance {
    /// The material, as named in the section file.
    pub material: String,
    /// Its grade in the library; `None` for a material of the section's own.
    pub grade: Option<String>,
    /// Source of the data.
    pub source: String,
    /// How sure they are.
    pub sure: Sure,
    /// Highest temperature of use, degrees Celsius.
    pub temperature_limit: Option<f64>,
    /// What the reader should know: data that had to be moved, limits that are passed.
    pub remarks: Vec<String>,
}

/// Looks up and fits the material of every part and string.
///
/// Never fails as a whole: what can't be had is listed as a problem and stands as air in
/// [`Assigned`], so that its lists always match those of the section.
pub fn assign(section: &Section, library: &Library) -> (Assigned, Vec<Problem>) {
    let mut desk = Desk { section, library, found: BTreeMap::new(), problems: Vec::new() };
    let mut provenance = Vec::new();
    for spec in &section.materials {
        // Also those that nothing uses: a mistake is a mistake.
        desk.look_up(&Named { name: spec.name.clone(), span: spec.span.clone() }, "the file");
    }
    let mut take = |desk: &mut Desk, named: &Named, what: &str| {
        let record = desk.look_up(named, what);
        if let Some(record) = &record
            && !provenance.contains(&record.provenance)
        {
            provenance.push(record.provenance.clone());
        }
        record.map_or_else(|| air(&named.name), |record| record.material)
    };
    let parts = section.parts.iter().map(|part| {
        let material = take(&mut desk, &part.material, &format!("part `{}`", part.name));
        desk.check_role(part);
        material
    });
    let parts = parts.collect();
    let strings = section.strings.iter().map(|string| {
        let what = format!("string `{}`", string.name);
        let core = take(&mut desk, &string.core, &what);
        let wrap = string.wrap.as_ref().map(|wrap| take(&mut desk, wrap, &what));
        for named in [Some(&string.core), string.wrap.as_ref()].into_iter().flatten() {
            desk.check_string(&what, named);
        }
        StringMaterial { core, wrap }
    });
    let strings = strings.collect();
    (Assigned { parts, strings, provenance }, desk.problems)
}

fn air(name: &str) -> Material {
    Material { name: name.to_owned(), law: Law::Linear { mu_r: 1.0 } }
}

/// A material that was looked up.
#[derive(Clone)]
struct Record {
    material: Material,
    provenance: Provenance,
    is_magnet: bool,
}

struct Desk<'s> {
    section: &'s Section,
    library: &'s Library,
    /// By name as used; `None` where it was refused.
    found: BTreeMap<String, Option<Record>>,
    problems: Vec<Problem>,
}

impl Desk<'_> {
    /// The material of that name; what is wrong with it is noted once, at its first use by `what`.
    fn look_up(&mut self, named: &Named, what: &str) -> Option<Record> {
        if let Some(record) = self.found.get(&named.name) {
            return record.clone();
        }
        let record = self.resolve(named, what);
        self.found.insert(named.name.clone(), record.clone());
        record
    }

    fn resolve(&mut self, named: &Named, what: &str) -> Option<Record> {
        let wanted = fold(&named.name);
        if let Some(spec) = self.section.materials.iter().find(|s| fold(&s.name) == wanted) {
            let what = format!("material `{}`", spec.name);
            return self.fit(&named.name, &spec.law, None, &what, spec.span.clone());
        }
        match self.library.find(&named.name) {
            Ok(grade) => {
                let what = format!("grade `{}`", grade.name);
                self.fit(&named.name, &grade.law, Some(grade), &what, named.span.clone())
            }
            Err(NotFound::Ambiguous(names)) => {
                let list: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
                let message = format!("`{}` names more than one grade ({what})", named.name);
                let help = format!("say which one: {}", list.join(" or "));
                self.problems.push(Problem::at(named.span.clone(), message).help(help));
                None
            }
            Err(NotFound::Unknown(_)) => {
                let message = format!("unknown material `{}` for {what}", shown(&named.name));
                let help = self.did_you_mean(&named.name);
                self.problems.push(Problem::at(named.span.clone(), message).help(help));
                None
            }
        }
    }

    fn did_you_mean(&self, typed: &str) -> String {
        let own = self.section.materials.iter().map(|spec| spec.name.as_str());
        let library = self.library.grades().map(|grade| grade.name.as_str());
        let names: Vec<&str> = own.chain(library).collect();
        match nearest_name(typed, names.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!(
                "the library has these families: {}; or define it under [[material]]",
                self.library.families().join(", ")
            ),
        }
    }

    fn fit(
        &mut self,
        name: &str,
        spec: &LawSpec,
        grade: Option<&Grade>,
        what: &str,
        span: std::ops::Range<usize>,
    ) -> Option<Record> {
        let temperature = self.section.temperature;
        let fit = match Law::from_spec(spec, temperature) {
            Ok(fit) => fit,
            Err(error) => {
                let message = format!("{what}: {error}");
                self.problems.push(Problem::at(span, message).help(error.help()));
                return None;
            }
        };
        let mut remarks: Vec<String> = fit.remark.into_iter().collect();
        let limit = grade.and_then(|grade| grade.temperature_limit);
        if let Some(limit) = limit
            && temperature > limit
        {
            remarks.push(format!(
                "the section is at {temperature} C, above the limit of use of {limit} C"
            ));
        }
        if temperature != super::REFERENCE_TEMPERATURE && has_no_coefficients(spec) {
            remarks.push(format!(
                "it has no temperature coefficients: its data are used as they are at \
                 {temperature} C"
            ));
        }
        let provenance = Provenance {
            material: name.to_owned(),
            grade: grade.map(|grade| grade.name.clone()),
            source: grade.map_or_else(|| "the section file".to_owned(), |g| g.source.clone()),
            sure: grade.map_or(Sure::User, |grade| grade.sure),
            temperature_limit: limit,
            remarks,
        };
        let material = Material { name: name.to_owned(), law: fit.law };
        Some(Record { material, provenance, is_magnet: is_magnet(spec) })
    }

    /// Notes a magnet that is made of no magnet's material, or the reverse.
    fn check_role(&mut self, part: &Part) {
        let Some(Some(record)) = self.found.get(&part.material.name) else { return };
        let (name, material) = (&part.name, &part.material.name);
        let problem = match (record.is_magnet, part.role == Role::Magnet) {
            (true, false) => Problem::at(
                part.material.span.clone(),
                format!("part `{name}` is made of the magnet `{material}` but is no magnet"),
            )
            .help("set role = \"magnet\" and its `charge`, or choose another material"),
            (false, true) => Problem::at(
                part.material.span.clone(),
                format!("magnet `{name}` is made of `{material}`, which holds no charge"),
            )
            .help("choose a magnet grade, or give the part another role"),
            _ => return,
        };
        self.problems.push(problem);
    }

    /// Notes a string that is made of a magnet.
    fn check_string(&mut self, what: &str, named: &Named) {
        if let Some(Some(record)) = self.found.get(&named.name)
            && record.is_magnet
        {
            let message = format!("{what} is made of the magnet `{}`", named.name);
            let help = "choose a wire, e.g. \"music wire\"";
            self.problems.push(Problem::at(named.span.clone(), message).help(help));
        }
    }
}

fn has_no_coefficients(spec: &LawSpec) -> bool {
    match spec {
        LawSpec::StraightMagnet { .. } | LawSpec::MagnetTable { .. } => true,
        LawSpec::Magnet { remanence_per_kelvin, coercivity_per_kelvin, .. }
        | LawSpec::KneeMagnet { remanence_per_kelvin, coercivity_per_kelvin, .. } => {
            *remanence_per_kelvin == 0.0 && *coercivity_per_kelvin == 0.0
        }
        _ => false,
    }
}

/// A name cut to a readable length.
fn shown(name: &str) -> String {
    if name.chars().count() <= 64 {
        return name.to_owned();
    }
    name.chars().take(61).chain("...".chars()).collect()
}
