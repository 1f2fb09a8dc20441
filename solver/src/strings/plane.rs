//! From the vector potential on a line below the string to the field everywhere above it.
//!
//! In: samples of the vector potential on z = z0 (axisymmetric: A_phi(r); planar: A along y). Out:
//! amplitudes of waves that decay upward, from
//!
//! ```text
//! axisymmetric   A_phi(r, z) = int alpha(k) J1(k r) exp(-k (z - z0)) k dk
//!                alpha(k)    = int A_phi(r, z0) J1(k r) r dr
//!                phi         = 1/mu_0 int alpha(k) k J0(k r) exp(-k (z - z0)) dk
//! planar         A(x, z)     = int (c(k) cos kx + s(k) sin kx) exp(-k (z - z0)) dk
//!                c(k)        = 1/pi int A(x, z0) cos kx dx,  s(k) likewise with sin kx
//!                phi         = 1/mu_0 int (c(k) sin kx - s(k) cos kx) exp(-k (z - z0)) dk
//! ```
//!
//! Far out the field is that of a few poles seen from a distance: a buried dipole and quadrupole
//! (and a uniform field, from a far boundary or laid on) are fitted to the outer samples, taken
//! out, and transformed in closed form, so that the rest may be cut off. For large k the far part
//! of the rest is smooth on the scale 1/k and contributes nothing; each band of k therefore
//! integrates over its own radius only, closed by a smooth window.

use std::f64::consts::PI;

use crate::strings::fourier::PlaneWaves;
use crate::strings::gauss::gauss_legendre;
use crate::strings::jet::Part;
use crate::strings::spectral::{Order, SpectralField};
use crate::units::MU_0;

/// Where the potential is sampled and where the field will be asked for. All in m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaneSampling {
    /// Height of the sampled line; all sources lie below it.
    pub z0: f64,
    /// Lowest height at which the field will be asked for, above `z0`.
    pub lowest: f64,
    /// Largest distance from the axis (or from x = 0) at which it will be asked for.
    pub reach: f64,
    /// Distance from the axis (or from x = 0) within which sources come close to the line.
    pub rough: f64,
    /// Distance up to which samples are good.
    pub extent: f64,
    /// Depth below `z0` of the middle of the sources.
    pub depth: f64,
}

/// Points per panel in k and in r.
const K_POINTS: usize = 16;
const R_POINTS: usize = 10;

/// The upper field of an axisymmetric section from A_phi(r) (T m) on r >= 0, z = z0.
///
/// Returns the waves and the uniform field strength H_z (A/m) that goes with them.
pub(crate) fn axisymmetric(a_phi: impl Fn(f64) -> f64, s: &PlaneSampling) -> (SpectralField, f64) {
    let depth = s.depth.max(s.lowest - s.z0);
    let basis = |r: f64| {
        let q = r * r + depth * depth;
        [r / (q * q.sqrt()), 3.0 * r * depth / (q * q * q.sqrt()), 0.5 * r]
    };
    let tail = fit_tail(&a_phi, basis, s.extent);
    let rest = |r: f64| a_phi(r) - dot(&tail, &basis(r));

    let mut k_nodes = Vec::new();
    let mut amplitude = Vec::new();
    for (k_low, k_high) in wave_panels(s) {
        let grid = half_line_grid(s, k_high);
        let samples: Vec<(f64, f64)> = grid.iter().map(|&(r, w)| (r, w * r * rest(r))).collect();
        for (k, weight) in panel_nodes(k_low, k_high, K_POINTS) {
            let rest: f64 = samples.iter().map(|&(r, f)| f * libm::j1(k * r)).sum();
            let alpha = rest + (tail[0] + tail[1] * k) * (-k * depth).exp();
            k_nodes.push(k);
            amplitude.push(weight * k * alpha / MU_0);
        }
    }
    let orders = vec![Order { m: 0, part: Part::Cosine, amplitude }];
    (SpectralField { z0: s.z0, k: k_nodes, orders }, tail[2] / MU_0)
}

