//! Field to numbers: flux, linkage, pull, change per millimetre, inductance.
pub mod coil;
pub mod coupled;
pub mod enclosed;
pub mod goals;
pub mod line;
mod model;
pub mod moved_load;
pub mod movement;
pub mod recover;
pub mod region_mean;
pub mod row;
#[cfg(test)]
#[expect(clippy::expect_used, reason = "tests")]
mod row_blade_tests;
pub mod row_goals;
#[cfg(test)]
#[expect(clippy::expect_used, reason = "tests")]
mod row_tests;
pub mod seen_readings;
pub mod shape_change;
mod take;
pub mod wanted;
pub mod weighted;
pub mod working_point;
#[cfg(test)]
#[expect(clippy::expect_used, reason = "tests")]
mod wound_tests;

pub use model::{
    BendReading, BodyPull, CoilReading, PartReading, ProbeReading, Quantities, RowReading,
    StringModel, StringReading,
};
pub use take::{Bare, TakeError, Workings, take, take_bare, take_with};
