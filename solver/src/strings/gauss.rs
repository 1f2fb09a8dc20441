//! Quadrature nodes on [-1, 1].
//!
//! Gauss-Legendre nodes integrate polynomials up to degree 2n - 1, Gauss-Lobatto nodes (which hold
//! both ends) up to degree 2n - 3. Both are found by Newton's method on the Legendre polynomial
//! P_n or its derivative; the three-term recurrence gives P_n to round-off.

/// Gauss-Legendre nodes and weights on [-1, 1], `[n]` each, nodes ascending.
pub(crate) fn gauss_legendre(n: usize) -> (Vec<f64>, Vec<f64>) {
    let mut nodes = vec![0.0; n];
    let mut weights = vec![0.0; n];
    for i in 0..n.div_ceil(2) {
        let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (n as f64 + 0.5)).cos();
        // Quadratic convergence from a start good to 1e-3: five steps reach round-off.
        for _ in 0..6 {
            let (p, dp) = legendre(n, x);
            x -= p / dp;
        }
        let (_, dp) = legendre(n, x);
        nodes[i] = -x;
        nodes[n - 1 - i] = x;
        weights[i] = 2.0 / ((1.0 - x * x) * dp * dp);
        weights[n - 1 - i] = weights[i];
    }
    if n % 2 == 1 {
        nodes[n / 2] = 0.0;
    }
    (nodes, weights)
}

/// Gauss-Lobatto nodes and weights on [-1, 1], `[degree + 1]` each, both ends included, for
/// `degree` >= 1; exactly symmetric about 0.
pub(crate) fn gauss_lobatto(degree: usize) -> (Vec<f64>, Vec<f64>) {
    let n = degree as f64;
    let mut nodes = vec![0.0; degree + 1];
    let mut weights = vec![0.0; degree + 1];
    for i in 0..=degree / 2 {
        let mut x = -(std::f64::consts::PI * i as f64 / n).cos();
        if 2 * i == degree {
            x = 0.0;
        } else if i > 0 {
            // Roots of P_n': P_n'' from Legendre's equation.
            for _ in 0..12 {
                let (p, dp) = legendre(degree, x);
                let ddp = (2.0 * x * dp - n * (n + 1.0) * p) / (1.0 - x * x);
                x -= dp / ddp;
            }
        }
        let (p, _) = legendre(degree, x);
        nodes[i] = x;
        weights[i] = 2.0 / (n * (n + 1.0) * p * p);
        nodes[degree - i] = -nodes[i];
        weights[degree - i] = weights[i];
    }
    (nodes, weights)
}

/// P_n and P_n' at x; the derivative is only used away from the ends.
fn legendre(n: usize, x: f64) -> (f64, f64) {
    let (mut before, mut p) = (1.0, x);
    for j in 2..=n {
        let j = j as f64;
        (before, p) = (p, ((2.0 * j - 1.0) * x * p - (j - 1.0) * before) / j);
    }
    let dp = n as f64 * (x * p - before) / (x * x - 1.0);
    (p, dp)
}

/// Values and derivatives of the Lagrange polynomials through `nodes` at `x`.
///
/// Returns `(values, derivatives)`, `[nodes.len()]` each.
pub(crate) fn lagrange(nodes: &[f64], x: f64) -> (Vec<f64>, Vec<f64>) {
    let n = nodes.len();
    let mut values = vec![1.0; n];
    let mut derivatives = vec![0.0; n];
    for i in 0..n {
        for j in (0..n).filter(|&j| j != i) {
            let inverse = 1.0 / (nodes[i] - nodes[j]);
            derivatives[i] = (derivatives[i] * (x - nodes[j]) + values[i]) * inverse;
            values[i] *= (x - nodes[j]) * inverse;
        }
    }
    (values, derivatives)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_rules_integrate_polynomials_of_their_degree() {
        for n in [2, 3, 5, 8, 16] {
            let (x, w) = gauss_legendre(n);
            let (xl, wl) = gauss_lobatto(n);
            for power in 0..2 * n {
                let exact = if power % 2 == 0 { 2.0 / (power as f64 + 1.0) } else { 0.0 };
                let gauss: f64 = (0..n).map(|i| w[i] * x[i].powi(power as i32)).sum();
                let lobatto: f64 = (0..=n).map(|i| wl[i] * xl[i].powi(power as i32)).sum();
                // Round-off of at most 17 terms.
                assert!((gauss - exact).abs() < 1e-14, "gauss {n} {power}");
                assert!((lobatto - exact).abs() < 1e-14, "lobatto {n} {power}");
            }
        }
    }

    #[test]
    fn lagrange_polynomials_reproduce_a_cubic_and_its_slope() {
        let (nodes, _) = gauss_lobatto(3);
        let f = |x: f64| 2.0 * x * x * x - x + 0.5;
        let (value, slope) = lagrange(&nodes, 0.3);
        let v: f64 = (0..4).map(|i| value[i] * f(nodes[i])).sum();
        let s: f64 = (0..4).map(|i| slope[i] * f(nodes[i])).sum();
        assert!((v - f(0.3)).abs() < 1e-14 && (s - (6.0 * 0.09 - 1.0)).abs() < 1e-13);
    }
}
