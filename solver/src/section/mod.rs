//! Text to [`Section`]: parse what was typed, then resolve what it means.

mod model;

pub use model::{
    Charge, Coil, Corner, LawSpec, MaterialSpec, Named, Part, PolygonSide, Probe, Role,
    SaturatingCurve, Section, Shape, StringRun, StringSpec, Symmetry, Window,
};
