//! The field of a racetrack coil per ampere with all its derivatives, by Biot and Savart's law.
//!
//! A current element dl makes H = -dl x grad(1/R) / 4 pi. As H = -grad phi, with level dl
//!
//! ```text
//! 4 pi dphi/dx =  dl_y d(1/R)/dz        4 pi dphi/dy = -dl_x d(1/R)/dz
//! 4 pi dphi/dz =  dl_x d(1/R)/dy - dl_y d(1/R)/dx
//! ```
//!
//! and so on for higher derivatives; they are those of one potential once the loop is closed. The
//! straight sides are integrated in closed form, the half rings with Gauss-Legendre nodes. The value
//! of phi itself is left at 0: only its derivatives mean anything.

use std::f64::consts::PI;

use rayon::prelude::*;

use super::inverse_distance::Derivatives;
use super::path::{Racetrack, arc_nodes};
use crate::strings::jet::PotentialJet;

/// Thin racetracks across and up the window. At the distance of a string (no closer than half the
/// window's width) the means over the window are good to 1e-6.
const ACROSS: usize = 5;
const UP: usize = 6;
/// Elements on a half ring.
const ARC: usize = 24;

impl Racetrack {
    /// Jets of the potential per ampere at `points`, m, up to `order`.
    pub(crate) fn jets(&self, points: &[[f64; 3]], order: usize) -> Vec<PotentialJet> {
        let thin = self.thin(ACROSS, UP);
        let arc = arc_nodes(ARC);
        let half = 0.5 * self.straight;
        let one = |&[x, y, z]: &[f64; 3]| -> PotentialJet {
            // Sums over the wire of dl_x / R and dl_y / R with their derivatives.
            let (mut sum_x, mut sum_y) = (Derivatives::ZERO, Derivatives::ZERO);
            for t in &thin {
                let up = z - t.height;
                for end in [half, -half] {
                    for &(sin, cos, weight) in &arc {
                        let (sin, cos) =
                            if end.is_sign_positive() { (sin, cos) } else { (-sin, -cos) };
                        let from = [x - t.radius * cos, y - end - t.radius * sin, up];
                        let g = Derivatives::of_point(from, order);
                        let length = t.turns * t.radius * weight;
                        sum_x.add(-length * sin, &g, order);
                        sum_y.add(length * cos, &g, order);
                    }
                }
                if half > 0.0 {
                    for sense in [1.0, -1.0] {
                        for (end, sign) in [(-half, 1.0), (half, -1.0)] {
                            let from = [x - sense * t.radius, y - end, up];
                            let w = Derivatives::of_line(from, order);
                            sum_y.add(sense * sign * t.turns, &w, order);
                        }
                    }
                }
            }
            jet(&sum_x, &sum_y, order)
        };
        points.par_iter().map(one).collect()
    }
}

