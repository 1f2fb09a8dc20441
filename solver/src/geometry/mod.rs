//! [`crate::section::Section`] to [`Regions`]: shapes become outlines, outlines an arrangement.

mod model;

pub use model::{Edge, FineLine, OUTSIDE, Outline, Region, RegionId, Regions, Side, Source};
