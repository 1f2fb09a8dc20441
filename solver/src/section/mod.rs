//! Text to [`Section`]: parse what was typed, then resolve what it means.

mod coils;
mod crossing;
mod extent;
mod lengths;
mod materials;
mod model;
mod names;
mod parts;
mod probes;
mod reader;
mod resolve;
mod shapes;
mod strings;
mod suggest;

pub use model::{
    Charge, Coil, Corner, LawSpec, MaterialSpec, Named, Part, PolygonSide, Probe, Role,
    SaturatingCurve, Section, Shape, StringRun, StringSpec, Symmetry, Window,
};
pub use resolve::{Parsed, parse};
