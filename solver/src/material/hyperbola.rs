//! The four-data demagnetisation curve: a rectangular hyperbola on a straight line.
//!
//! B(H) = mu_0 m H + B_r (H_x + H)/(H_x + a H), H <= 0
//!
//! In B it is a quadratic for H, so both directions are closed forms. Slope at the remanence:
//! mu_0 m + B_r (1 - a)/H_x; it grows towards the coercivity. m and a = 0 .. 1 come from
//! [`super::four_data`].

use crate::material::saturating::x_minus_ln_1p;
use crate::material::soft::Along;
use crate::units::MU_0;

/// The curve from the remanence down; T and A/m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Hyperbola {
    /// Slope of the straight line, relative to mu_0; may be negative.
    pub m: f64,
    /// Remanence B_r, T.
    pub remanence: f64,
    /// H_x, A/m, positive.
    pub scale: f64,
    /// Squareness a, 0 < a < 1.
    pub a: f64,
}

impl Hyperbola {
    /// B and dB/dH at `h` <= 0 above the pole at -H_x/a.
    pub fn b_of_h(&self, h: f64) -> (f64, f64) {
        let Self { m, remanence: br, scale: hx, a } = *self;
        let below = hx + a * h;
        (MU_0 * m * h + br * (hx + h) / below, MU_0 * m + br * hx * (1.0 - a) / (below * below))
    }

    /// H, dH/dB and w (from the remanence) at `b` <= B_r.
    pub fn along<const ENERGY: bool>(&self, b: f64) -> Along {
        let Self { m, remanence: br, scale: hx, a } = *self;
        // mu_0 m a H^2 + q H + (B_r - B) H_x = 0; q > 0 as it is H_x times the slope at the
        // remanence plus a (B_r - B).
        let q = MU_0 * m * hx + br - a * b;
        let discriminant = q * q - 4.0 * MU_0 * m * a * (br - b) * hx;
        let h = -2.0 * (br - b) * hx / (q + discriminant.max(0.0).sqrt());
        let (_, slope) = self.b_of_h(h);
        if !ENERGY {
            return Along { h, slope: 1.0 / slope, energy: f64::NAN };
        }
        // w = H (B - B_r) - integral from 0 to H of (B - B_r) dH. The hyperbola's part of the
        // integral is B_r (1 - a) H_x / a^2 (-ln(1 - y) - y), y = -a H/H_x in [0, 1).
        let coenergy =
            0.5 * MU_0 * m * h * h + br * (1.0 - a) * hx / (a * a) * minus_ln(-a * h / hx);
        Along { h, slope: 1.0 / slope, energy: h * (b - br) - coenergy }
    }

    /// Field strength (negative, A/m) at which J = B - mu_0 H vanishes.
    pub fn coercivity_of_j(&self) -> f64 {
        // The same quadratic with m - 1 for m and B = 0.
        let Self { m, remanence: br, scale: hx, a } = *self;
        let q = MU_0 * (m - 1.0) * hx + br;
        let discriminant = q * q - 4.0 * MU_0 * (m - 1.0) * a * br * hx;
        -2.0 * br * hx / (q + discriminant.max(0.0).sqrt())
    }
}

/// -ln(1 - y) - y for 0 <= y < 1, without cancellation at small y.
pub(super) fn minus_ln(y: f64) -> f64 {
    // ln(1 - y) = -ln(1 + z), z = y/(1 - y); z - ln(1 + z) is kept exact, z - y = y z.
    let z = y / (1.0 - y);
    y * z - x_minus_ln_1p(z)
}
