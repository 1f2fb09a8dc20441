//! The numbers a mesh is made for under a row of poles.
//!
//! In: a section with a row, the field of its pole without strings. Out: goals ([`super::goals`]) of strings
//! over that pole by itself, which answer in proportion to the field until they are full. Their values are
//! not those of the row; what share of them an error is, is near that of the row. Of many strings the lowest and the highest stand for all.

use std::f64::consts::PI;
use std::sync::Arc;

use crate::field::Field;
use crate::geometry::Regions;
use crate::mesh::{Locator, Mesh};
use crate::quantity::goals::{Goal, Number, factors, flux_density, line_of, sideways};
use crate::quantity::line::{Kernels, Line};
use crate::quantity::take::Workings;
use crate::section::{Row, Section, StringSpec};
use crate::strings::FieldWeights;
use crate::units::{MM, MU_0};

/// Spacing of the nodes of a string that stands in for a coupled one, m, and how far they reach.
const SPACING: f64 = MM;
const REACH: f64 = 30.0 * MM;

/// What a string answers to a field along and across it: between what a steel wire some centimetres
/// long does along itself, and twice the field across.
const ANSWER: [f64; 3] = [30.0, 2.0, 2.0];

/// Magnetisation at which a steel string is full, A/m.
const FULL: f64 = 1.5e6;

/// The goals over a pole by itself; indices of strings are those of the section.
pub fn over_lone_pole(
    section: &Section,
    row: &Row,
    regions: &Regions,
    field: &Field,
    workings: &Workings,
) -> Vec<Goal> {
    let mut goals = Vec::new();
    let Some(z0) = regions.sampling_height else { return goals };
    let mesh = field.mesh();
    let locator = Locator::new(mesh);
    let mut strings: Vec<(usize, StringSpec)> = section
        .strings
        .iter()
        .enumerate()
        .map(|(s, spec)| {
            let mut spec = spec.clone();
            spec.axis.y += row.below_highest(spec.pole.unwrap_or(0));
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
        let volume = 0.25 * PI * spec.gauge * spec.gauge * SPACING;
        let pull = answered(&own, &own, volume);
        let load = |weights: &FieldWeights| {
            Arc::new(line.load(&factors(mesh, &line, &kernels, &places, weights)))
        };
        let pull_load = load(&pull);
        goals.push(flux_density(spec, *s, &line, field));
        goals.push(Goal {
            number: Number::Pull(*s),
            value: work(&pull.slope, &own.slope),
            size: work(&pull.slope, &own.slope).abs(),
            on_field: Some(Arc::clone(&pull_load)),
            on_without: None,
            on_coil: None,
        });
        for (c, coil) in workings.coils.iter().enumerate() {
            let of_coil = felt(mesh, &line, &kernels, &places, &coil.per_ampere);
            let change = answered(&own, &of_coil, volume);
            let value = work(&pull.slope, &of_coil.slope) + work(&pull.field, &of_coil.field);
            goals.push(Goal {
                number: Number::LinkageChange(*s, c),
                value,
                size: value.abs(),
                on_field: Some(load(&change)),
                on_without: None,
                on_coil: Some((c, Arc::clone(&pull_load))),
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
/// that with height; times `volume` per place.
fn answered(own: &FieldWeights, change: &FieldWeights, volume: f64) -> FieldWeights {
    let share = |i: usize| {
        let m: f64 = (0..3).map(|c| (ANSWER[c] * own.field[i][c] / MU_0).powi(2)).sum();
        (FULL / m.sqrt()).min(1.0)
    };
    let times = |of: &[[f64; 3]]| -> Vec<[f64; 3]> {
        let each = of.iter().enumerate();
        each.map(|(i, b)| [0, 1, 2].map(|c| volume * share(i) * ANSWER[c] * b[c] / MU_0)).collect()
    };
    FieldWeights { field: times(&change.slope), slope: times(&change.field) }
}

fn work(m: &[[f64; 3]], b: &[[f64; 3]]) -> f64 {
    m.iter().zip(b).map(|(m, b)| m[0] * b[0] + m[1] * b[1] + m[2] * b[2]).sum()
}
