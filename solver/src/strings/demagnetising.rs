//! The string's own field: energy of its magnetisation in the rings of charge that it makes.
//!
//! With A = pi a^2 and the kernels of [`crate::strings::kernel`],
//!
//! ```text
//! axial        D[u][v] = A^2 / (2 pi a) int int N_u'(x) N_v'(x') P(|x - x'| / a) dx dx'
//! transverse   D[u][v] = A / a int int N_u(x) N_v(x') N(|x - x'| / a) dx dx'
//! ```
//!
//! N_u the basis functions of [`crate::strings::segments`]. The self-energy is mu_0/2 M.D.M, and the
//! mean demagnetising field times the volume of a node is -D M. Both matrices are symmetric and
//! positive semi-definite; unit of D: m3. Two segments and their distance make the same blocks wherever
//! they are, and mirrored ones the mirrored blocks, so each such pair is integrated once.

use std::f64::consts::PI;

use crate::strings::gauss::{gauss_legendre, gauss_lobatto};
use crate::strings::kernel::ring_and_transverse;
use crate::strings::segments::{DEGREE, Segments};

const N: usize = DEGREE + 1;

/// Energy matrices over all nodes, `[n * n]` by rows: axial and transverse.
pub(crate) fn matrices(segments: &Segments, radius: f64) -> (Vec<f64>, Vec<f64>) {
    let n = segments.nodes().len();
    let (mut axial, mut transverse) = (vec![0.0; n * n], vec![0.0; n * n]);
    let mut pairs = Pairs { basis: Basis::new(), radius, known: Vec::new() };
    let area = PI * radius * radius;
    let edges = segments.edges();
    for e in 0..edges.len() - 1 {
        for f in 0..=e {
            let (p, t) = pairs.blocks([[edges[e], edges[e + 1]], [edges[f], edges[f + 1]]]);
            for i in 0..N {
                for j in 0..N {
                    let (u, v) = (e * DEGREE + i, f * DEGREE + j);
                    let a = area * area / (2.0 * PI * radius) * p[i][j];
                    let b = area / radius * t[i][j];
                    axial[u * n + v] += a;
                    transverse[u * n + v] += b;
                    if e != f {
                        axial[v * n + u] += a;
                        transverse[v * n + u] += b;
                    }
                }
            }
        }
    }
    (axial, transverse)
}

type Block = [[f64; N]; N];

/// Pairs of segments that have been integrated.
struct Pairs {
    basis: Basis,
    radius: f64,
    known: Vec<Known>,
}

struct Known {
    /// Lengths of the longer and the shorter segment and the distance of their middles, m.
    shape: [f64; 3],
    p: Block,
    t: Block,
}

/// Pairs as alike as this are the same but for rounding, as a share of their size.
const ALIKE: f64 = 1e-12;

impl Pairs {
    /// As [`Basis::pair`].
    fn blocks(&mut self, [e, f]: [[f64; 2]; 2]) -> (Block, Block) {
        let length = |x: [f64; 2]| x[1] - x[0];
        let middle = |x: [f64; 2]| 0.5 * (x[0] + x[1]);
        let distance = middle(e) - middle(f);
        let mirrored = length(e) < length(f);
        let (longer, shorter) = if mirrored { (f, e) } else { (e, f) };
        let shape = [length(longer), length(shorter), distance];
        let size = shape[0] + e[1].abs().max(f[0].abs());
        let alike = |known: &&Known| {
            known.shape.iter().zip(shape).all(|(a, b)| (a - b).abs() <= ALIKE * size)
        };
        let (p, t) = match self.known.iter().find(alike) {
            Some(Known { p, t, .. }) => (*p, *t),
            None => {
                // The longer one to the right, as far as they are apart.
                let at = |x: [f64; 2], to: f64| x.map(|v| v - middle(x) + to);
                let pair = if mirrored { [at(f, distance), at(e, 0.0)] } else { [e, f] };
                let (p, t) = self.basis.pair(pair, self.radius);
                self.known.push(Known { shape, p, t });
                (p, t)
            }
        };
        if mirrored { (turned(&p), turned(&t)) } else { (p, t) }
    }
}

/// The block of the mirrored pair: the other segment first, both from right to left.
fn turned(block: &Block) -> Block {
    std::array::from_fn(|i| std::array::from_fn(|j| block[N - 1 - j][N - 1 - i]))
}

