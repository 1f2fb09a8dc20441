//! Mesh and materials to a field.
