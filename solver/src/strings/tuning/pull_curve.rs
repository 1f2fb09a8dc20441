//! Pull and its gradient against the gap, from a few couplings.
//!
//! In: pull and gradient of a string at the gaps of [`PullCurve::places`]. Out: both at any gap
//! between. Where a value keeps its sign its logarithm is interpolated, so that small values far away
//! are as good as large ones close by; all are sums of Chebyshev polynomials in the logarithm of the
//! gap.

use crate::strings::chebyshev::Series;
use crate::strings::tuning::planes::Planes;

/// Places that are sampled: the error is below 1e-4 for pulls that fall as they do over poles, between
/// a tenth of the pole's radius and five of them.
pub const PLACES: usize = 17;

/// Pull on a string at one gap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PullAt {
    /// Sideways and upward, N.
    pub pull: [f64; 2],
    /// `gradient[i][k]` = d pull_i / d travel_k, N/m.
    pub gradient: [[f64; 2]; 2],
}

/// Pull against the gap.
#[derive(Clone, Debug, PartialEq)]
pub struct PullCurve {
    /// Closest and farthest gap, m.
    range: [f64; 2],
    /// Pull sideways, upward; gradient yy, yz, zz.
    series: [Value; 5],
}

/// One value against the logarithm of the gap.
#[derive(Clone, Debug, PartialEq)]
enum Value {
    /// sign exp(series)
    Exponential { sign: f64, logarithm: Series },
    /// The series itself: the value changes its sign.
    Plain(Series),
}

impl Value {
    fn new(range: [f64; 2], values: &[f64]) -> Option<Self> {
        let sign = values.first()?.signum();
        if values.iter().all(|v| v * sign > 0.0) {
            let logarithms: Vec<f64> = values.iter().map(|v| v.abs().ln()).collect();
            return Series::new(range, &logarithms)
                .map(|logarithm| Self::Exponential { sign, logarithm });
        }
        Series::new(range, values).map(Self::Plain)
    }

    fn at(&self, logarithm_of_gap: f64) -> f64 {
        match self {
            Self::Exponential { sign, logarithm } => sign * logarithm.at(logarithm_of_gap).0.exp(),
            Self::Plain(series) => series.at(logarithm_of_gap).0,
        }
    }

    /// About the relative error: of the value itself, or of its largest.
    fn truncation(&self) -> f64 {
        match self {
            Self::Exponential { logarithm, .. } => logarithm.last(),
            Self::Plain(series) => series.truncation(),
        }
    }
}

impl PullCurve {
    /// Gaps at which to sample between `closest` and `farthest` (m, positive).
    pub fn places(closest: f64, farthest: f64) -> Vec<f64> {
        Series::places([closest.ln(), farthest.ln()], PLACES).into_iter().map(f64::exp).collect()
    }

    /// Through `samples` at [`Self::places`]; `None` where one is not finite.
    pub fn new(closest: f64, farthest: f64, samples: &[PullAt]) -> Option<Self> {
        let logs = [closest.ln(), farthest.ln()];
        let of = |pick: &dyn Fn(&PullAt) -> f64| {
            let values: Vec<f64> = samples.iter().map(pick).collect();
            Value::new(logs, &values)
        };
        let series = [
            of(&|s| s.pull[0])?,
            of(&|s| s.pull[1])?,
            of(&|s| s.gradient[0][0])?,
            of(&|s| 0.5 * (s.gradient[0][1] + s.gradient[1][0]))?,
            of(&|s| s.gradient[1][1])?,
        ];
        Some(Self { range: [closest, farthest], series })
    }

    /// Closest and farthest gap, m.
    pub fn range(&self) -> [f64; 2] {
        self.range
    }

    /// At `gap` (m); `None` outside the range.
    pub fn at(&self, gap: f64) -> Option<PullAt> {
        let [closest, farthest] = self.range;
        // The ends themselves may be missed by a rounding.
        let slack = 1e-12 * farthest;
        if !(gap >= closest - slack && gap <= farthest + slack) {
            return None;
        }
        let [py, pz, yy, yz, zz] = self.series.each_ref().map(|s| s.at(gap.ln()));
        Some(PullAt { pull: [py, pz], gradient: [[yy, yz], [yz, zz]] })
    }

    /// The planes of vibration at `gap` (m); `None` outside the range.
    pub fn planes(&self, gap: f64) -> Option<Planes> {
        self.at(gap).map(|at| Planes::new(at.gradient))
    }

    /// About the relative error of the upward pull and its gradient.
    pub fn truncation(&self) -> f64 {
        self.series[1].truncation().max(self.series[4].truncation())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pull that falls like the square of the field of a charged disc of 2.4 mm radius: the true
    /// curve's shape in closed form.
    fn sample(gap: f64) -> PullAt {
        let fall = |g: f64| (1.0 - g / g.hypot(2.4e-3)).powi(2);
        let slope = (fall(gap + 1e-8) - fall(gap - 1e-8)) / 2e-8;
        PullAt { pull: [0.0, -fall(gap)], gradient: [[0.2 * slope, 0.0], [0.0, -slope]] }
    }

    #[test]
    fn a_few_places_tell_all_gaps() {
        let (closest, farthest) = (0.24e-3, 12e-3);
        let samples: Vec<PullAt> =
            PullCurve::places(closest, farthest).into_iter().map(sample).collect();
        let curve = PullCurve::new(closest, farthest, &samples).expect("finite");
        assert!(curve.truncation() < 1e-4, "{}", curve.truncation());
        for i in 0..=100 {
            let gap = closest * (farthest / closest).powf(f64::from(i) / 100.0);
            let (got, want) = (curve.at(gap).expect("in range"), sample(gap));
            // What the number of places is chosen for.
            let off = |a: f64, b: f64| (a / b - 1.0).abs();
            assert!(off(got.pull[1], want.pull[1]) < 1e-4, "{gap}");
            assert!(off(got.gradient[1][1], want.gradient[1][1]) < 1e-4, "{gap}");
            assert!(got.gradient[0][0] * got.gradient[1][1] < 0.0);
        }
        assert!(curve.at(0.2e-3).is_none() && curve.at(13e-3).is_none());
        assert!(curve.at(f64::NAN).is_none());
        assert!(curve.planes(1e-3).is_some_and(|p| p.upright > 0.0 && p.across < 0.0));
    }
}
