//! Strings coupled in three dimensions.

pub mod signal;
pub mod tuning;
