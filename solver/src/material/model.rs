//! What a material answers at one point.

use crate::material::magnet::DemagnetisationCurve;
use crate::material::soft::SoftLaw;

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

/// A material with its law ready to be evaluated.
#[derive(Clone, Debug)]
pub struct Material {
    /// Name as used in the section file.
    pub name: String,
    /// Its law.
    pub law: Law,
}

/// The magnetic laws.
#[derive(Clone, Debug)]
pub enum Law {
    /// B = mu_0 mu_r H.
    Linear {
        /// Relative permeability, >= 1.
        mu_r: f64,
    },
    /// A soft material that saturates, isotropic: H parallel to B.
    Soft(SoftLaw),
    /// A permanent magnet.
    Magnet(DemagnetisationCurve),
}
