//! Inductance of a racetrack coil in air, by Neumann's formula.
//!
//! L = mu_0 / (4 pi) double closed integral of dl . dl' / R over all pairs of thin racetracks that stand for
//! the window, n_r n_z of them. So that no pair coincides, R is taken as sqrt(R^2 + delta^2) with delta
//! small against the radius. Close by, a wire acts as a straight one, -mu_0 / (2 pi) ln(rho) per length; what
//! the few pairs and delta make of the mean of ln(rho) over the window is taken off again and the exact
//! mean put in its place, that of a rectangle (w by h) from itself:
//!
//! ```text
//! mean ln rho = 1/2 ln(w^2 + h^2) - (w^2/h^2 ln(1 + h^2/w^2) + h^2/w^2 ln(1 + w^2/h^2)) / 12
//!               + 2/3 (w/h atan(h/w) + h/w atan(w/h)) - 25/12
//! ```
//!
//! (Maxwell's geometric mean distance.) The wire's own section is left out: the turns fill the window
//! evenly.

use std::f64::consts::PI;

use rayon::prelude::*;

use super::path::{Racetrack, arc_nodes};
use crate::units::MU_0;

const WINDOW: [usize; 2] = [4, 8];
const ARC: usize = 24;
/// Elements on a half ring of the other wire, which is met as close as delta.
const OTHER_ARC: usize = 96;
/// delta over the mean radius.
const DELTA: f64 = 0.06;

impl Racetrack {
    /// Inductance without metal, H.
    pub fn inductance(&self) -> f64 {
        let half = 0.5 * self.straight;
        let other = self.thin(WINDOW[0], WINDOW[1]);
        let delta = DELTA * 0.5 * (self.inner + self.outer);
        let delta2 = delta * delta;
        let arc = arc_nodes(OTHER_ARC);
        // Vector potential times 4 pi / mu_0 at a place, its parts along x and y.
        let potential = |[x, y, z]: [f64; 3]| -> [f64; 2] {
            let mut a = [0.0; 2];
            for thin in &other {
                let (r, up) = (thin.radius, z - thin.height);
                for sign in [1.0, -1.0] {
                    for &(sin, cos, weight) in &arc {
                        let from = [x - sign * r * cos, y - sign * (half + r * sin)];
                        let distance =
                            (from[0] * from[0] + from[1] * from[1] + up * up + delta2).sqrt();
                        let part = sign * thin.turns * r * weight / distance;
                        a[0] -= part * sin;
                        a[1] += part * cos;
                    }
                    let rho = ((x - sign * r).powi(2) + up * up + delta2).sqrt();
                    let side = ((y + half) / rho).asinh() - ((y - half) / rho).asinh();
                    a[1] += sign * thin.turns * side;
                }
            }
            a
        };
        // The coil is its own mirror image in x and in y: a quarter of the wire is enough.
        let elements = self.elements(WINDOW, ARC, 0.0);
        let parts: Vec<f64> = elements
            .par_iter()
            .filter(|e| e.at[0] > 0.0 && e.at[1] > 0.0)
            .map(|e| {
                let a = potential(e.at);
                a[0] * e.along[0] + a[1] * e.along[1]
            })
            .collect();
        let pairs = MU_0 / (4.0 * PI) * 4.0 * parts.iter().sum::<f64>();
        let mut of_pairs = 0.0;
        for a in &other {
            for b in &other {
                let rho2 = (a.radius - b.radius).powi(2) + (a.height - b.height).powi(2) + delta2;
                of_pairs += a.turns * b.turns * 0.5 * rho2.ln();
            }
        }
        let exact = self.turns * self.turns * self.mean_ln_distance();
        pairs + MU_0 / (2.0 * PI) * self.mean_turn() * (of_pairs - exact)
    }

    /// Mean of the logarithm of the distance (m) between two points of the window.
    fn mean_ln_distance(&self) -> f64 {
        let (w, h) = (self.outer - self.inner, self.top - self.bottom);
        let (p, q) = (w * w / (h * h), h * h / (w * w));
        0.5 * (w * w + h * h).ln() - (p * q.ln_1p() + q * p.ln_1p()) / 12.0
            + 2.0 / 3.0 * (w / h * (h / w).atan() + h / w * (w / h).atan())
            - 25.0 / 12.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::MM;

    /// A thin solenoid: Nagaoka's coefficient for a length of twice the diameter is 0.818136 (Grover,
    /// Inductance Calculations, table 36).
    #[test]
    fn without_sides_and_thin_it_is_a_solenoid() {
        let (radius, length) = (5.0 * MM, 20.0 * MM);
        let coil = Racetrack {
            inner: radius - 0.01 * MM,
            outer: radius + 0.01 * MM,
            bottom: 0.0,
            top: length,
            straight: 0.0,
            turns: 1000.0,
        };
        let sheet = MU_0 * 1e6 * PI * radius * radius / length * 0.818136;
        let own = coil.inductance();
        // delta^2 over the square of the radius, 0.4 %, times a logarithm.
        assert!((own / sheet - 1.0).abs() < 5e-3, "{own} {sheet}");
    }

    /// With long sides the inductance of a length of them is that of two bars of rectangular section,
    /// mu_0 / pi (ln(d / g)) with g the geometric mean distance of a square of side a from itself, 0.44705 a
    /// (Maxwell), and d their distance, which that of the bars from each other equals to (a / d)^4.
    #[test]
    fn a_length_of_long_sides_is_a_pair_of_bars() {
        let coil = |straight: f64| Racetrack {
            inner: 10.0 * MM,
            outer: 12.0 * MM,
            bottom: 0.0,
            top: 2.0 * MM,
            straight,
            turns: 1.0,
        };
        let (long, longer) = (2.0, 3.0);
        let per_length = (coil(longer).inductance() - coil(long).inductance()) / (longer - long);
        let exact = MU_0 / PI * (22.0_f64 / (0.44705 * 2.0)).ln();
        assert!((per_length / exact - 1.0).abs() < 5e-3, "{per_length} {exact}");
    }
}
