//! What a material answers at one point.

/// Answer of a material to a flux density.
///
/// The energy density is w(B) = integral of H . dB from the material's zero; H = dw/dB; the
/// tangent is d2w/dB2, symmetric and positive definite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Response {
    /// Energy density w, J/m3.
    pub energy: f64,
    /// Field strength H, A/m.
    pub h: [f64; 2],
    /// Differential reluctivity dH/dB, m/H: xx, xy, yy.
    pub tangent: [f64; 3],
}
