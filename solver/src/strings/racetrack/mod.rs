//! A coil that is a racetrack: two straight sides and two half rings round a straight row of poles.

mod inductance;
mod inverse_distance;
mod jets;
mod load;
mod path;

pub(crate) use load::load;
pub use path::Racetrack;
