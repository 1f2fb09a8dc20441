//! Strings coupled in three dimensions.
