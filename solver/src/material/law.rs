//! What a law answers to a flux density in the plane of the section.
//!
//! In: B (T) as two components, the direction of charge, the lowest field strength reached. Out:
//! H (A/m), dH/dB (m/H) and w (J/m3).
//!
//! Soft: H = h(|B|) B/|B|; dH/dB is dh/d|B| along B and h/|B| across. Magnet: its curve along the
//! charge e, B/(mu_0 mu_t) across.

use crate::material::model::{Law, Response};
use crate::units::MU_0;

/// Below this flux density (T) a soft law is taken at its origin: its curvature over so short a way
/// is below round-off.
const NO_FLUX: f64 = 1e-12;

impl Law {
    /// Answer to the flux density `b` (T).
    ///
    /// `axis`: unit vector of the charge, ignored by all but magnets. `lowest`: magnets only, the
    /// lowest field strength along `axis` reached before (A/m, negative); `None` keeps the magnet
    /// on its major curve.
    pub fn respond(&self, b: [f64; 2], axis: [f64; 2], lowest: Option<f64>) -> Response {
        self.response::<true>(b, axis, lowest)
    }

    /// As [`Law::respond`] with the energy density left out, not a number: it takes logarithms, which
    /// Newton's method on the gradient does not need.
    pub fn respond_in_field(&self, b: [f64; 2], axis: [f64; 2], lowest: Option<f64>) -> Response {
        self.response::<false>(b, axis, lowest)
    }

    fn response<const ENERGY: bool>(
        &self,
        b: [f64; 2],
        axis: [f64; 2],
        lowest: Option<f64>,
    ) -> Response {
        match self {
            Self::Linear { mu_r } => {
                let nu = 1.0 / (MU_0 * mu_r);
                Response {
                    energy: 0.5 * nu * (b[0] * b[0] + b[1] * b[1]),
                    h: [nu * b[0], nu * b[1]],
                    tangent: [nu, 0.0, nu],
                }
            }
            Self::Soft(law) => {
                let size = (b[0] * b[0] + b[1] * b[1]).sqrt();
                let along = law.along::<ENERGY>(size);
                if size < NO_FLUX {
                    let nu = along.slope;
                    return Response {
                        energy: along.energy,
                        h: [nu * b[0], nu * b[1]],
                        tangent: [nu, 0.0, nu],
                    };
                }
                let nu = along.h / size;
                Response {
                    energy: along.energy,
                    h: [nu * b[0], nu * b[1]],
                    tangent: turned(along.slope, nu, [b[0] / size, b[1] / size]),
                }
            }
            Self::Magnet(curve) => {
                let along_axis = b[0] * axis[0] + b[1] * axis[1];
                let across = b[1] * axis[0] - b[0] * axis[1];
                let along = curve.along::<ENERGY>(along_axis, lowest);
                let nu = 1.0 / (MU_0 * curve.transverse());
                let h_across = nu * across;
                Response {
                    energy: along.energy + 0.5 * h_across * across,
                    h: [
                        along.h * axis[0] - h_across * axis[1],
                        along.h * axis[1] + h_across * axis[0],
                    ],
                    tangent: turned(along.slope, nu, axis),
                }
            }
        }
    }

    /// Differential reluctivity (m/H: xx, xy, yy) for a small change about `b` (T): the slope of a
    /// soft law's curve; for a magnet its recoil line along `axis` and its transverse permeability
    /// across.
    pub fn small_change(&self, b: [f64; 2], axis: [f64; 2]) -> [f64; 3] {
        match self {
            Self::Magnet(_) => self.initial_tangent(axis),
            _ => self.respond_in_field(b, axis, None).tangent,
        }
    }

    /// A tangent to start an iteration from, positive definite (m/H: xx, xy, yy): soft laws where
    /// they are most permeable, magnets on their recoil line.
    pub fn initial_tangent(&self, axis: [f64; 2]) -> [f64; 3] {
        match self {
            Self::Linear { mu_r } => {
                let nu = 1.0 / (MU_0 * mu_r);
                [nu, 0.0, nu]
            }
            Self::Soft(law) => {
                let nu = law.least_reluctivity();
                [nu, 0.0, nu]
            }
            Self::Magnet(curve) => {
                let along = 1.0 / (MU_0 * curve.recoil());
                turned(along, 1.0 / (MU_0 * curve.transverse()), axis)
            }
        }
    }

    /// M = B/mu_0 - H (A/m) and dM/dH at the field strength `h` (A/m); for a magnet along its charge,
    /// on the major curve.
    pub fn magnetisation(&self, h: f64) -> (f64, f64) {
        match self {
            Self::Linear { mu_r } => ((mu_r - 1.0) * h, mu_r - 1.0),
            Self::Soft(law) => law.magnetisation(h),
            Self::Magnet(curve) => {
                let (b, slope) = curve.b_of_h(h);
                (b / MU_0 - h, slope / MU_0 - 1.0)
            }
        }
    }

    /// Whether H is an affine function of B.
    pub fn is_linear(&self) -> bool {
        match self {
            Self::Linear { .. } => true,
            Self::Soft(_) => false,
            Self::Magnet(curve) => curve.is_straight(),
        }
    }

    /// Whether it is a permanent magnet.
    pub fn is_magnet(&self) -> bool {
        matches!(self, Self::Magnet(_))
    }

    /// Whether it answers other than empty space.
    pub fn is_magnetic(&self) -> bool {
        !matches!(self, Self::Linear { mu_r } if *mu_r == 1.0)
    }
}

/// The tensor with value `along` in direction `e` and `across` at right angles: xx, xy, yy.
fn turned(along: f64, across: f64, e: [f64; 2]) -> [f64; 3] {
    let more = along - across;
    [across + more * e[0] * e[0], more * e[0] * e[1], across + more * e[1] * e[1]]
}
