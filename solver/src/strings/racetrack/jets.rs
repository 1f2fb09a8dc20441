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

use std::collections::BTreeMap;
use std::f64::consts::PI;

use rayon::prelude::*;

use super::inverse_distance::{Derivatives, LANES, Lanes};
use super::path::{Racetrack, Thin, arc_nodes};
use crate::strings::jet::PotentialJet;

/// Most thin racetracks across and up the window. At the distance of a string (no closer than half the
/// window's width) the means over the window are good to 1e-6.
const ACROSS: usize = 5;
const UP: usize = 6;
/// Most elements on a half ring.
const ARC: usize = 24;
/// Fewest of each: what any place asks for, since a wire's length goes with its radius and its direction with
/// sine and cosine.
const FEWEST: usize = 2;
const FEWEST_OF_ARC: usize = 8;
/// What fewer than most may leave out, as the rate tells at which Gauss's rule converges: of the means over
/// the window, and along a half ring, where derivatives of the seventh order are taken under the integral.
const LEFT_OF_WINDOW: f64 = 1e-8;
const LEFT_OF_ARC: f64 = 1e-12;

/// Rules of every number of nodes that is used.
struct Rules {
    /// `[n]`, sine, cosine and weight of each of n elements.
    arcs: Vec<Vec<(f64, f64, f64)>>,
    /// `[n_across][n_up]`
    windows: Vec<Vec<Vec<Thin>>>,
}

impl Racetrack {
    /// Jets of the potential per ampere at `points`, m, up to `order`.
    ///
    /// The coil is its own mirror image along x: of places that are so too, one is summed for both.
    pub(crate) fn jets(&self, points: &[[f64; 3]], order: usize) -> Vec<PotentialJet> {
        let rules = Rules {
            arcs: (0..=ARC).map(arc_nodes).collect(),
            windows: (0..=ACROSS)
                .map(|across| (0..=UP).map(|up| self.thin(across, up)).collect())
                .collect(),
        };
        let mut distinct: Vec<[f64; 3]> = Vec::new();
        let mut known: BTreeMap<[u64; 3], usize> = BTreeMap::new();
        let which: Vec<usize> = points
            .iter()
            .map(|&[x, y, z]| {
                let place = [x.abs(), y, z];
                *known.entry(place.map(f64::to_bits)).or_insert_with(|| {
                    distinct.push(place);
                    distinct.len() - 1
                })
            })
            .collect();
        let jets: Vec<PotentialJet> =
            distinct.par_iter().map(|&p| self.jet_at(p, order, &rules)).collect();
        let seen = |(&[x, ..], which): (&[f64; 3], usize)| {
            if x < 0.0 { jets[which].mirrored() } else { jets[which] }
        };
        points.iter().zip(which).map(seen).collect()
    }

    fn jet_at(&self, [x, y, z]: [f64; 3], order: usize, rules: &Rules) -> PotentialJet {
        let half = 0.5 * self.straight;
        let [across, up] = self.window_rule([x, y, z]);
        let arcs = [half, -half].map(|end| &rules.arcs[self.arc_rule([x, y - end, z])]);
        // Sums over the wire of dl_x / R and dl_y / R with their derivatives.
        let (mut sum_x, mut sum_y) = (Derivatives::<f64>::ZERO, Derivatives::<f64>::ZERO);
        let mut g = Derivatives::<Lanes>::ZERO;
        for t in &rules.windows[across][up] {
            let up = z - t.height;
            for (end, arc) in [half, -half].into_iter().zip(arcs) {
                for elements in arc.chunks(LANES) {
                    // Lanes without an element are far away and count nothing.
                    let (mut dx, mut dy) = ([1.0; LANES], [0.0; LANES]);
                    let (mut along_x, mut along_y) = ([0.0; LANES], [0.0; LANES]);
                    for (l, &(sin, cos, weight)) in elements.iter().enumerate() {
                        let (sin, cos) =
                            if end.is_sign_positive() { (sin, cos) } else { (-sin, -cos) };
                        dx[l] = x - t.radius * cos;
                        dy[l] = y - end - t.radius * sin;
                        let length = t.turns * t.radius * weight;
                        along_x[l] = -length * sin;
                        along_y[l] = length * cos;
                    }
                    g.set_point(&dx, &dy, up, order);
                    sum_x.add(&along_x, &g, order);
                    sum_y.add(&along_y, &g, order);
                }
            }
            if half > 0.0 {
                let (right, left) = (x - t.radius, x + t.radius);
                let (back, front) = (y + half, y - half);
                g.set_line(&[right, right, left, left], &[back, front, back, front], up, order);
                sum_y.add(&[1.0, -1.0, -1.0, 1.0].map(|sign| sign * t.turns), &g, order);
            }
        }
        jet(&sum_x, &sum_y, order)
    }

