//! Runs a case: solves its section and sets every asked number beside its reference.

use lodestring::accuracy::{self, Accurate, Wish};
use lodestring::material::{Library, assign, is_magnet};
use lodestring::pipeline::{Prepared, SolveError, Solved, prepare, solve};
use lodestring::quantity::coil;
use lodestring::section::{Role, Section, Symmetry};
use lodestring::{field::SmallChange, units::MM};

use crate::case::{Case, Check, Shipped, Target};
use crate::estimate;
use crate::form::Form;

/// What `solve` does when nobody asks for more: the mesh that the section asks for.
const AS_SHIPPED: Wish = Wish { error: None, most_unknowns: 400_000 };

/// One compared number.
#[derive(Clone, Debug)]
pub struct Row {
    /// What it is, e.g. "flux density, `centre`".
    pub what: String,
    /// Its unit.
    pub unit: &'static str,
    /// What the solver says; the magnitude of a vector.
    pub value: f64,
    /// By how much the mesh may have put it wrong, as the solver's own report estimates: infinite
    /// where the number does not settle, `None` where the report does not tell.
    pub error: Option<f64>,
    /// What the exact solution says; the magnitude of a vector.
    pub reference: f64,
    /// |value - reference|/|reference|, of the vectors where they are vectors.
    pub deviation: f64,
    /// Largest deviation allowed; `None` where the numbers are only shown.
    pub tolerance: Option<f64>,
}

impl Row {
    /// True where the deviation is a number within the tolerance, or nothing is judged.
    pub fn within(&self) -> bool {
        self.tolerance.is_none_or(|tolerance| self.deviation <= tolerance)
    }

    /// True where the deviation is more than the estimated error; never where there is no estimate.
    pub fn is_beyond_its_error(&self) -> bool {
        self.error.is_some_and(|error| self.deviation * self.reference.abs() > error)
    }
}

/// A case that was run.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Name of its folder.
    pub name: &'static str,
    /// What it is.
    pub case: Case,
    /// Its numbers.
    pub rows: Vec<Row>,
    /// Unknowns of the solve.
    pub unknowns: usize,
}

