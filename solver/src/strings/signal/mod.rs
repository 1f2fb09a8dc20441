//! From a plucked string to the voltage of the coil: motion, linkage, voltage, harmonics, circuit.

pub mod aperture;
pub mod circuit;
pub mod harmonics;
pub mod linkage_map;
pub mod motion;
pub mod pluck;
pub mod voltage;
#[cfg(test)]
mod voltage_tests;

pub use aperture::Aperture;
pub use circuit::{Circuit, CircuitError};
pub use harmonics::Spectrum;
pub use linkage_map::{Grid, LinkageMap};
pub use motion::{Motion, Partial};
pub use pluck::Pluck;
pub use voltage::Pickup;
