//! Potentials that do not change along y, in plane waves that decay upward.
//!
//! ```text
//! phi(x, z) = int (c(k) cos kx + s(k) sin kx) exp(-k (z - z0)) dk
//! ```
//!
//! phi in A; amplitudes hold the quadrature weight of their k.

use crate::strings::fade::Fade;
use crate::strings::jet::{ORDER, PotentialJet};

/// A potential in plane waves.
#[derive(Clone, Debug)]
pub(crate) struct PlaneWaves {
    /// Height where the waves have their amplitude, m; all sources lie below.
    pub z0: f64,
    /// Wave numbers, `[n_k]`, ascending, 1/m.
    pub k: Vec<f64>,
    /// Where short waves are left out.
    pub fade: Fade,
    /// Amplitudes of cos kx, `[n_k]`, A.
    pub cosine: Vec<f64>,
    /// Amplitudes of sin kx, `[n_k]`, A.
    pub sine: Vec<f64>,
}

impl PlaneWaves {
    /// Jets at points (x, y, z), with derivatives up to `order`; y has no influence.
    pub(crate) fn jets(&self, points: &[[f64; 3]], order: usize) -> Vec<PotentialJet> {
        points.iter().map(|p| self.jet(p[0], p[2], order)).collect()
    }

    fn jet(&self, x: f64, z: f64, order: usize) -> PotentialJet {
        // sum k^n (c - i s) exp(ikx) exp(-k zeta): its real part is phi for n = 0, and d/dx
        // multiplies by ik, d/dz by -k.
        let mut moments = [(0.0, 0.0); ORDER + 1];
        let greatest = self.fade.greatest(x.abs());
        for (index, &k) in self.k.iter().enumerate() {
            let decay = (-k * (z - self.z0)).exp();
            if decay < 1e-19 || k > greatest {
                break;
            }
            let decay = decay * self.fade.share(k, x.abs());
            let (sin, cos) = (k * x).sin_cos();
            let (c, s) = (self.cosine[index] * decay, self.sine[index] * decay);
            let (mut re, mut im) = (c * cos + s * sin, c * sin - s * cos);
            for moment in moments.iter_mut().take(order + 1) {
                moment.0 += re;
                moment.1 += im;
                re *= k;
                im *= k;
            }
        }
        let mut jet = PotentialJet::ZERO;
        for c in 0..2 {
            for a in 0..=order.saturating_sub(c) {
                let (re, im) = moments[a + c];
                // Real part of i^a (re + i im).
                let value = match a % 4 {
                    0 => re,
                    1 => -im,
                    2 => -re,
                    _ => im,
                };
                jet.set(a, 0, c, if c == 0 { value } else { -value });
            }
        }
        jet
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_single_wave_and_its_derivatives() {
        let (k, zeta, x): (f64, f64, f64) = (1.3, 0.4, 0.7);
        let (cosine, sine) = (vec![2.0], vec![-0.5]);
        let waves = PlaneWaves { z0: 0.0, k: vec![k], fade: Fade::NEVER, cosine, sine };
        let jet = waves.jets(&[[x, 9.0, zeta]], ORDER)[0];
        let decay = (-k * zeta).exp();
        let (s, c) = (k * x).sin_cos();
        // Round-off only.
        assert!((jet.d(0, 0, 0) - decay * (2.0 * c - 0.5 * s)).abs() < 1e-14);
        assert!((jet.d(1, 0, 0) - decay * k * (-2.0 * s - 0.5 * c)).abs() < 1e-14);
        assert!((jet.d(0, 0, 1) + decay * k * (2.0 * c - 0.5 * s)).abs() < 1e-14);
        assert!((jet.d(2, 0, 1) - decay * k.powi(3) * (2.0 * c - 0.5 * s)).abs() < 1e-14);
        assert!((jet.d(1, 0, 2) - decay * k.powi(3) * (-2.0 * s - 0.5 * c)).abs() < 1e-14);
        assert_eq!(jet.d(0, 1, 0), 0.0);
    }
}
