//! Magnetic laws: soft steels, magnets, string wire.

pub mod magnet;
mod model;
pub mod soft;

pub use model::{Law, Material, Response};
