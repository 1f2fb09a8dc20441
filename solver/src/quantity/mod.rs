//! Field to numbers: flux, linkage, pull, change per millimetre, inductance.
pub mod coil;
pub mod coupled;
mod model;
pub mod movement;
pub mod recover;
pub mod region_mean;
pub mod shape_change;
mod take;
pub mod working_point;

pub use model::{
    BodyPull, CoilReading, PartReading, ProbeReading, Quantities, StringModel, StringReading,
};
pub use take::{Bare, TakeError, take, take_bare};
