//! What a pickup's pull does to the tuning of a string: tension, sag, detuning, nearest gap.

pub mod frets;
pub mod nearest_gap;
pub mod planes;
pub mod pull_curve;
pub mod sag;
pub mod shift;
#[cfg(test)]
mod shift_tests;
pub mod wire;

pub use frets::Action;
pub use nearest_gap::{NearestGap, Worst};
pub use planes::Planes;
pub use pull_curve::{PullAt, PullCurve};
pub use shift::PullPlace;
pub use wire::Wire;
