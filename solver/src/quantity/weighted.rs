//! The error of each goal, and how much of it each triangle makes.
//!
//! In: goals ([`super::goals`]), the field and its factored tangent. Out: for each goal the error Q - Q_h
//! that the cubic space sees ([`crate::field::enriched`]), with its sign, and for each triangle the sum of
//! the magnitudes of its parts e_W r^z_W. A side's part is shared by the triangles beside it.
//!
//! The field's own error answers to the slopes of the laws, the residual of a goal to those for a small
//! change, magnets on recoil: where both differ the parts do not sum to the error, and are scaled to it. The
//! parts of a goal in the field without strings are weighed as if these were in.

use std::sync::Arc;

use rayon::prelude::*;

use crate::field::assembly::Slopes;
use crate::field::enriched::{Cubic, Enriched, places, residual};
use crate::field::linear_solve::LinearSolveError;
use crate::field::{Body, Field, SmallChange};
use crate::mesh::Mesh;
use crate::quantity::goals::{Goal, Number};
use crate::quantity::take::{CoilField, Workings};

/// By how much parts are scaled at most.
const MOST_SCALED: f64 = 10.0;

/// What the cubic space sees of the errors of a field, of that without strings where a goal is in it, and of
/// the fields of one ampere in each coil.
#[derive(Clone, Debug)]
pub struct Seen {
    /// What the cubic space would change in the field.
    pub field: Cubic,
    without: Option<Cubic>,
    coils: Vec<Cubic>,
}

impl Seen {
    /// Solves for it, beside the making of the `goals`. `without` is the field without strings, whose magnets
    /// remember what is not part of the answer, and `lacks` its own error ([`error_without`]), which a goal in
    /// it needs.
    ///
    /// # Errors
    /// A tangent could not be factored.
    pub fn new(
        field: &Field,
        without: &Field,
        lacks: Option<Cubic>,
        workings: &Workings,
        goals: impl FnOnce() -> Vec<Goal> + Send,
    ) -> Result<(Self, Vec<Goal>), LinearSolveError> {
        let others = || {
            let goals = goals();
            let coils = errors_of_coils(field, workings, &goals);
            (coils, goals)
        };
        let (field, (coils, goals)) =
            rayon::join(|| error_of_field(field, without, lacks.as_ref(), workings), others);
        Ok((Self { field: field?, without: lacks, coils }, goals))
    }

    /// The exact value less that of the mesh, goal by goal, SI.
    pub fn errors(&self, goals: &[Goal]) -> Vec<f64> {
        goals.iter().map(|goal| self.loads(goal).map(|(load, e)| load.dot(e)).sum()).collect()
    }

    /// The magnitude of each triangle's part in the error of each goal, `[n_goals][n_triangles]`, SI.
    pub fn parts(&self, field: &Field, workings: &Workings, goals: &[Goal]) -> Vec<Vec<f64>> {
        let mesh = field.mesh();
        let small = Enriched::new(field, &workings.tangent, Slopes::Small);
        // Two goals may have a load in common.
        let mut loads: Vec<&Arc<Cubic>> = Vec::new();
        for (load, _) in goals.iter().flat_map(|goal| self.loads(goal)) {
            if !loads.iter().any(|known| Arc::ptr_eq(known, load)) {
                loads.push(load);
            }
        }
        let nodal: Vec<&[f64]> = loads.iter().map(|load| load.nodal.as_slice()).collect();
        let answers = workings.tangent.answers(&nodal);
        let duals: Vec<Vec<f64>> = loads
            .par_iter()
            .zip(&answers)
            .map(|(load, answer)| small.residual(load, answer))
            .collect();
        let of = |goal: &Goal| -> Vec<f64> {
            let mut parts = vec![0.0; mesh.triangles.len()];
            let (mut error, mut sum) = (0.0, 0.0);
            for (load, e) in self.loads(goal) {
                let own = loads.iter().zip(&duals).find(|(known, _)| Arc::ptr_eq(known, load));
                let Some((_, dual)) = own else { continue };
                error += load.dot(e);
                sum += e.extra.iter().zip(dual).map(|(e, r)| e * r).sum::<f64>();
                add_parts(mesh, &mut parts, e, dual);
            }
            let scale = (error / sum).abs();
            if scale > 1.0 {
                parts.iter_mut().for_each(|part| *part *= scale.min(MOST_SCALED));
            }
            parts
        };
        goals.par_iter().map(of).collect()
    }

    /// The loads of a goal, each with the error that it weighs.
    fn loads<'a>(&'a self, goal: &'a Goal) -> impl Iterator<Item = (&'a Arc<Cubic>, &'a Cubic)> {
        let on_field = goal.on_field.iter().map(|load| (load, &self.field));
        let on_without = goal.on_without.iter().zip(&self.without);
        on_field
            .chain(on_without)
            .chain(goal.on_coil.iter().map(|(c, load)| (load, &self.coils[*c])))
    }
}

fn error_of_field(
    field: &Field,
    without: &Field,
    lacks: Option<&Cubic>,
    workings: &Workings,
) -> Result<Cubic, LinearSolveError> {
    let recoils = |body: &Body| body.law.is_magnet() && !body.law.is_linear();
    if !field.setup().bodies.iter().any(recoils) {
        // Both kinds of slopes are the same.
        let enriched = Enriched::new(field, &workings.tangent, Slopes::Small);
        return Ok(enriched.solve(residual(field), lacks));
    }
    error_along(field, Slopes::OfLaws(without.setup().memory.as_deref()), lacks)
}

/// What the cubic space would change in the field without strings.
///
/// # Errors
/// The tangent could not be factored.
pub fn error_without(without: &Field) -> Result<Cubic, LinearSolveError> {
    error_along(without, Slopes::OfLaws(without.setup().memory.as_deref()), None)
}

fn error_along(
    field: &Field,
    slopes: Slopes,
    near: Option<&Cubic>,
) -> Result<Cubic, LinearSolveError> {
    let tangent = SmallChange::along(field, slopes)?;
    Ok(Enriched::new(field, &tangent, slopes).solve(residual(field), near))
}

fn errors_of_coils(field: &Field, workings: &Workings, goals: &[Goal]) -> Vec<Cubic> {
    if workings.coils.is_empty() {
        return Vec::new();
    }
    let mesh = field.mesh();
    let small = Enriched::new(field, &workings.tangent, Slopes::Small);
    let of = |(c, own): (usize, &CoilField)| match load_of_ampere(goals, c) {
        Some(load) => small.solve(small.residual(load, &own.per_ampere), None),
        None => Cubic::zeros(mesh),
    };
    workings.coils.par_iter().enumerate().map(of).collect()
}

fn add_parts(mesh: &Mesh, parts: &mut [f64], e: &Cubic, dual: &[f64]) {
    for (t, part) in parts.iter_mut().enumerate() {
        for (i, place) in places(mesh, t).into_iter().enumerate() {
            let share = if i < 3 { 0.5 } else { 1.0 };
            *part += share * (e.extra[place] * dual[place]).abs();
        }
    }
}

/// The load of one ampere in coil `c`, which its inductance is the product of its own answer with.
fn load_of_ampere(goals: &[Goal], c: usize) -> Option<&Cubic> {
    let own = goals.iter().find(|goal| goal.number == Number::Inductance(c))?;
    own.on_coil.as_ref().map(|(_, load)| load.as_ref())
}
