//! [`crate::geometry::Regions`] to [`Mesh`]: graded, second-order, curved on arcs.

mod boxes;
mod build;
mod curve;
mod curved;
mod error;
mod locate;
mod model;
pub mod reference;
mod size;
#[cfg(test)]
pub(crate) mod structured;
mod triangulate;

pub use build::{MAX_VERTICES, mesh};
pub use error::MeshError;
pub use locate::Locator;
pub use model::Mesh;
