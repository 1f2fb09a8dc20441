//! Field to numbers.