/// The upper field of a planar section from A(x) (T m) on z = z0.
///
/// Signs: B_x = dA/dz, B_z = -dA/dx, so a wave A = cos kx exp(-k zeta) has mu_0 phi = sin kx
/// exp(-k zeta) and A = sin kx has mu_0 phi = -cos kx. Returns the waves and the uniform H_z (A/m).
pub(crate) fn planar(a: impl Fn(f64) -> f64, s: &PlaneSampling) -> (PlaneWaves, f64) {
    let depth = s.depth.max(s.lowest - s.z0);
    let q = |x: f64| x * x + depth * depth;
    let even = |x: f64| 0.5 * (a(x) + a(-x));
    let odd = |x: f64| 0.5 * (a(x) - a(-x));
    // Line dipole and quadrupole at `depth`; a constant is without a field, a slope is -B_z.
    let even_basis = |x: f64| [depth / q(x), (depth * depth - x * x) / (q(x) * q(x)), 1.0];
    let odd_basis = |x: f64| [x / q(x), 2.0 * x * depth / (q(x) * q(x)), x];
    let even_tail = fit_tail(&even, even_basis, s.extent);
    let odd_tail = fit_tail(&odd, odd_basis, s.extent);

    let mut waves = PlaneWaves { z0: s.z0, k: vec![], cosine: vec![], sine: vec![] };
    for (k_low, k_high) in wave_panels(s) {
        let samples: Vec<[f64; 3]> = half_line_grid(s, k_high)
            .iter()
            .map(|&(x, w)| {
                let even = even(x) - dot(&even_tail, &even_basis(x));
                let odd = odd(x) - dot(&odd_tail, &odd_basis(x));
                [x, w * 2.0 / PI * even, w * 2.0 / PI * odd]
            })
            .collect();
        for (k, weight) in panel_nodes(k_low, k_high, K_POINTS) {
            let decay = (-k * depth).exp();
            let mut even = (even_tail[0] + even_tail[1] * k) * decay;
            let mut odd = (odd_tail[0] + odd_tail[1] * k) * decay;
            for [x, e, o] in &samples {
                let (sin, cos) = (k * x).sin_cos();
                even += e * cos;
                odd += o * sin;
            }
            waves.k.push(k);
            waves.sine.push(weight * even / MU_0);
            waves.cosine.push(-weight * odd / MU_0);
        }
    }
    (waves, -odd_tail[2] / MU_0)
}