/// The basis functions on a segment as polynomials in u from -1 to 1.
struct Basis {
    /// `[function][power of u]`.
    power: Block,
    inner: (Vec<f64>, Vec<f64>),
    outer: (Vec<f64>, Vec<f64>),
}

impl Basis {
    fn new() -> Self {
        let (nodes, _) = gauss_lobatto(DEGREE);
        let mut power = [[0.0; N]; N];
        for (i, row) in power.iter_mut().enumerate() {
            row[0] = 1.0;
            for (degree, j) in (0..N).filter(|&j| j != i).enumerate() {
                let inverse = 1.0 / (nodes[i] - nodes[j]);
                for p in (0..=degree + 1).rev() {
                    let lower = if p > 0 { row[p - 1] } else { 0.0 };
                    row[p] = (lower - nodes[j] * row[p]) * inverse;
                }
            }
        }
        Self { power, inner: gauss_legendre(N), outer: gauss_legendre(8) }
    }

    /// Values and derivatives (with respect to u) of all functions.
    fn at(&self, u: f64) -> ([f64; N], [f64; N]) {
        let (mut value, mut slope) = ([0.0; N], [0.0; N]);
        for i in 0..N {
            for p in (0..N).rev() {
                slope[i] = slope[i] * u + value[i];
                value[i] = value[i] * u + self.power[i][p];
            }
        }
        (value, slope)
    }

    /// Double integrals over two segments, the first not to the left of the second: derivatives
    /// with P, and values with N.
    ///
    /// Written over the distance s = x - x': int k(|s|) C(s) ds, where C(s) is the correlation of
    /// the two polynomials, a polynomial between the breaks and integrated exactly. The outer rule
    /// is graded towards s = 0, where the kernels have a logarithm.
    fn pair(&self, [e, f]: [[f64; 2]; 2], radius: f64) -> (Block, Block) {
        let (mut p, mut t) = ([[0.0; N]; N], [[0.0; N]; N]);
        let same = e == f;
        let mut breaks = [e[0] - f[1], e[0] - f[0], e[1] - f[1], e[1] - f[0]].map(|s| s.max(0.0));
        breaks.sort_by(f64::total_cmp);
        let half = |x: [f64; 2]| 0.5 * (x[1] - x[0]);
        let to_u = |x: [f64; 2], at: f64| (at - 0.5 * (x[0] + x[1])) / half(x);
        for piece in breaks.windows(2) {
            for [from, to] in graded(piece[0], piece[1], radius) {
                for (node, weight) in self.outer.0.iter().zip(&self.outer.1) {
                    let s = 0.5 * (from + to) + 0.5 * (to - from) * node;
                    let weight = 0.5 * (to - from) * weight;
                    let (ring, across) = ring_and_transverse(s / radius);
                    let low = e[0].max(f[0] + s);
                    let high = e[1].min(f[1] + s);
                    for (node, inner) in self.inner.0.iter().zip(&self.inner.1) {
                        let x = 0.5 * (low + high) + 0.5 * (high - low) * node;
                        let w = weight * inner * 0.5 * (high - low);
                        let (ve, se) = self.at(to_u(e, x));
                        let (vf, sf) = self.at(to_u(f, x - s));
                        let scale = w * ring / (half(e) * half(f));
                        for i in 0..N {
                            for j in 0..N {
                                p[i][j] += scale * se[i] * sf[j];
                                t[i][j] += w * across * ve[i] * vf[j];
                                if same {
                                    p[j][i] += scale * se[i] * sf[j];
                                    t[j][i] += w * across * ve[i] * vf[j];
                                }
                            }
                        }
                    }
                }
            }
        }
        (p, t)
    }
}

