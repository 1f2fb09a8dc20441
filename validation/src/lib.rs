//! Are they the right equations? Exact solutions, three-dimensional references and published
//! figures, each beside what Lodestring says of the same section.
//!
//! [`closed_form`] holds the exact solutions as plain functions that know nothing of the solver.
//! The keys in square brackets are entries of `references.bib`.

pub mod bibliography;
pub mod closed_form;
pub mod quadrature;
