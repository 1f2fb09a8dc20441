//! Demagnetisation curves.

/// The demagnetisation curve of a magnet along its direction of charge.
#[derive(Clone, Debug)]
pub struct DemagnetisationCurve {}