fn jet(x: &Derivatives, y: &Derivatives, order: usize) -> PotentialJet {
    let factor = 1.0 / (4.0 * PI);
    let mut jet = PotentialJet::ZERO;
    for n in 1..=order {
        for b in 0..=n {
            let a = n - b;
            let value = if a >= 1 { y.get(a - 1, b, 1) } else { -x.get(0, b - 1, 1) };
            jet.set(a, b, 0, factor * value);
        }
    }
    for n in 0..order {
        for b in 0..=n {
            let a = n - b;
            jet.set(a, b, 1, factor * (x.get(a, b + 1, 0) - y.get(a + 1, b, 0)));
        }
    }
    jet
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strings::UpperField;
    use crate::units::MM;

    const COIL: Racetrack = Racetrack {
        inner: 3.0 * MM,
        outer: 7.0 * MM,
        bottom: -13.0 * MM,
        top: -2.0 * MM,
        straight: 52.5 * MM,
        turns: 7000.0,
    };

    fn field_strength(coil: &Racetrack, p: [f64; 3]) -> [f64; 3] {
        coil.jets(&[p], 3)[0].field().h
    }

    /// Complete elliptic integrals K and E of modulus k by the arithmetic-geometric mean.
    fn elliptic(k2: f64) -> (f64, f64) {
        let (mut a, mut b, mut c2) = (1.0, (1.0 - k2).sqrt(), k2);
        let (mut sum, mut power) = (0.5 * k2, 0.5);
        while c2 > 1e-32 {
            let (mean, root) = (0.5 * (a + b), (a * b).sqrt());
            let c = 0.5 * (a - b);
            (a, b, c2) = (mean, root, c * c);
            power *= 2.0;
            sum += power * c2;
        }
        let k = 0.5 * PI / a;
        (k, k * (1.0 - sum))
    }

    /// H_r and H_z of a ring of radius `a` with one ampere (Smythe, Static and Dynamic Electricity,
    /// 7.10).
    fn ring(a: f64, r: f64, z: f64) -> [f64; 2] {
        let outer = (a + r) * (a + r) + z * z;
        let inner = (a - r) * (a - r) + z * z;
        let (k, e) = elliptic(4.0 * a * r / outer);
        let common = 1.0 / (2.0 * PI * outer.sqrt());
        [
            common * z / r * (-k + (a * a + r * r + z * z) / inner * e),
            common * (k + (a * a - r * r - z * z) / inner * e),
        ]
    }

    #[test]
    fn without_straight_sides_it_is_a_round_coil() {
        let coil = Racetrack { straight: 0.0, ..COIL };
        for [x, y, z] in [[0.3, 0.2, 2.0], [5.0, -1.0, 2.5], [0.0, 7.0, 2.0], [-20.0, 3.0, 4.0]] {
            let p = [x * MM, y * MM, z * MM];
            let r = p[0].hypot(p[1]);
            let mut exact = [0.0; 2];
            // Rings so close that their mean is that of the window to 1e-10.
            for t in coil.thin(14, 20) {
                let own = ring(t.radius, r, p[2] - t.height);
                exact = [0, 1].map(|i| exact[i] + t.turns * own[i]);
            }
            let h = field_strength(&coil, p);
            let across = (h[0] * p[0] + h[1] * p[1]) / r;
            let size = exact[0].hypot(exact[1]);
            // What is asked of the coil's field: a millionth; the rings of the window reach it.
            assert!((across - exact[0]).abs() < 1e-6 * size, "{p:?} {across} {exact:?}");
            assert!((h[2] - exact[1]).abs() < 1e-6 * size, "{p:?} {h:?} {exact:?}");
        }
    }

    /// A thin racetrack of length L and radius r on its axis over the middle: two sides, each
    /// I L r / (2 pi (r^2 + z^2) sqrt(r^2 + z^2 + L^2/4)) / 2 upward, and two half rings summed finely.
    #[test]
    fn over_the_middle_it_is_the_sum_of_sides_and_half_rings() {
        let (r, length, z) = (5.0 * MM, 52.5 * MM, 6.0 * MM);
        let half = 0.5 * length;
        let rho2 = r * r + z * z;
        let sides = 2.0 * r * length / (4.0 * PI * rho2 * (rho2 + half * half).sqrt());
        let n = 4000;
        let mut rings = 0.0;
        for i in 0..n {
            let angle = PI * (i as f64 + 0.5) / n as f64;
            let (sin, cos) = angle.sin_cos();
            // dl x (p - at), upward part, of the half ring about (0, half).
            let at = [r * cos, half + r * sin];
            let dl = [-r * sin * PI / n as f64, r * cos * PI / n as f64];
            let distance = (at[0] * at[0] + at[1] * at[1] + z * z).sqrt();
            rings += 2.0 * (dl[1] * at[0] - dl[0] * at[1]) / (4.0 * PI * distance.powi(3));
        }
        let tiny = 1e-9;
        let thin = Racetrack {
            inner: r - tiny,
            outer: r + tiny,
            bottom: -tiny,
            top: tiny,
            straight: length,
            turns: 1.0,
        };
        let h = field_strength(&thin, [0.0, 0.0, z]);
        // The midpoint rule errs by 1 / n^2 of a smooth integrand, the thin window not at all.
        assert!((h[2] / (sides + rings) - 1.0).abs() < 1e-7, "{} {}", h[2], sides + rings);
        assert!(h[0].abs() < 1e-9 * h[2] && h[1].abs() < 1e-9 * h[2], "{h:?}");
    }

    /// Two very long sides are two endless wires.
    #[test]
    fn with_long_sides_it_is_a_pair_of_wires() {
        let coil = Racetrack { straight: 40.0, ..COIL };
        let p = [1.0 * MM, 0.0, 3.0 * MM];
        let mut exact = [0.0; 2];
        for t in coil.thin(12, 16) {
            for sense in [1.0, -1.0] {
                let (x, z) = (p[0] - sense * t.radius, p[2] - t.height);
                let factor = sense * t.turns / (2.0 * PI * (x * x + z * z));
                exact = [exact[0] + factor * z, exact[1] - factor * x];
            }
        }
        let h = field_strength(&coil, p);
        let size = exact[0].hypot(exact[1]);
        // The ends, 20 m away, add (r / 20 m)^2 = 1e-7; the mean over the window is good to 1e-6.
        assert!((h[0] - exact[0]).abs() < 1e-6 * size, "{h:?} {exact:?}");
        assert!((h[2] - exact[1]).abs() < 1e-6 * size, "{h:?} {exact:?}");
    }

    #[test]
    fn its_jets_are_derivatives_of_one_harmonic_field() {
        let field = UpperField::racetrack(COIL);
        let p = [1.1 * MM, 19.0 * MM, 2.5 * MM];
        let here = field.eval(p);
        let step = 1e-5;
        let scale = here.second[2][2][2].abs();
        for axis in 0..3 {
            let (mut up, mut down) = (p, p);
            up[axis] += step;
            down[axis] -= step;
            let (up, down) = (field.eval(up), field.eval(down));
            for i in 0..3 {
                let d = (up.h[i] - down.h[i]) / (2.0 * step);
                let size = here.gradient[2][2].abs();
                // step^2 / 6 against (5 mm)^2 is 1e-6.
                assert!((d - here.gradient[i][axis]).abs() < 1e-5 * size);
                assert!((here.gradient[i][axis] - here.gradient[axis][i]).abs() < 1e-9 * size);
                for j in 0..3 {
                    let d = (up.gradient[i][j] - down.gradient[i][j]) / (2.0 * step);
                    assert!((d - here.second[i][j][axis]).abs() < 1e-5 * scale);
                }
            }
        }
    }
}
