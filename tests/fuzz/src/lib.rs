//! Inputs made to break the section file, the arrangement and the mesh, and what must hold for all
//! of them.
//!
//! Bytes go in, as a coverage-guided fuzzer makes them (`run` in this folder) or as the kept corpus
//! holds them (`tests/replay.rs`). Three ways turn them into a section file:
//!
//! | target | bytes are |
//! |---|---|
//! | `text` | the file itself |
//! | `edited` | choices that edit a shipped file: other numbers, lines gone, doubled, swapped |
//! | `drawn` | choices that draw a section: shapes, places, gaps from a nanometre to a metre |
//!
//! A failure is a panic; what it means is in its message. See [`holds`]; `solves` goes on to the field and its
//! numbers, for `tests/solves.rs`, which fuzzers leave out.

#[cfg(not(fuzzed))]
use lodestring::{geometry, mesh, problem, section};

// The front end's sources as part of this crate: they use nothing of what comes after them (a test of
// the layering says so), and the rest of the library is slow to build.
#[cfg(fuzzed)]
#[path = "../../../solver/src/geometry/mod.rs"]
pub mod geometry;
#[cfg(fuzzed)]
#[path = "../../../solver/src/mesh/mod.rs"]
pub mod mesh;
#[cfg(fuzzed)]
#[path = "../../../solver/src/point.rs"]
pub mod point;
#[cfg(fuzzed)]
#[path = "../../../solver/src/problem.rs"]
pub mod problem;
#[cfg(fuzzed)]
#[expect(dead_code, unused_imports, reason = "what the rest of the library uses")]
#[path = "../../../solver/src/section/mod.rs"]
pub mod section;
#[cfg(fuzzed)]
#[path = "../../../solver/src/units.rs"]
pub mod units;

mod drawn;
mod edited;
pub mod holds;
mod lengths;
#[cfg(not(fuzzed))]
pub mod solves;
mod targets;

pub use drawn::drawn;
pub use edited::edited;
pub use targets::{TARGETS, Target, replay, replay_files};
