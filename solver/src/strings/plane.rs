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

use rayon::prelude::*;

use crate::strings::fade::Fade;
use crate::strings::fourier::PlaneWaves;
use crate::strings::gauss::{gauss_legendre, lagrange};
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

/// Fills values, one for each of several fields, at a distance from the axis or a place x.
pub(crate) type Sample<'a> = &'a (dyn Fn(f64, &mut [f64]) + Sync);

/// The upper fields of an axisymmetric section from `n` functions A_phi(r) (T m) on r >= 0, z = z0.
///
/// Returns of each the waves and the uniform field strength H_z (A/m) that goes with them.
pub(crate) fn axisymmetric(
    a_phi: Sample<'_>,
    n: usize,
    s: &PlaneSampling,
) -> Vec<(SpectralField, f64)> {
    let depth = s.depth.max(s.lowest - s.z0);
    let basis = |r: f64| {
        let q = r * r + depth * depth;
        [r / (q * q.sqrt()), 3.0 * r * depth / (q * q * q.sqrt()), 0.5 * r]
    };
    let tails = fit_tails(a_phi, n, basis, s.extent);
    let rest = |r: f64, values: &mut [f64]| {
        a_phi(r, values);
        for (value, tail) in values.iter_mut().zip(&tails) {
            *value = r * (*value - dot(tail, &basis(r)));
        }
    };
    let (k, sums) = transform(&rest, n, s, libm::j1);
    let of = |field: usize| {
        let tail = tails[field];
        let amplitude = k
            .iter()
            .zip(&sums)
            .map(|(&(k, weight), sums)| {
                let alpha = sums[field] + (tail[0] + tail[1] * k) * (-k * depth).exp();
                weight * k * alpha / MU_0
            })
            .collect();
        let orders = vec![Order { m: 0, part: Part::Cosine, amplitude }];
        let k = k.iter().map(|k| k.0).collect();
        (SpectralField { z0: s.z0, k, fade: fade(s), orders }, tail[2] / MU_0)
    };
    (0..n).map(of).collect()
}

/// Amplitudes of the waves of azimuthal order `m` from `n` potentials phi_m(r) (A) on z = z0, of the
/// same wave numbers as those of [`axisymmetric`]:
///
/// ```text
/// a_m(k) = k int phi_m(r, z0) J_m(k r) r dr
/// ```
pub(crate) fn around(m: usize, phi: Sample<'_>, n: usize, s: &PlaneSampling) -> Vec<Vec<f64>> {
    let measured = |r: f64, values: &mut [f64]| {
        phi(r, values);
        values.iter_mut().for_each(|value| *value *= r);
    };
    let (k, sums) = transform(&measured, n, s, |x| libm::jn(m as i32, x));
    let of = |field: usize| k.iter().zip(&sums).map(move |((k, w), sums)| w * k * sums[field]);
    (0..n).map(|field| of(field).collect()).collect()
}

/// All wave numbers with their weights, and int f(r) kernel(k r) dr for each and every f, `[n_k][n]`.
fn transform(
    f: Sample<'_>,
    n: usize,
    s: &PlaneSampling,
    kernel: impl Fn(f64) -> f64 + Sync,
) -> (Vec<(f64, f64)>, Vec<Vec<f64>>) {
    let samples = Samples::new(f, n, s);
    wave_panels(s)
        .into_par_iter()
        .flat_map_iter(|(k_low, k_high)| {
            let (places, values) = samples.for_waves_up_to(k_high, s);
            let kernel = &kernel;
            panel_nodes(k_low, k_high, K_POINTS).into_iter().map(move |(k, weight)| {
                let mut sums = vec![0.0; n];
                for (place, own) in places.iter().zip(values.chunks_exact(n.max(1))) {
                    let kernel = kernel(k * place);
                    sums.iter_mut().zip(own).for_each(|(sum, value)| *sum += kernel * value);
                }
                ((k, weight), sums)
            })
        })
        .unzip()
}

