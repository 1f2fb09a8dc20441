//! A string pulled aside at one place and let go.
//!
//! Two straight lines to the height h at the distance d from the bridge, on a speaking length L,
//! hold the partials (N. H. Fletcher and T. D. Rossing, The Physics of Musical Instruments, 2.5)
//!
//! ```text
//! a_n = 2 h L^2 / (n^2 pi^2 d (L - d)) sin(n pi d / L)
//! ```
//!
//! What plucks has a width b, over which the kink is spread: a_n times sin(z) / z, z = n pi b / 2 L.

use std::f64::consts::PI;

/// A pluck.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pluck {
    /// Distance from the bridge, m.
    pub place: f64,
    /// How far the string is pulled aside there, m.
    pub height: f64,
    /// Direction of the pull from the vertical, radian; positive leans towards positive sideways.
    pub angle: f64,
    /// Width of what plucks, m.
    pub width: f64,
}

impl Pluck {
    /// Amplitude of partial `n` >= 1 on a speaking length of `length` (m), m.
    ///
    /// `None` unless the pluck lies between the bridge and the fret.
    pub fn amplitude(&self, length: f64, n: u32) -> Option<f64> {
        if !(self.place > 0.0 && self.place < length) {
            return None;
        }
        let n = f64::from(n.max(1));
        let spread = 0.5 * n * PI * self.width / length;
        let kink = if spread == 0.0 { 1.0 } else { spread.sin() / spread };
        let share = self.place / length;
        let triangle = 2.0 * self.height / ((n * PI).powi(2) * share * (1.0 - share));
        Some(triangle * (n * PI * share).sin() * kink)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The partials add up to the two straight lines.
    #[test]
    fn the_partials_add_up_to_the_shape() {
        let pluck = Pluck { place: 0.12, height: 2e-3, angle: 0.0, width: 0.0 };
        let length = 0.6477;
        for x in [0.03, 0.12, 0.3, 0.6] {
            let sum: f64 = (1..=20_000)
                .map(|n| {
                    pluck.amplitude(length, n).expect("on the string")
                        * (f64::from(n) * PI * x / length).sin()
                })
                .sum();
            let want = 2e-3 * (x / 0.12).min((length - x) / (length - 0.12));
            // The rest of the series at the kink is about 2 h / (pi^2 0.15 N) = 1.4e-7 m.
            assert!((sum - want).abs() < 2e-7, "{x}: {sum} {want}");
        }
    }

    #[test]
    fn a_wide_pluck_has_weaker_high_partials_and_the_same_low_ones() {
        let sharp = Pluck { place: 0.12, height: 2e-3, angle: 0.0, width: 0.0 };
        let wide = Pluck { width: 10e-3, ..sharp };
        let ratio = |n: u32| {
            wide.amplitude(0.6477, n).expect("on") / sharp.amplitude(0.6477, n).expect("on")
        };
        // 1 - z^2 / 6 at n = 1; the next term is z^4 / 120 = 3e-9.
        let z = PI * 10e-3 / (2.0 * 0.6477);
        assert!((ratio(1) - (1.0 - z.powi(2) / 6.0)).abs() < 1e-8);
        assert!(ratio(60) < 0.7);
        assert!(sharp.amplitude(0.12, 1).is_none());
        assert!(Pluck { place: f64::NAN, ..sharp }.amplitude(0.6, 1).is_none());
    }
}
