//! Harmonics, level and distortion of a periodic voltage.
//!
//! In: samples of one period, evenly spaced. Out: the amplitude of every harmonic,
//!
//! ```text
//! V_k = (2 / N) sum_i V_i exp(-2 pi i k i / N)        k = 1, 2, ... below N / 2
//! level  sqrt(sum V_k^2 / 2)                          V, root mean square
//! distortion  sqrt(sum_{k>1} V_k^2) / V_1             of a string that swings in one partial
//! ```
//!
//! A sum over a period is exact for what has no harmonics at or above N / 2.

use std::f64::consts::PI;

/// The harmonics of a periodic voltage.
#[derive(Clone, Debug, PartialEq)]
pub struct Spectrum {
    /// Real and imaginary part of harmonics 1, 2, ..., V (peak).
    pub harmonics: Vec<[f64; 2]>,
}

impl Spectrum {
    /// The first `count` harmonics of `period`, samples of one period; fewer where there are not
    /// enough samples.
    pub fn of_period(period: &[f64], count: usize) -> Self {
        let samples = period.len();
        let harmonics = (1..=count.min(samples.saturating_sub(1) / 2))
            .map(|k| {
                let mut sum = [0.0; 2];
                for (i, v) in period.iter().enumerate() {
                    // The phase is reduced before it is scaled: k i may be large.
                    let turn = (k * i % samples) as f64 / samples as f64;
                    let (s, c) = (2.0 * PI * turn).sin_cos();
                    sum[0] += v * c;
                    sum[1] -= v * s;
                }
                sum.map(|x| 2.0 * x / samples as f64)
            })
            .collect();
        Self { harmonics }
    }

    /// Amplitude of harmonic `k` >= 1, V (peak); 0 beyond the last.
    pub fn amplitude(&self, k: usize) -> f64 {
        k.checked_sub(1).and_then(|i| self.harmonics.get(i)).map_or(0.0, |[re, im]| re.hypot(*im))
    }

    /// Root mean square, V.
    pub fn level(&self) -> f64 {
        let sum: f64 = self.harmonics.iter().map(|[re, im]| re * re + im * im).sum();
        (0.5 * sum).sqrt()
    }

    /// Harmonics above the first against the first.
    pub fn distortion(&self) -> f64 {
        let above: f64 = self.harmonics.iter().skip(1).map(|[re, im]| re * re + im * im).sum();
        above.sqrt() / self.amplitude(1)
    }

    /// Every harmonic multiplied by what a circuit does at its frequency.
    #[must_use]
    pub fn through(&self, pitch: f64, response: impl Fn(f64) -> [f64; 2]) -> Self {
        let times = |(i, [re, im]): (usize, &[f64; 2])| {
            let [hr, hi] = response(pitch * (i + 1) as f64);
            [re * hr - im * hi, re * hi + im * hr]
        };
        Self { harmonics: self.harmonics.iter().enumerate().map(times).collect() }
    }
}

/// Decibels of a ratio of voltages.
pub fn decibels(ratio: f64) -> f64 {
    20.0 * ratio.log10()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_a_sum_of_waves_apart() {
        let wave = |i: usize| {
            let p = 2.0 * PI * i as f64 / 64.0;
            3.0 * p.cos() + 0.4 * (2.0 * p).sin() - 0.3 * (5.0 * p).cos() + 7.0
        };
        let period: Vec<f64> = (0..64).map(wave).collect();
        let spectrum = Spectrum::of_period(&period, 10);
        // Rounding of 64 terms of size 10.
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-13, "{a} {b}");
        close(spectrum.amplitude(1), 3.0);
        close(spectrum.harmonics[1][1], -0.4);
        close(spectrum.harmonics[4][0], -0.3);
        close(spectrum.amplitude(3), 0.0);
        close(spectrum.amplitude(0), 0.0);
        close(spectrum.amplitude(11), 0.0);
        close(spectrum.level(), ((9.0 + 0.16 + 0.09) / 2.0_f64).sqrt());
        close(spectrum.distortion(), 0.5 / 3.0);
        // A quarter turn ahead and doubled.
        let turned = spectrum.through(100.0, |_| [0.0, 2.0]);
        close(turned.harmonics[0][1], 6.0);
        close(decibels(10.0), 20.0);
        assert!(Spectrum::of_period(&[], 3).harmonics.is_empty());
    }
}
