//! The field above the sampling line as sums over the vector potential on it.
//!
//! Above the line y = z0 all is air, and the potential there follows from that on the line by Poisson's
//! integral for the half space: with zeta the height above the line,
//!
//! ```text
//! planar         A(x', zeta) = int A(x) P(x' - x, zeta) dx,     P = zeta / (pi (X^2 + zeta^2))
//! axisymmetric   A(r', zeta) = int A(r) r int zeta cos phi / (2 pi R^3) dphi dr,
//!                R^2 = r^2 + r'^2 - 2 r r' cos phi + zeta^2
//! ```
//!
//! (G. Barton, "Elements of Green's functions and propagation", Oxford 1989, section 6.4; about the axis
//! for A_phi cos phi, a Cartesian component of A, each of which is harmonic.) The flux density is
//! (-dA/dz, A/r + dA/dr) about the axis, (dA/dz, -dA/dx) in the plane; its change with height follows by
//! one more derivative of the kernel. The mean over the string's section is left out: these sums say how
//! an error on the line goes into a string's numbers, not what the numbers are.

use std::f64::consts::PI;

use crate::field::element;
use crate::field::enriched::{Cubic, Shapes};
use crate::mesh::{Locator, Mesh};
use crate::point::Point;
use crate::section::Symmetry;
use crate::units::MM;

/// How far the line is sampled densely, m: beyond what is coupled of a string.
const DENSE: f64 = 45.0 * MM;

/// Farthest sample, m.
const FARTHEST: f64 = 200.0 * MM;

/// Length of a panel of two points over the height of what is asked for.
const PANEL: f64 = 0.5;

/// The sampling line of a mesh.
#[derive(Clone, Debug)]
pub struct Line<'a> {
    mesh: &'a Mesh,
    z0: f64,
    samples: Vec<Sample>,
}

#[derive(Clone, Copy, Debug)]
struct Sample {
    /// x or r, m.
    place: f64,
    /// Weight in the integral: dx or r dr.
    weight: f64,
    triangle: usize,
    at: [f64; 2],
}

/// What sums over A on the line give at one place: (B across, B up, dB/dz across, dB/dz up), per
/// sample. Across is along x, or away from the axis.
pub type Kernels = Vec<[f64; 4]>;

impl<'a> Line<'a> {
    /// The line at height `z0`, ready for places at least `least` above it and about `middle` (x, m; 0
    /// about an axis).
    pub fn new(mesh: &'a Mesh, locator: &Locator, z0: f64, least: f64, middle: f64) -> Self {
        let farthest = FARTHEST.min(0.5 * mesh.outer_radius);
        let mut edges = vec![0.0];
        let mut last = 0.0;
        while last < farthest {
            let grown = PANEL * least + 0.3 * f64::max(last - DENSE, 0.0);
            last = f64::min(last + grown, farthest);
            edges.push(last);
        }
        let mut samples = Vec::new();
        let sides: &[f64] = match mesh.symmetry {
            Symmetry::Planar => &[-1.0, 1.0],
            Symmetry::Axisymmetric => &[1.0],
        };
        for side in sides {
            for panel in edges.windows(2) {
                let (centre, half) = (0.5 * (panel[0] + panel[1]), 0.5 * (panel[1] - panel[0]));
                for node in [-1.0, 1.0] {
                    let away = centre + node * half / 3f64.sqrt();
                    let place = middle + side * away;
                    let Some((triangle, at)) = locator.locate(Point::new(place, z0)) else {
                        continue;
                    };
                    let weight = match mesh.symmetry {
                        Symmetry::Planar => half,
                        Symmetry::Axisymmetric => half * place,
                    };
                    samples.push(Sample { place, weight, triangle, at });
                }
            }
        }
        Self { mesh, z0, samples }
    }

    /// The kernels of a place (x, y, z) above the line.
    pub fn kernels(&self, place: [f64; 3]) -> Kernels {
        let zeta = place[2] - self.z0;
        let kernel = |s: &Sample| -> [f64; 4] {
            let k = match self.mesh.symmetry {
                Symmetry::Planar => planar(place[0] - s.place, zeta),
                Symmetry::Axisymmetric => round(s.place, place[0].hypot(place[1]).max(1e-6), zeta),
            };
            k.map(|k| k * s.weight)
        };
        self.samples.iter().map(kernel).collect()
    }

    /// Sum of `factors` times A of nodal unknowns on the line.
    pub fn sum(&self, nodal: &[f64], factors: impl Iterator<Item = f64>) -> f64 {
        let potential = |s: &Sample| -> f64 {
            let at = element::evaluate(&element::corners(self.mesh, s.triangle), s.at[0], s.at[1]);
            let basis = at.potential_basis(self.mesh.symmetry);
            let nodes = &self.mesh.triangles[s.triangle];
            nodes.iter().zip(basis).map(|(&node, a)| a * nodal[node as usize]).sum()
        };
        self.samples.iter().zip(factors).map(|(s, factor)| factor * potential(s)).sum()
    }

    /// The load whose product with unknowns of the cubic space is the sum of `factors` times A.
    pub fn load(&self, factors: &[f64]) -> Cubic {
        let mut load = Cubic::zeros(self.mesh);
        for (s, factor) in self.samples.iter().zip(factors) {
            let [xi, eta] = s.at;
            let at = element::evaluate(&element::corners(self.mesh, s.triangle), xi, eta);
            let shapes = Shapes::new(self.mesh, s.triangle, &at, xi, eta);
            let part = shapes.potential_basis(self.mesh, &at).map(|a| a * factor);
            load.add_of_triangle(self.mesh, s.triangle, &part);
        }
        load
    }

