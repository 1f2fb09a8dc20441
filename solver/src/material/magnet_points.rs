//! A measured demagnetisation curve.
//!
//! In: points (H, B) with H rising to 0, A/m and T. Out: H(B) as a monotone cubic from the first
//! point to the remanence, and below the first point a straight line that keeps its slope, to where
//! J = B - mu_0 H vanishes.

use crate::material::error::{LawError, figures};
use crate::material::monotone::MonotoneCubic;
use crate::material::soft::Along;
use crate::units::MU_0;

/// The curve from the remanence down.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct MagnetPoints {
    curve: MonotoneCubic,
    /// Integral of H dB from the first point to the remanence, J/m3.
    area: f64,
}

impl MagnetPoints {
    /// Checks the points and lays the curve through them; its slope at the remanence is mu_0
    /// `recoil` as far as the points allow.
    pub fn new(h: &[f64], b: &[f64], recoil: f64) -> Result<Self, LawError> {
        LawError::check_points(h, b)?;
        let last = h.len() - 1;
        if h[last] != 0.0 {
            return Err(LawError::Contradiction(format!(
                "the curve ends at h = {} A/m; its last point has to be the remanence, at h = 0",
                h[last]
            )));
        }
        if let Some(i) = (0..h.len()).find(|&i| b[i] < MU_0 * h[i]) {
            return Err(LawError::Contradiction(format!(
                "point {} lies below the coercivity of J (b < mu_0 h); leave such points out, the \
                 curve is mirrored there",
                i + 1
            )));
        }
        let chord = (b[last] - b[0]) / (MU_0 * -h[0]);
        if recoil > chord {
            return Err(LawError::Contradiction(format!(
                "the recoil permeability {recoil} is steeper than the curve itself, whose mean \
                 slope is {} mu_0",
                figures(chord)
            )));
        }
        // A table rounded to a few figures may rise by a trifle less than mu_0 H: mend it from the
        // remanence down.
        let mut b = b.to_vec();
        for i in (0..last).rev() {
            b[i] = b[i].min(b[i + 1] - MU_0 * (h[i + 1] - h[i]));
        }
        let curve = MonotoneCubic::through(&b, h, 1.0 / MU_0, Some(1.0 / (MU_0 * recoil)));
        let area = curve.at(b[last]).area;
        Ok(Self { curve, area })
    }

    /// Remanence, T, and the slope dB/dH there, H/m.
    pub fn remanence(&self) -> (f64, f64) {
        let (b, _, slope) = self.curve.last();
        (b, 1.0 / slope)
    }

    /// Where J vanishes: H (A/m) and B (T); `None` if the line below the first point runs with the
    /// slope mu_0 and J never does.
    pub fn centre(&self) -> Option<(f64, f64)> {
        let (b, h, slope) = self.curve.first();
        let loss = 1.0 - MU_0 * slope;
        (loss > 1e-9).then(|| {
            let down = (b - MU_0 * h).max(0.0) / loss;
            (h - slope * down, b - down)
        })
    }

    /// Slope (H/m) of the steepest line from (`h`, `b`) upward that is no steeper than `limit` and
    /// passes under every point above it.
    pub fn slope_under(&self, h: f64, b: f64, limit: f64) -> f64 {
        let above = self.curve.knots().filter(|&(_, hk)| hk > h);
        above.fold(limit, |least, (bk, hk)| least.min((bk - b) / (hk - h))).max(MU_0)
    }

    /// B and dB/dH at `h` <= 0.
    pub fn b_of_h(&self, h: f64) -> (f64, f64) {
        let (b0, h0, slope) = self.curve.first();
        if h <= h0 {
            return (b0 + (h - h0) / slope, 1.0 / slope);
        }
        let b = self.curve.place_of(h);
        (b, 1.0 / self.curve.at(b).slope)
    }

    /// H, dH/dB and w (from the remanence) at `b` <= B_r.
    pub fn along(&self, b: f64) -> Along {
        let (b0, h0, slope) = self.curve.first();
        if b < b0 {
            let down = b - b0;
            let energy = down * (h0 + 0.5 * slope * down) - self.area;
            return Along { h: h0 + slope * down, slope, energy };
        }
        let p = self.curve.at(b);
        Along { h: p.y, slope: p.slope, energy: p.area - self.area }
    }
}
