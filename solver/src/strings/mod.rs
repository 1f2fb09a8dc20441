//! Strings coupled in three dimensions.

pub mod tuning;
