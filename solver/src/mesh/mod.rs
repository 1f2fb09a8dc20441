//! [`crate::geometry::Regions`] to [`Mesh`]: graded, second-order, curved on arcs.

mod canonical;
mod check;
mod curved;
mod cut;
mod error;
mod generate;
mod label;
mod locate;
mod mirror;
mod model;
mod number;
mod plan;
mod predict;
mod quality;
#[cfg(test)]
mod random_sections;
pub mod reference;
mod size;
mod size_map;
mod sources;
#[cfg(test)]
pub(crate) mod structured;
mod tree;
mod triangulate;

pub use error::MeshError;
pub use generate::{mesh, mesh_with, mesh_within};
pub use locate::Locator;
pub use model::Mesh;
pub use quality::Quality;
pub use size_map::SizeMap;
