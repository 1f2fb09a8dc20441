//! Are they the right equations? Exact solutions, three-dimensional references and published
//! figures, each beside what Lodestring says of the same section.
//!
//! [`closed_form`] holds the exact solutions as plain functions that know nothing of the solver;
//! [`form`] names them for the cases of `cases/`, each a folder with a section, its reference, the
//! tolerance and the reason for it. The keys in square brackets are entries of `references.bib`.

pub mod bibliography;
pub mod case;
pub mod closed_form;
pub mod estimate;
pub mod form;
pub mod measure;
pub mod quadrature;
pub mod shipped;
pub mod table;
pub mod verify;
