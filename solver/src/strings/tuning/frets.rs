//! Where the frets are and how high the string stands over the pickup when it is pressed down.
//!
//! Equal temperament: the speaking length behind fret n is L_n = L / 2^(n/12), its distance from
//! the nut L - L_n, and the pitch rises by n semitones; the tension is taken to stay (what pressing
//! the string stretches it is left to the setting of the bridge).
//!
//! Heights are those of the string's underside over the straight line of the fret tops, x from the
//! bridge. With h_0 at the nut and a at the twelfth fret (halfway), the bridge stands at
//! h_b = 2 a - h_0, and
//!
//! ```text
//! open      h(x)   = h_b + (h_0 - h_b) x / L
//! fret n    h_n(x) = h_b (1 - x / L_n)          x < L_n
//! drop      h(x) - h_n(x)
//! ```

/// The speaking length behind fret `fret` of a scale of `scale` (m), m. Fret 0 is the nut.
pub fn speaking_length(scale: f64, fret: u32) -> f64 {
    scale / 2.0_f64.powf(f64::from(fret) / 12.0)
}

/// Frequency of a string of open pitch `pitch` (Hz) at fret `fret`, Hz.
pub fn fretted_pitch(pitch: f64, fret: u32) -> f64 {
    pitch * 2.0_f64.powf(f64::from(fret) / 12.0)
}

/// How high the strings are set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Action {
    /// Scale length, m.
    pub scale: f64,
    /// Underside of the string over the fret tops at the nut, m.
    pub at_nut: f64,
    /// Underside of the open string over the twelfth fret, m.
    pub at_twelfth: f64,
}

impl Action {
    /// Height of the underside over the line of the fret tops where the string leaves the bridge, m.
    pub fn at_bridge(&self) -> f64 {
        2.0 * self.at_twelfth - self.at_nut
    }

    /// Height of the open string at `x` (m) from the bridge, m.
    pub fn open_height(&self, x: f64) -> f64 {
        let bridge = self.at_bridge();
        bridge + (self.at_nut - bridge) * x / self.scale
    }

    /// How far the string comes down at `x` (m) from the bridge when it is pressed at `fret`, m.
    /// `None` where `x` does not lie on the speaking length.
    pub fn drop(&self, x: f64, fret: u32) -> Option<f64> {
        let length = speaking_length(self.scale, fret);
        if !(0.0..length).contains(&x) {
            return None;
        }
        if fret == 0 {
            return Some(0.0);
        }
        Some(self.open_height(x) - self.at_bridge() * (1.0 - x / length))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 12 semitones halve the length, 24 quarter it; powers of two are exact.
    #[test]
    fn octaves_halve() {
        assert_eq!(speaking_length(0.6477, 12).to_bits(), (0.6477_f64 / 2.0).to_bits());
        assert_eq!(speaking_length(0.6477, 24).to_bits(), (0.6477_f64 / 4.0).to_bits());
        assert_eq!(fretted_pitch(110.0, 12).to_bits(), 220.0_f64.to_bits());
        // The first fret of a 25.5 in scale by the rule of 17.817 (2^(1/12) / (2^(1/12) - 1)),
        // which is printed to five figures.
        let first = 0.6477 - speaking_length(0.6477, 1);
        assert!((first - 0.6477 / 17.817).abs() < 0.6477 * 3e-6, "{first}");
    }

    #[test]
    fn a_pressed_string_lies_on_the_line_from_fret_to_bridge() {
        let action = Action { scale: 0.6477, at_nut: 0.5e-3, at_twelfth: 1.6e-3 };
        assert!((action.open_height(0.6477) - 0.5e-3).abs() < 1e-15);
        assert!((action.open_height(0.5 * 0.6477) - 1.6e-3).abs() < 1e-15);
        for fret in 1..=24 {
            let length = speaking_length(0.6477, fret);
            let at = |x: f64| action.open_height(x) - action.drop(x, fret).unwrap_or(f64::NAN);
            // At the bridge nothing moves, just short of the fret the string touches it, and it is
            // straight in between. Rounding of millimetres.
            assert!(action.drop(0.0, fret).is_some_and(|d| d.abs() < 1e-18));
            assert!(at(length * (1.0 - 1e-12)).abs() < 1e-14);
            assert!((at(0.5 * length) - 0.5 * action.at_bridge()).abs() < 1e-15);
            assert!(action.drop(length, fret).is_none());
        }
        assert_eq!(action.drop(0.1, 0), Some(0.0));
        assert_eq!(action.drop(-0.1, 0), None);
        assert_eq!(action.drop(f64::NAN, 0), None);
    }
}
