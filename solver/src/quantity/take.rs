//! Takes every quantity from a pair of fields: strings out, strings in.

use crate::field::linear_solve::LinearSolveError;
use crate::field::{Field, FieldError, SmallChange};
use crate::geometry::{RegionId, Regions, Source};
use crate::material::Assigned;
use crate::mesh::{Locator, Mesh};
use crate::point::Point;
use crate::quantity::coil;
use crate::quantity::coupled::{self, StringRange};
use crate::quantity::enclosed::rooms;
use crate::quantity::model::{
    BodyPull, CoilReading, PartReading, ProbeReading, Quantities, StringModel, StringReading,
};
use crate::quantity::movement::Movement;
use crate::quantity::recover::Recovery;
use crate::quantity::region_mean::{RegionMean, mean_flux_density, region_means};
use crate::quantity::row;
use crate::quantity::shape_change::{ShapeChange, directions, shape_change};
use crate::quantity::working_point::working_point;
use crate::section::{Coil, Section, StringRun};
use crate::strings::{Above, CouplingError};

/// Everything about `section` that the fields tell.
///
/// `without` has the strings' regions filled with air; `with` has them in place, or is `None`
/// where no string is meshed.
///
/// # Errors
/// A tangent could not be factored, or a string could not be coupled.
pub fn take(
    section: &Section,
    regions: &Regions,
    materials: &Assigned,
    without: &Field,
    with: Option<&Field>,
) -> Result<Quantities, TakeError> {
    take_with(section, regions, materials, without, with).map(|(quantities, _)| quantities)
}

/// As [`take`], with what was worked out on the way, from which errors are estimated.
///
/// # Errors
/// As [`take`].
pub fn take_with(
    section: &Section,
    regions: &Regions,
    materials: &Assigned,
    without: &Field,
    with: Option<&Field>,
) -> Result<(Quantities, Workings), TakeError> {
    if let Some(row) = &section.row {
        let (Bare { mut quantities, .. }, workings) =
            bare_with(section, regions, without, with, None)?;
        row::add_row(section, row, regions, materials, without, &mut quantities)?;
        return Ok((quantities, workings));
    }
    let range = StringRange::of(section, regions);
    let (Bare { mut quantities, above }, workings) =
        bare_with(section, regions, without, with, range)?;
    if let Some(above) = above {
        let strings = coupled::readings(section, regions, materials, &above, without)?;
        coupled::add(section, regions, &mut quantities, strings);
    }
    Ok((quantities, workings))
}

/// What is worked out on the way from a field to its numbers.
#[derive(Clone, Debug)]
pub struct Workings {
    /// The tangent, factored.
    pub tangent: SmallChange,
    /// Load and field of one ampere in each coil.
    pub coils: Vec<CoilField>,
    /// Bodies and how the mesh gives way to them.
    pub movement: Movement,
    /// Meshed strings, and the body that each is.
    pub meshed: Vec<(usize, usize)>,
}

/// What the fields tell before any string is coupled to them.
#[derive(Clone, Debug)]
pub struct Bare {
    /// Everything but the coupled strings and what they add to the rest.
    pub quantities: Quantities,
    /// What strings above the section meet; `None` where none is to be coupled.
    pub above: Option<Above>,
}

/// As [`take`], but for the coupled strings: where those will be is said by `range`.
///
/// # Errors
/// A tangent could not be factored.
pub fn take_bare(
    section: &Section,
    regions: &Regions,
    without: &Field,
    with: Option<&Field>,
    range: Option<StringRange>,
) -> Result<Bare, TakeError> {
    bare_with(section, regions, without, with, range).map(|(bare, _)| bare)
}

