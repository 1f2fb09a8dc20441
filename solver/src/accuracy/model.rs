//! What is asked of a solve, and what it gives.

use crate::pipeline::Solved;
use crate::report::record::Report;

/// The error of the leading numbers that is good enough unless another is asked for: half a per cent, less
/// than what the grade of a magnet varies by.
pub const USUAL_ERROR: f64 = 0.005;

/// How good the leading numbers are to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wish {
    /// Largest error, as a share of the largest number of the same kind; `None` takes the mesh that the
    /// section asks for, and two coarser ones for the errors.
    pub error: Option<f64>,
    /// Most unknowns of a mesh.
    pub most_unknowns: usize,
}

/// A solved section whose numbers have errors.
#[derive(Clone, Debug)]
pub struct Accurate {
    /// The section on the finest mesh.
    pub solved: Solved,
    /// Its report, errors and all.
    pub report: Report,
    /// The largest error of a leading number, as a share of the largest of its kind; `None` where
    /// the meshes did not allow one to be told.
    pub error: Option<f64>,
    /// The meshes, coarsest first.
    pub rounds: Vec<Round>,
}

/// One mesh on the way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Round {
    /// Its unknowns.
    pub unknowns: usize,
    /// The largest error of a leading number on it, as in [`Accurate::error`]; `None` where it was not
    /// estimated, since the mesh served the next or the errors of the other numbers.
    pub error: Option<f64>,
}
