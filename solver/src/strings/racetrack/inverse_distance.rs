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

use crate::strings::jet::ORDER;

/// One more than the order of the jets of a field.
const N: usize = ORDER + 2;

/// `d[c][a][b]` = d^(a+b+c) g / dx^a dy^b dz^c, c = 0 or 1, a + b + c <= `order`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Derivatives {
    d: [[[f64; N]; N]; 2],
}

impl Derivatives {
    pub(super) const ZERO: Self = Self { d: [[[0.0; N]; N]; 2] };

    pub(super) fn get(&self, a: usize, b: usize, c: usize) -> f64 {
        self.d[c][a][b]
    }

    /// Adds `factor` times another set, up to `order`.
    pub(super) fn add(&mut self, factor: f64, other: &Self, order: usize) {
        for c in 0..2 {
            for a in 0..=order - c {
                for b in 0..=order - c - a {
                    self.d[c][a][b] += factor * other.d[c][a][b];
                }
            }
        }
    }

    /// Those of 1/R at (x, y, z) from the source, m, up to `order` <= [`ORDER`] + 1.
    pub(super) fn of_point([x, y, z]: [f64; 3], order: usize) -> Self {
        let mut d = Self::ZERO.d;
        let r2 = x * x + y * y + z * z;
        let q = 1.0 / r2;
        d[0][0][0] = q.sqrt();
        for n in 1..=order {
            for b in 0..=n {
                let a = n - b;
                let f = |n: usize| n as f64;
                let value = if a > 0 {
                    // alpha = (a - 1, b), i = x.
                    let (p, g) = (a - 1, &d[0]);
                    let mut sum = -x * g[p][b] - 2.0 * x * f(p) * g[a - 1][b];
                    if p >= 1 {
                        sum -= f(p) * g[p - 1][b] + f(p * (p - 1)) * g[a - 2][b];
                    }
                    if b >= 1 {
                        sum -= 2.0 * y * f(b) * g[a][b - 1];
                    }
                    if b >= 2 {
                        sum -= f(b * (b - 1)) * g[a][b - 2];
                    }
                    sum
                } else {
                    // alpha = (0, b - 1), i = y.
                    let (p, g) = (b - 1, &d[0]);
                    let mut sum = -y * g[0][p] - 2.0 * y * f(p) * g[0][p];
                    if p >= 1 {
                        sum -= f(p) * g[0][p - 1] + f(p * (p - 1)) * g[0][p - 1];
                    }
                    sum
                };
                d[0][a][b] = q * value;
            }
        }
        for n in 0..order {
            for b in 0..=n {
                let a = n - b;
                // alpha = (a, b, 0), i = z.
                let mut sum = -z * d[0][a][b];
                let f = |n: usize| n as f64;
                if a >= 1 {
                    sum -= 2.0 * x * f(a) * d[1][a - 1][b];
                }
                if a >= 2 {
                    sum -= f(a * (a - 1)) * d[1][a - 2][b];
                }
                if b >= 1 {
                    sum -= 2.0 * y * f(b) * d[1][a][b - 1];
                }
                if b >= 2 {
                    sum -= f(b * (b - 1)) * d[1][a][b - 2];
                }
                d[1][a][b] = q * sum;
            }
        }
        Self { d }
    }

    /// Those of w = asinh(u / rho), u in place of y, the value itself left out: only differences of
    /// it mean anything. `order` <= [`ORDER`] + 1.
    pub(super) fn of_line([x, u, z]: [f64; 3], order: usize) -> Self {
        let g = Self::of_point([x, u, z], order);
        let q = 1.0 / (x * x + z * z);
        let mut w = Self::ZERO.d;
        for n in 0..order {
            let f = n as f64;
            let mut sum = x * g.d[0][n][0];
            if n >= 1 {
                sum += f * g.d[0][n - 1][0];
            }
            let mut value = -u * sum;
            if n >= 1 {
                value -= 2.0 * f * x * w[0][n][0];
            }
            if n >= 2 {
                value -= f * (f - 1.0) * w[0][n - 1][0];
            }
            w[0][n + 1][0] = q * value;
            let mut value = -u * z * g.d[0][n][0];
            if n >= 1 {
                value -= 2.0 * f * x * w[1][n - 1][0];
            }
            if n >= 2 {
                value -= f * (f - 1.0) * w[1][n - 2][0];
            }
            w[1][n][0] = q * value;
        }
        // dw/dy = g.
        for c in 0..2 {
            for a in 0..=order - c {
                for b in 1..=order - c - a {
                    w[c][a][b] = g.d[c][a][b - 1];
                }
            }
        }
        Self { d: w }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every derivative equals the central difference of the one below it.
    fn agrees(of: impl Fn([f64; 3]) -> Derivatives, p: [f64; 3]) {
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
        let mut close = |exact: f64, pair: &(Derivatives, Derivatives), at: [usize; 3]| {
            let [a, b, c] = at;
            let difference = (pair.0.get(a, b, c) - pair.1.get(a, b, c)) / (2.0 * h);
            // The difference errs by h^2 / 6 of a derivative two orders up, some (n + 2)^2 larger.
            let size = exact.abs().max((1..=a + b + c + 1).map(|n| n as f64).product());
            assert!((exact - difference).abs() < 1e-6 * size, "{at:?}: {exact} {difference}");
            seen += 1;
        };
        for n in 1..ORDER {
            for b in 0..=n {
                let a = n - b;
                close(here.get(a + 1, b, 0), &x, [a, b, 0]);
                close(here.get(a, b + 1, 0), &y, [a, b, 0]);
                close(here.get(a, b, 1), &z, [a, b, 0]);
                close(here.get(a + 1, b, 1), &x, [a, b, 1]);
            }
        }
        assert!(seen > 100);
    }

    #[test]
    fn derivatives_of_the_inverse_distance() {
        agrees(|p| Derivatives::of_point(p, ORDER + 1), [0.6, -0.9, 0.8]);
        agrees(|p| Derivatives::of_point(p, ORDER + 1), [0.0, 1.0, 0.7]);
    }

    #[test]
    fn derivatives_of_the_line() {
        agrees(|p| Derivatives::of_line(p, ORDER + 1), [0.6, -0.9, 0.8]);
        agrees(|p| Derivatives::of_line(p, ORDER + 1), [0.5, 1.3, 1.1]);
    }
}
