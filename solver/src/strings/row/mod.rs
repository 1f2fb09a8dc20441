//! Round poles in a row: what each lays on the others, and what a string over one of them meets.

mod around;
mod pole_mean;
mod row_field;

pub use row_field::{RowAbove, RowCoil};
