//! Magnetic laws: soft steels, magnets, string wire.

mod assign;
pub mod error;
mod fit;
mod four_data;
mod hyperbola;
mod knee;
mod law;
mod library;
pub mod magnet;
mod magnet_points;
mod model;
mod monotone;
mod points;
mod saturating;
pub mod soft;

pub use assign::{Assigned, Provenance, StringMaterial, assign};
pub use error::LawError;
pub use fit::{Fit, REFERENCE_TEMPERATURE};
pub use library::{Library, NotFound, SHIPPED_FILES, is_magnet};
pub use magnet::DemagnetisationCurve;
pub use model::{Law, Material, Response};
pub use soft::SoftLaw;

pub use crate::section::{Grade, Sure};

#[cfg(test)]
mod assign_tests;
#[cfg(test)]
mod law_tests;
#[cfg(test)]
mod library_tests;
#[cfg(test)]
mod magnet_tests;
#[cfg(test)]
mod soft_tests;
