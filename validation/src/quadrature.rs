//! Numerical integration: the independent route by which closed forms are checked, and the way
//! the few integrals without a closed form are evaluated.

/// Nodes and weights of the Gauss-Legendre rule with `n` points on [-1, 1], ascending.
///
/// The nodes are the roots of the Legendre polynomial P_n, found by Newton's method from
/// cos(pi (i + 3/4) / (n + 1/2)); weights 2 / ((1 - x^2) P_n'(x)^2). [DLMF 3.5.15]
pub fn gauss_legendre(n: usize) -> Vec<(f64, f64)> {
    let count = n as f64;
    (0..n)
        .rev()
        .map(|i| {
            let mut x = libm::cos(std::f64::consts::PI * (i as f64 + 0.75) / (count + 0.5));
            let mut derivative = 1.0;
            // Quadratic convergence from a start good to 1/n^2: six steps reach round-off.
            for _ in 0..6 {
                let (mut p, mut previous) = (1.0, 0.0);
                for k in 0..n {
                    let k = k as f64;
                    let next = ((2.0 * k + 1.0) * x * p - k * previous) / (k + 1.0);
                    previous = p;
                    p = next;
                }
                derivative = count * (x * p - previous) / (x * x - 1.0);
                x -= p / derivative;
            }
            (x, 2.0 / ((1.0 - x * x) * derivative * derivative))
        })
        .collect()
}

/// Integral of `f` over [`from`, `to`] by `panels` equal panels of a 16-point Gauss-Legendre rule.
pub fn integrate(f: impl Fn(f64) -> f64, from: f64, to: f64, panels: usize) -> f64 {
    let rule = gauss_legendre(16);
    let half = (to - from) / (2.0 * panels as f64);
    let mut sum = 0.0;
    for panel in 0..panels {
        let middle = from + half * (2.0 * panel as f64 + 1.0);
        sum += rule.iter().map(|&(x, weight)| weight * f(middle + half * x)).sum::<f64>();
    }
    sum * half
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sixteen_points_are_exact_for_degree_31() {
        // Round-off of 16 terms of order one.
        let exact = 2.0 / 31.0;
        let sum: f64 = gauss_legendre(16).iter().map(|&(x, w)| w * x.powi(30)).sum();
        assert!((sum - exact).abs() < 1e-15, "{sum} against {exact}");
        assert!(
            (integrate(|x| x.powi(31), 0.0, 2.0, 3) / (2f64.powi(32) / 32.0) - 1.0).abs() < 1e-14
        );
    }

    #[test]
    fn nodes_ascend_and_weights_sum_to_the_length() {
        let rule = gauss_legendre(7);
        assert!(rule.windows(2).all(|pair| pair[0].0 < pair[1].0));
        assert!((rule.iter().map(|&(_, w)| w).sum::<f64>() - 2.0).abs() < 1e-14);
    }
}
