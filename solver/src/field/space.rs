//! The unknowns of a mesh: which nodes carry one, where element matrices go, and in which order
//! to eliminate. Made once per mesh and set of prescribed nodes, used by every solve on it.

use std::sync::{Arc, OnceLock};

use crate::field::corner_space::CornerSpace;
use crate::field::linear_solve::{Analysis, FIXED, LinearSolveError, Pattern};
use crate::mesh::Mesh;

/// Unknowns on a mesh.
#[derive(Debug)]
pub struct Space {
    /// The mesh.
    pub mesh: Arc<Mesh>,
    /// Unknown of each node or [`FIXED`], `[n_nodes]`.
    pub unknown_of: Vec<u32>,
    /// Node of each unknown, `[n_unknowns]`.
    pub node_of: Vec<u32>,
    /// Where element matrices go.
    pub pattern: Arc<Pattern>,
    /// Order of elimination.
    pub analysis: Arc<Analysis>,
    /// Unknowns at the corners only, made when first asked for: free and fixed on the axis.
    corners: [OnceLock<Arc<CornerSpace>>; 2],
}

impl Space {
    /// Every node carries an unknown except those for which `fixed(node)` holds.
    ///
    /// # Errors
    /// Not enough memory for the order of elimination.
    pub fn new(mesh: Arc<Mesh>, fixed: impl Fn(u32) -> bool) -> Result<Self, LinearSolveError> {
        let mut unknown_of = vec![FIXED; mesh.nodes.len()];
        let mut node_of = Vec::with_capacity(mesh.nodes.len());
        for node in 0..mesh.nodes.len() as u32 {
            if !fixed(node) {
                unknown_of[node as usize] = node_of.len() as u32;
                node_of.push(node);
            }
        }
        let elements: Vec<[u32; 6]> =
            mesh.triangles.iter().map(|t| t.map(|node| unknown_of[node as usize])).collect();
        let pattern = Arc::new(Pattern::new(node_of.len(), &elements));
        let analysis = Arc::new(pattern.analyse()?);
        Ok(Self { mesh, unknown_of, node_of, pattern, analysis, corners: Default::default() })
    }

    /// The space of the vector potential: prescribed on the outer boundary only.
    ///
    /// # Errors
    /// As [`Space::new`].
    pub fn of_potential(mesh: Arc<Mesh>) -> Result<Self, LinearSolveError> {
        let mut outer = vec![false; mesh.nodes.len()];
        for &node in &mesh.outer_nodes {
            outer[node as usize] = true;
        }
        Self::new(mesh, |node| outer[node as usize])
    }

    /// The same unknowns on `mesh`, which has the same triangles with its nodes elsewhere: neither
    /// the pattern nor the order of elimination is made again.
    pub fn on(&self, mesh: Arc<Mesh>) -> Self {
        debug_assert!(mesh.triangles == self.mesh.triangles);
        Self {
            mesh,
            unknown_of: self.unknown_of.clone(),
            node_of: self.node_of.clone(),
            pattern: Arc::clone(&self.pattern),
            analysis: Arc::clone(&self.analysis),
            corners: self.corners.clone(),
        }
    }

    /// The unknowns of a scalar at the corners of the mesh's triangles. Made once.
    ///
    /// # Errors
    /// Not enough memory for the order of elimination.
    pub fn corners(&self, fixed_on_axis: bool) -> Result<Arc<CornerSpace>, LinearSolveError> {
        let made = &self.corners[usize::from(fixed_on_axis)];
        if let Some(space) = made.get() {
            return Ok(Arc::clone(space));
        }
        let space = Arc::new(CornerSpace::new(&self.mesh, fixed_on_axis)?);
        Ok(Arc::clone(made.get_or_init(|| space)))
    }

    /// Number of unknowns.
    pub fn n_unknowns(&self) -> usize {
        self.node_of.len()
    }

    /// Values at the unknowns out of values at all nodes.
    pub fn restrict(&self, nodal: &[f64]) -> Vec<f64> {
        self.node_of.iter().map(|&node| nodal[node as usize]).collect()
    }

    /// Values at all nodes out of values at the unknowns; 0 at prescribed nodes.
    pub fn extend(&self, values: &[f64]) -> Vec<f64> {
        let mut nodal = vec![0.0; self.unknown_of.len()];
        for (&node, &value) in self.node_of.iter().zip(values) {
            nodal[node as usize] = value;
        }
        nodal
    }
}
