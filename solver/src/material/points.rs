//! The curve through measured points of a soft material.
//!
//! In: points (H, B) from (0, 0) upward, A/m and T. Out: H(B) as a monotone cubic
//! ([`super::monotone`]) up to the last point, and beyond it a tail in which J goes on rising ever
//! more slowly to a limit, so that dB/dH tends to mu_0:
//!
//! J = J_n + D u/(c + u), u = H - H_n, c = D/J'_n, D = 2 H_n J'_n
//!
//! with J'_n = dJ/dH at the last point (H_n, J_n), so that the slope is continuous; D is kept so
//! small that J stays below 2.45 T, the most that any material reaches. No table tells what lies
//! beyond its end, and the factor 2 is a guess: with the shipped mild steel, which saturates at
//! 2.16 T, a table cut at 1.4, 1.6 and 1.8 T is led to 2.16, 1.80 and 2.18 T. The law
//! J = J_s - c/H (factor 1) falls short by up to 0.46 T.

use crate::material::error::LawError;
use crate::material::monotone::MonotoneCubic;
use crate::material::saturating::{froehlich_field_strength, x_minus_ln_1p};
use crate::material::soft::Along;
use crate::units::MU_0;

/// Largest saturation polarisation of any material (iron with cobalt), T.
const MOST_SATURATION: f64 = 2.45;

/// H(B) for B >= 0 through points.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct PointCurve {
    curve: MonotoneCubic,
    /// Last point: B, T.
    b_end: f64,
    /// Last point: H, A/m.
    h_end: f64,
    /// What J still gains beyond the last point, T.
    gain: f64,
    /// Scale c of that, A/m.
    scale: f64,
    /// Energy density at the last point, J/m3.
    energy_end: f64,
}

impl PointCurve {
    /// Checks the points and lays the curve through them.
    pub fn new(h: &[f64], b: &[f64]) -> Result<Self, LawError> {
        LawError::check_points(h, b)?;
        if h[0] != 0.0 || b[0] != 0.0 {
            return Err(LawError::NotFromZero { h: h[0], b: b[0] });
        }
        // A table rounded to a few figures may rise by a trifle less than mu_0 H: lift it.
        let mut b = b.to_vec();
        for i in 1..b.len() {
            b[i] = b[i].max(b[i - 1] + MU_0 * (h[i] - h[i - 1]));
        }
        let curve = MonotoneCubic::through(&b, h, 1.0 / MU_0, None);
        let (b_end, h_end, slope) = curve.last();
        let j_end = b_end - MU_0 * h_end;
        let j_slope = (1.0 / slope - MU_0).max(0.0);
        let room = (MOST_SATURATION - j_end).max(0.02 * j_end);
        let gain = (2.0 * h_end * j_slope).min(room);
        let scale = if gain > 0.0 { gain / j_slope } else { h_end };
        let energy_end = curve.at(b_end).area;
        Ok(Self { curve, b_end, h_end, gain, scale, energy_end })
    }

    /// Least H/B over the points, m/H.
    pub fn least_reluctivity(&self) -> f64 {
        let (_, _, first) = self.curve.first();
        self.curve.knots().skip(1).map(|(b, h)| h / b).fold(first, f64::min)
    }

    /// Where the points end (B, T) and to what J is led beyond (T).
    pub fn end_and_saturation(&self) -> (f64, f64) {
        (self.b_end, self.b_end - MU_0 * self.h_end + self.gain)
    }

    /// H, dH/dB and w at `b` >= 0 (T).
    pub fn along<const ENERGY: bool>(&self, b: f64) -> Along {
        if b <= self.b_end {
            let p = self.curve.at(b);
            return Along { h: p.y, slope: p.slope, energy: p.area };
        }
        // u = H - H_n rises from 0 by b - b_n = mu_0 u + D u/(c + u).
        let (beyond, c) = (b - self.b_end, self.scale);
        let u = froehlich_field_strength(beyond, self.gain, c);
        let slope = 1.0 / (MU_0 + self.gain * c / ((c + u) * (c + u)));
        if !ENERGY {
            return Along { h: self.h_end + u, slope, energy: f64::NAN };
        }
        let j = self.gain * u / (c + u);
        let coenergy = self.gain * c * x_minus_ln_1p(u / c);
        let energy = self.h_end * beyond + 0.5 * MU_0 * u * u + (u * j - coenergy);
        Along { h: self.h_end + u, slope, energy: self.energy_end + energy }
    }

    /// J (T) and dJ/dH (H/m) at `h` >= 0 (A/m).
    pub fn polarisation(&self, h: f64) -> (f64, f64) {
        if h <= self.h_end {
            let b = self.curve.place_of(h);
            let slope = self.curve.at(b).slope;
            return (b - MU_0 * h, (1.0 / slope - MU_0).max(0.0));
        }
        let (u, c) = (h - self.h_end, self.scale);
        let j_end = self.b_end - MU_0 * self.h_end;
        (j_end + self.gain * u / (c + u), self.gain * c / ((c + u) * (c + u)))
    }

    /// d2J/dH2 (T m2/A2) at `h` >= 0 (A/m).
    pub fn curvature(&self, h: f64) -> f64 {
        if h <= self.h_end {
            let b = self.curve.place_of(h);
            let slope = self.curve.at(b).slope;
            return -self.curve.curvature(b) / (slope * slope * slope);
        }
        let (u, c) = (h - self.h_end, 2.0 * self.h_end);
        -2.0 * self.gain * c / (c + u).powi(3)
    }
}
