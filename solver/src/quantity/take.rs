//! Takes every quantity from a pair of fields: strings out, strings in.

use crate::field::linear_solve::LinearSolveError;
use crate::field::{Field, FieldError, SmallChange};
use crate::geometry::{RegionId, Regions, Source};
use crate::material::Assigned;
use crate::mesh::{Locator, Mesh};
use crate::point::Point;
use crate::quantity::coil;
use crate::quantity::coupled::{self, StringRange};
use crate::quantity::model::{
    BodyPull, CoilReading, PartReading, ProbeReading, Quantities, StringModel, StringReading,
};
use crate::quantity::movement::Movement;
use crate::quantity::recover::Recovery;
use crate::quantity::region_mean::{RegionMean, region_means};
use crate::quantity::row;
use crate::quantity::shape_change::{self, Move};
use crate::quantity::working_point::working_point;
use crate::section::{Section, StringRun, Symmetry};
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
    if let Some(row) = &section.row {
        let Bare { mut quantities, .. } = take_bare(section, regions, without, with, None)?;
        row::add_row(section, row, regions, materials, without, &mut quantities)?;
        return Ok(quantities);
    }
    let range = StringRange::of(section, regions);
    let Bare { mut quantities, above } = take_bare(section, regions, without, with, range)?;
    if let Some(above) = above {
        let strings = coupled::readings(section, regions, materials, &above, without)?;
        coupled::add(section, &mut quantities, strings);
    }
    Ok(quantities)
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
    let field = with.unwrap_or(without);
    let mesh = field.mesh();
    let movement = Movement::new(mesh)?;
    let tangent = SmallChange::new(field)?;
    let locator = Locator::new(mesh);
    let read_without = Recovery::new(without, &locator);
    let read_with = Recovery::new(field, &locator);
    let means = region_means(field);
    let coil_fields = coil_fields(section, mesh, &tangent);
    let strings = strings(section, &read_without, field, &movement, &tangent, &coil_fields, &means);
    let per_ampere: Vec<&[f64]> = coil_fields.iter().map(|c| c.per_ampere.as_slice()).collect();
    let above = match range {
        Some(range) => coupled::above(regions, without, &per_ampere, range)?,
        None => None,
    };
    let quantities = Quantities {
        symmetry: section.symmetry,
        depth: section.depth,
        energy: means.iter().map(|m| m.energy).sum(),
        probes: probes(section, &read_without, &read_with),
        parts: parts(section, field, &means),
        pulls: body_pulls(mesh, field, &movement),
        coils: coils(section, without, field, &coil_fields),
        strings,
        row: None,
        solve_without: without.info.clone(),
        solve_with: with.map(|f| f.info.clone()),
    };
    Ok(Bare { quantities, above })
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
struct CoilField {
    load: Vec<f64>,
    per_ampere: Vec<f64>,
}

fn coil_fields(section: &Section, mesh: &Mesh, tangent: &SmallChange) -> Vec<CoilField> {
    section
        .coils
        .iter()
        .enumerate()
        .map(|(c, spec)| {
            let windows: Vec<(f64, f64)> =
                spec.windows.iter().map(|w| (w.sense, w.turns)).collect();
            let load = coil::load(mesh, c, &windows);
            let per_ampere = tangent.answer(&load);
            CoilField { load, per_ampere }
        })
        .collect()
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

fn probes(section: &Section, without: &Recovery, with: &Recovery) -> Vec<ProbeReading> {
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

fn body_pulls(mesh: &Mesh, field: &Field, movement: &Movement) -> Vec<BodyPull> {
    shape_change::pulls(field, movement)
        .into_iter()
        .zip(&movement.bodies)
        .map(|(pull, body)| BodyPull {
            members: body
                .regions
                .iter()
                .map(|&region| mesh.regions[region as usize].name.clone())
                .collect(),
            pull,
        })
        .collect()
}

fn strings(
    section: &Section,
    without: &Recovery,
    field: &Field,
    movement: &Movement,
    tangent: &SmallChange,
    coil_fields: &[CoilField],
    means: &[RegionMean],
) -> Vec<StringReading> {
    let mesh = field.mesh();
    let pulls = shape_change::pulls(field, movement);
    let mut readings = Vec::new();
    for (region, of) in mesh.regions.iter().enumerate() {
        let Source::String(index) = of.source else { continue };
        let Some(body) = movement.body(region as u32) else { continue };
        let spec = &section.strings[index];
        let (pull_gradient, linkage_change) = changes(field, movement, tangent, coil_fields, body);
        readings.push(StringReading {
            name: spec.name.clone(),
            model: match section.string_run {
                StringRun::Through => StringModel::MeshedThrough,
                StringRun::InPlane => StringModel::MeshedSheet,
            },
            axis: spec.axis,
            gauge: spec.gauge,
            gap: spec.gap,
            flux_density_without: without.flux_density(spec.axis).unwrap_or([f64::NAN; 2]),
            flux_density: means[region].flux_density,
            largest: means[region].largest,
            pull: pulls[body],
            pull_gradient,
            linkage_change,
            coupled: None,
        });
    }
    readings
}

/// Total derivatives of a body's pull and of every linkage with respect to its place.
fn changes(
    field: &Field,
    movement: &Movement,
    tangent: &SmallChange,
    coil_fields: &[CoilField],
    body: usize,
) -> ([[f64; 2]; 2], Vec<[f64; 2]>) {
    let symmetry = field.mesh().symmetry;
    let moves = [[1.0, 0.0], [0.0, 1.0]].map(|direction| Move { body, direction });
    let mut gradient = [[0.0; 2]; 2];
    let mut linkage = vec![[0.0; 2]; coil_fields.len()];
    let directions = shape_change::directions(symmetry);
    let loads: Vec<Vec<f64>> = directions
        .clone()
        .map(|k| shape_change::gradient_change(field, movement, moves[k]))
        .collect();
    let answers: Vec<Vec<f64>> = loads.iter().map(|load| tangent.answer(load)).collect();
    let first = directions.start;
    for i in directions.clone() {
        for k in directions.clone() {
            gradient[i][k] = coil::linkage(&loads[i - first], &answers[k - first])
                - shape_change::energy_second(field, movement, moves[i], moves[k]);
        }
        for (change, own) in linkage.iter_mut().zip(coil_fields) {
            change[i] = -coil::linkage(&own.per_ampere, &loads[i - first]);
        }
    }
    debug_assert!(symmetry == Symmetry::Planar || gradient[0] == [0.0; 2]);
    (gradient, linkage)
}
