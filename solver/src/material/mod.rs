//! Magnetic laws: soft steels, magnets, string wire.

pub mod error;
mod fit;
mod four_data;
mod hyperbola;
mod knee;
mod law;
pub mod magnet;
mod magnet_points;
mod model;
mod monotone;
mod points;
mod saturating;
pub mod soft;

pub use error::LawError;
pub use fit::{Fit, REFERENCE_TEMPERATURE};
pub use magnet::DemagnetisationCurve;
pub use model::{Law, Material, Response};
pub use soft::SoftLaw;

#[cfg(test)]
mod law_tests;
