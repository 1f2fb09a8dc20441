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
//! | pull up on a meshed string | -dR/d1 of the field | |
//! | its flux change up | -dR/d1 of the coil's field | -dR/d1 of the field |
//!
//! with M the string's magnetisation and M~ what the coil's field would cause
//! ([`crate::strings::FieldWeights`]). The answer of the poles to the string is held.

use crate::field::Field;
use crate::field::enriched::{Cubic, N_SHAPES, quadrature};
use crate::geometry::{Regions, Source};
use crate::mesh::{Locator, Mesh};
use crate::quantity::line::{Kernels, Line};
use crate::quantity::model::{Quantities, StringModel};
use crate::quantity::moved_load::moved_load;
use crate::quantity::take::Workings;
use crate::section::{Section, StringSpec};
use crate::strings::FieldWeights;
use crate::units::{MM, MU_0};

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
    /// Load on the field.
    pub on_field: Option<Cubic>,
    /// Load on the field of one ampere in a coil.
    pub on_coil: Option<(usize, Cubic)>,
}

/// The goals of a solved section, from its own numbers.
pub fn goals(
    section: &Section,
    regions: &Regions,
    field: &Field,
    workings: &Workings,
    quantities: &Quantities,
) -> Vec<Goal> {
    let mut goals = coil_goals(section, field, workings);
    goals.extend(meshed_goals(field, workings));
    let (Some(z0), None) = (regions.sampling_height, &section.row) else { return goals };
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
            line.load(&factors(mesh, &line, &kernels, &coupled.places, weights))
        };
        let pull = load(&coupled.pull_weights);
        goals.push(flux_density(spec, s, &line, field));
        goals.push(Goal {
            number: Number::Pull(s),
            value: reading.pull[1],
            on_field: Some(pull.clone()),
            on_coil: None,
        });
        for (c, coil) in coupled.coils.iter().enumerate() {
            goals.push(Goal {
                number: Number::LinkageChange(s, c),
                value: coil.change[1],
                on_field: Some(load(&coil.change_weights)),
                on_coil: Some((c, pull.clone())),
            });
        }
    }
    goals
}

/// Spacing of the nodes of a string that stands in for a coupled one, m, and how far they reach.
const SPACING: f64 = MM;
const REACH: f64 = 30.0 * MM;

/// What a string answers to a field along and across it: between what a steel wire some centimetres
/// long does along itself, and twice the field across.
const ANSWER: [f64; 3] = [30.0, 2.0, 2.0];

/// Magnetisation at which a steel string is full, A/m.
const FULL: f64 = 1.5e6;

/// The goals of a field whose numbers have not been taken: the strings are not coupled but answer in
/// proportion to the field until they are full, which is near enough to say where the mesh matters for
/// them. Of many strings the lowest and the highest stand for all.
pub fn goals_before(
    section: &Section,
    regions: &Regions,
    field: &Field,
    workings: &Workings,
) -> Vec<Goal> {
    let mut goals = coil_goals(section, field, workings);
    goals.extend(meshed_goals(field, workings));
    let Some(z0) = regions.sampling_height else { return goals };
    let mesh = field.mesh();
    let locator = Locator::new(mesh);
    let meshed = |s: usize| regions.regions.iter().any(|r| r.source == Source::String(s));
    let mut strings: Vec<(usize, StringSpec)> = section
        .strings
        .iter()
        .enumerate()
        .filter(|&(s, _)| !meshed(s))
        .map(|(s, spec)| {
            let mut spec = spec.clone();
            if let (Some(row), Some(pole)) = (&section.row, spec.pole) {
                spec.axis.y += row.below_highest(pole);
            }
            (s, spec)
        })
        .collect();
    strings.sort_by(|(i, a), (j, b)| a.axis.y.total_cmp(&b.axis.y).then(i.cmp(j)));
    if strings.len() > 2 {
        strings.drain(1..strings.len() - 1);
    }
    for (s, spec) in &strings {
        let line = line_of(mesh, &locator, z0, spec);
        let steps = (REACH / SPACING) as i32;
        let places: Vec<[f64; 3]> = (-steps..=steps)
            .map(|i| [spec.axis.x + f64::from(i) * SPACING, spec.offset, spec.axis.y])
            .collect();
        let kernels: Vec<Kernels> = places.iter().map(|&p| line.kernels(p)).collect();
        let own = felt(mesh, &line, &kernels, &places, &field.nodal);
        let pull = answered(&own, &own);
        let pull_load = line.load(&factors(mesh, &line, &kernels, &places, &pull));
        goals.push(flux_density(spec, *s, &line, field));
        goals.push(Goal {
            number: Number::Pull(*s),
            value: work(&pull.slope, &own.slope),
            on_field: Some(pull_load.clone()),
            on_coil: None,
        });
        for (c, coil) in workings.coils.iter().enumerate() {
            let of_coil = felt(mesh, &line, &kernels, &places, &coil.per_ampere);
            let change = answered(&own, &of_coil);
            goals.push(Goal {
                number: Number::LinkageChange(*s, c),
                value: work(&pull.slope, &of_coil.slope) + work(&pull.field, &of_coil.field),
                on_field: Some(line.load(&factors(mesh, &line, &kernels, &places, &change))),
                on_coil: Some((c, pull_load.clone())),
            });
        }
    }
    goals
}