    /// How many thin racetracks across and up the window a place asks for.
    fn window_rule(&self, [x, y, z]: [f64; 3]) -> [usize; 2] {
        let beyond = (y.abs() - 0.5 * self.straight).max(0.0);
        let from = x.hypot(beyond);
        let (r, width) = (0.5 * (self.inner + self.outer), 0.5 * (self.outer - self.inner));
        let (h, height) = (0.5 * (self.bottom + self.top), 0.5 * (self.top - self.bottom));
        // The nearest wire: 1/R has no bound where both distances, across and up, cancel as complex
        // numbers.
        let over = ((z - h).abs() - height).max(0.0);
        let beside = ((from - r).abs() - width).max(0.0);
        let rate =
            [rate((from - r) / width, over / width), rate((z - h) / height, beside / height)];
        [
            nodes(LEFT_OF_WINDOW, rate[0], [FEWEST, ACROSS]),
            nodes(LEFT_OF_WINDOW, rate[1], [FEWEST, UP]),
        ]
    }

    /// How many elements of a half ring about the origin a place asks for.
    fn arc_rule(&self, [x, y, z]: [f64; 3]) -> usize {
        let from = x.hypot(y);
        let up = (z - z.clamp(self.bottom, self.top)).abs();
        // 1/R has no bound at an angle of arcosh(cosh) times i from the place's own.
        let cosh = |r: f64| (from * from + up * up + r * r) / (2.0 * r * from);
        let nearest = (from * from + up * up).sqrt().clamp(self.inner, self.outer);
        let angle = cosh(nearest).max(1.0).acosh();
        nodes(LEFT_OF_ARC, rate(0.0, angle / (0.5 * PI)), [FEWEST_OF_ARC, ARC])
    }
}

/// By what each node of Gauss's rule on [-1, 1] reduces the square root of the error, for a function that
/// has no bound at `re` + i `im`: the sum of the half axes of Bernstein's ellipse through there.
fn rate(re: f64, im: f64) -> f64 {
    let axes = 0.5 * ((re + 1.0).hypot(im) + (re - 1.0).hypot(im));
    axes + (axes * axes - 1.0).max(0.0).sqrt()
}

/// Nodes that leave no more than `left`, between `fewest` and `most`.
fn nodes(left: f64, rate: f64, [fewest, most]: [usize; 2]) -> usize {
    let wanted = (-left.ln() / (2.0 * rate.ln())).ceil();
    // Not a number or without bound where the place lies on the wire.
    if wanted < most as f64 { (wanted as usize).max(fewest) } else { most }
}

fn jet(x: &Derivatives<f64>, y: &Derivatives<f64>, order: usize) -> PotentialJet {
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

    /// Fewer nodes far away, and mirrored places, give what all the nodes give.
    #[test]
    fn fewer_nodes_give_the_same() {
        let rules = Rules {
            arcs: vec![arc_nodes(ARC); ARC + 1],
            windows: vec![vec![COIL.thin(ACROSS, UP); UP + 1]; ACROSS + 1],
        };
        let mut fewer = 0;
        for [x, y, z] in [
            [0.0, 0.0, 2.5],
            [-9.0, 26.0, 2.0],
            [-15.0, 11.0, 3.0],
            [25.0, -26.0, 2.0],
            [-40.0, 5.0, 2.5],
            [1.0, 12.0, -7.0],
            [-1.0, 60.0, -5.0],
        ] {
            let p = [x * MM, y * MM, z * MM];
            let [across, up] = COIL.window_rule(p);
            fewer += usize::from(across * up < ACROSS * UP);
            let own = COIL.jets(&[p], 7)[0];
            let all = COIL.jet_at(p, 7, &rules);
            for n in 1..=7 {
                // Derivatives of one order are compared with the largest of them.
                let of = |jet: &PotentialJet| -> Vec<f64> {
                    let at = |c: usize| (0..=n - c).map(move |b| jet.d(n - c - b, b, c));
                    (0..2).flat_map(at).collect()
                };
                let (own, all) = (of(&own), of(&all));
                let size = all.iter().fold(0.0_f64, |s, v| s.max(v.abs()));
                for (own, all) in own.iter().zip(&all) {
                    // What the window may leave, times some three for every derivative.
                    let most = LEFT_OF_WINDOW * 3.0_f64.powi(n as i32);
                    assert!((own - all).abs() < most * size, "{p:?} {n}: {own} {all}");
                }
            }
        }
        assert!(fewer >= 3, "{fewer}");
    }

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