/// The upper fields of a planar section from `n` functions A(x) (T m) on z = z0.
///
/// Signs: B_x = dA/dz, B_z = -dA/dx, so a wave A = cos kx exp(-k zeta) has mu_0 phi = sin kx
/// exp(-k zeta) and A = sin kx has mu_0 phi = -cos kx. Returns of each the waves and the uniform H_z (A/m).
pub(crate) fn planar(a: Sample<'_>, n: usize, s: &PlaneSampling) -> Vec<(PlaneWaves, f64)> {
    let depth = s.depth.max(s.lowest - s.z0);
    let q = |x: f64| x * x + depth * depth;
    // Even halves first, then odd ones.
    let halves = |x: f64, values: &mut [f64]| {
        let (even, odd) = values.split_at_mut(n);
        a(x, even);
        a(-x, odd);
        for (e, o) in even.iter_mut().zip(odd) {
            (*e, *o) = (0.5 * (*e + *o), 0.5 * (*e - *o));
        }
    };
    // Line dipole and quadrupole at `depth`; a constant is without a field, a slope is -B_z.
    let even_basis = |x: f64| [depth / q(x), (depth * depth - x * x) / (q(x) * q(x)), 1.0];
    let odd_basis = |x: f64| [x / q(x), 2.0 * x * depth / (q(x) * q(x)), x];
    let even_tails = fit_tails(&halves, 2 * n, even_basis, s.extent);
    let odd_tails = fit_tails(&halves, 2 * n, odd_basis, s.extent);
    let (even_tails, odd_tails) = (&even_tails[..n], &odd_tails[n..]);
    let rest = |x: f64, values: &mut [f64]| {
        halves(x, values);
        let (even, odd) = values.split_at_mut(n);
        for (i, (e, o)) in even.iter_mut().zip(odd).enumerate() {
            *e -= dot(&even_tails[i], &even_basis(x));
            *o -= dot(&odd_tails[i], &odd_basis(x));
        }
    };
    let (k, cosines) = transform(&rest, 2 * n, s, libm::cos);
    let (_, sines) = transform(&rest, 2 * n, s, libm::sin);
    let of = |field: usize| {
        let amplitude = |i: usize, tail: &[f64; 3], sum: f64| {
            let (k, weight) = k[i];
            let far = (tail[0] + tail[1] * k) * (-k * depth).exp();
            weight * (2.0 / PI * sum + far) / MU_0
        };
        let waves = PlaneWaves {
            z0: s.z0,
            k: k.iter().map(|k| k.0).collect(),
            fade: fade(s),
            sine: (0..k.len())
                .map(|i| amplitude(i, &even_tails[field], cosines[i][field]))
                .collect(),
            cosine: (0..k.len())
                .map(|i| -amplitude(i, &odd_tails[field], sines[i][n + field]))
                .collect(),
        };
        (waves, -odd_tails[field][2] / MU_0)
    };
    (0..n).map(of).collect()
}

