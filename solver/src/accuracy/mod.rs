//! A section solved as accurately as asked, every number with its error.
//!
//! Three sources of an error, each for what it is good at:
//!
//! - The **leading numbers** (upward field at a string, pull, flux change, linkage, inductance) have
//!   estimates of their own on one mesh ([`crate::quantity::weighted`]). They say when to stop, and where
//!   the next mesh is to be finer ([`crate::quantity::wanted`]).
//! - The estimates are held against what the last refinement did to the numbers (`expected`).
//! - All other numbers have theirs from the last three meshes ([`crate::report::error`]).
mod as_asked;
mod expected;
mod leading;
mod level;
mod model;
mod others;
mod refined;
mod told;

use crate::pipeline::{Prepared, SolveError};

pub use model::{Accurate, Round, USUAL_ERROR, Wish};
pub use told::{BRACKETS, NO_ERRORS};

/// Solves `prepared` on ever finer meshes until `wish` is met or its bounds are.
///
/// # Errors
/// As [`crate::pipeline::solve`], on the mesh that the section asks for.
pub fn solve(prepared: &Prepared, wish: Wish) -> Result<Accurate, SolveError> {
    match wish.error {
        Some(most) if leading::are_in(prepared) => {
            refined::solve(prepared, most, wish).or_else(|_| as_asked::solve(prepared))
        }
        _ => as_asked::solve(prepared),
    }
}
