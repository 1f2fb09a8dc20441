//! The shape of a racetrack coil, and its wire as current elements.
//!
//! The row runs along y, the strings along x, z is up; the racetrack lies level about the origin.
//! Its window is `inner` to `outer` across and `bottom` to `top` up; its turns are spread evenly over
//! the window, and means over it are taken with Gauss-Legendre nodes: n_r n_z thin racetracks that
//! share the turns. The straight sides run at x = +-r from y = -straight/2 to straight/2, the half rings of
//! radius r about their ends. A positive current runs counter-clockwise seen from above.

use std::f64::consts::PI;

use crate::strings::gauss::gauss_legendre;

/// A racetrack coil. Lengths in m.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Racetrack {
    /// Inner radius of the half rings.
    pub inner: f64,
    /// Outer radius of the half rings.
    pub outer: f64,
    /// Height of the lower side of the window.
    pub bottom: f64,
    /// Height of the upper side.
    pub top: f64,
    /// Length of the straight sides; 0 makes a round coil.
    pub straight: f64,
    /// Turns, negative where a positive current runs clockwise.
    pub turns: f64,
}

/// One of the thin racetracks that stand for the window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Thin {
    pub(super) radius: f64,
    pub(super) height: f64,
    /// Turns.
    pub(super) turns: f64,
}

/// A short piece of wire.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct CurrentElement {
    /// Its place, m.
    pub(super) at: [f64; 3],
    /// Its length along x and y times its turns, m.
    pub(super) along: [f64; 2],
}

impl Racetrack {
    /// Mean length of a turn, m.
    pub fn mean_turn(&self) -> f64 {
        PI * (self.inner + self.outer) + 2.0 * self.straight
    }

    /// The window as `n_r` times `n_z` thin racetracks.
    pub(super) fn thin(&self, n_r: usize, n_z: usize) -> Vec<Thin> {
        let (rs, r_weights) = gauss_legendre(n_r);
        let (zs, z_weights) = gauss_legendre(n_z);
        let middle = |low: f64, high: f64, t: f64| 0.5 * (low + high) + 0.5 * (high - low) * t;
        let mut all = Vec::with_capacity(n_r * n_z);
        for (r, r_weight) in rs.iter().zip(&r_weights) {
            for (z, z_weight) in zs.iter().zip(&z_weights) {
                all.push(Thin {
                    radius: middle(self.inner, self.outer, *r),
                    height: middle(self.bottom, self.top, *z),
                    turns: 0.25 * r_weight * z_weight * self.turns,
                });
            }
        }
        all
    }

    /// The wire as current elements: `n_r` times `n_z` thin racetracks, each half ring with `n_arc`
    /// elements and each side with `n_side` on panels that are fine opposite the places `near` (y, m).
    pub(super) fn elements(
        &self,
        [n_r, n_z]: [usize; 2],
        n_arc: usize,
        near: f64,
    ) -> Vec<CurrentElement> {
        let arc = arc_nodes(n_arc);
        let side = self.side_nodes(near);
        let mut all = Vec::new();
        for thin in self.thin(n_r, n_z) {
            let Thin { radius, height, turns } = thin;
            for end in [0.5, -0.5] {
                for &(sin, cos, weight) in &arc {
                    let (sin, cos) = if end > 0.0 { (sin, cos) } else { (-sin, -cos) };
                    let length = turns * weight * radius;
                    all.push(CurrentElement {
                        at: [radius * cos, end * self.straight + radius * sin, height],
                        along: [-length * sin, length * cos],
                    });
                }
            }
            for &(y, weight) in &side {
                for sense in [1.0, -1.0] {
                    all.push(CurrentElement {
                        at: [sense * radius, y, height],
                        along: [0.0, sense * turns * weight],
                    });
                }
            }
        }
        all
    }

