//! [`crate::section::Section`] to [`Regions`]: shapes become outlines, outlines an arrangement.

mod arrange;
mod arrangement;
mod axis;
mod clearance;
mod cover;
mod crossing;
mod crowd;
mod distance;
mod items;
mod lookup;
mod measure;
#[cfg(test)]
mod mistakes;
mod model;
mod outline;
mod overlap;
mod pairs;
mod piece;
mod probes;
#[cfg(test)]
pub(crate) mod samples;
mod strings;
mod thin;
mod words;

use arrange::Scale;
pub use arrange::{ArrangeOptions, Arranged, arrange, arrange_with};
pub use clearance::Clearance;
pub use model::{
    AIR, Edge, FEWEST_SIDES, FineLine, OUTSIDE, Outline, Region, RegionId, Regions, Side, Source,
};
pub(crate) use piece::{Bounds, Piece};