fn bare_with(
    section: &Section,
    regions: &Regions,
    without: &Field,
    with: Option<&Field>,
    range: Option<StringRange>,
) -> Result<(Bare, Workings), TakeError> {
    let field = with.unwrap_or(without);
    let mesh = field.mesh();
    // What needs no answer comes beside the factorisation.
    let unanswered = || {
        let movement = Movement::new(mesh)?;
        let meshed = meshed_strings(mesh, &movement);
        let asked: Vec<usize> = meshed.iter().map(|s| s.body).collect();
        let change = shape_change(field, &movement, &asked);
        Ok::<_, TakeError>((movement, meshed, change, region_means(field), Locator::new(mesh)))
    };
    let (unanswered, tangent) = rayon::join(unanswered, || SmallChange::new(field));
    let ((movement, meshed, change, means, locator), tangent) = (unanswered?, tangent?);
    let read_without = Recovery::new(without, &locator);
    let read_with = read_without.of(field);
    let coil_loads = coil_loads(section, mesh);
    let mut loads: Vec<&[f64]> = coil_loads.iter().map(Vec::as_slice).collect();
    loads.extend(moves(mesh, &change));
    let mut answers = tangent.answers(&loads);
    let answers_to_moves = answers.split_off(coil_loads.len());
    let coil_fields: Vec<CoilField> = coil_loads
        .into_iter()
        .zip(answers)
        .map(|(load, per_ampere)| CoilField { load, per_ampere })
        .collect();
    let totals = totals(mesh, &change, &coil_fields, &answers_to_moves);
    let strings = strings(section, without, &read_without, &meshed, &change, totals, &means);
    let per_ampere: Vec<&[f64]> = coil_fields.iter().map(|c| c.per_ampere.as_slice()).collect();
    let above = match range {
        Some(range) => coupled::above(regions, without, &per_ampere, range)?,
        None => None,
    };
    let quantities = Quantities {
        symmetry: section.symmetry,
        depth: section.depth,
        energy: means.iter().map(|m| m.energy).sum(),
        probes: probes(section, &locator, &read_without, &read_with),
        parts: parts(section, field, &means),
        pulls: body_pulls(mesh, &change, &movement),
        coils: coils(section, without, field, &coil_fields),
        strings,
        row: None,
        solve_without: without.info.clone(),
        solve_with: with.map(|f| f.info.clone()),
    };
    let meshed = bodies_of(&meshed);
    let workings = Workings { tangent, coils: coil_fields, movement, meshed };
    Ok((Bare { quantities, above }, workings))
}

/// Why the quantities could not be taken.
#[derive(Clone, Debug, thiserror::Error)]
pub enum TakeError {
    /// A tangent could not be factored.
    #[error(transparent)]
    Linear(#[from] LinearSolveError),
    /// A pole in the field of its neighbours could not be solved.
    #[error(transparent)]
    Field(#[from] FieldError),
    /// A string could not be coupled.
    #[error("string `{name}`: {source}")]
    Coupling {
        /// The string.
        name: String,
        /// What went wrong.
        source: CouplingError,
    },
}

/// The load and the field of one ampere in a coil.
#[derive(Clone, Debug)]
pub struct CoilField {
    /// Load, `[n_nodes]`: its product with nodal unknowns is the linkage.
    pub load: Vec<f64>,
    /// Nodal unknowns per ampere.
    pub per_ampere: Vec<f64>,
}

fn coil_loads(section: &Section, mesh: &Mesh) -> Vec<Vec<f64>> {
    let windows = |spec: &Coil| -> Vec<(f64, f64)> {
        spec.windows.iter().map(|w| (w.sense, w.turns)).collect()
    };
    let coils = section.coils.iter().enumerate();
    coils.map(|(c, spec)| coil::load(mesh, c, &windows(spec))).collect()
}

fn coils(
    section: &Section,
    without: &Field,
    field: &Field,
    coil_fields: &[CoilField],
) -> Vec<CoilReading> {
    section
        .coils
        .iter()
        .zip(coil_fields)
        .map(|(spec, own)| CoilReading {
            name: spec.name.clone(),
            turns: spec.turns,
            linkage: coil::linkage(&own.load, &field.nodal),
            linkage_without: coil::linkage(&own.load, &without.nodal),
            inductance: coil::linkage(&own.load, &own.per_ampere),
            resistance: None,
        })
        .collect()
}

fn probes(
    section: &Section,
    locator: &Locator,
    without: &Recovery,
    with: &Recovery,
) -> Vec<ProbeReading> {
    if section.probes.is_empty() {
        return Vec::new();
    }
    let rooms = rooms(without.field());
    let room = |&p: &Point| locator.locate(p).map(|(t, _)| rooms[t]);
    let read = |recovery: &Recovery, points: &[Point]| -> Vec<Option<[f64; 2]>> {
        points.iter().map(|&p| recovery.flux_density(p)).collect()
    };
    section
        .probes
        .iter()
        .map(|probe| ProbeReading {
            name: probe.name.clone(),
            points: probe.points.clone(),
            with_strings: read(with, &probe.points),
            without_strings: read(without, &probe.points),
            rooms: probe.points.iter().map(room).collect(),
        })
        .collect()
}

fn parts(section: &Section, field: &Field, means: &[RegionMean]) -> Vec<PartReading> {
    field
        .mesh()
        .regions
        .iter()
        .zip(means)
        .enumerate()
        .filter_map(|(id, (region, mean))| {
            let Source::Part(part) = region.source else { return None };
            Some(PartReading {
                name: region.name.clone(),
                role: section.parts[part].role,
                flux_density: mean.flux_density,
                largest: mean.largest,
                upward_flux: mean.upward_flux(),
                working_point: working_point(field, id as RegionId),
            })
        })
        .collect()
}

fn body_pulls(mesh: &Mesh, change: &ShapeChange, movement: &Movement) -> Vec<BodyPull> {
    let bodies = change.pulls.iter().zip(&movement.bodies);
    bodies.map(|(&pull, body)| BodyPull { members: body.members(mesh), pull }).collect()
}

/// A string that is meshed.
struct Meshed {
    region: usize,
    /// The ring that stands for its wrap.
    wrap: Option<usize>,
    /// Its index in the section.
    string: usize,
    body: usize,
}

fn meshed_strings(mesh: &Mesh, movement: &Movement) -> Vec<Meshed> {
    let regions = mesh.regions.iter().enumerate();
    regions
        .filter_map(|(region, of)| {
            let Source::String(string) = of.source else { return None };
            let wrap = mesh.regions.iter().position(|of| of.source == Source::Wrap(string));
            let body = movement.body(region as u32)?;
            Some(Meshed { region, wrap, string, body })
        })
        .collect()
}

/// Each meshed string and the body that it is.
fn bodies_of(meshed: &[Meshed]) -> Vec<(usize, usize)> {
    meshed.iter().map(|s| (s.string, s.body)).collect()
}

/// The loads of all moves that can be made, string by string.
fn moves<'a>(mesh: &Mesh, change: &'a ShapeChange) -> impl Iterator<Item = &'a [f64]> {
    let directions = directions(mesh.symmetry);
    change.gradients.iter().flat_map(move |load| load[directions.clone()].iter().map(Vec::as_slice))
}

