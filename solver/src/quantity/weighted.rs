//! The error of each goal, and how much of it each triangle makes.
//!
//! In: goals ([`super::goals`]), the field and its factored tangent. Out: for each goal the error Q - Q_h
//! that the cubic space sees ([`crate::field::enriched`]), with its sign, and for each triangle the sum of
//! the magnitudes of its parts e_W r^z_W. A side's part is shared by the triangles beside it.

use crate::field::Field;
use crate::field::enriched::{Cubic, Enriched, places, residual};
use crate::mesh::Mesh;
use crate::quantity::goals::{Goal, Number};
use crate::quantity::take::Workings;

/// What is known of the error of one number.
#[derive(Clone, Debug)]
pub struct Weighted {
    /// Which number.
    pub number: Number,
    /// Its value, SI.
    pub value: f64,
    /// Estimate of the exact value less this one.
    pub error: f64,
    /// Magnitude of each triangle's part in it, `[n_triangles]`; empty unless asked for.
    pub parts: Vec<f64>,
}

/// Estimates the errors of `goals`; the parts of the triangles only where `parts`.
pub fn weighted(field: &Field, workings: &Workings, goals: &[Goal], parts: bool) -> Vec<Weighted> {
    let mesh = field.mesh();
    let tangent = &workings.tangent;
    let of_law = Enriched::new(field, tangent, false);
    let e_field = of_law.solve(residual(field));
    let small =
        if field.assembly.is_linear() { of_law } else { Enriched::new(field, tangent, true) };
    let e_coils: Vec<Cubic> = workings
        .coils
        .iter()
        .enumerate()
        .map(|(c, own)| match load_of_ampere(goals, c) {
            Some(load) => small.solve(small.residual(load, &own.per_ampere)),
            None => Cubic::zeros(mesh),
        })
        .collect();
    // The dual answers of all loads at once.
    let loads: Vec<&Cubic> = goals
        .iter()
        .flat_map(|goal| goal.on_field.iter().chain(goal.on_coil.iter().map(|(_, load)| load)))
        .collect();
    let mut answers = if parts {
        let nodal: Vec<&[f64]> = loads.iter().map(|load| load.nodal.as_slice()).collect();
        tangent.answers(&nodal).into_iter()
    } else {
        Vec::new().into_iter()
    };
    goals
        .iter()
        .map(|goal| {
            let mut told = Weighted {
                number: goal.number,
                value: goal.value,
                error: 0.0,
                parts: if parts { vec![0.0; mesh.triangles.len()] } else { Vec::new() },
            };
            let on_field = goal.on_field.iter().map(|load| (load, &e_field));
            let on_coil = goal.on_coil.iter().map(|(c, load)| (load, &e_coils[*c]));
            for (load, e) in on_field.chain(on_coil) {
                told.error += load.dot(e);
                if let Some(answer) = answers.next() {
                    add_parts(mesh, &mut told.parts, e, &small.residual(load, &answer));
                }
            }
            told
        })
        .collect()
}

/// The load of one ampere in coil `c`, which its inductance is the product of its own answer with.
fn load_of_ampere(goals: &[Goal], c: usize) -> Option<&Cubic> {
    let own = goals.iter().find(|goal| goal.number == Number::Inductance(c))?;
    own.on_coil.as_ref().map(|(_, load)| load)
}

fn add_parts(mesh: &Mesh, parts: &mut [f64], e: &Cubic, dual: &Cubic) {
    for (t, part) in parts.iter_mut().enumerate() {
        for (i, place) in places(mesh, t).into_iter().enumerate() {
            let share = if i < 3 { 0.5 } else { 1.0 };
            *part += share * (e.extra[place] * dual.extra[place]).abs();
        }
    }
}
