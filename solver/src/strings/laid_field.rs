//! What the poles answer to a field that is laid on them from anywhere.
//!
//! In: the field strength H at the vertices of the parts, in one azimuthal order. Out: the reduced scalar
//! potential of the answer, H_r = -grad phi, and the work that it takes,
//!
//! ```text
//! integral mu grad phi . grad v = integral over the parts of (mu - mu_0) H . grad v
//! W = integral over the parts of (mu - mu_0) H . (H + H_r)
//! ```
//!
//! on the mesh and with the permeabilities of [`crate::strings::reaction_fe`]. In the order m the field is
//! (H_r cos m phi, H_z cos m phi, H_phi sin m phi), and v cos m phi has the gradient -m/r v sin m phi across.

use crate::field::element;
use crate::field::linear_solve::{FIXED, LinearSolveError};
use crate::strings::reaction_fe::{Corners, Problem};
use crate::units::MU_0;

impl Problem<'_> {
    /// Answers to field strengths that are laid on the parts, given at their vertices as (along x or r,
    /// up, times `turn` per radius across): the potential at all vertices, A, and the work
    /// integral (mu - mu_0) H . (H + H_r), J.
    pub(crate) fn laid_on(
        &self,
        fields: &[Vec<[f64; 3]>],
        turn: f64,
    ) -> Result<Vec<(Vec<f64>, f64)>, LinearSolveError> {
        let factor = self.space.analysis.factor(&self.stiffness())?;
        let unknowns = self.space.pattern.n_unknowns();
        let mut right = vec![0.0; fields.len() * unknowns];
        let mut work = Vec::with_capacity(fields.len());
        for (column, field) in right.chunks_exact_mut(unknowns).zip(fields) {
            let (load, own) = self.load_of(field, turn);
            for (&vertex, load) in self.parts.vertices.iter().zip(load) {
                let unknown = self.space.unknown_of[vertex as usize];
                if unknown != FIXED {
                    column[unknown as usize] = load;
                }
            }
            work.push(own);
        }
        let loads = right.clone();
        factor.solve_many(&mut right, fields.len());
        let of = |(i, own): (usize, f64)| {
            let range = i * unknowns..(i + 1) * unknowns;
            let (load, answer) = (&loads[range.clone()], &right[range]);
            let back: f64 = load.iter().zip(answer).map(|(l, a)| l * a).sum();
            let at = |&unknown: &u32| if unknown == FIXED { 0.0 } else { answer[unknown as usize] };
            (self.space.unknown_of.iter().map(at).collect(), own - back)
        };
        Ok(work.into_iter().enumerate().map(of).collect())
    }

    /// integral (mu - mu_0) H . grad v over the vertices of the parts, and the same with H for grad v.
    fn load_of(&self, field: &[[f64; 3]], turn: f64) -> (Vec<f64>, f64) {
        let mut load = vec![0.0; field.len()];
        let mut work = 0.0;
        for (&t, mu) in self.parts.triangles.iter().zip(&self.parts.mu) {
            let nodes = self.parts.mesh.triangles[t];
            let place = [0, 1, 2].map(|i| self.parts.local[nodes[i] as usize] as usize);
            let corner = Corners::of(self.parts.mesh, t);
            for [xi, eta, w] in element::QUADRATURE {
                let n = [1.0 - xi - eta, xi, eta];
                let r: f64 = (0..3).map(|i| n[i] * corner.places[i].x).sum();
                let weight = w * corner.double_area * self.measure(r);
                let h: [f64; 3] =
                    std::array::from_fn(|c| (0..3).map(|i| n[i] * field[place[i]][c]).sum());
                let m = [
                    (mu[0] - MU_0) * h[0] + mu[1] * h[1],
                    mu[1] * h[0] + (mu[2] - MU_0) * h[1],
                    (mu[3] - MU_0) * h[2],
                ];
                work += weight * (0..3).map(|c| m[c] * h[c]).sum::<f64>();
                for i in 0..3 {
                    let g = corner.gradients[i];
                    load[place[i]] += weight * (m[0] * g[0] + m[1] * g[1] - m[2] * turn / r * n[i]);
                }
            }
        }
        (load, work)
    }
}
