//! Whole pages: a solve, and what studies add to it, as chapters of one page of HTML.

mod curves;
mod grades;
mod instrument;
mod solved;
mod varied;

pub use curves::curves;
pub use grades::grades;
pub use instrument::{pulled, sounded};
pub use solved::{limits, mesh_errors, solved};
pub use varied::{MOST_CASES, varied};
