//! The error of each goal, and how much of it each triangle makes.
//!
//! In: goals ([`super::goals`]), the field and its factored tangent. Out: for each goal the error Q - Q_h
//! that the cubic space sees ([`crate::field::enriched`]), with its sign, and for each triangle the sum of
//! the magnitudes of its parts e_W r^z_W. A side's part is shared by the triangles beside it.
//!
//! The field's own error answers to the slopes of the laws, the residual of a goal to those for a small
//! change, magnets on recoil: where both differ the parts do not sum to the error, and are scaled to it.

use rayon::prelude::*;

use crate::field::Field;
use crate::field::enriched::{Cubic, Enriched, Slopes, places, residual};
use crate::mesh::Mesh;
use crate::quantity::goals::{Goal, Number};
use crate::quantity::take::{CoilField, Workings};

/// By how much parts are scaled at most.
const MOST_SCALED: f64 = 10.0;

/// What the cubic space sees of the errors of a field and of the fields of one ampere in each coil.
#[derive(Clone, Debug)]
pub struct Seen {
    /// What the cubic space would change in the field.
    pub field: Cubic,
    coils: Vec<Cubic>,
}

impl Seen {
    /// Solves for it. `without` is the field without strings, whose magnets remember what is not part of
    /// the answer.
    pub fn new(field: &Field, without: &Field, workings: &Workings, goals: &[Goal]) -> Self {
        let mesh = field.mesh();
        let coils = || {
            let small = Enriched::new(field, &workings.tangent, Slopes::Small);
            let of = |(c, own): (usize, &CoilField)| match load_of_ampere(goals, c) {
                Some(load) => small.solve(small.residual(load, &own.per_ampere)),
                None => Cubic::zeros(mesh),
            };
            workings.coils.par_iter().enumerate().map(of).collect()
        };
        let of_field = || {
            let slopes = if field.assembly.is_linear() {
                Slopes::Small
            } else {
                Slopes::OfLaws(without.setup().memory.as_deref())
            };
            Enriched::new(field, &workings.tangent, slopes).solve(residual(field))
        };
        let (field, coils) = rayon::join(of_field, coils);
        Self { field, coils }
    }

    /// The exact value less that of the mesh, goal by goal, SI.
    pub fn errors(&self, goals: &[Goal]) -> Vec<f64> {
        goals.iter().map(|goal| self.loads(goal).map(|(load, e)| load.dot(e)).sum()).collect()
    }

    /// The magnitude of each triangle's part in the error of each goal, `[n_goals][n_triangles]`, SI.
    pub fn parts(&self, field: &Field, workings: &Workings, goals: &[Goal]) -> Vec<Vec<f64>> {
        let mesh = field.mesh();
        let small = Enriched::new(field, &workings.tangent, Slopes::Small);
        let loads = goals.iter().flat_map(|goal| self.loads(goal));
        let nodal: Vec<&[f64]> = loads.map(|(load, _)| load.nodal.as_slice()).collect();
        let mut answers = workings.tangent.answers(&nodal).into_iter();
        let of = |goal: &Goal| -> Vec<f64> {
            let mut parts = vec![0.0; mesh.triangles.len()];
            let (mut error, mut sum) = (0.0, 0.0);
            for (load, e) in self.loads(goal) {
                let Some(answer) = answers.next() else { continue };
                let dual = small.residual(load, &answer);
                error += load.dot(e);
                sum += e.extra.iter().zip(&dual.extra).map(|(e, r)| e * r).sum::<f64>();
                add_parts(mesh, &mut parts, e, &dual);
            }
            let scale = (error / sum).abs();
            if scale > 1.0 {
                parts.iter_mut().for_each(|part| *part *= scale.min(MOST_SCALED));
            }
            parts
        };
        goals.iter().map(of).collect()
    }

    /// The loads of a goal, each with the error that it weighs.
    fn loads<'a>(&'a self, goal: &'a Goal) -> impl Iterator<Item = (&'a Cubic, &'a Cubic)> {
        let on_field = goal.on_field.iter().map(|load| (load, &self.field));
        on_field.chain(goal.on_coil.iter().map(|(c, load)| (load, &self.coils[*c])))
    }
}

fn add_parts(mesh: &Mesh, parts: &mut [f64], e: &Cubic, dual: &Cubic) {
    for (t, part) in parts.iter_mut().enumerate() {
        for (i, place) in places(mesh, t).into_iter().enumerate() {
            let share = if i < 3 { 0.5 } else { 1.0 };
            *part += share * (e.extra[place] * dual.extra[place]).abs();
        }
    }
}

/// The load of one ampere in coil `c`, which its inductance is the product of its own answer with.
fn load_of_ampere(goals: &[Goal], c: usize) -> Option<&Cubic> {
    let own = goals.iter().find(|goal| goal.number == Number::Inductance(c))?;
    own.on_coil.as_ref().map(|(_, load)| load)
}
