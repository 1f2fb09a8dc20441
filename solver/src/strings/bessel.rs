//! Bessel functions of the first kind of many orders at one place.

/// Fills `values[m]` = J_m(x) for m = 0 .. `values.len()`, x >= 0.
///
/// Power series for small x, upward recurrence from J_0 and J_1 where it is stable (x beyond the
/// highest order), else Miller's downward recurrence normalised with J_0 + 2 (J_2 + J_4 + ...) = 1. Absolute error
/// below 1e-13 for the orders used here (up to about 16).
pub(crate) fn bessel_j(x: f64, values: &mut [f64]) {
    let n = values.len();
    if n == 0 {
        return;
    }
    if x > n as f64 {
        values[0] = libm::j0(x);
        if n > 1 {
            values[1] = libm::j1(x);
        }
        let twice = 2.0 / x;
        for m in 2..n {
            values[m] = (m as f64 - 1.0) * twice * values[m - 1] - values[m - 2];
        }
        return;
    }
    if x < 0.25 {
        power_series(x, values);
        return;
    }
    // Start high enough that the wrong start has died out by order n: what is left of it at the order m is
    // J_N Y_m / Y_N, and J_N < 1e-9 for N > 1.6 x + 14.
    let start = 2 * ((n as f64).max(1.6 * x) / 2.0 + 7.0).ceil() as usize;
    let twice = 2.0 / x;
    let (mut above, mut here, mut sum) = (0.0, 1e-250, 0.0);
    for m in (0..=start).rev() {
        if m < n {
            values[m] = here;
        }
        if m == 0 {
            sum += here;
        } else {
            if m % 2 == 0 {
                sum += 2.0 * here;
            }
            (above, here) = (here, m as f64 * twice * here - above);
        }
    }
    let scale = 1.0 / sum;
    for value in values.iter_mut() {
        *value *= scale;
    }
}

/// J_m(x) = (x/2)^m / m! sum_j (-x^2/4)^j m! / (j! (m+j)!), six terms.
fn power_series(x: f64, values: &mut [f64]) {
    let square = -0.25 * x * x;
    let mut lead = 1.0;
    for (m, value) in values.iter_mut().enumerate() {
        let mut sum = 1.0;
        for j in (1..=6).rev() {
            sum = 1.0 + sum * square / (j * (m + j)) as f64;
        }
        *value = lead * sum;
        lead *= 0.5 * x / (m + 1) as f64;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agrees_with_single_order_evaluation() {
        for i in 0..400 {
            let x = 1e-9 * 1.08_f64.powi(i);
            if x > 1e4 {
                break;
            }
            for n in [1, 2, 3, 8, 14] {
                let mut values = vec![0.0; n];
                bessel_j(x, &mut values);
                for (m, &value) in values.iter().enumerate() {
                    let exact = libm::jn(m as i32, x);
                    // libm itself is good to about 1e-15 absolute at moderate x.
                    assert!((value - exact).abs() < 1e-13, "J_{m}({x}) {value} {exact}");
                }
            }
        }
    }
}