/// Total derivatives with respect to the place of a string.
struct Totals {
    pull_gradient: [[f64; 2]; 2],
    /// Of the linkage of every coil.
    linkage_change: Vec<[f64; 2]>,
}

/// Total derivatives for every meshed string; `answers` are those to [`moves`].
fn totals(
    mesh: &Mesh,
    change: &ShapeChange,
    coil_fields: &[CoilField],
    answers: &[Vec<f64>],
) -> Vec<Totals> {
    let directions = directions(mesh.symmetry);
    let own_answers = answers.chunks(directions.len());
    let strings = change.gradients.iter().zip(&change.second).zip(own_answers);
    strings
        .map(|((loads, second), answers)| {
            let mut pull_gradient = [[0.0; 2]; 2];
            let mut linkage_change = vec![[0.0; 2]; coil_fields.len()];
            for i in directions.clone() {
                for (k, answer) in directions.clone().zip(answers) {
                    pull_gradient[i][k] = coil::linkage(&loads[i], answer) - second[i][k];
                }
                for (change, own) in linkage_change.iter_mut().zip(coil_fields) {
                    change[i] = -coil::linkage(&own.per_ampere, &loads[i]);
                }
            }
            Totals { pull_gradient, linkage_change }
        })
        .collect()
}

fn strings(
    section: &Section,
    without: &Field,
    read_without: &Recovery,
    meshed: &[Meshed],
    change: &ShapeChange,
    totals: Vec<Totals>,
    means: &[RegionMean],
) -> Vec<StringReading> {
    meshed
        .iter()
        .zip(totals)
        .map(|(&Meshed { region, wrap, string, body }, totals)| {
            let spec = &section.strings[string];
            let core = means[region];
            let all = wrap.map_or(core, |wrap| core.and(means[wrap]));
            StringReading {
                name: spec.name.clone(),
                model: match section.string_run {
                    StringRun::Through => StringModel::MeshedThrough,
                    StringRun::InPlane => StringModel::MeshedSheet,
                },
                axis: spec.axis,
                gauge: spec.gauge,
                gap: spec.gap,
                flux_density_without: match section.string_run {
                    StringRun::Through => mean_flux_density(without, region as RegionId),
                    StringRun::InPlane => {
                        read_without.flux_density(spec.axis).unwrap_or([f64::NAN; 2])
                    }
                },
                wrap_is_meshed: wrap.is_some(),
                flux_density: all.flux_density,
                largest: all.largest,
                pull: change.pulls[body],
                pull_gradient: totals.pull_gradient,
                linkage_change: totals.linkage_change,
                coupled: None,
            }
        })
        .collect()
}
