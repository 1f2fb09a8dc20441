//! How a string moves after a pluck: a sum of partials in the two planes of vibration.
//!
//! ```text
//! u(x, t) = sum_n sin(n pi x / L) exp(-t / tau) (a_n,up cos(2 pi f_n,up t) e_up
//!                                               + a_n,across cos(2 pi f_n,across t) e_across)
//! ```
//!
//! x from the bridge, e_up leaning by the angle of the upright plane. The frequencies carry the
//! stiffness of the string and the shift by the magnets; the shapes are those of the string without
//! them, which is right to first order. One decay time serves all partials.

use std::f64::consts::PI;

use crate::strings::signal::pluck::Pluck;
use crate::strings::tuning::planes::Planes;
use crate::strings::tuning::shift::PullPlace;
use crate::strings::tuning::wire::partial;

/// One partial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Partial {
    /// Number of half waves.
    pub number: u32,
    /// Amplitude in the upright plane and in the one across it, m.
    pub amplitude: [f64; 2],
    /// Frequency in the two planes, Hz.
    pub frequency: [f64; 2],
}

/// A moving string.
#[derive(Clone, Debug, PartialEq)]
pub struct Motion {
    /// Speaking length, m.
    pub length: f64,
    /// Angle of the upright plane from the vertical, radian.
    pub lean: f64,
    /// Its partials.
    pub partials: Vec<Partial>,
    /// Time in which amplitudes fall to 1/e, s; infinite without decay.
    pub decay: f64,
}

/// The string that is plucked: what it does left to itself and what the pickup adds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sounding {
    /// Speaking length, m.
    pub length: f64,
    /// Pitch there, Hz.
    pub pitch: f64,
    /// Inharmonicity there.
    pub inharmonicity: f64,
    /// Where the pull of the pickup acts and what it is in the two planes; `None` leaves the string
    /// to itself.
    pub pull: Option<(PullPlace, Planes)>,
}

impl Motion {
    /// After `pluck`, all partials below `highest` (Hz).
    ///
    /// `None` where the pluck does not lie on the speaking length, the string is drawn onto the
    /// pole, or pitch and `highest` are not positive.
    pub fn plucked(string: &Sounding, pluck: &Pluck, highest: f64, decay: f64) -> Option<Self> {
        if !(string.pitch > 0.0 && highest.is_finite()) {
            return None;
        }
        let lean = string.pull.map_or(0.0, |(_, planes)| planes.lean);
        let (across, up) = (pluck.angle - lean).sin_cos();
        let mut partials = Vec::new();
        for number in 1..=MOST_PARTIALS {
            let free = partial(string.pitch, number, string.inharmonicity);
            if free > highest {
                break;
            }
            let amplitude = pluck.amplitude(string.length, number)?;
            let frequency = match string.pull {
                None => [free; 2],
                Some((place, planes)) => [
                    free * (1.0 + place.exact(planes.upright, number)?),
                    free * (1.0 + place.exact(planes.across, number)?),
                ],
            };
            partials.push(Partial {
                number,
                amplitude: [amplitude * up, amplitude * across],
                frequency,
            });
        }
        Some(Self { length: string.length, lean, partials, decay })
    }

    /// One partial that swings in the direction `angle` (radian from the vertical), without decay.
    pub fn sinusoidal(length: f64, frequency: f64, amplitude: f64, angle: f64) -> Self {
        let partial = Partial { number: 1, amplitude: [amplitude, 0.0], frequency: [frequency; 2] };
        Self { length, lean: angle, partials: vec![partial], decay: f64::INFINITY }
    }

    /// The same with exact harmonics of `pitch` (Hz), both planes alike, and no decay: what is
    /// periodic can be told by its harmonics.
    pub fn periodic(&self, pitch: f64) -> Self {
        let partials = self
            .partials
            .iter()
            .map(|p| Partial { frequency: [pitch * f64::from(p.number); 2], ..*p })
            .collect();
        Self { partials, decay: f64::INFINITY, ..*self }
    }

    /// Partial displacements (m) and velocities (m/s) in the two planes at `t` (s), without their
    /// shapes along the string: [upright, across, upright velocity, across velocity] each.
    pub fn amplitudes(&self, t: f64, out: &mut Vec<[f64; 4]>) {
        let rate = 1.0 / self.decay;
        let left = (-t * rate).exp();
        out.clear();
        out.extend(self.partials.iter().map(|p| {
            let mut values = [0.0; 4];
            for plane in 0..2 {
                let omega = 2.0 * PI * p.frequency[plane];
                let (s, c) = (omega * t).sin_cos();
                values[plane] = p.amplitude[plane] * left * c;
                values[plane + 2] = -p.amplitude[plane] * left * (omega * s + rate * c);
            }
            values
        }));
    }

    /// Shape of every partial at `x` (m from the bridge).
    pub fn shapes(&self, x: f64) -> Vec<f64> {
        self.partials
            .iter()
            .map(|p| {
                let half_waves = f64::from(p.number) * x / self.length;
                let nearest = half_waves.round();
                let sine = (PI * (half_waves - nearest)).sin();
                if nearest % 2.0 == 0.0 { sine } else { -sine }
            })
            .collect()
    }

