//! The numbers a mesh is made for, as sums over the unknowns.
//!
//! In: a section, its field, what was worked out on the way to its numbers. Out: for each leading number
//! Q its first-order change by errors of the field and of the coils' own fields per ampere,
//!
//! dQ = load . e_field + load_c . e_coil
//!
//! | number | load on the field | load on the coil's field |
//! |---|---|---|
//! | linkage of a coil | l, the load of one ampere | |
//! | inductance | | l |
//! | upward flux density at a coupled string | Poisson's kernel on the sampling line | |
//! | pull up on it | sum V (dM/dz . dB + M . dB_z) | |
//! | its flux change up | sum V (dM~/dz . dB + M~ . dB_z) | sum V (dM/dz . dB + M . dB_z) |
//! | upward flux density at a meshed string | its mean over the core, of the field with strings out | |
//! | pull up on a meshed string | -dR/d1 of the field | |
//! | its flux change up | -dR/d1 of the coil's field | -dR/d1 of the field |
//!
//! with M the string's magnetisation and M~ what the coil's field would cause
//! ([`crate::strings::FieldWeights`]). The answer of the poles to the string is held. A load that weighs more
//! than one error is kept once.

use std::sync::Arc;

use crate::field::Field;
use crate::field::enriched::{Cubic, N_SHAPES, quadrature};
use crate::geometry::{Regions, Source};
use crate::mesh::{Locator, Mesh};
use crate::quantity::line::{Kernels, Line};
use crate::quantity::model::{Quantities, StringModel};
use crate::quantity::moved_load::moved_loads;
use crate::quantity::row_goals::over_lone_pole;
use crate::quantity::take::{CoilField, Workings};
use crate::section::{Section, StringSpec};
use crate::strings::FieldWeights;

/// Which number; indices are those of the section.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Number {
    /// Linkage of a coil.
    Linkage(usize),
    /// Inductance of a coil.
    Inductance(usize),
    /// Upward flux density at a string, strings out.
    FluxDensity(usize),
    /// Upward pull on a string.
    Pull(usize),
    /// Upward change of linkage: string, coil.
    LinkageChange(usize, usize),
}

/// A number and what changes it.
#[derive(Clone, Debug)]
pub struct Goal {
    /// Which.
    pub number: Number,
    /// Its value, SI.
    pub value: f64,
    /// What an error of it is to be held against, SI: the length of the vector that it is a part of; of a
    /// linkage the sum over the coil's windows of what each gives, which may cancel.
    pub size: f64,
    /// Load on the field.
    pub on_field: Option<Arc<Cubic>>,
    /// Load on the field with the strings taken out, where that is another one.
    pub on_without: Option<Arc<Cubic>>,
    /// Load on the field of one ampere in a coil.
    pub on_coil: Option<(usize, Arc<Cubic>)>,
}

impl Number {
    /// Whether both are of one kind, and so are held against the largest of both.
    pub fn is_like(self, other: Self) -> bool {
        std::mem::discriminant(&self) == std::mem::discriminant(&other)
    }
}

/// The goals of a solved section, from its own numbers; over a row of poles those of a pole by itself
/// ([`crate::quantity::row_goals`]).
pub fn goals(
    section: &Section,
    regions: &Regions,
    field: &Field,
    workings: &Workings,
    quantities: &Quantities,
) -> Vec<Goal> {
    let mut goals = coil_goals(section, field, workings);
    if let Some(row) = &section.row {
        goals.extend(over_lone_pole(section, row, regions, field, workings));
        return goals;
    }
    goals.extend(meshed_goals(section, field, workings, quantities));
    let Some(z0) = regions.sampling_height else { return goals };
    let mesh = field.mesh();
    let locator = Locator::new(mesh);
    for reading in quantities.strings.iter().filter(|s| s.model == StringModel::Coupled) {
        let Some(coupled) = &reading.coupled else { continue };
        let Some(s) = section.strings.iter().position(|spec| spec.name == reading.name) else {
            continue;
        };
        let spec = &section.strings[s];
        let line = line_of(mesh, &locator, z0, spec);
        let kernels: Vec<Kernels> = coupled.places.iter().map(|&p| line.kernels(p)).collect();
        let load = |weights: &FieldWeights| {
            Arc::new(line.load(&factors(mesh, &line, &kernels, &coupled.places, weights)))
        };
        let pull = load(&coupled.pull_weights);
        goals.push(flux_density(spec, s, &line, field));
        goals.push(Goal {
            number: Number::Pull(s),
            value: reading.pull[1],
            size: length(reading.pull),
            on_field: Some(Arc::clone(&pull)),
            on_without: None,
            on_coil: None,
        });
        for (c, coil) in coupled.coils.iter().enumerate() {
            goals.push(Goal {
                number: Number::LinkageChange(s, c),
                value: coil.change[1],
                size: length(coil.change),
                on_field: Some(load(&coil.change_weights)),
                on_without: None,
                on_coil: Some((c, Arc::clone(&pull))),
            });
        }
    }
    goals
}

