//! The reaction of a permeable half-space, whose answer is an image: every wave comes back with
//! -(mu - 1)/(mu + 1) of its strength.

use std::f64::consts::PI;

use crate::strings::fade::Fade;
use crate::strings::placed_reaction::PlacedReaction;
use crate::strings::plane::panel_nodes;
use crate::strings::reaction::{
    Nodes, PlanarWaves, PoleWaves, Reaction, RoundWaves, low_rank_factor,
};
use crate::units::{MM, MU_0};

pub(crate) const GAMMA: f64 = 0.9;
const Z0: f64 = 0.7 * MM;
const RADIUS: f64 = 1e-7;

/// Nodes in k for heights above 1.5 mm: exp(-2 k 1.5 mm) at the end is 1e-9.
fn waves(panels: usize) -> Vec<(f64, f64)> {
    let end = 7000.0;
    (0..panels)
        .flat_map(|i| {
            let edge = |i: usize| end * (i as f64 / panels as f64).powi(2);
            panel_nodes(edge(i), edge(i + 1), 12)
        })
        .collect()
}

/// Half-space z < 0 in cylindrical waves up to order `m_max`.
pub(crate) fn round(m_max: usize) -> Reaction {
    let nodes = waves(6);
    let k: Vec<f64> = nodes.iter().map(|n| n.0).collect();
    let n = k.len();
    let columns = (0..=m_max)
        .map(|m| {
            let eps = if m == 0 { 1.0 } else { 2.0 };
            let mut s = vec![0.0; n * n];
            for (i, (k, w)) in nodes.iter().enumerate() {
                s[i * n + i] = w * MU_0 * 4.0 * PI / eps * GAMMA * (-2.0 * k * Z0).exp();
            }
            low_rank_factor(s, n, 0.0)
        })
        .collect();
    Reaction::new(PoleWaves::Round(RoundWaves {
        z0: Z0,
        k,
        columns,
        panels: Vec::new(),
        within: f64::INFINITY,
        fade: Fade::NEVER,
    }))
}

/// Half-space z < 0 in plane waves.
pub(crate) fn planar(panels: usize) -> Reaction {
    let nodes = waves(panels);
    let kx: Vec<f64> = nodes.iter().map(|n| n.0).collect();
    let n = kx.len();
    let harmonics = nodes
        .iter()
        .map(|&(ky, wy)| {
            let mut s = vec![0.0; 4 * n * n];
            for (i, (kx, wx)) in nodes.iter().enumerate() {
                let kappa = kx.hypot(ky);
                let diagonal =
                    wx * wy * MU_0 * 2.0 * PI * PI * kappa * GAMMA * (-2.0 * kappa * Z0).exp();
                s[i * 2 * n + i] = diagonal;
                s[(n + i) * 2 * n + n + i] = diagonal;
            }
            (ky, low_rank_factor(s, 2 * n, 1e-9))
        })
        .collect();
    Reaction::new(PoleWaves::Planar(PlanarWaves { z0: Z0, kx, harmonics }))
}

/// A short string over the half-space, off the axis of the waves.
pub(crate) fn points(shift: [f64; 3]) -> Vec<[f64; 3]> {
    let x = [-2.0, -1.1, 0.0, 0.4, 1.7];
    x.iter().map(|x| [x * MM + shift[0], 0.3 * MM + shift[1], 2.0 * MM + shift[2]]).collect()
}

pub(crate) fn nodes(points: &[[f64; 3]], radius: f64) -> Nodes<'_> {
    Nodes { points, volume: &VOLUME, spacing: &[0.0; 5], radius, derivatives: true }
}

const VOLUME: [f64; 5] = [1e-9, 2e-9, 1.5e-9, 1e-9, 3e-9];

pub(crate) fn magnetisation() -> Vec<f64> {
    (0..15).map(|i| 1e5 * ((i * i) as f64 * 0.7 + 0.3).sin()).collect()
}

/// Volume times the field of the image dipoles, component-major.
pub(crate) fn image_field(m: &[f64], shift: [f64; 3]) -> Vec<f64> {
    let points = points(shift);
    let mut field = vec![0.0; 15];
    for i in 0..5 {
        for j in 0..5 {
            let (p, q) = (points[i], points[j]);
            let r = [p[0] - q[0], p[1] - q[1], p[2] + q[2]];
            let distance = r.iter().map(|c| c * c).sum::<f64>().sqrt();
            let moment = [m[j], m[5 + j], -m[10 + j]].map(|m| -GAMMA * VOLUME[j] * m);
            let along: f64 = r.iter().zip(moment).map(|(r, m)| r * m).sum::<f64>();
            for c in 0..3 {
                field[c * 5 + i] += VOLUME[i]
                    * (3.0 * along * r[c] / distance.powi(5) - moment[c] / distance.powi(3))
                    / (4.0 * PI);
            }
        }
    }
    field
}

