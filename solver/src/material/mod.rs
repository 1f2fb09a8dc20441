//! Magnetic laws: soft steels, magnets, string wire.

mod model;

pub use model::Response;
