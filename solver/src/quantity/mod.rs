//! Field to numbers: flux, linkage, pull, change per millimetre, inductance.
pub mod coil;
mod model;
pub mod movement;
pub mod recover;
pub mod region_mean;
pub mod shape_change;
//TMPmod take;

pub use model::{
    BodyPull, CoilReading, PartReading, ProbeReading, Quantities, StringModel, StringReading,
};
//TMPpub use take::take;
