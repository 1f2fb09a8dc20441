//! The one comparison the tests of this module use.

/// Asserts that `value` agrees with `expected` to within `tolerance`, relative to `expected`.
#[track_caller]
pub(crate) fn assert_close(value: f64, expected: f64, tolerance: f64) {
    let deviation = (value - expected).abs() / expected.abs();
    assert!(
        deviation <= tolerance,
        "{value} against {expected}: off by {deviation:.1e}, allowed {tolerance:.1e}"
    );
}
