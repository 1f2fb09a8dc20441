//! [`crate::geometry::Regions`] to [`Mesh`]: graded, second-order, curved on arcs.

mod model;
#[cfg(test)]
pub(crate) mod structured;

pub use model::Mesh;
