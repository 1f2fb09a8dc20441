//! Mesh and materials to a [`Field`].
pub mod assembly;
mod corner_space;
pub mod element;
pub mod enriched;
pub mod fill;
pub mod history;
pub mod linear_solve;
mod newton;
mod setup;
mod solution;
mod space;
mod transfer;

pub use corner_space::CornerSpace;
pub use newton::{Begin, FieldError, MAX_STEPS, SolveInfo, Step, TARGET};
pub use setup::{Body, BoundaryValue, CurrentDensity, MagnetMemory, Setup};
pub use solution::{Field, SmallChange};
pub use space::Space;
pub use transfer::Transfer;
