//! What can go wrong in meshing.

use crate::point::Point;

/// Why there is no mesh.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum MeshError {
    /// More triangles would be needed than are allowed.
    #[error(
        "the section needs more than {limit} mesh points; the finest place is near \
         ({x_mm:.4} mm, {y_mm:.4} mm) with a size of {size_um:.3} um: \
         widen the gap or the part there, or raise the mesh scale"
    )]
    TooFine {
        /// Most vertices allowed.
        limit: usize,
        /// Finest place, mm.
        x_mm: f64,
        /// Finest place, mm.
        y_mm: f64,
        /// Triangle size wanted there, um.
        size_um: f64,
    },
    /// The outlines could not be kept as edges of triangles.
    #[error(
        "the outlines near ({x_mm:.6} mm, {y_mm:.6} mm) could not be meshed: \
         they come closer to each other than the mesh can tell apart"
    )]
    Tangled {
        /// Place, mm.
        x_mm: f64,
        /// Place, mm.
        y_mm: f64,
    },
    /// A check of the finished mesh failed.
    #[error("the mesh is not sound: {0}")]
    Unsound(String),
}

impl MeshError {
    /// [`MeshError::Tangled`] at a place.
    pub(crate) fn tangled(at: Point) -> Self {
        Self::Tangled { x_mm: at.x * 1e3, y_mm: at.y * 1e3 }
    }
}
