//! [`crate::geometry::Regions`] to [`Mesh`]: graded, second-order, curved on arcs.

mod model;

pub use model::Mesh;
