//! Errors of the leading numbers, from what is estimated on two meshes and what changed between them.
//!
//! In: for each goal its value Q and the estimate e of its error on the mesh (Q', e' on the coarser one).
//! Out: the error that is told. The cubic space sees no less than some two thirds of an error made by the
//! singular fields at corners: 1 - (2/3)^(8/3) for a right-angled one, so
//!
//! told = 3/2 |e|
//!
//! as long as the mesh does what is expected of it. From mesh to mesh Q ought to change by e' - e; if it
//! changes k times as much, the estimate is taken to be as much too small,
//!
//! told = max(3/2 |e|, min(6/5 k |e|, |Q - Q'|)),   k = |Q - Q'| / |e' - e|
//!
//! which is right for an error of which the same share stays unseen on both. An error may come out small
//! because its parts cancel; none is told as less than half of the largest of its kind.

use crate::quantity::goals::{Goal, Number};

/// A leading number on one mesh.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leading {
    /// Which.
    pub number: Number,
    /// Its value, SI.
    pub value: f64,
    /// What an error of it is held against, SI: see [`Goal::size`].
    pub size: f64,
    /// Estimate of the exact value less this one, SI.
    pub error: f64,
}

/// What is unseen of an error, at most, over what is seen.
pub const UNSEEN: f64 = 1.5;

/// Margin where the share unseen is told by two meshes.
const MARGIN: f64 = 1.2;

/// Least error of a number over the largest of its kind.
const LEAST: f64 = 0.5;

/// The goals with their estimates.
pub fn leading(goals: &[Goal], errors: &[f64]) -> Vec<Leading> {
    let one = |(goal, &error): (&Goal, &f64)| Leading {
        number: goal.number,
        value: goal.value,
        size: goal.size,
        error,
    };
    goals.iter().zip(errors).map(one).collect()
}

/// The largest size among the numbers of the kind of `of`.
pub fn size_of_kind(all: &[Leading], of: Number) -> f64 {
    all.iter().filter(|l| l.number.is_like(of)).map(|l| l.size).fold(0.0, f64::max)
}

/// The errors of `fine` as shares of the largest size of their kind; 0 where all of a kind are 0. Infinite
/// where an estimate is no number.
pub fn shares(fine: &[Leading], coarse: Option<&[Leading]>) -> Vec<f64> {
    let own: Vec<f64> = fine
        .iter()
        .map(|l| {
            let before = coarse.and_then(|all| all.iter().find(|b| b.number == l.number));
            let error = told(l, before);
            let size = size_of_kind(fine, l.number);
            match error / size {
                share if share.is_finite() => share,
                _ if error == 0.0 => 0.0,
                _ => f64::INFINITY,
            }
        })
        .collect();
    let largest = |of: Number| {
        let alike = fine.iter().zip(&own).filter(|(l, _)| l.number.is_like(of));
        alike.map(|(_, share)| *share).fold(0.0, f64::max)
    };
    fine.iter().zip(&own).map(|(l, share)| share.max(LEAST * largest(l.number))).collect()
}

fn told(fine: &Leading, coarse: Option<&Leading>) -> f64 {
    let seen = UNSEEN * fine.error.abs();
    let Some(coarse) = coarse else { return seen };
    let changed = (fine.value - coarse.value).abs();
    let foreseen = (coarse.error - fine.error).abs();
    let unseen = MARGIN * fine.error.abs() * changed / foreseen;
    // 0 / 0 where nothing changes and nothing was to.
    if unseen.is_nan() { seen } else { seen.max(unseen.min(changed)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(number: Number, value: f64, error: f64) -> Leading {
        Leading { number, value, size: value.abs(), error }
    }

    #[test]
    fn an_estimate_that_holds_is_told_with_a_margin() {
        // 10 exactly, and seen so.
        let (fine, coarse) = (of(Number::Pull(0), 9.9, 0.1), of(Number::Pull(0), 9.0, 1.0));
        let shares = shares(&[fine], Some(&[coarse]));
        assert!((shares[0] - 0.15 / 9.9).abs() < 1e-12, "{shares:?}");
    }

    #[test]
    fn an_estimate_that_sees_a_fifth_of_the_error_is_found_out() {
        // 10 exactly; errors of 1 and 0.5, as at a crack, of which a fifth is seen.
        let (fine, coarse) = (of(Number::Pull(0), 9.5, 0.1), of(Number::Pull(0), 9.0, 0.2));
        let shares = shares(&[fine], Some(&[coarse]));
        // Five times as much as seen, capped by the change of 0.5: the true error.
        assert!((shares[0] - 0.5 / 9.5).abs() < 1e-12, "{shares:?}");
    }

    #[test]
    fn what_cancels_is_not_told_as_nothing_and_nothing_is_no_error() {
        let pulls = [of(Number::Pull(0), 8.0, 0.4), of(Number::Pull(1), 1.0, 0.0)];
        let told = shares(&pulls, None);
        // Rounding.
        assert!((told[0] - 0.075).abs() < 1e-15 && (told[1] - 0.0375).abs() < 1e-15, "{told:?}");
        assert_eq!(shares(&[of(Number::Linkage(0), 0.0, 0.0)], None), [0.0]);
        assert_eq!(shares(&[of(Number::Linkage(0), 0.0, 1e-9)], None), [f64::INFINITY]);
    }
}
