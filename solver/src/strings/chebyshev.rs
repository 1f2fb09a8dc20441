//! Chebyshev series: smooth functions from a few samples, with their exact derivatives.
//!
//! f(x) = sum c_i T_i(x) on -1..1, through samples at the places of the first kind. For a smooth f
//! the error falls geometrically with their number. Source: L. N. Trefethen, Approximation Theory
//! and Approximation Practice, ch. 3, 4, 8; Clenshaw's recurrence sums it.

use std::f64::consts::PI;

/// Chebyshev's places of the first kind, from -1 to 1.
pub(crate) fn nodes(count: usize) -> Vec<f64> {
    (0..count).map(|i| -(PI * (i as f64 + 0.5) / count as f64).cos()).collect()
}

/// A function of one variable over a range.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    range: [f64; 2],
    coefficients: Vec<f64>,
}

impl Series {
    /// Places at which to sample a function over `range`.
    pub fn places([from, to]: [f64; 2], count: usize) -> Vec<f64> {
        let place = |t: f64| 0.5 * (from + to) + 0.5 * (to - from) * t;
        nodes(count).into_iter().map(place).collect()
    }

    /// Through `values` at [`Self::places`] of `range`. `None` where the range is empty or a value
    /// is not finite.
    pub fn new(range: [f64; 2], values: &[f64]) -> Option<Self> {
        let good = range[0] < range[1] && (range[1] - range[0]).is_finite() && !values.is_empty();
        (good && values.iter().all(|v| v.is_finite()))
            .then(|| Self { range, coefficients: transform(values) })
    }

    /// Value and derivative at `x`.
    pub fn at(&self, x: f64) -> (f64, f64) {
        let [from, to] = self.range;
        let t = (2.0 * x - from - to) / (to - from);
        let mut sum = Clenshaw::default();
        self.coefficients.iter().rev().for_each(|&c| sum.next(c, t));
        let (value, slope) = sum.finish(t);
        (value, slope * 2.0 / (to - from))
    }

    /// Size of the larger of the last two coefficients: about the error.
    pub fn last(&self) -> f64 {
        self.coefficients.iter().rev().take(2).fold(0.0_f64, |l, c| l.max(c.abs()))
    }

    /// Size of the last two coefficients against the largest: about the relative error.
    pub fn truncation(&self) -> f64 {
        let largest = self.coefficients.iter().fold(0.0_f64, |l, c| l.max(c.abs()));
        if largest > 0.0 { self.last() / largest } else { 0.0 }
    }
}

/// Chebyshev coefficients of values at [`nodes`]. Quadratic in their number, which is small.
pub(crate) fn transform(values: &[f64]) -> Vec<f64> {
    let count = values.len();
    (0..count)
        .map(|order| {
            // T_order at node i, which is -cos, so the sign alternates with the order.
            let sum: f64 = values
                .iter()
                .enumerate()
                .map(|(i, v)| v * (PI * order as f64 * (i as f64 + 0.5) / count as f64).cos())
                .sum();
            let sign = if order % 2 == 0 { 1.0 } else { -1.0 };
            let share = if order == 0 { 1.0 } else { 2.0 };
            sign * share * sum / count as f64
        })
        .collect()
}

/// Clenshaw's recurrence for a Chebyshev series and its derivative, fed from the last coefficient.
#[derive(Default)]
pub(crate) struct Clenshaw {
    b: [f64; 2],
    d: [f64; 2],
    last: f64,
}

impl Clenshaw {
    /// Takes the next coefficient, from the last to the first.
    pub(crate) fn next(&mut self, c: f64, x: f64) {
        self.last = c;
        let d = 2.0 * self.b[0] + 2.0 * x * self.d[0] - self.d[1];
        let b = c + 2.0 * x * self.b[0] - self.b[1];
        self.d = [d, self.d[0]];
        self.b = [b, self.b[0]];
    }

    /// Sum and its derivative by x.
    pub(crate) fn finish(&self, x: f64) -> (f64, f64) {
        // The last step counts x once, not twice: b_0 - x b_1.
        (self.b[0] - x * self.b[1], self.d[0] - self.b[1] - x * self.d[1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_smooth_function_and_its_derivative() {
        let range = [0.5, 4.0];
        let f = |x: f64| (-x).exp() / (1.0 + x * x);
        let slope = |x: f64| -f(x) * (1.0 + 2.0 * x / (1.0 + x * x));
        let mut last = f64::INFINITY;
        for count in [6, 10, 14, 18] {
            let values: Vec<f64> = Series::places(range, count).into_iter().map(f).collect();
            let series = Series::new(range, &values).expect("finite");
            let worst = (0..=50)
                .map(|i| 0.5 + 3.5 * f64::from(i) / 50.0)
                .fold(0.0_f64, |w, x| w.max((series.at(x).0 - f(x)).abs()));
            // The poles at +-i are 1.1 away from the range in its half-widths: a factor of about
            // six for four more places.
            assert!(worst < 0.3 * last, "{count}: {worst} after {last}");
            assert!(worst < 3.0 * series.truncation() * f(0.5));
            last = worst;
        }
        let values: Vec<f64> = Series::places(range, 40).into_iter().map(f).collect();
        let series = Series::new(range, &values).expect("finite");
        for x in [0.5, 1.3, 4.0] {
            // Rounding, magnified by the square of the degree in the derivative.
            assert!((series.at(x).0 - f(x)).abs() < 1e-13);
            assert!((series.at(x).1 - slope(x)).abs() < 1e-11);
        }
        assert!(Series::new([1.0, 1.0], &[1.0]).is_none());
        assert!(Series::new([0.0, 1.0], &[f64::NAN]).is_none());
        assert!(Series::new([0.0, 1.0], &[]).is_none());
    }
}
