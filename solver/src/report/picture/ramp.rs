//! The colour ramp of magnitudes: from the paper's own shade to the far end of lightness.
//!
//! A curve in OKLab whose lightness falls all the way while the hue turns a little from sand over
//! copper to dark wood, cut into steps of equal OKLab length. Lightness alone orders the colours,
//! so greyscale prints and colour-blind readers lose nothing. On dark paper the ramp runs the
//! other way: more is always further from the paper.

use crate::report::picture::oklab::Colour;

/// Points the curve is cut by; far more than colours asked for.
const FINE: usize = 512;

/// `n` colours, evenly far apart to the eye, the first next to the paper.
pub fn ramp(n: usize, dark: bool) -> Vec<Colour> {
    let curve: Vec<[f64; 3]> = (0..=FINE).map(|i| curve(i as f64 / FINE as f64)).collect();
    let mut along = vec![0.0];
    for pair in curve.windows(2) {
        let step: f64 = pair[0].iter().zip(pair[1]).map(|(p, q)| (p - q) * (p - q)).sum();
        along.push(along[along.len() - 1] + step.sqrt());
    }
    let length = along[FINE];
    let mut colours: Vec<Colour> = (0..n)
        .map(|i| {
            let wanted = length * i as f64 / (n.max(2) - 1) as f64;
            let at = along.partition_point(|s| *s < wanted).clamp(1, FINE);
            let part = (wanted - along[at - 1]) / (along[at] - along[at - 1]);
            let (p, q) = (curve[at - 1], curve[at]);
            Colour::oklab(std::array::from_fn(|k| p[k] + part * (q[k] - p[k])))
        })
        .collect();
    if dark {
        colours.reverse();
    }
    colours
}

/// OKLab at `t` from 0 (light) to 1 (dark).
fn curve(t: f64) -> [f64; 3] {
    let lightness = 0.965 - 0.745 * t;
    let hue = (88.0 - 66.0 * t).to_radians();
    let chroma = 0.020 + 0.098 * libm::sin(std::f64::consts::PI * libm::pow(t, 0.85));
    [lightness, chroma * libm::cos(hue), chroma * libm::sin(hue)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lightness_falls_and_steps_are_even() {
        for n in [5, 9, 16] {
            let colours = ramp(n, false);
            let steps: Vec<f64> = colours.windows(2).map(|c| c[0].difference(c[1])).collect();
            let mean = steps.iter().sum::<f64>() / steps.len() as f64;
            for (pair, step) in colours.windows(2).zip(&steps) {
                assert!(pair[0].to_oklab()[0] > pair[1].to_oklab()[0] + 0.01);
                // Chords of a gently bent curve, and 8-bit rounding of about 0.003 against steps of
                // 0.05 and more.
                assert!((step / mean - 1.0).abs() < 0.08, "{n}: {step} against {mean}");
            }
        }
    }

    #[test]
    fn all_colours_can_be_shown() {
        for t in 0..=20 {
            let lab = curve(f64::from(t) / 20.0);
            let shown = Colour::oklab(lab).to_oklab();
            let off: f64 = lab.iter().zip(shown).map(|(p, q)| (p - q).abs()).sum();
            // Half an 8-bit step in each of three components; a clipped colour is off by 0.02.
            assert!(off < 0.01, "{t}: {off}");
        }
    }

    #[test]
    fn the_dark_ramp_is_the_light_one_backwards() {
        let mut light = ramp(7, false);
        light.reverse();
        assert_eq!(light, ramp(7, true));
    }
}
