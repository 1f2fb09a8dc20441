//! How the gradient of the energy changes when a body moves, in the cubic space.
//!
//! In: unknowns of the quadratic space, a body's weights theta ([`super::movement`]). Out: the load
//! dR_i/d1 of [`super::shape_change`] for all ten shapes i of [`crate::field::enriched`],
//!
//! dR_i/d1 = nu_0 integral [ (b_i . B) div - b_i . J a - J a^i . B ]
//!
//! which is linear in the unknowns. Its product with an error of the unknowns is minus that error's part in
//! the pull; its product with a coil's field is minus the change of its linkage with place. Moves up only.

use crate::field::element;
use crate::field::enriched::{Cubic, N_SHAPES, quadrature};
use crate::mesh::Mesh;
use crate::section::Symmetry;
use crate::units::MU_0;

/// dR/d1 of each of `fields`, nodal unknowns, for an upward move with `weights` at the vertices.
pub fn moved_loads(mesh: &Mesh, fields: &[&[f64]], weights: &[f64]) -> Vec<Cubic> {
    let mut loads = vec![Cubic::zeros(mesh); fields.len()];
    for t in (0..mesh.triangles.len()).filter(|&t| mesh.region_of[t] == 0) {
        let nodes = &mesh.triangles[t];
        let theta: [f64; 3] = std::array::from_fn(|i| weights[nodes[i] as usize]);
        if theta[0] == theta[1] && theta[0] == theta[2] {
            continue;
        }
        let mut parts = vec![[0.0; N_SHAPES]; fields.len()];
        for (at, shapes, w) in quadrature(mesh, t) {
            let m = w * at.measure(mesh.symmetry) / MU_0;
            let turn = |g: [f64; 2]| match mesh.symmetry {
                Symmetry::Planar => [g[1], -g[0]],
                Symmetry::Axisymmetric => [-at.place.x * g[1], at.place.x * g[0]],
            };
            // theta is linear along sides: its mid-side values are means of its corners'.
            let mid = [theta[0] + theta[1], theta[1] + theta[2], theta[2] + theta[0]];
            let strain: [f64; 2] = std::array::from_fn(|k| {
                let corners = (0..3).map(|i| at.grad_n[i][k] * theta[i]);
                corners.chain((0..3).map(|i| at.grad_n[3 + i][k] * 0.5 * mid[i])).sum()
            });
            let turned = turn(strain);
            let basis = shapes.flux_density_basis(mesh, &at);
            let own_basis = at.flux_density_basis(mesh.symmetry);
            for (part, nodal) in parts.iter_mut().zip(fields) {
                let u = nodes.map(|node| nodal[node as usize]);
                let b = element::flux_density(&own_basis, &u);
                let rise: f64 = (0..6).map(|i| at.grad_n[i][1] * u[i]).sum();
                let b_turned = b[0] * turned[0] + b[1] * turned[1];
                for i in 0..N_SHAPES {
                    let own = basis[i][0] * b[0] + basis[i][1] * b[1];
                    let back = basis[i][0] * turned[0] + basis[i][1] * turned[1];
                    part[i] += m * (own * strain[1] - back * rise - b_turned * shapes.grad[i][1]);
                }
            }
        }
        for (load, part) in loads.iter_mut().zip(&parts) {
            load.add_of_triangle(mesh, t, part);
        }
    }
    loads
}