/// Direction along which the field across points at a place above the section.
pub(super) fn sideways(mesh: &Mesh, place: [f64; 3]) -> [f64; 2] {
    match mesh.symmetry {
        crate::section::Symmetry::Planar => [1.0, 0.0],
        crate::section::Symmetry::Axisymmetric => {
            let r = place[0].hypot(place[1]).max(1e-6);
            [place[0] / r, place[1] / r]
        }
    }
}

pub(super) fn line_of<'a>(
    mesh: &'a Mesh,
    locator: &Locator,
    z0: f64,
    spec: &StringSpec,
) -> Line<'a> {
    let middle = match mesh.symmetry {
        crate::section::Symmetry::Planar => spec.axis.x,
        crate::section::Symmetry::Axisymmetric => 0.0,
    };
    Line::new(mesh, locator, z0, spec.axis.y - z0, middle)
}

/// The factor of every sample of the line in the sum that `weights` stand for.
pub(super) fn factors(
    mesh: &Mesh,
    line: &Line,
    kernels: &[Kernels],
    places: &[[f64; 3]],
    weights: &FieldWeights,
) -> Vec<f64> {
    let mut factors = vec![0.0; line.len()];
    for (i, (kernels, &place)) in kernels.iter().zip(places).enumerate() {
        let [x, y] = sideways(mesh, place);
        let (field, slope) = (weights.field[i], weights.slope[i]);
        let of = [field[0] * x + field[1] * y, field[2], slope[0] * x + slope[1] * y, slope[2]];
        for (factor, k) in factors.iter_mut().zip(kernels) {
            *factor += of[0] * k[0] + of[1] * k[1] + of[2] * k[2] + of[3] * k[3];
        }
    }
    factors
}

pub(super) fn flux_density(spec: &StringSpec, s: usize, line: &Line, field: &Field) -> Goal {
    let kernels = line.kernels([spec.axis.x, spec.offset, spec.axis.y]);
    let up: Vec<f64> = kernels.iter().map(|k| k[1]).collect();
    let value = line.sum(&field.nodal, up.iter().copied());
    let across = line.sum(&field.nodal, kernels.iter().map(|k| k[0]));
    Goal {
        number: Number::FluxDensity(s),
        value,
        size: length([across, value]),
        on_field: Some(Arc::new(line.load(&up))),
        on_without: None,
        on_coil: None,
    }
}

fn coil_goals(section: &Section, field: &Field, workings: &Workings) -> Vec<Goal> {
    let mut goals = Vec::new();
    for (c, own) in workings.coils.iter().enumerate() {
        let windows = window_loads(section, field.mesh(), c);
        let mut load = Cubic::zeros(field.mesh());
        windows.iter().for_each(|window| load.add(window));
        let load = Arc::new(load);
        let each = windows.iter().map(|window| dot(&window.nodal, &field.nodal).abs());
        goals.push(Goal {
            number: Number::Linkage(c),
            value: dot(&own.load, &field.nodal),
            size: each.sum(),
            on_field: Some(Arc::clone(&load)),
            on_without: None,
            on_coil: None,
        });
        let inductance = dot(&own.load, &own.per_ampere);
        goals.push(Goal {
            number: Number::Inductance(c),
            value: inductance,
            size: inductance.abs(),
            on_field: None,
            on_without: None,
            on_coil: Some((c, load)),
        });
    }
    goals
}

