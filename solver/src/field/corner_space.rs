//! A scalar on the corners of a mesh's triangles, linear in each: a quarter of the unknowns of the field.

use crate::field::linear_solve::{Analysis, FIXED, LinearSolveError, Pattern};
use crate::mesh::Mesh;

/// Unknowns at the corners.
#[derive(Debug)]
pub struct CornerSpace {
    /// Unknown of each vertex or [`FIXED`], `[n_vertices]`.
    pub unknown_of: Vec<u32>,
    /// Where element matrices go.
    pub pattern: Pattern,
    /// Order of elimination.
    pub analysis: Analysis,
}

impl CornerSpace {
    /// All vertices but those on the outer boundary and, if asked, on the axis.
    ///
    /// # Errors
    /// Not enough memory for the order of elimination.
    pub fn new(mesh: &Mesh, fixed_on_axis: bool) -> Result<Self, LinearSolveError> {
        let mut unknown_of = vec![0; mesh.n_vertices];
        for &node in &mesh.outer_nodes {
            if let Some(unknown) = unknown_of.get_mut(node as usize) {
                *unknown = FIXED;
            }
        }
        let mut count = 0;
        for (vertex, unknown) in unknown_of.iter_mut().enumerate() {
            if fixed_on_axis && mesh.nodes[vertex].x <= 0.0 {
                *unknown = FIXED;
            }
            if *unknown != FIXED {
                *unknown = count;
                count += 1;
            }
        }
        let elements: Vec<[u32; 3]> = mesh
            .triangles
            .iter()
            .map(|t| [t[0], t[1], t[2]].map(|v| unknown_of[v as usize]))
            .collect();
        let pattern = Pattern::new(count as usize, &elements);
        let analysis = pattern.analyse()?;
        Ok(Self { unknown_of, pattern, analysis })
    }
}