#[test]
fn half_space_answers_with_images() {
    let m = magnetisation();
    let exact = image_field(&m, [0.0; 3]);
    let scale = exact.iter().fold(0.0_f64, |s, v| s.max(v.abs()));
    // Cylindrical waves up to m = 24 for places up to 2 mm off the axis and 4 mm above the image;
    // plane waves cut at exp(-2 k 2 mm) = 1e-12 and integrated over kx and ky.
    for (reaction, tolerance) in [(round(24), 1e-6), (planar(4), 1e-4)] {
        let field = reaction.placed(&nodes(&points([0.0; 3]), RADIUS)).apply(&m);
        for (value, exact) in field.iter().zip(&exact) {
            assert!((value - exact).abs() < tolerance * scale, "{value} {exact} of {scale}");
        }
    }
}

/// Nodes that mirror each other share their sums; the string that is cut off on one side has none that do.
#[test]
fn mirrored_nodes_are_as_those_by_themselves() {
    let x = [-2.0, -1.1, 0.0, 1.1, 2.0];
    let points = x.map(|x| [x * MM, 0.0, 2.0 * MM]);
    let reaction = planar(3);
    let all = reaction.placed(&nodes(&points, 0.3 * MM));
    let some = Nodes { points: &points[..4], spacing: &[0.0; 4], ..nodes(&points, 0.3 * MM) };
    let some = reaction.placed(&Nodes { volume: &VOLUME[..4], ..some });
    let matrices = |r: &PlacedReaction| -> Vec<Vec<f64>> {
        [&r.f].into_iter().chain(&r.d).chain(&r.dd).cloned().collect()
    };
    for (all, some) in matrices(&all).iter().zip(matrices(&some)) {
        let own: Vec<f64> =
            (0..some.len()).map(|at| all[at / 12 * 15 + at % 12 / 4 * 5 + at % 4]).collect();
        // Rounding of sums of some hundred waves.
        assert!(deviation(&own, &some) < 1e-12 * greatest(&some));
    }
}

/// Largest difference of two vectors.
fn deviation(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).fold(0.0_f64, |worst, (a, b)| worst.max((a - b).abs()))
}

fn greatest(a: &[f64]) -> f64 {
    a.iter().fold(0.0_f64, |s, v| s.max(v.abs()))
}

#[test]
fn derivatives_by_the_place_equal_differences() {
    let m = magnetisation();
    let step = 1e-6;
    // Truncation of the differences: (step / 0.5 mm)^2 / 6, about 1e-6.
    let tolerance = 1e-5;
    for (reaction, is_round) in [(round(4), true), (planar(3), false)] {
        let at = |shift: [f64; 3]| reaction.placed(&nodes(&points(shift), 0.3 * MM));
        let here = at([0.0; 3]);
        let upward = greatest(&here.apply_derivative(2, &m));
        for p in 0..3 {
            let mut up = [0.0; 3];
            up[p] = step;
            let (plus, minus) = (at(up), at(up.map(|s| -s)));
            let difference = |a: &[f64], b: &[f64]| -> Vec<f64> {
                a.iter().zip(b).map(|(a, b)| (a - b) / (2.0 * step)).collect()
            };
            let slope = here.apply_derivative(p, &m);
            if !is_round && p == 1 {
                // Plane waves are centred on the string: the reaction has no sideways slope.
                assert!(greatest(&slope) < 1e-12 * upward);
                continue;
            }
            let f = difference(&plus.f, &minus.f);
            assert!(deviation(&f, &here.d[p]) < tolerance * greatest(&f));
            let measured = difference(&plus.apply(&m), &minus.apply(&m));
            assert!(deviation(&measured, &slope) < tolerance * upward);
            for q in 1..3 {
                if p > 0 && (is_round || q == 2) {
                    let measured =
                        difference(&plus.apply_derivative(q, &m), &minus.apply_derivative(q, &m));
                    let curved = here.apply_second(p, q, &m);
                    assert!(deviation(&measured, &curved) < tolerance * upward / MM);
                }
            }
        }
    }
}

#[test]
fn factor_reproduces_the_matrix() {
    let s = vec![4.0, 2.0, 0.4, 2.0, 3.0, 1.2, 0.4, 1.2, 0.64];
    let columns = low_rank_factor(s.clone(), 3, 1e-14);
    for i in 0..3 {
        for j in 0..3 {
            let sum: f64 = columns.iter().map(|c| c[i] * c[j]).sum();
            assert!((sum - s[i * 3 + j]).abs() < 1e-14);
        }
    }
    // A matrix of rank one needs one column.
    assert_eq!(low_rank_factor(vec![1.0, 2.0, 2.0, 4.0], 2, 1e-12).len(), 1);
}