    /// Number of samples.
    pub fn len(&self) -> usize {
        self.samples.len()
    }

    /// Whether no sample lies in the mesh.
    pub fn is_empty(&self) -> bool {
        self.samples.is_empty()
    }
}

/// P(X, zeta) = -Im(1 / w) / pi with w = X + i zeta, differentiated.
fn planar(x: f64, zeta: f64) -> [f64; 4] {
    let q = x * x + zeta * zeta;
    // 1 / w^2 and 1 / w^3.
    let (re2, im2) = ((x * x - zeta * zeta) / (q * q), -2.0 * x * zeta / (q * q));
    let (re3, im3) = ((re2 * x + im2 * zeta) / q, (im2 * x - re2 * zeta) / q);
    // B = (dA/dz, -dA/dx).
    [re2 / PI, -im2 / PI, 2.0 * im3 / PI, 2.0 * re3 / PI]
}

/// The ring at `r` as felt at `own` and `zeta`: the midpoint rule, which converges like
/// exp(-2 n zeta / r) on a periodic function.
fn round(r: f64, own: f64, zeta: f64) -> [f64; 4] {
    let n = (8.0 + 4.0 * (r * own).sqrt() / zeta).min(256.0) as usize;
    let mut k = [0.0; 4];
    for i in 0..n {
        let c = (PI * (i as f64 + 0.5) / n as f64).cos();
        let q = 1.0 / (r * r + own * own - 2.0 * r * own * c + zeta * zeta);
        let q3 = q * q.sqrt();
        let (q5, z2, away) = (q3 * q, zeta * zeta, own - r * c);
        let value = zeta * q3;
        let dz = q3 - 3.0 * z2 * q5;
        let dzz = -9.0 * zeta * q5 + 15.0 * z2 * zeta * q5 * q;
        let dr = -3.0 * zeta * away * q5;
        let drz = -3.0 * away * q5 + 15.0 * z2 * away * q5 * q;
        let terms = [-dz, value / own + dr, -dzz, dz / own + drz];
        for (k, term) in k.iter_mut().zip(terms) {
            *k += c * term / n as f64;
        }
    }
    k
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Integral of a kernel times A on the line, by a fine midpoint rule.
    fn sum(a: impl Fn(f64) -> f64, kernel: impl Fn(f64) -> [f64; 4], low: f64) -> [f64; 4] {
        let (n, high) = (40_000, 400.0);
        let step = (high - low) / f64::from(n);
        let mut sum = [0.0; 4];
        for i in 0..n {
            let x = low + (f64::from(i) + 0.5) * step;
            for (s, k) in sum.iter_mut().zip(kernel(x)) {
                *s += a(x) * k * step;
            }
        }
        sum
    }

    /// A line dipole 2 below the line: A = Re 1 / (x + i y), with B_x - i B_y = i dA~/dw.
    #[test]
    fn a_line_dipole_is_carried_up() {
        let (x, zeta, depth) = (0.7, 1.1, 2.0);
        let a = |x: f64| x / (x * x + depth * depth);
        let told = sum(a, |s| planar(x - s, zeta), -400.0);
        let q = |z: f64| x * x + z * z;
        let exact = |z: f64| {
            let (q, y) = (q(z), z);
            // (dA/dy, -dA/dx) of x / (x^2 + y^2).
            [-2.0 * x * y / (q * q), -(y * y - x * x) / (q * q)]
        };
        let z = zeta + depth;
        let step = 1e-4;
        let (b, up, down) = (exact(z), exact(z + step), exact(z - step));
        for i in 0..2 {
            let slope = (up[i] - down[i]) / (2.0 * step);
            // The ends of the sum at 400 leave some 1e-6, the difference 1e-8.
            assert!((told[i] - b[i]).abs() < 1e-5, "{told:?} {b:?}");
            assert!((told[2 + i] - slope).abs() < 1e-5, "{told:?} {slope}");
        }
    }

    /// A dipole on the axis 2 below the line: A_phi = r / (r^2 + z^2)^(3/2).
    #[test]
    fn a_dipole_on_the_axis_is_carried_up() {
        let (own, zeta, depth) = (0.7, 1.1, 2.0);
        let a = |r: f64| r / (r * r + depth * depth).powf(1.5);
        let told = sum(a, |r| round(r, own, zeta).map(|k| k * r), 0.0);
        let exact = |z: f64| {
            let q = own * own + z * z;
            // (-dA/dz, dA/dr + A/r).
            [3.0 * own * z / q.powf(2.5), (2.0 * z * z - own * own) / q.powf(2.5)]
        };
        let z = zeta + depth;
        let step = 1e-4;
        let (b, up, down) = (exact(z), exact(z + step), exact(z - step));
        for i in 0..2 {
            let slope = (up[i] - down[i]) / (2.0 * step);
            assert!((told[i] - b[i]).abs() < 1e-5, "{told:?} {b:?}");
            assert!((told[2 + i] - slope).abs() < 1e-5, "{told:?} {slope}");
        }
    }
}