fn dot<const N: usize>(a: &[f64; N], b: &[f64; N]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Least squares of `basis` to the outer samples; terms that the samples cannot tell apart come
/// out small rather than wild because each column is scaled and the matrix slightly regularised.
fn fit_tail<const N: usize>(
    sample: &impl Fn(f64) -> f64,
    basis: impl Fn(f64) -> [f64; N],
    extent: f64,
) -> [f64; N] {
    const POINTS: usize = 40;
    let mut normal = [[0.0; N]; N];
    let mut right = [0.0; N];
    let mut scale = [0.0_f64; N];
    let at = |i: usize| extent * (0.35 + 0.5 * (i as f64 + 0.5) / POINTS as f64);
    for i in 0..POINTS {
        for (s, b) in scale.iter_mut().zip(basis(at(i))) {
            *s = s.max(b.abs());
        }
    }
    for i in 0..POINTS {
        let r = at(i);
        let b = basis(r);
        for p in 0..N {
            for q in 0..N {
                normal[p][q] += b[p] / scale[p] * b[q] / scale[q];
            }
            right[p] += b[p] / scale[p] * sample(r);
        }
    }
    for (p, row) in normal.iter_mut().enumerate() {
        row[p] *= 1.0 + 1e-12;
    }
    let mut x = gauss_eliminate(normal, right);
    for (value, s) in x.iter_mut().zip(scale) {
        *value /= s;
    }
    x
}

/// Elimination without pivoting: the matrix is symmetric and positive definite.
fn gauss_eliminate<const N: usize>(mut a: [[f64; N]; N], mut b: [f64; N]) -> [f64; N] {
    for i in 0..N {
        for j in i + 1..N {
            let factor = a[j][i] / a[i][i];
            for c in i..N {
                a[j][c] -= factor * a[i][c];
            }
            b[j] -= factor * b[i];
        }
    }
    for i in (0..N).rev() {
        for c in i + 1..N {
            b[i] -= a[i][c] * b[c];
        }
        b[i] /= a[i][i];
    }
    b
}

/// Nodes and weights of an n-point rule on [from, to].
pub(crate) fn panel_nodes(from: f64, to: f64, n: usize) -> Vec<(f64, f64)> {
    let (x, w) = gauss_legendre(n);
    let (half, middle) = (0.5 * (to - from), 0.5 * (to + from));
    x.iter().zip(&w).map(|(x, w)| (middle + half * x, half * w)).collect()
}

/// Panels in k: growing from 0, then as wide as the oscillation at `reach` allows, up to where
/// the waves no longer arrive at `lowest` (exp(-18) = 1.5e-8 of their amplitude on the line).
fn wave_panels(s: &PlaneSampling) -> Vec<(f64, f64)> {
    let k_max = 18.0 / (s.lowest - s.z0);
    let widest = 30.0 / s.reach.max(s.lowest - s.z0);
    let mut panels = Vec::new();
    let mut k = 0.0;
    while k < k_max {
        let width = (0.5 * k).max(20.0 / s.extent).min(widest);
        let next = (k + width).min(k_max);
        panels.push((k, next));
        k = next;
    }
    panels
}

/// Nodes and weights in r (or |x|) from 0 for waves up to `k`, the closing window included in the weights.
fn half_line_grid(s: &PlaneSampling, k: f64) -> Vec<(f64, f64)> {
    let fine = s.lowest - s.z0;
    let rough = 1.5 * s.rough + fine;
    // The window is one up to `open` and falls to zero at `closed`; its own spectrum beyond
    // 1/k is exp(-(k (closed - open) / 16)^2).
    let open = rough.max(40.0 / k).min(0.4 * s.extent);
    let closed = (3.0 * open).min(s.extent);
    let mut grid = Vec::new();
    let mut r = 0.0;
    while r < closed {
        let own = if r < rough { fine } else { fine + 0.4 * (r - rough) };
        let mut next = (r + own.min(12.0 / k)).min(closed);
        if r < open && next > open {
            next = open;
        }
        for (node, weight) in panel_nodes(r, next, R_POINTS) {
            let t = (node - open) / (closed - open);
            let window = if t > 0.0 { 0.5 * libm::erfc(4.0 * (2.0 * t - 1.0)) } else { 1.0 };
            grid.push((node, weight * window));
        }
        r = next;
    }
    grid
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strings::test_fields::rod_a_phi;
    use crate::units::MM;

    fn sampling(lowest: f64) -> PlaneSampling {
        PlaneSampling {
            z0: 0.5 * MM,
            lowest,
            reach: 45.0 * MM,
            rough: 2.5 * MM,
            extent: 300.0 * MM,
            depth: 9.0 * MM,
        }
    }

    #[test]
    fn magnetised_cylinder_above_its_top() {
        let (field, uniform) =
            axisymmetric(|r| rod_a_phi(2.5 * MM, 17.0 * MM, 1.0, r, 0.5 * MM), &sampling(1.0 * MM));
        // Derby and Olbert, Am. J. Phys. 78, 229 (2010): Br = 1 T, 5 x 17 mm; (rho, h, B_rho, B_z).
        let cases = [
            (0.0, 1.0, 0.0, 0.3095508),
            (0.0, 2.0, 0.0, 0.1833796),
            (0.0, 3.0, 0.0, 0.1120283),
            (0.0, 5.0, 0.0, 0.0495890),
            (1.25, 2.0, 0.0556173, 0.1615172),
            (2.5, 2.0, 0.0841052, 0.1023266),
            (5.0, 2.0, 0.0498769, 0.0203611),
            (10.0, 3.0, 0.0125252, 0.0015768),
        ];
        for (rho, h, b_rho, b_z) in cases {
            let jet = field.jets(&[[rho * MM, 0.0, h * MM]], 3)[0].field();
            let b = [MU_0 * jet.h[0], MU_0 * (jet.h[2] + uniform)];
            // The printed values have seven decimals.
            assert!((b[0] - b_rho).abs() < 2e-7, "{rho} {h}: {} {b_rho}", b[0]);
            assert!((b[1] - b_z).abs() < 2e-7, "{rho} {h}: {} {b_z}", b[1]);
        }
    }
}