/// B and dB/dz at places.
fn felt(
    mesh: &Mesh,
    line: &Line,
    kernels: &[Kernels],
    places: &[[f64; 3]],
    nodal: &[f64],
) -> FieldWeights {
    let at = |k: &Kernels, place: [f64; 3], first: usize| {
        let [across, up] = [first, first + 1].map(|i| line.sum(nodal, k.iter().map(|k| k[i])));
        let [x, y] = sideways(mesh, place);
        [across * x, across * y, up]
    };
    let of = |first| kernels.iter().zip(places).map(|(k, &p)| at(k, p, first)).collect();
    FieldWeights { field: of(0), slope: of(2) }
}

/// The magnetisation of a string in the field `own` that answers a small `change` of it, and the change of
/// that with height; per volume.
fn answered(own: &FieldWeights, change: &FieldWeights) -> FieldWeights {
    let share = |i: usize| {
        let m: f64 = (0..3).map(|c| (ANSWER[c] * own.field[i][c] / MU_0).powi(2)).sum();
        (FULL / m.sqrt()).min(1.0)
    };
    let times = |of: &[[f64; 3]]| -> Vec<[f64; 3]> {
        let each = of.iter().enumerate();
        each.map(|(i, b)| [0, 1, 2].map(|c| share(i) * ANSWER[c] * b[c] / MU_0)).collect()
    };
    FieldWeights { field: times(&change.slope), slope: times(&change.field) }
}

fn work(m: &[[f64; 3]], b: &[[f64; 3]]) -> f64 {
    m.iter().zip(b).map(|(m, b)| m[0] * b[0] + m[1] * b[1] + m[2] * b[2]).sum()
}

/// Direction along which the field across points at a place above the section.
fn sideways(mesh: &Mesh, place: [f64; 3]) -> [f64; 2] {
    match mesh.symmetry {
        crate::section::Symmetry::Planar => [1.0, 0.0],
        crate::section::Symmetry::Axisymmetric => {
            let r = place[0].hypot(place[1]).max(1e-6);
            [place[0] / r, place[1] / r]
        }
    }
}

fn line_of<'a>(mesh: &'a Mesh, locator: &Locator, z0: f64, spec: &StringSpec) -> Line<'a> {
    let middle = match mesh.symmetry {
        crate::section::Symmetry::Planar => spec.axis.x,
        crate::section::Symmetry::Axisymmetric => 0.0,
    };
    Line::new(mesh, locator, z0, spec.axis.y - z0, middle)
}

/// The factor of every sample of the line in the sum that `weights` stand for.
fn factors(
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

fn flux_density(spec: &StringSpec, s: usize, line: &Line, field: &Field) -> Goal {
    let kernels = line.kernels([spec.axis.x, spec.offset, spec.axis.y]);
    let up: Vec<f64> = kernels.iter().map(|k| k[1]).collect();
    Goal {
        number: Number::FluxDensity(s),
        value: line.sum(&field.nodal, up.iter().copied()),
        on_field: Some(line.load(&up)),
        on_coil: None,
    }
}

fn coil_goals(section: &Section, field: &Field, workings: &Workings) -> Vec<Goal> {
    let mut goals = Vec::new();
    for (c, own) in workings.coils.iter().enumerate() {
        let load = coil_load(section, field.mesh(), c);
        goals.push(Goal {
            number: Number::Linkage(c),
            value: dot(&own.load, &field.nodal),
            on_field: Some(load.clone()),
            on_coil: None,
        });
        goals.push(Goal {
            number: Number::Inductance(c),
            value: dot(&own.load, &own.per_ampere),
            on_field: None,
            on_coil: Some((c, load)),
        });
    }
    goals
}

/// The load of one ampere in coil `c`, as [`super::coil::load`] for all ten shapes.
pub fn coil_load(section: &Section, mesh: &Mesh, c: usize) -> Cubic {
    let mut load = Cubic::zeros(mesh);
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
    }
    load
}

fn meshed_goals(field: &Field, workings: &Workings) -> Vec<Goal> {
    let mesh = field.mesh();
    let minus = |mut load: Cubic| {
        load.nodal.iter_mut().chain(&mut load.extra).for_each(|v| *v = -*v);
        load
    };
    let mut goals = Vec::new();
    for &(string, body) in &workings.meshed {
        let weights = &workings.movement.weights[body];
        let of_field = minus(moved_load(mesh, &field.nodal, weights));
        goals.push(Goal {
            number: Number::Pull(string),
            // Quadratic in the unknowns: half of what its load gives.
            value: 0.5 * dot(&of_field.nodal, &field.nodal),
            on_field: Some(of_field.clone()),
            on_coil: None,
        });
        for (c, own) in workings.coils.iter().enumerate() {
            goals.push(Goal {
                number: Number::LinkageChange(string, c),
                value: dot(&of_field.nodal, &own.per_ampere),
                on_field: Some(minus(moved_load(mesh, &own.per_ampere, weights))),
                on_coil: Some((c, of_field.clone())),
            });
        }
    }
    goals
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
