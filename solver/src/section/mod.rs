//! Text to [`Section`]: parse what was typed, then resolve what it means.
//!
//! ```
//! let parsed = lodestring::section::parse(
//!     r#"
//!     format = 1
//!     title = "two staggered rods, across the strings"
//!     symmetry = "planar"
//!     strings_run = "through"
//!
//!     [[part]]
//!     name = "rod"
//!     role = "magnet"
//!     material = "alnico 5"
//!     rectangle = { width = "4.8 mm", height = "17 mm", bevel = "0.3 mm" }
//!     at = ["0 mm", "0 mm"]
//!     anchor = "top"
//!     charge = "up"
//!     repeat = { count = 2, pitch = "10.5 mm", stagger = ["0 mm", "0.8 mm"] }
//!
//!     [[coil]]
//!     name = "coil"
//!     turns = 7600
//!     wire = "42 awg"
//!     window = { rectangle = { x = ["8 mm", "12 mm"], y = ["-13 mm", "-2 mm"] }, mirror = "0 mm" }
//!
//!     [[string]]
//!     name = "G3"
//!     gauge = "0.017 in"
//!     over = "rod 2"
//!     gap = "2.5 mm"
//!     "#,
//! );
//! assert!(parsed.problems.is_empty());
//! let string = &parsed.section.strings[0];
//! // Top of the rod 0.8 mm, gap 2.5 mm, half of 0.017 in; above the middle of the second rod.
//! assert!((string.axis.y - 3.5159e-3).abs() < 1e-12);
//! assert!((string.axis.x - 5.25e-3).abs() < 1e-12);
//! ```
//!
#![doc = include_str!("FORMAT.md")]

mod coils;
mod crossing;
mod entry;
mod extent;
mod grades;
mod history;
mod instrument;
mod lengths;
mod materials;
mod model;
mod names;
mod notes;
mod parts;
mod pitch;
mod probes;
mod reader;
mod resolve;
mod row;
mod shapes;
mod strings;
mod suggest;
mod syntax;
pub(crate) mod wound;

pub use grades::{Grade, ParsedGrades, Sure, parse_grades};
pub use instrument::{Instrument, InstrumentString, ParsedInstrument, parse_instrument};
pub(crate) use lengths::metres;
pub use lengths::read_length;
pub use model::{
    Charge, Coil, Corner, LawSpec, MaterialSpec, Named, Part, PickupState, PolygonSide, Probe,
    Role, Row, SaturatingCurve, Section, Shape, StringRun, StringSpec, Symmetry, Window,
};
pub use pitch::pitch;
pub use resolve::{Parsed, parse};
pub(crate) use suggest::nearest as nearest_name;

#[cfg(test)]
mod tests;
