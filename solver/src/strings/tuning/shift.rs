//! What a pull that changes with place does to the pitch of a string.
//!
//! A force +k y at x_p from one end (k > 0: it grows towards the pole and softens the string, as a
//! magnet does in the plane through the pole; k < 0 stiffens) turns the partials of a flexible
//! string of length L and tension T into the roots q of
//!
//! ```text
//! T q sin(q L) = k sin(q x_p) sin(q (L - x_p))            omega = q sqrt(T / mu)
//! ```
//!
//! and to first order df_n / f_n = -k L sin^2(n pi x_p / L) / (n^2 pi^2 T) (Rayleigh, Theory of
//! Sound, 1; the characteristic equation follows from the jump of slope T [y'] = -k y at x_p).
//!
//! The roots are found in the form of a phase: with theta = q x_p and kappa = k / (T q), the string
//! arrives at its far end with the phase q L + delta(q),
//!
//! ```text
//! delta = atan2(kappa sin^2 theta, 1 - kappa sin theta cos theta)        |delta| < pi
//! ```
//!
//! and partial n is the one place where q L + delta = n pi. This is continuous through nodes (there
//! delta = 0 and the partial stays), keeps the number of the partial, and holds the root between
//! n - 1 and n (softer) or n and n + 1 (stiffer) half waves, so that a safeguarded Newton search
//! cannot miss it. A softening k at or above T L / (x_p (L - x_p)) leaves no first partial: the
//! string is drawn to the pole.
//!
//! Stiffness of the string multiplies both frequencies by the same sqrt(1 + B n^2): the ratio here
//! is that of the flexible string.

use std::f64::consts::PI;

/// Steps after which the search stops; bisection alone needs about 60 for the last bit.
const MOST_STEPS: u32 = 200;
/// The search stops when a step changes the root by less than this share of it.
const STEP: f64 = 1e-15;
/// Cents in an octave.
const OCTAVE: f64 = 1200.0;

/// A place on a stretched string where something pulls.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PullPlace {
    /// Speaking length, m.
    length: f64,
    /// Tension, N.
    tension: f64,
    /// Share of the length from one end, 0 to 1.
    share: f64,
}

impl PullPlace {
    /// At `place` (m from either end) of a string of `length` (m) and `tension` (N).
    ///
    /// `None` unless both are positive and the place lies on the string.
    pub fn new(length: f64, tension: f64, place: f64) -> Option<Self> {
        let good = length > 0.0
            && length.is_finite()
            && tension > 0.0
            && tension.is_finite()
            && (0.0..=length).contains(&place);
        good.then(|| Self { length, tension, share: place / length })
    }

    /// The softening k from which on the string has no place of rest, N/m: T L / (x_p (L - x_p)).
    pub fn unstable_from(&self) -> f64 {
        self.tension / (self.length * self.share * (1.0 - self.share))
    }

    /// First-order relative change of the frequency of partial `n` >= 1 under `k` (N/m).
    pub fn first_order(&self, k: f64, n: u32) -> f64 {
        let half_waves = f64::from(n.max(1));
        let sine = (PI * whole_removed(half_waves * self.share)).sin();
        -k * self.length * sine.powi(2) / ((half_waves * PI).powi(2) * self.tension)
    }

    /// Exact relative change of the frequency of partial `n` >= 1 under `k` (N/m).
    ///
    /// `None` where the string is drawn to the pole (first partial, `k` at or above
    /// [`Self::unstable_from`]) and where `k` is not a number.
    pub fn exact(&self, k: f64, n: u32) -> Option<f64> {
        let n = n.max(1);
        let half_waves = f64::from(n);
        let phase = Phase {
            strength: k * self.length / self.tension,
            share: self.share,
            half_waves,
            start: whole_removed(half_waves * self.share),
        };
        if k.is_nan() || (n == 1 && k >= self.unstable_from()) {
            return None;
        }
        Some(phase.root() / half_waves)
    }

    /// Exact change of partial `n` in cents; `None` as for [`Self::exact`].
    pub fn cents(&self, k: f64, n: u32) -> Option<f64> {
        self.exact(k, n).map(cents)
    }
}

/// Cents of a relative change of frequency: 1200 log2(1 + change).
pub fn cents(change: f64) -> f64 {
    OCTAVE * change.ln_1p() / std::f64::consts::LN_2
}

/// `x` less the nearest whole number: sines of pi x are taken of this, so that nodes are exact.
fn whole_removed(x: f64) -> f64 {
    x - x.round()
}

/// The phase equation in half waves: pi e + delta(pi (n + e)) = 0.
struct Phase {
    /// k L / T.
    strength: f64,
    share: f64,
    half_waves: f64,
    /// n x_p / L less the nearest whole number.
    start: f64,
}

impl Phase {
    /// Left side of the equation at `e`, and its derivative.
    fn at(&self, e: f64) -> (f64, f64) {
        let waves = self.half_waves + e;
        let kappa = self.strength / (PI * waves);
        let (s, c) = (PI * (self.start + self.share * e)).sin_cos();
        let across = kappa * s * s;
        let along = 1.0 - kappa * s * c;
        // Derivatives by e: kappa' = -kappa / waves, theta' = pi x_p / L.
        let turn = PI * self.share;
        let across_change = kappa * (2.0 * s * c * turn - s * s / waves);
        let along_change = kappa * (s * c / waves - turn * (c * c - s * s));
        let size = across * across + along * along;
        (PI * e + across.atan2(along), PI + (across_change * along - across * along_change) / size)
    }

    /// The root e: how many half waves the partial gains.
    fn root(&self) -> f64 {
        let (value, slope) = self.at(0.0);
        if value == 0.0 {
            return 0.0;
        }
        // Softer: the root lies in (-1, 0); stiffer: in (0, 1). The function is negative left of it.
        let (mut low, mut high) = if value > 0.0 { (-1.0, 0.0) } else { (0.0, 1.0) };
        let mut e = -value / slope;
        for _ in 0..MOST_STEPS {
            if !(low < e && e < high) {
                e = 0.5 * (low + high);
                if e <= low || e >= high {
                    break;
                }
            }
            let (value, slope) = self.at(e);
            if value > 0.0 {
                high = e;
            } else {
                low = e;
            }
            let next = e - value / slope;
            if (next - e).abs() <= STEP * e.abs() {
                e = next.clamp(low, high);
                break;
            }
            e = next;
        }
        e
    }
}
