//! How the gradient of the energy changes when a body moves, in the cubic space.
//!
//! In: unknowns of the quadratic space, a body's weights theta ([`super::movement`]). Out: the load
//! dR_i/d1 of [`super::shape_change`] for all ten shapes i of [`crate::field::enriched`],
//!
//! dR_i/d1 = nu_0 integral [ (b_i . B) div - b_i . J a - J a^i . B ]
//!
//! which is linear in the unknowns and in grad theta, so that an element is integrated once for grad xi and
//! grad eta and then serves all bodies. Its product with an error of the unknowns is minus that error's part
//! in the pull; its product with a coil's field is minus the change of its linkage with place. Moves up only.

use rayon::prelude::*;

use crate::field::element;
use crate::field::enriched::{Cubic, N_SHAPES, quadrature};
use crate::mesh::Mesh;
use crate::quantity::shape_change::{REFERENCE, differences, dot, gradient, rotate};
use crate::units::MU_0;

/// `[reference direction][shape]`.
type Part = [[f64; N_SHAPES]; 2];

/// dR/d1 of each of `fields`, nodal unknowns, for an upward move of each body with its `weights` at the
/// vertices, `[n_bodies][n_fields]`.
pub fn moved_loads(mesh: &Mesh, fields: &[&[f64]], weights: &[&[f64]]) -> Vec<Vec<Cubic>> {
    let mut loads = vec![vec![Cubic::zeros(mesh); fields.len()]; weights.len()];
    let moves = |t: usize| weights.iter().any(|of| differences(mesh, t, of) != [0.0; 2]);
    let air: Vec<usize> =
        (0..mesh.triangles.len()).filter(|&t| mesh.region_of[t] == 0 && moves(t)).collect();
    const CHUNK: usize = 2048;
    for triangles in air.chunks(CHUNK) {
        let parts: Vec<Vec<Part>> =
            triangles.par_iter().map(|&t| element_parts(mesh, fields, t)).collect();
        loads.par_iter_mut().zip(weights).for_each(|(loads, weights)| {
            for (&t, parts) in triangles.iter().zip(&parts) {
                let delta = differences(mesh, t, weights);
                if delta == [0.0; 2] {
                    continue;
                }
                for (load, part) in loads.iter_mut().zip(parts) {
                    let sum =
                        std::array::from_fn(|i| delta[0] * part[0][i] + delta[1] * part[1][i]);
                    load.add_of_triangle(mesh, t, &sum);
                }
            }
        });
    }
    loads
}

/// The integrals over air triangle `t`, field by field.
fn element_parts(mesh: &Mesh, fields: &[&[f64]], t: usize) -> Vec<Part> {
    let nodes = &mesh.triangles[t];
    let mut parts = vec![[[0.0; N_SHAPES]; 2]; fields.len()];
    for (at, shapes, w) in quadrature(mesh, t) {
        let m = w * at.measure(mesh.symmetry) / MU_0;
        let strain = REFERENCE.map(|nodal| gradient(&at, &nodal));
        let turned = strain.map(|s| rotate(mesh.symmetry, &at, s));
        let basis = shapes.flux_density_basis(mesh, &at);
        let own_basis = at.flux_density_basis(mesh.symmetry);
        for (part, nodal) in parts.iter_mut().zip(fields) {
            let u = nodes.map(|node| nodal[node as usize]);
            let b = element::flux_density(&own_basis, &u);
            let rise = gradient(&at, &u)[1];
            for d in 0..2 {
                let b_turned = dot(b, turned[d]);
                for i in 0..N_SHAPES {
                    let (own, back) = (dot(basis[i], b), dot(basis[i], turned[d]));
                    part[d][i] +=
                        m * (own * strain[d][1] - back * rise - b_turned * shapes.grad[i][1]);
                }
            }
        }
    }
    parts
}