    /// Turns (upright, across) into (sideways, up).
    pub fn in_section(&self, [upright, across]: [f64; 2]) -> [f64; 2] {
        let (s, c) = self.lean.sin_cos();
        [upright * s + across * c, upright * c - across * s]
    }

    /// Largest displacement that can occur at `x` (m from the bridge), sideways and up, m: all
    /// partials at their peaks together, or less.
    pub fn reach(&self, x: f64) -> [f64; 2] {
        let (s, c) = self.lean.sin_cos();
        let mut reach = [0.0; 2];
        for (p, shape) in self.partials.iter().zip(self.shapes(x)) {
            let [upright, across] = p.amplitude.map(|a| (a * shape).abs());
            reach[0] += upright * s.abs() + across * c.abs();
            reach[1] += upright * c.abs() + across * s.abs();
        }
        reach
    }
}

/// More partials than this are not made; on a string of 20 Hz that reaches 40 kHz.
const MOST_PARTIALS: u32 = 2000;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_string_left_to_itself_starts_as_plucked_and_comes_back() {
        let string = Sounding { length: 0.64, pitch: 200.0, inharmonicity: 0.0, pull: None };
        let pluck = Pluck { place: 0.16, height: 2e-3, angle: 0.3, width: 0.0 };
        let motion = Motion::plucked(&string, &pluck, 20e3, f64::INFINITY).expect("on the string");
        assert_eq!(motion.partials.len(), 100);
        let at = |x: f64, t: f64| {
            let mut values = Vec::new();
            motion.amplitudes(t, &mut values);
            let sum = |i: usize| -> f64 {
                values.iter().zip(motion.shapes(x)).map(|(v, s)| v[i] * s).sum()
            };
            motion.in_section([sum(0), sum(1)])
        };
        let [y, z] = at(0.4, 0.0);
        // 100 partials leave 2 h / (pi^2 0.19 100) = 2e-5 m at the kink, far less away from it.
        let want = 2e-3 * (0.64 - 0.4) / (0.64 - 0.16);
        assert!((z - want * 0.3_f64.cos()).abs() < 2e-6, "{z}");
        assert!((y - want * 0.3_f64.sin()).abs() < 2e-6, "{y}");
        // Half a period later it is the same shape upside down and end for end.
        let [_, there] = at(0.24, 0.5 / 200.0);
        assert!((there + z).abs() < 1e-15, "{there} {z}");
        let reach = motion.reach(0.4);
        assert!(reach[1] >= z && reach[1] < 4.0 * z);
    }

    #[test]
    fn velocities_are_the_rate_of_the_displacements() {
        let planes = Planes { upright: 20.0, across: -5.0, lean: 0.2 };
        let place = PullPlace::new(0.64, 74.0, 0.16).expect("on the string");
        let string = Sounding {
            length: 0.64,
            pitch: 200.0,
            inharmonicity: 1e-4,
            pull: Some((place, planes)),
        };
        let pluck = Pluck { place: 0.1, height: 2e-3, angle: 0.9, width: 2e-3 };
        let motion = Motion::plucked(&string, &pluck, 3e3, 0.5).expect("on the string");
        let values = |t: f64| {
            let mut values = Vec::new();
            motion.amplitudes(t, &mut values);
            values
        };
        let (t, h) = (1.234e-2, 1e-7);
        let (before, now, after) = (values(t - h), values(t), values(t + h));
        for n in 0..now.len() {
            for plane in 0..2 {
                let difference = (after[n][plane] - before[n][plane]) / (2.0 * h);
                let omega = 2.0 * PI * motion.partials[n].frequency[plane];
                // Second order: (omega h)^2 / 6 = 6e-7 of omega a; rounding 1e-16 / h of a.
                let scale = motion.partials[n].amplitude[plane].abs() * omega;
                assert!((difference - now[n][plane + 2]).abs() < 1e-6 * scale);
            }
        }
        // Softer upright, stiffer across.
        let first = motion.partials[0].frequency;
        assert!(first[0] < 200.0 && first[1] > 200.0, "{first:?}");
        let periodic = motion.periodic(200.0);
        assert_eq!(periodic.partials[2].frequency, [600.0; 2]);
    }

    #[test]
    fn what_cannot_sound_is_refused() {
        let string = Sounding { length: 0.64, pitch: 200.0, inharmonicity: 0.0, pull: None };
        let pluck = Pluck { place: 0.7, height: 2e-3, angle: 0.0, width: 0.0 };
        assert!(Motion::plucked(&string, &pluck, 5e3, 1.0).is_none());
        let pluck = Pluck { place: 0.1, ..pluck };
        let place = PullPlace::new(0.64, 74.0, 0.16).expect("on the string");
        let planes = Planes { upright: 2.0 * place.unstable_from(), across: 0.0, lean: 0.0 };
        let drawn = Sounding { pull: Some((place, planes)), ..string };
        assert!(Motion::plucked(&drawn, &pluck, 5e3, 1.0).is_none());
        let mute = Sounding { pitch: 0.0, ..string };
        assert!(Motion::plucked(&mute, &pluck, 5e3, 1.0).is_none());
        let endless = Sounding { pitch: 1e-3, ..string };
        let motion = Motion::plucked(&endless, &pluck, 5e3, 1.0).expect("sounds");
        assert_eq!(motion.partials.len(), MOST_PARTIALS as usize);
    }
}