/// Why a case could not be run.
#[derive(Debug, thiserror::Error)]
pub enum RunError {
    /// `case.toml` cannot be read.
    #[error("case.toml: {0}")]
    Case(#[from] toml::de::Error),
    /// The section cannot be solved.
    #[error("{0}{list}", list = listed(.0))]
    Solve(#[from] SolveError),
    /// A check asks for something that is not there.
    #[error("{0}")]
    Check(String),
}

/// Every mistake of a section, one a line.
fn listed(error: &SolveError) -> String {
    let SolveError::Section(problems) = error else { return String::new() };
    problems.iter().map(|problem| format!("\n  {}", problem.message)).collect()
}

/// Runs a shipped case.
///
/// # Errors
/// The case is not well formed, or its section cannot be solved.
pub fn run(shipped: &Shipped) -> Result<Outcome, RunError> {
    let case = shipped.read()?;
    let prepared = prepare(shipped.section, &Library::built_in())?;
    let accurate = accuracy::solve(&prepared, AS_SHIPPED)?;
    let mut rows = Vec::new();
    for check in &case.check {
        rows.extend(compare(check, &case.reference, &prepared, &accurate)?);
    }
    let unknowns = accurate.solved.field().info.unknowns;
    Ok(Outcome { name: shipped.name, case, rows, unknowns })
}

/// What the solver says: a number or a vector.
#[derive(Clone, Copy)]
enum Reading {
    Scalar(f64),
    Vector([f64; 2]),
}

/// A number of the solver and what it is called.
struct Measured {
    what: String,
    unit: &'static str,
    value: Reading,
    /// By how much the mesh may have put it wrong.
    error: Option<f64>,
    /// What the exact solution says, where the reference is one.
    exact: Option<Reading>,
}

fn compare(
    check: &Check,
    form: &Form,
    prepared: &Prepared,
    accurate: &Accurate,
) -> Result<Vec<Row>, RunError> {
    let measured = measure(check, form, prepared, accurate)?;
    let figures = matches!(form, Form::Figures {});
    if figures && check.figures.len() != measured.len() {
        let message = format!("{} figures for {} numbers", check.figures.len(), measured.len());
        return Err(RunError::Check(message));
    }
    let tolerance = check.tolerance_percent.map(|percent| percent / 100.0);
    let size = |v: [f64; 2]| v[0].hypot(v[1]);
    measured
        .into_iter()
        .enumerate()
        .map(|(i, Measured { what, unit, value, error, exact })| {
            let (value, reference, off) = if figures {
                let value = match value {
                    Reading::Scalar(v) => v,
                    Reading::Vector(v) => size(v),
                };
                (value, check.figures[i], value - check.figures[i])
            } else {
                match (value, exact) {
                    (Reading::Scalar(v), Some(Reading::Scalar(r))) => (v, r, v - r),
                    (Reading::Vector(v), Some(Reading::Vector(r))) => {
                        (size(v), size(r), size([v[0] - r[0], v[1] - r[1]]))
                    }
                    _ => {
                        let message = format!("the reference does not answer: {what}");
                        return Err(RunError::Check(message));
                    }
                }
            };
            let deviation = off.abs() / reference.abs();
            Ok(Row { what, unit, value, error, reference, deviation, tolerance })
        })
        .collect()
}

fn measure(
    check: &Check,
    form: &Form,
    prepared: &Prepared,
    accurate: &Accurate,
) -> Result<Vec<Measured>, RunError> {
    let Accurate { solved, report, .. } = accurate;
    let section = &prepared.section;
    let missing = |what: &str, name: &str| RunError::Check(format!("no {what} called `{name}`"));
    let quantities = &solved.quantities;
    let mut found = Vec::new();
    match &check.of {
        Target::FluxDensity(probes) | Target::FluxDensityWithoutStrings(probes) => {
            let out = matches!(check.of, Target::FluxDensityWithoutStrings(_));
            for name in probes {
                let probe = quantities.probes.iter().find(|probe| &probe.name == name);
                let probe = probe.ok_or_else(|| missing("probe", name))?;
                let read = if out { &probe.without_strings } else { &probe.with_strings };
                // Where no string is meshed the report tells the field once.
                let names = if out || solved.fields.with.is_none() {
                    ["flux_density_without_across", "flux_density_without_up"]
                } else {
                    ["flux_density_across", "flux_density_up"]
                };
                for (nth, (&p, b)) in probe.points.iter().zip(read).enumerate() {
                    found.push(Measured {
                        what: format!("flux density, {name} ({}, {}) mm", mm(p.x), mm(p.y)),
                        unit: "T",
                        value: Reading::Vector(b.unwrap_or([f64::NAN; 2])),
                        error: estimate::of(report, "probes", name, nth, &names),
                        exact: form.flux_density(p).map(Reading::Vector),
                    });
                }
            }
        }
        Target::FluxDensityAtStrings(names) => {
            for name in names {
                let string = quantities.strings.iter().find(|string| &string.name == name);
                let string = string.ok_or_else(|| missing("string", name))?;
                found.push(Measured {
                    what: format!("flux density where {name} would be"),
                    unit: "T",
                    value: Reading::Vector(string.flux_density_without),
                    error: estimate::of(report, "strings", name, 0, &["flux_density_without_up"]),
                    exact: None,
                });
            }
        }
        Target::UpwardFlux(names) => {
            for name in names {
                let part = quantities.parts.iter().find(|part| &part.name == name);
                let part = part.ok_or_else(|| missing("part", name))?;
                let error = estimate::of(report, "parts", name, 0, &["flux_up"]);
                let unit = per_metre(section, "Wb/m", "Wb");
                found.push(plain(
                    format!("upward flux of the {name}"),
                    unit,
                    part.upward_flux,
                    error.map(|error| error / depth(section)),
                ));
            }
        }
        Target::Pull(bodies) => {
            for name in bodies {
                let body = quantities.pulls.iter().find(|pull| pull.members.contains(name));
                let body = body.ok_or_else(|| missing("body", name))?;
                found.push(Measured {
                    what: format!("pull on the {name}"),
                    unit: "N/m",
                    value: Reading::Vector(body.pull),
                    error: estimate::of_body(report, name, &["pull_across", "pull_up"]),
                    exact: form.pull(name).map(Reading::Vector),
                });
            }
        }
        Target::LinkageWithoutStrings(coils) | Target::Inductance(coils) => {
            for name in coils {
                let coil = quantities.coils.iter().find(|coil| &coil.name == name);
                let coil = coil.ok_or_else(|| missing("coil", name))?;
                let linkage = matches!(check.of, Target::LinkageWithoutStrings(_));
                let error = |number| {
                    let whole = estimate::of(report, "coils", name, 0, &[number]);
                    whole.map(|error| error / depth(section))
                };
                found.push(if linkage {
                    Measured {
                        what: format!("linkage of the {name}, strings out"),
                        unit: per_metre(section, "Wb/m", "Wb"),
                        value: Reading::Scalar(coil.linkage_without),
                        error: error("linkage_without"),
                        exact: None,
                    }
                } else {
                    Measured {
                        what: format!("inductance of the {name}"),
                        unit: per_metre(section, "H/m", "H"),
                        value: Reading::Scalar(coil.inductance),
                        error: error("inductance"),
                        exact: form.inductance(name, name).map(Reading::Scalar),
                    }
                });
            }
        }
        Target::StringPull(names)
        | Target::StringPullAcross(names)
        | Target::LinkageRise(names)
        | Target::LinkageChange(names)
        | Target::LinkageChangeAcross(names) => {
            return of_string(&check.of, names, accurate);
        }
        Target::InductanceRatio { coil, core, materials } => {
            return inductance_ratios(prepared, coil, core, materials);
        }
        Target::MutualInductance([one, two]) => {
            let index = |name: &String| {
                let found = section.coils.iter().position(|coil| &coil.name == name);
                found.ok_or_else(|| missing("coil", name))
            };
            found.push(Measured {
                what: format!("mutual inductance of the {one} and the {two}"),
                unit: "H",
                value: Reading::Scalar(mutual_inductance(
                    section,
                    solved,
                    index(one)?,
                    index(two)?,
                )?),
                error: None,
                exact: form.inductance(one, two).map(Reading::Scalar),
            });
        }
    }
    Ok(found)
}

/// The unit of what a section tells per metre of depth, or as a whole.
fn per_metre(section: &Section, metre: &'static str, whole: &'static str) -> &'static str {
    if section.symmetry == Symmetry::Planar { metre } else { whole }
}

/// What the report multiplied a total by: the depth of a section that has one, m.
fn depth(section: &Section) -> f64 {
    section.depth.unwrap_or(1.0)
}

/// A number with nothing exact to hold it against.
fn plain(what: String, unit: &'static str, value: f64, error: Option<f64>) -> Measured {
    Measured { what, unit, value: Reading::Scalar(value), error, exact: None }
}

/// The numbers of a string, or of a coil with a string brought near.
fn of_string(
    of: &Target,
    names: &[String],
    accurate: &Accurate,
) -> Result<Vec<Measured>, RunError> {
    let quantities = &accurate.solved.quantities;
    let error =
        |group, name: &str, number| estimate::of(&accurate.report, group, name, 0, &[number]);
    let missing = |what: &str, name: &str| RunError::Check(format!("no {what} called `{name}`"));
    names
        .iter()
        .map(|name| {
            if let Target::LinkageRise(_) = of {
                let coil = quantities.coils.iter().find(|coil| &coil.name == name);
                let coil = coil.ok_or_else(|| missing("coil", name))?;
                let what = format!("rise of linkage of the {name} when the string is brought in");
                let string = quantities.strings.first().map_or("", |string| &string.name);
                let error = error("apertures", string, "linkage_rise");
                let per_metre = quantities.strings.iter().any(|string| string.model.per_metre());
                let unit = if per_metre { "Wb/m" } else { "Wb" };
                return Ok(plain(what, unit, coil.linkage - coil.linkage_without, error));
            }
            let string = quantities.strings.iter().find(|string| &string.name == name);
            let string = string.ok_or_else(|| missing("string", name))?;
            let newtons = if string.model.per_metre() { "N/m" } else { "N" };
            if let Target::StringPull(_) = of {
                let what = format!("pull on the string {name}");
                return Ok(plain(what, newtons, string.pull[1], error("strings", name, "pull_up")));
            }
            if let Target::StringPullAcross(_) = of {
                let what = format!("sideways pull on the string {name}");
                let error = error("strings", name, "pull_across");
                return Ok(plain(what, newtons, string.pull[0], error));
            }
            let change = string.linkage_change.first();
            let change = change.ok_or_else(|| missing("coil beside the string", name))?;
            Ok(if let Target::LinkageChangeAcross(_) = of {
                let what = format!("change of linkage as the string {name} goes sideways");
                plain(
                    what,
                    "Wb/m",
                    change[0],
                    error("linkage_changes", name, "linkage_change_across"),
                )
            } else {
                let what = format!("change of linkage with the height of the string {name}");
                plain(what, "Wb/m", change[1], error("linkage_changes", name, "linkage_change_up"))
            })
        })
        .collect()
}

/// Inductances of `coil` with each of `materials` for the part `core`, over that with the first.
fn inductance_ratios(
    prepared: &Prepared,
    coil: &str,
    core: &str,
    materials: &[String],
) -> Result<Vec<Measured>, RunError> {
    let mut first = None;
    let mut found = Vec::new();
    for material in materials {
        let mut changed = prepared.clone();
        let parts = &mut changed.section.parts;
        let part = parts.iter_mut().find(|part| part.name == core);
        let part = part.ok_or_else(|| RunError::Check(format!("no part called `{core}`")))?;
        part.material.name.clone_from(material);
        let library = Library::built_in();
        let magnet = library.find(material).is_ok_and(|grade| is_magnet(&grade.law));
        if !magnet {
            part.role = Role::PolePiece;
            part.charge = None;
        }
        let (assigned, problems) = assign(&changed.section, &library);
        if !problems.is_empty() {
            return Err(SolveError::Section(problems).into());
        }
        changed.materials = assigned;
        let quantities = solve(&changed)?.quantities;
        let reading = quantities.coils.iter().find(|reading| reading.name == coil);
        let reading = reading.ok_or_else(|| RunError::Check(format!("no coil called `{coil}`")))?;
        match first {
            None => first = Some(reading.inductance),
            Some(first) => {
                let what = format!("inductance with {material} in place of {}", materials[0]);
                found.push(plain(what, "1", reading.inductance / first, None));
            }
        }
    }
    Ok(found)
}

/// Linkage of coil `two` with the small-change field of one ampere in coil `one`, H.
fn mutual_inductance(
    section: &Section,
    solved: &Solved,
    one: usize,
    two: usize,
) -> Result<f64, RunError> {
    let field = solved.field();
    let load = |c: usize| {
        let windows: Vec<(f64, f64)> =
            section.coils[c].windows.iter().map(|w| (w.sense, w.turns)).collect();
        coil::load(field.mesh(), c, &windows)
    };
    let tangent =
        SmallChange::new(field).map_err(|error| RunError::Check(format!("tangent: {error}")))?;
    Ok(coil::linkage(&load(two), &tangent.answer(&load(one))))
}

/// A length in millimetres, without the dust of its conversion.
fn mm(length: f64) -> f64 {
    (length / MM * 1e9).round() / 1e9
}
