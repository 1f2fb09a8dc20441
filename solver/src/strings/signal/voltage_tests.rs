//! The voltage against the linkage change times the velocity, closed forms, and a string stepped
//! through time.

use std::f64::consts::PI;

use crate::strings::signal::aperture::Aperture;
use crate::strings::signal::harmonics::Spectrum;
use crate::strings::signal::linkage_map::{Grid, LinkageMap};
use crate::strings::signal::motion::{Motion, Sounding};
use crate::strings::signal::pluck::Pluck;
use crate::strings::signal::voltage::{Pickup, VoltageError};

const LENGTH: f64 = 0.6477;
const PLACE: f64 = 0.16;
/// Linkage at rest, Wb-turns, and the length in which it falls to 1/e, m.
const REST: f64 = 1.3e-3;
const FALL: f64 = 2.4e-3;

/// A linkage like that of a string over a pole: falling upwards, even sideways.
fn linkage([y, z]: [f64; 2]) -> f64 {
    REST * (-z / FALL).exp() / (1.0 + (y / 6e-3).powi(2))
}

fn pickup(aperture: Aperture) -> Pickup {
    let grid = Grid { range: [[-2.5e-3, 2.5e-3]; 2], count: [14, 14] };
    let values: Vec<f64> = grid.places().into_iter().map(linkage).collect();
    let map = LinkageMap::new(grid, &values).expect("finite");
    Pickup { place: PLACE, aperture, map }
}

/// Shape of the first partial at the pickup.
fn shape() -> f64 {
    (PI * PLACE / LENGTH).sin()
}

#[test]
fn a_small_swing_gives_linkage_change_times_velocity() {
    let pickup = pickup(Aperture::point());
    let (frequency, amplitude) = (196.0, 0.1e-6);
    let omega = 2.0 * PI * frequency;
    for (angle, change) in
        [(0.0, -REST / FALL), (PI / 2.0, 0.0), (0.5, -REST / FALL * 0.5_f64.cos())]
    {
        let motion = Motion::sinusoidal(LENGTH, frequency, amplitude, angle);
        let step = 1.0 / (frequency * 64.0);
        let voltage = pickup.voltage(&motion, 0.0, step, 64).expect("within the map");
        let peak = REST / FALL * omega * amplitude * shape();
        for (i, v) in voltage.iter().enumerate() {
            let velocity = -omega * amplitude * shape() * (omega * step * i as f64).sin();
            // The next order is the amplitude against the fall, 4e-5.
            assert!((v - change * velocity).abs() < 1e-4 * peak, "{angle} {i}: {v}");
        }
    }
}

/// The harmonics of exp(-a cos(omega t) / l) are Bessel functions I_k(a / l), from their series.
#[test]
fn a_large_swing_has_the_harmonics_of_its_exponential() {
    let pickup = pickup(Aperture::point());
    let (frequency, amplitude) = (196.0, 2e-3 / shape());
    let motion = Motion::sinusoidal(LENGTH, frequency, amplitude, 0.0);
    let count = 128;
    let step = 1.0 / (frequency * f64::from(count));
    let voltage = pickup.voltage(&motion, 0.0, step, count as usize).expect("within the map");
    let spectrum = Spectrum::of_period(&voltage, 8);
    let bessel = |k: i32, x: f64| -> f64 {
        let mut term = (0.5 * x).powi(k) / (1..=k).map(f64::from).product::<f64>();
        let mut sum = term;
        for m in 1..30 {
            term *= (0.5 * x).powi(2) / (f64::from(m) * f64::from(m + k));
            sum += term;
        }
        sum
    };
    let first = spectrum.amplitude(1);
    for k in 1..=8 {
        let want = 2.0 * REST * bessel(k, 2e-3 / FALL) * 2.0 * PI * frequency * f64::from(k);
        // The map over +-2.5 mm with 14 places is good to 1e-11 of the linkage; k-fold here.
        assert!((spectrum.amplitude(k as usize) - want).abs() < 1e-8 * first, "{k}");
    }
    // At a swing of 0.5 mm the second harmonic is I_2/I_1 * 2 = a / 2 l: about a tenth.
    let motion = Motion::sinusoidal(LENGTH, frequency, 0.5e-3 / shape(), 0.0);
    let voltage = pickup.voltage(&motion, 0.0, step, count as usize).expect("within the map");
    let spectrum = Spectrum::of_period(&voltage, 8);
    let ratio = 2.0 * bessel(2, 0.5e-3 / FALL) / bessel(1, 0.5e-3 / FALL);
    assert!((spectrum.amplitude(2) / spectrum.amplitude(1) - ratio).abs() < 1e-8);
    assert!(spectrum.distortion() > ratio && spectrum.distortion() < 1.01 * ratio);
}