/// The loads of one ampere in each window of coil `c`, as [`super::coil::load`] for all ten shapes.
fn window_loads(section: &Section, mesh: &Mesh, c: usize) -> Vec<Cubic> {
    let mut loads = Vec::new();
    for (region, of) in mesh.regions.iter().enumerate() {
        let Source::Window(coil, window) = of.source else { continue };
        if coil != c {
            continue;
        }
        let window = &section.coils[c].windows[window];
        let own: Vec<usize> =
            (0..mesh.triangles.len()).filter(|&t| mesh.region_of[t] as usize == region).collect();
        let area: f64 =
            own.iter().map(|&t| quadrature(mesh, t).map(|(_, _, w)| w).sum::<f64>()).sum();
        let mut load = Cubic::zeros(mesh);
        for &t in &own {
            let mut part = [0.0; N_SHAPES];
            for (at, shapes, w) in quadrature(mesh, t) {
                let density = window.sense * window.turns / area * w * at.measure(mesh.symmetry);
                for (part, a) in part.iter_mut().zip(shapes.potential_basis(mesh, &at)) {
                    *part += density * a;
                }
            }
            load.add_of_triangle(mesh, t, &part);
        }
        loads.push(load);
    }
    loads
}

fn meshed_goals(
    section: &Section,
    field: &Field,
    workings: &Workings,
    quantities: &Quantities,
) -> Vec<Goal> {
    let mesh = field.mesh();
    let mut fields = vec![field.nodal.as_slice()];
    fields.extend(workings.coils.iter().map(|own| own.per_ampere.as_slice()));
    let bodies =
        workings.meshed.iter().map(|&(_, body)| workings.movement.weights[body].as_slice());
    let loads = moved_loads(mesh, &fields, &bodies.collect::<Vec<_>>());
    let of = |(&(string, _), loads): (&(usize, usize), Vec<Cubic>)| -> Vec<Goal> {
        let name = &section.strings[string].name;
        let Some(reading) = quantities.strings.iter().find(|s| s.name == *name) else {
            return Vec::new();
        };
        let turned = |mut load: Cubic| {
            load.turn_over();
            Arc::new(load)
        };
        let mut loads = loads.into_iter().map(turned);
        let Some(of_field) = loads.next() else { return Vec::new() };
        let field_up = (reading.model == StringModel::MeshedThrough).then(|| Goal {
            number: Number::FluxDensity(string),
            value: reading.flux_density_without[1],
            size: length(reading.flux_density_without),
            on_field: None,
            on_without: Some(Arc::new(mean_up(mesh, &Source::String(string)))),
            on_coil: None,
        });
        let pull = Goal {
            number: Number::Pull(string),
            // Quadratic in the unknowns: half of what its load gives.
            value: 0.5 * dot(&of_field.nodal, &field.nodal),
            size: length(reading.pull),
            on_field: Some(Arc::clone(&of_field)),
            on_without: None,
            on_coil: None,
        };
        let change = |(c, (own, load)): (usize, (&CoilField, Arc<Cubic>))| Goal {
            number: Number::LinkageChange(string, c),
            value: dot(&of_field.nodal, &own.per_ampere),
            size: length(reading.linkage_change[c]),
            on_field: Some(load),
            on_without: None,
            on_coil: Some((c, Arc::clone(&of_field))),
        };
        let changes = workings.coils.iter().zip(loads).enumerate().map(change);
        field_up.into_iter().chain([pull]).chain(changes).collect()
    };
    workings.meshed.iter().zip(loads).flat_map(of).collect()
}

/// The load whose product with a field is its mean upward flux density over a region of a planar mesh.
fn mean_up(mesh: &Mesh, source: &Source) -> Cubic {
    let mut load = Cubic::zeros(mesh);
    let mut measure = 0.0;
    let within = |t: &usize| mesh.regions[mesh.region_of[*t] as usize].source == *source;
    for t in (0..mesh.triangles.len()).filter(within) {
        let mut part = [0.0; N_SHAPES];
        for (at, shapes, w) in quadrature(mesh, t) {
            measure += w;
            for (part, b) in part.iter_mut().zip(shapes.flux_density_basis(mesh, &at)) {
                *part += w * b[1];
            }
        }
        load.add_of_triangle(mesh, t, &part);
    }
    load.scale(1.0 / measure);
    load
}

fn length([across, up]: [f64; 2]) -> f64 {
    across.hypot(up)
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
