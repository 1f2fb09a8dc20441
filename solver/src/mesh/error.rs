//! What can go wrong between regions and a mesh.

use thiserror::Error;

/// Why there is no mesh, or what is wrong with one.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum MeshError {
    /// The mesh would need more triangles than allowed.
    #[error(
        "the mesh would need about {triangles} triangles, more than {limit}: coarsen it with a \
         larger mesh scale, or leave out the finest gap or feature"
    )]
    TooLarge {
        /// Triangles predicted, or made when the limit was met.
        triangles: usize,
        /// The limit.
        limit: usize,
    },
    /// The mesh scale is not usable.
    #[error("the mesh scale {0} is not between 0.01 and 100")]
    Scale(f64),
    /// Two edges of the arrangement cross once their arcs are drawn as chords.
    #[error(
        "two sides near ({x_mm:.4}, {y_mm:.4}) mm come too close to be told apart: move the parts there until they clear each other, or touch along more than a point"
    )]
    Crossing {
        /// Where, mm.
        x_mm: f64,
        /// Where, mm.
        y_mm: f64,
    },
    /// The triangulation refused a point.
    #[error(
        "the triangulation failed near ({x_mm:.4}, {y_mm:.4}) mm: move the parts there a little"
    )]
    Triangulation {
        /// Where, mm.
        x_mm: f64,
        /// Where, mm.
        y_mm: f64,
    },
    /// A triangle touches edges that disagree about its region: the arrangement has a leak.
    #[error("the region at ({x_mm:.4}, {y_mm:.4}) mm is not enclosed by its outline")]
    Leak {
        /// Where, mm.
        x_mm: f64,
        /// Where, mm.
        y_mm: f64,
    },
    /// A finished mesh breaks a rule that every mesh must keep.
    #[error("the mesh is not sound: {0}")]
    Unsound(String),
}