/// Pieces of [from, to], each no longer than its distance from 0, the first at most
/// `scale` / 65536 long if it starts at 0.
fn graded(from: f64, to: f64, scale: f64) -> Vec<[f64; 2]> {
    let mut pieces = Vec::new();
    let mut s = from;
    while s < to {
        let mut next = (2.0 * s).max(scale / 65536.0);
        // No sliver at the end.
        if next > to || to - next < 0.1 * (next - s) {
            next = to;
        }
        pieces.push([s, next]);
        s = next;
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strings::gauss::lagrange;

    /// A wave M = cos kx has the demagnetising factor ka I_1(ka) K_0(ka) along the axis, from the
    /// ring potential int P(|t|) cos(ka t) dt = 2 I_1 K_0 / ka, and I_1 K_1 across it.
    #[test]
    fn waves_have_their_exact_demagnetising_factors() {
        let (a, length) = (0.4, 200.0);
        let segments = Segments::graded(length, 120.0, 1.9);
        let (axial, transverse) = matrices(&segments, a);
        for k in [0.25, 0.5] {
            // A wave faded out smoothly towards the ends.
            let m: Vec<f64> = segments
                .nodes()
                .iter()
                .map(|x| (k * x).cos() * (-(x / 30.0).powi(2)).exp())
                .collect();
            let volume: f64 =
                m.iter().zip(segments.weights()).map(|(m, w)| PI * a * a * w * m * m).sum();
            let energy = |d: &[f64]| -> f64 {
                let n = m.len();
                (0..n * n).map(|i| m[i / n] * d[i] * m[i % n]).sum::<f64>() / volume
            };
            // The fading spreads the energy over k + q with weight exp(-450 q^2).
            let (mut exact, mut sum) = ([0.0; 2], 0.0);
            for i in -60..=60 {
                let q = 0.0025 * i as f64;
                let weight = (-450.0 * q * q).exp();
                let factors = wave_factors((k + q) * a);
                exact = [exact[0] + weight * factors[0], exact[1] + weight * factors[1]];
                sum += weight;
            }
            let (x, t) = (energy(&axial) / exact[0] * sum, energy(&transverse) / exact[1] * sum);
            // Degree four on segments of 0.8 radian leaves 1e-6.
            assert!((x - 1.0).abs() < 1e-5, "axial {k}: {x}");
            assert!((t - 1.0).abs() < 1e-5, "transverse {k}: {t}");
        }
    }

    /// x I_1(x) K_0(x) and I_1(x) K_1(x) by their integrals.
    fn wave_factors(x: f64) -> [f64; 2] {
        let (nodes, weights) = gauss_legendre(60);
        let (mut i1, mut k0, mut k1) = (0.0, 0.0, 0.0);
        for (u, w) in nodes.iter().zip(&weights) {
            let theta = 0.5 * PI * (u + 1.0);
            i1 += 0.5 * w * (x * theta.cos()).exp() * theta.cos();
            let t = 3.5 * (u + 1.0);
            k0 += 3.5 * w * (-x * t.cosh()).exp();
            k1 += 3.5 * w * (-x * t.cosh()).exp() * t.cosh();
        }
        [x * i1 * k0, i1 * k1]
    }

    /// Pairs that are taken from others against each integrated by itself.
    #[test]
    fn pairs_taken_from_others_are_those_of_their_own() {
        let segments = Segments::graded(40.0, 9.0, 2.0);
        let mut pairs = Pairs { basis: Basis::new(), radius: 0.2, known: Vec::new() };
        let edges = segments.edges();
        let count = edges.len() - 1;
        let mut worst: f64 = 0.0;
        for e in 0..count {
            for f in 0..=e {
                let pair = [[edges[e], edges[e + 1]], [edges[f], edges[f + 1]]];
                let (told, own) = (pairs.blocks(pair), Basis::new().pair(pair, 0.2));
                let off = |a: &Block, b: &Block| {
                    let differences = a.iter().flatten().zip(b.iter().flatten());
                    let size = b.iter().flatten().fold(0.0_f64, |s, v| s.max(v.abs()));
                    differences.fold(0.0_f64, |worst, (a, b)| worst.max((a - b).abs())) / size
                };
                worst = worst.max(off(&told.0, &own.0)).max(off(&told.1, &own.1));
            }
        }
        // Rounding of places some ten times as large as the distances, times the kernels' slopes.
        assert!(worst < 1e-10, "{worst}");
        assert!(2 * pairs.known.len() < count * (count + 1) / 2, "{}", pairs.known.len());
    }

    #[test]
    fn power_form_is_the_lagrange_basis() {
        let (nodes, _) = gauss_lobatto(DEGREE);
        let (value, slope) = Basis::new().at(0.37);
        let (exact, exact_slope) = lagrange(&nodes, 0.37);
        for i in 0..N {
            assert!((value[i] - exact[i]).abs() < 1e-14);
            assert!((slope[i] - exact_slope[i]).abs() < 1e-13);
        }
    }
}
