//! What a coil links.
//!
//! A coil of N turns spread evenly over a window of area S carries j = sense N I / S. The load of
//! one ampere, l_i = integral (sense N / S) a_i, is also the linkage: Lambda = l . u. Per metre of
//! depth in the plane (Wb/m), in Wb about the axis.

use crate::field::element;
use crate::geometry::{RegionId, Source};
use crate::mesh::Mesh;

/// Load of one ampere in coil `coil`, where `windows[w]` = (sense, turns) of its windows,
/// `[n_nodes]`.
pub fn load(mesh: &Mesh, coil: usize, windows: &[(f64, f64)]) -> Vec<f64> {
    let mut load = vec![0.0; mesh.nodes.len()];
    for (region, of) in mesh.regions.iter().enumerate() {
        if let Source::Window(c, window) = of.source
            && c == coil
            && let Some(&(sense, turns)) = windows.get(window)
        {
            add_window(mesh, region as RegionId, sense * turns, &mut load);
        }
    }
    load
}

fn add_window(mesh: &Mesh, region: RegionId, turns: f64, load: &mut [f64]) {
    let own = |&t: &usize| mesh.region_of[t] == region;
    let triangles: Vec<usize> = (0..mesh.triangles.len()).filter(own).collect();
    let area: f64 = triangles
        .iter()
        .map(|&t| element::quadrature(&element::corners(mesh, t)).map(|(_, w)| w).sum::<f64>())
        .sum();
    for &t in &triangles {
        for (at, w) in element::quadrature(&element::corners(mesh, t)) {
            let a = at.potential_basis(mesh.symmetry);
            let density = turns / area * w * at.measure(mesh.symmetry);
            for (&node, a) in mesh.triangles[t].iter().zip(a) {
                load[node as usize] += density * a;
            }
        }
    }
}

/// l . u.
pub fn linkage(load: &[f64], nodal: &[f64]) -> f64 {
    load.iter().zip(nodal).map(|(l, u)| l * u).sum()
}