/// A string stepped through time, piece by piece, by the wave equation: at a time step of one piece
/// per step the scheme u(i, t+1) = u(i-1, t) + u(i+1, t) - u(i, t-1) is exact. Linkage is summed over
/// the aperture at every step and differenced in time; no partials, no gradients.
#[test]
fn harmonics_agree_with_a_string_stepped_through_time() {
    let pieces = 4096_usize;
    let h = LENGTH / pieces as f64;
    let frequency = 110.0;
    let pluck = Pluck { place: 0.2 * LENGTH, height: 1.5e-3, angle: 0.7, width: 12e-3 };
    let lift = |x: f64| {
        let triangle =
            |x: f64| pluck.height * (x / pluck.place).min((LENGTH - x) / (LENGTH - pluck.place));
        // Spread over the width: the mean of the triangle there, which near the ends is the
        // triangle itself since it is odd about them.
        let odd = |x: f64| {
            if x < 0.0 {
                -triangle(-x)
            } else if x > LENGTH {
                -triangle(2.0 * LENGTH - x)
            } else {
                triangle(x)
            }
        };
        let parts = 400;
        (0..parts)
            .map(|i| odd(x + pluck.width * ((f64::from(i) + 0.5) / f64::from(parts) - 0.5)))
            .sum::<f64>()
            / f64::from(parts)
    };
    let density: Vec<f64> =
        (-60..=60).map(|i| (-0.5 * (f64::from(i) * 0.5e-3 / 6e-3).powi(2)).exp()).collect();
    let x: Vec<f64> = (-60..=60).map(|i| f64::from(i) * 0.5e-3).collect();
    let aperture = Aperture::from_density(&x, &density).expect("a density");
    let pickup = pickup(aperture.clone());

    let at = |u: &[f64], x: f64| {
        let place = (x / h).clamp(0.0, pieces as f64 - 1.0);
        let (i, share) = (place.floor() as usize, place.fract());
        u[i] * (1.0 - share) + u[i + 1] * share
    };
    let total = |u: &[f64]| -> f64 {
        let (s, c) = pluck.angle.sin_cos();
        aperture
            .offsets
            .iter()
            .zip(&aperture.weights)
            .map(|(o, w)| {
                let r = at(u, PLACE + o);
                w * linkage([r * s, r * c])
            })
            .sum()
    };
    let mut now: Vec<f64> = (0..=pieces).map(|i| lift(i as f64 * h)).collect();
    // At rest at first: the step back is the step forward.
    let mut before: Vec<f64> = now.clone();
    for i in 1..pieces {
        before[i] = 0.5 * (now[i - 1] + now[i + 1]);
    }
    (before[0], before[pieces]) = (0.0, 0.0);
    let steps = 2 * pieces;
    let mut stepped = Vec::with_capacity(steps);
    for _ in 0..steps {
        stepped.push(total(&now));
        let mut next = vec![0.0; pieces + 1];
        for i in 1..pieces {
            next[i] = now[i - 1] + now[i + 1] - before[i];
        }
        before = std::mem::replace(&mut now, next);
    }
    let step = 1.0 / (frequency * steps as f64);
    let slope: Vec<f64> = (0..steps)
        .map(|i| (stepped[(i + 1) % steps] - stepped[(i + steps - 1) % steps]) / (2.0 * step))
        .collect();
    let want = Spectrum::of_period(&slope, 12);

    let string = Sounding { length: LENGTH, pitch: frequency, inharmonicity: 0.0, pull: None };
    let motion =
        Motion::plucked(&string, &pluck, 120.5 * frequency, f64::INFINITY).expect("on the string");
    let samples = 1024;
    let step = 1.0 / (frequency * f64::from(samples));
    let voltage = pickup.voltage(&motion, 0.0, step, samples as usize).expect("within the map");
    let got = Spectrum::of_period(&voltage, 12);
    let largest = (1..=12).map(|k| want.amplitude(k)).fold(0.0, f64::max);
    for k in 1..=12 {
        let [a, b] = [got.harmonics[k - 1], want.harmonics[k - 1]];
        let off = (a[0] - b[0]).hypot(a[1] - b[1]);
        // The central difference loses (pi k / 4096)^2 2/3 = 6e-5 of harmonic 12, the partials left
        // out and straight lines between pieces some 1e-5.
        assert!(off < 1e-4 * largest, "{k}: {a:?} {b:?}");
    }
    // What is not linear is well above that: the same string over a linear map.
    let linear = |[y, z]: [f64; 2]| REST * (1.0 - z / FALL) + 0.0 * y;
    let grid = Grid { range: [[-2.5e-3, 2.5e-3]; 2], count: [2, 2] };
    let values: Vec<f64> = grid.places().into_iter().map(linear).collect();
    let flat = Pickup { map: LinkageMap::new(grid, &values).expect("finite"), ..pickup };
    let voltage = flat.voltage(&motion, 0.0, step, samples as usize).expect("within the map");
    let flat = Spectrum::of_period(&voltage, 12);
    let apart = (1..=12).map(|k| (flat.amplitude(k) - want.amplitude(k)).abs()).fold(0.0, f64::max);
    assert!(apart > 0.02 * largest, "{apart} {largest}");
}

