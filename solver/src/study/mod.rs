//! Studies: one section file, many cases.
//!
//! A case is the file with some of its values replaced. Cases are numbered from 1 in an order that
//! depends on the plan alone, are solved in parallel, and give one row each, in order.

pub mod balance;
pub mod balance_report;
pub mod bench;
pub mod cases;
pub mod columns;
pub mod compare;
pub mod compare_report;
mod coupled_once;
pub mod draw;
pub mod error;
pub mod in_order;
pub mod kept;
pub mod key;
pub mod moved_mesh;
pub mod page;
pub mod plan;
mod pole_heights;
pub mod pull;
pub mod pull_report;
pub mod row;
#[cfg(test)]
mod sample;
pub mod search;
pub mod signal;
pub mod signal_report;
pub mod strung;
pub mod template;
pub mod three_meshes;
pub mod values;

pub use bench::{BenchError, StringBench};
pub use cases::{BeginError, Study};
pub use error::StudyError;
pub use key::KeyPath;
pub use plan::Plan;
pub use template::Template;
pub use values::{Axis, Setting, Values};
