//! Soft materials: B(H) rising from zero and saturating.

/// A saturating law B(H) of an isotropic soft material.
#[derive(Clone, Debug)]
pub struct SoftLaw {}