fn dot<const N: usize>(a: &[f64; N], b: &[f64; N]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Least squares of `basis` to the outer samples of each of `n` functions; terms that the samples cannot
/// tell apart come out small rather than wild because each column is scaled and the matrix slightly
/// regularised.
fn fit_tails<const N: usize>(
    sample: Sample<'_>,
    n: usize,
    basis: impl Fn(f64) -> [f64; N],
    extent: f64,
) -> Vec<[f64; N]> {
    const POINTS: usize = 40;
    let mut normal = [[0.0; N]; N];
    let mut right = vec![[0.0; N]; n];
    let mut scale = [0.0_f64; N];
    let mut values = vec![0.0; n];
    let at = |i: usize| extent * (0.35 + 0.5 * (i as f64 + 0.5) / POINTS as f64);
    for i in 0..POINTS {
        for (s, b) in scale.iter_mut().zip(basis(at(i))) {
            *s = s.max(b.abs());
        }
    }
    for i in 0..POINTS {
        let r = at(i);
        let b = basis(r);
        sample(r, &mut values);
        for p in 0..N {
            for q in 0..N {
                normal[p][q] += b[p] / scale[p] * b[q] / scale[q];
            }
            for (right, value) in right.iter_mut().zip(&values) {
                right[p] += b[p] / scale[p] * value;
            }
        }
    }
    for (p, row) in normal.iter_mut().enumerate() {
        row[p] *= 1.0 + 1e-12;
    }
    let fitted = |right: [f64; N]| {
        let mut x = gauss_eliminate(normal, right);
        x.iter_mut().zip(scale).for_each(|(value, s)| *value /= s);
        x
    };
    right.into_iter().map(fitted).collect()
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

/// Where waves fade out.
fn fade(s: &PlaneSampling) -> Fade {
    Fade { within: rough(s) }
}

/// Distance within which the samples change as fast as sources close to the line make them, m.
fn rough(s: &PlaneSampling) -> f64 {
    1.5 * s.rough + s.lowest - s.z0
}

/// Panels in k: growing from 0, then as wide as the oscillation at the farthest place allows where they are
/// asked for, up to where the waves no longer arrive at `lowest` (exp(-18) = 1.5e-8 of their amplitude on
/// the line).
fn wave_panels(s: &PlaneSampling) -> Vec<(f64, f64)> {
    let k_max = 18.0 / (s.lowest - s.z0);
    let mut panels = Vec::new();
    let mut k = 0.0;
    while k < k_max {
        let widest = 30.0 / s.reach.max(s.lowest - s.z0).min(fade(s).reach(k));
        let width = (0.5 * k).max(20.0 / s.extent).min(widest);
        let next = (k + width).min(k_max);
        panels.push((k, next));
        k = next;
    }
    panels
}

/// Functions sampled on panels as long as they are smooth, out to the whole extent. For short waves a
/// panel is cut up and the samples joined by the polynomial through them: what that misses is on the scale
/// of the distance from the line to the sources, and does not arrive at the strings.
struct Samples {
    /// Ends of the panels, m.
    panels: Vec<(f64, f64)>,
    /// `[n_panels][R_POINTS][n]`
    values: Vec<f64>,
    /// Nodes and weights of a panel on [-1, 1].
    rule: (Vec<f64>, Vec<f64>),
    /// Functions.
    n: usize,
}

impl Samples {
    fn new(f: Sample<'_>, n: usize, s: &PlaneSampling) -> Self {
        let fine = s.lowest - s.z0;
        let rough = rough(s);
        let rule = gauss_legendre(R_POINTS);
        let (mut panels, mut values) = (Vec::new(), Vec::new());
        let mut r = 0.0;
        while r < s.extent {
            let own = if r < rough { fine } else { fine + 0.4 * (r - rough) };
            let next = (r + own).min(s.extent);
            for u in &rule.0 {
                let start = values.len();
                values.resize(start + n, 0.0);
                f(0.5 * (next + r) + 0.5 * (next - r) * u, &mut values[start..]);
            }
            panels.push((r, next));
            r = next;
        }
        Self { panels, values, rule, n }
    }

    /// Nodes from 0 for waves up to `k`, and the values there times the weight of the node, the closing
    /// window included, `[n_nodes][n]`.
    fn for_waves_up_to(&self, k: f64, s: &PlaneSampling) -> (Vec<f64>, Vec<f64>) {
        // The window is one up to `open` and falls to zero at `closed`; its own spectrum beyond
        // 1/k is exp(-(k (closed - open) / 16)^2).
        let open = rough(s).max(40.0 / k).min(0.4 * s.extent);
        let closed = (3.0 * open).min(s.extent);
        let window = |r: f64| {
            let t = (r - open) / (closed - open);
            if t > 0.0 { 0.5 * libm::erfc(4.0 * (2.0 * t - 1.0)) } else { 1.0 }
        };
        let (nodes, weights) = &self.rule;
        let (mut places, mut values) = (Vec::new(), Vec::new());
        for (panel, &(low, high)) in self.panels.iter().enumerate() {
            if low >= closed {
                break;
            }
            let own = &self.values[panel * R_POINTS * self.n..(panel + 1) * R_POINTS * self.n];
            let cuts = ((high.min(closed) - low) * k / 12.0).ceil().max(1.0);
            let size = (high.min(closed) - low) / cuts;
            let whole = cuts == 1.0 && high <= closed;
            for cut in 0..cuts as usize {
                let start = low + size * cut as f64;
                for (i, (u, weight)) in nodes.iter().zip(weights).enumerate() {
                    let place = start + 0.5 * size * (1.0 + u);
                    let weight = 0.5 * size * weight * window(place);
                    places.push(place);
                    if whole {
                        values.extend(own[i * self.n..(i + 1) * self.n].iter().map(|v| weight * v));
                        continue;
                    }
                    let (share, _) = lagrange(nodes, 2.0 * (place - low) / (high - low) - 1.0);
                    let joined = |f: usize| -> f64 {
                        share.iter().enumerate().map(|(j, l)| l * own[j * self.n + f]).sum()
                    };
                    values.extend((0..self.n).map(|f| weight * joined(f)));
                }
            }
        }
        (places, values)
    }
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
        let a_phi = |r: f64, a: &mut [f64]| {
            a[0] = rod_a_phi(2.5 * MM, 17.0 * MM, 1.0, r, 0.5 * MM);
        };
        let (field, uniform) = axisymmetric(&a_phi, 1, &sampling(1.0 * MM)).remove(0);
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