    /// Nodes and weights along a straight side, panels growing away from y = `near`.
    fn side_nodes(&self, near: f64) -> Vec<(f64, f64)> {
        let half = 0.5 * self.straight;
        if half <= 0.0 {
            return Vec::new();
        }
        let near = near.clamp(-half, half);
        let first = self.inner.max(1e-3 * half);
        let mut edges = vec![-half, near, half];
        let mut step = first;
        let mut reach = first;
        while reach < 2.0 * half {
            edges.extend([near - reach, near + reach].into_iter().filter(|y| y.abs() < half));
            step *= 1.6;
            reach += step;
        }
        edges.sort_by(f64::total_cmp);
        let (t, w) = gauss_legendre(8);
        let mut nodes = Vec::new();
        for pair in edges.windows(2) {
            let (middle, half) = (0.5 * (pair[0] + pair[1]), 0.5 * (pair[1] - pair[0]));
            if half > 0.0 {
                nodes.extend(t.iter().zip(&w).map(|(t, w)| (middle + half * t, half * w)));
            }
        }
        nodes
    }
}

/// Sine, cosine and weight along a half ring from 0 to pi.
pub(super) fn arc_nodes(n: usize) -> Vec<(f64, f64, f64)> {
    let (t, w) = gauss_legendre(n);
    t.iter()
        .zip(&w)
        .map(|(t, w)| {
            let (sin, cos) = (0.5 * PI * (t + 1.0)).sin_cos();
            (sin, cos, 0.5 * PI * w)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_elements_make_up_the_mean_turn_and_close() {
        let coil = Racetrack {
            inner: 3e-3,
            outer: 7e-3,
            bottom: -13e-3,
            top: -2e-3,
            straight: 52.5e-3,
            turns: 7000.0,
        };
        let elements = coil.elements([3, 4], 16, 12e-3);
        let length: f64 = elements.iter().map(|e| e.along[0].hypot(e.along[1])).sum();
        // Gauss rules are exact here but for round-off over some thousand terms.
        assert!((length / 7000.0 / coil.mean_turn() - 1.0).abs() < 1e-12, "{length}");
        for k in 0..2 {
            let sum: f64 = elements.iter().map(|e| e.along[k]).sum();
            assert!(sum.abs() < 1e-12 * length);
        }
        // Area of the mean turn from the same elements: pi r^2 + 2 r L, averaged over r.
        let area: f64 =
            elements.iter().map(|e| 0.5 * (e.at[0] * e.along[1] - e.at[1] * e.along[0])).sum();
        let r2 = (3.0 * 3.0 + 3.0 * 7.0 + 7.0 * 7.0) / 3.0 * 1e-6;
        let exact = 7000.0 * (PI * r2 + 2.0 * 5e-3 * 52.5e-3);
        assert!((area / exact - 1.0).abs() < 1e-12, "{area} {exact}");
    }

    /// The flux of a small magnet through the coil is its moment times the coil's field per ampere: its
    /// vector potential mu_0 / (4 pi) m x r / r^3 round the wire, against mu_0 m . H.
    #[test]
    fn what_it_links_of_a_moment_is_its_field_there() {
        let coil = Racetrack {
            inner: 3e-3,
            outer: 7e-3,
            bottom: -13e-3,
            top: -2e-3,
            straight: 52.5e-3,
            turns: 7000.0,
        };
        let (p, m) = ([2e-3, 20e-3, 3e-3], [0.3, -0.2, 0.9]);
        let linked: f64 = coil
            .elements([6, 10], 40, p[1])
            .iter()
            .map(|e| {
                let r: [f64; 3] = std::array::from_fn(|i| e.at[i] - p[i]);
                let cube = r.iter().map(|x| x * x).sum::<f64>().powf(1.5);
                let a = [m[1] * r[2] - m[2] * r[1], m[2] * r[0] - m[0] * r[2]];
                (a[0] * e.along[0] + a[1] * e.along[1]) / cube / (4.0 * PI)
            })
            .sum();
        let h = coil.jets(&[p], 3)[0].field().h;
        let by_field: f64 = m.iter().zip(h).map(|(m, h)| m * h).sum();
        // Both quadratures are good to a millionth at this distance.
        assert!((linked / by_field - 1.0).abs() < 3e-6, "{linked} {by_field}");
    }
}
