//! Mesh and materials to a [`Field`].
pub mod element;
pub mod linear_solve;
