//! Random values that depend on seed, key and number of the draw alone.
//!
//! The generator is ChaCha with 8 rounds, which reaches any place of its sequence at once: draw i of
//! key k is word 64 i of stream k. Which thread draws, in which order, and how a study is cut into
//! pieces change nothing.

use std::f64::consts::PI;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use crate::study::values::Spread;

/// Words of the sequence set aside for one draw; a normal draw that falls outside again and again
/// takes two 64-bit numbers each time, 0.3 % of them.
const WORDS: u128 = 64;
/// Standard deviations in a tolerance.
const WIDTH: f64 = 3.0;
/// Tries that fit into [`WORDS`].
const TRIES: u32 = 16;

/// Draw `draw` of key number `key`, between -1 and 1.
pub fn draw(seed: u64, key: u64, draw: u64, spread: Spread) -> f64 {
    let mut generator = ChaCha8Rng::seed_from_u64(seed);
    generator.set_stream(key);
    generator.set_word_pos(WORDS * u128::from(draw));
    // 53 bits, between 0 and 1, neither reached.
    let mut even = || ((generator.next_u64() >> 11) as f64 + 0.5) * 2.0_f64.powi(-53);
    match spread {
        Spread::Even => 2.0 * even() - 1.0,
        Spread::Normal => {
            for _ in 0..TRIES {
                // Box and Muller; libm gives the same digits on every machine.
                let size = libm::sqrt(-2.0 * libm::log(even()));
                let normal = size * libm::cos(2.0 * PI * even()) / WIDTH;
                if normal.abs() <= 1.0 {
                    return normal;
                }
            }
            0.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moments(spread: Spread) -> (f64, f64, f64) {
        let count = 20_000;
        let draws: Vec<f64> = (0..count).map(|i| draw(7, 3, i, spread)).collect();
        let mean = draws.iter().sum::<f64>() / count as f64;
        let square = draws.iter().map(|d| d * d).sum::<f64>() / count as f64;
        (mean, square, draws.iter().fold(0.0, |m, d| m.max(d.abs())))
    }

    /// Five standard errors of 20 000 draws.
    #[test]
    fn spreads_are_what_they_say() {
        let (mean, square, most) = moments(Spread::Even);
        assert!(mean.abs() < 5.0 * (1.0_f64 / 3.0 / 20_000.0).sqrt(), "{mean}");
        assert!((square - 1.0 / 3.0).abs() < 5.0 * 0.3 / 20_000.0_f64.sqrt(), "{square}");
        assert!(most < 1.0 && most > 0.99);
        let (mean, square, most) = moments(Spread::Normal);
        assert!(mean.abs() < 5.0 / 3.0 / 20_000.0_f64.sqrt(), "{mean}");
        // A normal cut at three deviations has 0.9733 of the variance.
        assert!((square - 0.9733 / 9.0).abs() < 5.0 * 0.16 / 20_000.0_f64.sqrt(), "{square}");
        assert!(most <= 1.0 && most > 0.9);
    }

    /// The same for ever: a study must be repeatable with a later version.
    #[test]
    fn draws_are_pinned() {
        let got: Vec<String> = [(1, 0, 0), (1, 0, 1), (1, 1, 0), (2, 0, 0)]
            .into_iter()
            .map(|(s, k, i)| format!("{:.6}", draw(s, k, i, Spread::Even)))
            .collect();
        assert_eq!(got, ["-0.195029", "-0.783509", "0.703824", "0.762681"]);
    }
}
