//! The straight demagnetisation line with a knee: ferrite and rare earth.
//!
//! B(H) = B_r + mu_0 mu_rec H                      down to H = -s H_cJ
//! B(H) = the same line - A t^2/(T - t), t = -s H_cJ - H  below
//!
//! The slope is continuous. A makes J vanish at -H_cJ. T makes a tenth of that loss happen down to
//! -0.95 H_cJ, and the straight part ends at s = 0.88: together the squareness of a well-made
//! sintered magnet (an assumption, not a datum). In B the knee is a quadratic for t. T and A/m.

use crate::material::hyperbola::minus_ln;
use crate::material::soft::Along;
use crate::units::MU_0;

/// End of the straight part over the coercivity of J.
const STRAIGHT: f64 = 0.88;
/// Pole T of the knee over its extent (1 - s) H_cJ. With f = u^2 (p - 1)/(p - u) the share of J
/// that is lost at u = t/((1 - s) H_cJ), f = 0.1 at u = (0.95 - 0.88)/0.12 gives p.
const POLE: f64 = 203.0 / 173.0;

/// The curve from the remanence down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Knee {
    /// Remanence, T.
    pub remanence: f64,
    /// Slope of the line, relative to mu_0.
    pub recoil: f64,
    /// Coercivity of J, A/m, positive.
    pub coercivity_of_j: f64,
}

impl Knee {
    /// Where the straight part ends: H, A/m.
    fn h_start(&self) -> f64 {
        -STRAIGHT * self.coercivity_of_j
    }

    /// A (T, that is H/m times A/m) and T (A/m).
    fn shape(&self) -> (f64, f64) {
        let extent = (1.0 - STRAIGHT) * self.coercivity_of_j;
        let pole = POLE * extent;
        let j_line = self.remanence - MU_0 * (self.recoil - 1.0) * self.coercivity_of_j;
        (j_line * (pole - extent) / (extent * extent), pole)
    }

    /// B and dB/dH at `h` from -H_cJ up.
    pub fn b_of_h(&self, h: f64) -> (f64, f64) {
        let slope = MU_0 * self.recoil;
        let line = self.remanence + slope * h;
        let t = self.h_start() - h;
        if t <= 0.0 {
            return (line, slope);
        }
        let (a, pole) = self.shape();
        let left = pole - t;
        (line - a * t * t / left, slope + a * t * (2.0 * pole - t) / (left * left))
    }

    /// H, dH/dB and w (from the remanence) at `b`, from B at -H_cJ up.
    pub fn along<const ENERGY: bool>(&self, b: f64) -> Along {
        let slope = MU_0 * self.recoil;
        let h_start = self.h_start();
        let b_start = self.remanence + slope * h_start;
        if b >= b_start {
            let h = (b - self.remanence) / slope;
            return Along { h, slope: 1.0 / slope, energy: 0.5 * h * (b - self.remanence) };
        }
        let (a, pole) = self.shape();
        // y = b_start - b = slope t + a t^2/(T - t): (slope - a) t^2 - (y + slope T) t + y T = 0.
        let y = b_start - b;
        let lead = y - slope * pole;
        let root = (lead * lead + 4.0 * a * y * pole).sqrt();
        let t = 2.0 * y * pole / (y + slope * pole + root);
        let h = h_start - t;
        if !ENERGY {
            return Along { h, slope: 1.0 / self.b_of_h(h).1, energy: f64::NAN };
        }
        // Integral of t dy = t y - integral of y dt.
        let x = t / pole;
        let curved = a * pole * pole * (minus_ln(x) - 0.5 * x * x);
        let at_start = 0.5 * h_start * (b_start - self.remanence);
        let energy = at_start - h_start * y + t * y - 0.5 * slope * t * t - curved;
        Along { h, slope: 1.0 / self.b_of_h(h).1, energy }
    }
}
