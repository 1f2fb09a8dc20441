//! How far from the sources a wave is still needed.
//!
//! In: the distance R within which the sources come close to the sampled line. Out: the share of a
//! wave of wave number k that is summed at a distance r from the axis (or from x = 0),
//!
//! ```text
//! 1/2 erfc((k (r - R) - 32) / 8)          1 where r <= R
//! ```
//!
//! What lies within R makes amplitudes that turn with k at a rate of R at most, and a wave at r turns with a
//! rate of r: the sum of all waves beyond k cancels but for what the end of the range leaves, and an end as
//! soft as this one leaves exp(-16) of the amplitude there. So the waves that a string over a narrow gap
//! needs are few, since those of them that are short are asked for near the pole only.

/// Where waves fade out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Fade {
    /// Distance within which nothing fades, m.
    pub within: f64,
}

/// Middle and width of the fall, in k (r - R).
const MIDDLE: f64 = 32.0;
const WIDTH: f64 = 8.0;
/// From here on nothing is left: erfc(4) = 1.5e-8.
const END: f64 = MIDDLE + 4.0 * WIDTH;

impl Fade {
    /// Nothing fades.
    pub(crate) const NEVER: Self = Self { within: f64::INFINITY };

    /// Share of a wave of wave number `k` (1/m) that is summed at the distance `r`, m.
    pub(crate) fn share(self, k: f64, r: f64) -> f64 {
        let past = k * (r - self.within);
        if past > 0.0 { 0.5 * libm::erfc((past - MIDDLE) / WIDTH) } else { 1.0 }
    }

    /// Greatest wave number that is summed at the distance `r`, 1/m.
    pub(crate) fn greatest(self, r: f64) -> f64 {
        if r > self.within { END / (r - self.within) } else { f64::INFINITY }
    }

    /// Distance out to which a wave of wave number `k` is summed, m.
    pub(crate) fn reach(self, k: f64) -> f64 {
        self.within + END / k
    }
}