#[test]
fn nodes_move_as_the_string_is_fretted() {
    let pickup = pickup(Aperture::point());
    let pluck =
        |length: f64| Pluck { place: 0.13 * length, height: 0.5e-6, angle: 0.0, width: 0.0 };
    let harmonic = |length: f64, k: usize| {
        let string = Sounding { length, pitch: 110.0, inharmonicity: 0.0, pull: None };
        let motion = Motion::plucked(&string, &pluck(length), 1100.0, f64::INFINITY).expect("on");
        let voltage =
            pickup.voltage(&motion, 0.0, 1.0 / (110.0 * 64.0), 64).expect("within the map");
        let spectrum = Spectrum::of_period(&voltage, 12);
        spectrum.amplitude(k) / spectrum.amplitude(1)
    };
    // A speaking length of four times the place has a node of partial 4 there; three semitones up
    // it is partial 3.36 that has one. A swing of half a micrometre leaves 1e-4 of harmonics.
    assert!(harmonic(4.0 * PLACE, 4) < 1e-3);
    assert!(harmonic(4.0 * PLACE / 2.0_f64.powf(0.25), 4) > 0.1);
    assert!(harmonic(3.0 * PLACE, 3) < 1e-3 && harmonic(4.0 * PLACE, 3) > 0.1);
}

#[test]
fn the_voltage_is_the_rate_of_the_linkage() {
    let density = [0.0, 1.0, 0.5, 0.0];
    let aperture =
        Aperture::from_density(&[-9e-3, -2e-3, 5e-3, 9e-3], &density).expect("a density");
    let pickup = pickup(aperture);
    let string = Sounding { length: LENGTH, pitch: 110.0, inharmonicity: 1e-4, pull: None };
    let pluck = Pluck { place: 0.1, height: 1.5e-3, angle: 0.6, width: 3e-3 };
    let motion = Motion::plucked(&string, &pluck, 3000.0, 0.3).expect("on the string");
    let (t, h) = (3.21e-3, 1e-7);
    let link = |t: f64| pickup.linkage(&motion, t).expect("within the map");
    let difference = (link(t + h) - link(t - h)) / (2.0 * h);
    let voltage = pickup.voltage(&motion, t, 1.0, 1).expect("within the map")[0];
    // Second order (omega h)^2 / 6 = 6e-7 of the highest partial; rounding 1e-16 L / h = 1e-12 V.
    assert!((voltage / difference - 1.0).abs() < 1e-5, "{voltage} {difference}");
}

#[test]
fn what_the_map_does_not_hold_is_refused() {
    let pickup = pickup(Aperture::point());
    let wide = Motion::sinusoidal(LENGTH, 110.0, 2.6e-3 / shape(), 0.0);
    assert!(matches!(pickup.voltage(&wide, 0.0, 1e-3, 4), Err(VoltageError::TooWide { .. })));
    let short = Motion::sinusoidal(0.15, 110.0, 1e-3, 0.0);
    assert!(matches!(pickup.linkage(&short, 0.0), Err(VoltageError::OffString { .. })));
}
