//! Derivatives of 1/R by recurrence, and of its integral along a line.
//!
//! With g = 1/R, R^2 dg/dx_i = -x_i g. Differentiated alpha times by Leibniz's rule that gives each
//! derivative from lower ones,
//!
//! ```text
//! R^2 g(alpha + e_i) = -x_i g(alpha) - alpha_i g(alpha - e_i)
//!                      - sum_j (2 x_j alpha_j g(alpha + e_i - e_j)
//!                               + alpha_j (alpha_j - 1) g(alpha + e_i - 2 e_j))
//! ```
//!
//! and the integral of g along a line from y' = -infinity up to y - u, but for what does not depend on
//! x and z, w = asinh(u / rho) with rho^2 = x^2 + z^2, rho^2 dw/dx = -x u g, rho^2 dw/dz = -z u g.
//! Derivatives are kept up to once by z: the rest follow from Laplace's equation.

use crate::strings::jet::{PAIRS, place};

/// Sources taken side by side.
pub(super) const LANES: usize = 4;

/// One value for each of several sources.
pub(super) type Lanes = [f64; LANES];

/// d^(a+b+c) g / dx^a dy^b dz^c, `d[c][place(a, b)]`, c = 0 or 1, a + b + c <= `order` <=
/// [`crate::strings::jet::ORDER`].
#[derive(Clone, Copy, Debug)]
pub(super) struct Derivatives<T> {
    d: [[T; PAIRS]; 2],
}

impl Derivatives<f64> {
    pub(super) const ZERO: Self = Self { d: [[0.0; PAIRS]; 2] };

    pub(super) fn get(&self, a: usize, b: usize, c: usize) -> f64 {
        self.d[c][place(a, b)]
    }

    /// Adds others of several sources, each multiplied by its `factor`, up to `order`.
    pub(super) fn add(&mut self, factor: &Lanes, others: &Derivatives<Lanes>, order: usize) {
        for c in 0..2.min(order + 1) {
            let count = place(0, order - c) + 1;
            for (own, theirs) in self.d[c][..count].iter_mut().zip(&others.d[c][..count]) {
                for l in 0..LANES {
                    *own += factor[l] * theirs[l];
                }
            }
        }
    }
}

/// sum += factor * more, lane by lane.
#[inline(always)]
fn add(sum: &mut Lanes, factor: f64, more: &Lanes) {
    for l in 0..LANES {
        sum[l] += factor * more[l];
    }
}

/// The product, lane by lane.
#[inline(always)]
fn times(a: &Lanes, b: &Lanes) -> Lanes {
    std::array::from_fn(|l| a[l] * b[l])
}

impl Derivatives<Lanes> {
    pub(super) const ZERO: Self = Self { d: [[[0.0; LANES]; PAIRS]; 2] };

    /// Sets those of 1/R at (x, y, z) from the sources, m, up to `order`. What lies beyond it is left.
    pub(super) fn set_point(&mut self, x: &Lanes, y: &Lanes, z: f64, order: usize) {
        let [g, by_z] = &mut self.d;
        let q: Lanes = std::array::from_fn(|l| 1.0 / (x[l] * x[l] + y[l] * y[l] + z * z));
        g[0] = q.map(f64::sqrt);
        let f = |n: usize| n as f64;
        for n in 1..=order {
            for b in 0..=n {
                let a = n - b;
                let mut sum = [0.0; LANES];
                if a > 0 {
                    // alpha = (p, b), i = x.
                    let p = a - 1;
                    add(&mut sum, -f(2 * p + 1), &times(x, &g[place(p, b)]));
                    if p >= 1 {
                        add(&mut sum, -f(p * p), &g[place(p - 1, b)]);
                    }
                    if b >= 1 {
                        add(&mut sum, -2.0 * f(b), &times(y, &g[place(a, b - 1)]));
                    }
                    if b >= 2 {
                        add(&mut sum, -f(b * (b - 1)), &g[place(a, b - 2)]);
                    }
                } else {
                    // alpha = (0, p), i = y.
                    let p = b - 1;
                    add(&mut sum, -f(2 * p + 1), &times(y, &g[place(0, p)]));
                    if p >= 1 {
                        add(&mut sum, -f(p * p), &g[place(0, p - 1)]);
                    }
                }
                g[place(a, b)] = times(&q, &sum);
            }
        }
        for n in 0..order {
            for b in 0..=n {
                // alpha = (a, b, 0), i = z.
                let a = n - b;
                let mut sum = [0.0; LANES];
                add(&mut sum, -z, &g[place(a, b)]);
                if a >= 1 {
                    add(&mut sum, -2.0 * f(a), &times(x, &by_z[place(a - 1, b)]));
                }
                if a >= 2 {
                    add(&mut sum, -f(a * (a - 1)), &by_z[place(a - 2, b)]);
                }
                if b >= 1 {
                    add(&mut sum, -2.0 * f(b), &times(y, &by_z[place(a, b - 1)]));
                }
                if b >= 2 {
                    add(&mut sum, -f(b * (b - 1)), &by_z[place(a, b - 2)]);
                }
                by_z[place(a, b)] = times(&q, &sum);
            }
        }
    }

    /// Sets those of w = asinh(u / rho), u in place of y, the value itself left out: only differences
    /// of it mean anything.
    pub(super) fn set_line(&mut self, x: &Lanes, u: &Lanes, z: f64, order: usize) {
        let mut of_point = Self::ZERO;
        of_point.set_point(x, u, z, order);
        let [g, _] = &of_point.d;
        let [w, w_z] = &mut self.d;
        w[0] = [0.0; LANES];
        let q: Lanes = std::array::from_fn(|l| 1.0 / (x[l] * x[l] + z * z));
        for n in 0..order {
            let f = n as f64;
            let mut sum = times(x, &g[place(n, 0)]);
            if n >= 1 {
                add(&mut sum, f, &g[place(n - 1, 0)]);
            }
            let mut value = times(u, &sum).map(|v| -v);
            if n >= 1 {
                add(&mut value, -2.0 * f, &times(x, &w[place(n, 0)]));
            }
            if n >= 2 {
                add(&mut value, -f * (f - 1.0), &w[place(n - 1, 0)]);
            }
            w[place(n + 1, 0)] = times(&q, &value);
            let mut value = times(u, &g[place(n, 0)]).map(|v| -z * v);
            if n >= 1 {
                add(&mut value, -2.0 * f, &times(x, &w_z[place(n - 1, 0)]));
            }
            if n >= 2 {
                add(&mut value, -f * (f - 1.0), &w_z[place(n - 2, 0)]);
            }
            w_z[place(n, 0)] = times(&q, &value);
        }
        // dw/dy = g.
        for c in 0..2.min(order + 1) {
            for n in 1..=order - c {
                for b in 1..=n {
                    self.d[c][place(n - b, b)] = of_point.d[c][place(n - b, b - 1)];
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::strings::jet::ORDER;

    /// One source, in all lanes, set by `set`.
    fn one(
        set: impl Fn(&mut Derivatives<Lanes>, &Lanes, &Lanes, f64, usize),
        [x, y, z]: [f64; 3],
    ) -> Derivatives<f64> {
        let mut all = Derivatives::<Lanes>::ZERO;
        set(&mut all, &[x; LANES], &[y; LANES], z, ORDER);
        let mut sum = Derivatives::<f64>::ZERO;
        sum.add(&[1.0, 0.0, 0.0, 0.0], &all, ORDER);
        sum
    }

    /// Every derivative equals the central difference of the one below it.
    fn agrees(of: impl Fn([f64; 3]) -> Derivatives<f64>, p: [f64; 3]) {
        let here = of(p);
        let h = 1e-4;
        let shifted = |axis: usize| {
            let (mut up, mut down) = (p, p);
            up[axis] += h;
            down[axis] -= h;
            (of(up), of(down))
        };
        let (x, y) = (shifted(0), shifted(1));
        let z = shifted(2);
        let mut seen = 0;
        let mut close =
            |exact: f64, pair: &(Derivatives<f64>, Derivatives<f64>), at: [usize; 3]| {
                let [a, b, c] = at;
                let difference = (pair.0.get(a, b, c) - pair.1.get(a, b, c)) / (2.0 * h);
                // The difference errs by h^2 / 6 of a derivative two orders up, some (n + 2)^2 larger.
                let size = exact.abs().max((1..=a + b + c + 1).map(|n| n as f64).product());
                assert!((exact - difference).abs() < 1e-6 * size, "{at:?}: {exact} {difference}");
                seen += 1;
            };
        for n in 1..ORDER - 1 {
            for b in 0..=n {
                let a = n - b;
                close(here.get(a + 1, b, 0), &x, [a, b, 0]);
                close(here.get(a, b + 1, 0), &y, [a, b, 0]);
                close(here.get(a, b, 1), &z, [a, b, 0]);
                close(here.get(a + 1, b, 1), &x, [a, b, 1]);
            }
        }
        assert_eq!(seen, 80);
    }

    #[test]
    fn derivatives_of_the_inverse_distance() {
        agrees(|p| one(Derivatives::set_point, p), [0.6, -0.9, 0.8]);
        agrees(|p| one(Derivatives::set_point, p), [0.0, 1.0, 0.7]);
    }

    #[test]
    fn derivatives_of_the_line() {
        agrees(|p| one(Derivatives::set_line, p), [0.6, -0.9, 0.8]);
        agrees(|p| one(Derivatives::set_line, p), [0.5, 1.3, 1.1]);
    }
}
