//! The shift of partials against an independent model of the string, closed forms and figures.

use std::f64::consts::PI;

use crate::strings::tuning::shift::{PullPlace, cents};
use crate::strings::tuning::wire::Wire;
use crate::units::INCH;

const LENGTH: f64 = 25.5 * INCH;

/// Wave number times length of partial `n` of a string cut into `pieces` equal pieces of which
/// node `at` carries the force +k y; `g` = k L / T.
///
/// The equations -y'' = q^2 y become the tridiagonal (2, -1) / h^2 with -g / (h L) added on the
/// diagonal at `at`. Its n-th eigenvalue is found by counting negative pivots (Sturm), which shares
/// nothing with the characteristic equation.
fn finite_difference(pieces: usize, at: usize, g: f64, n: u32) -> f64 {
    let h = 1.0 / pieces as f64;
    let below = |lambda: f64| -> u32 {
        let mut count = 0;
        let mut pivot = f64::INFINITY;
        for node in 1..pieces {
            let spring = if node == at { g * h } else { 0.0 };
            pivot = 2.0 - spring - lambda * h * h - 1.0 / pivot;
            if pivot < 0.0 {
                count += 1;
            } else if pivot == 0.0 {
                pivot = f64::MIN_POSITIVE;
            }
        }
        count
    };
    let waves = f64::from(n) + 1.5;
    let (mut low, mut high) = (0.0, (waves * PI).powi(2));
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if below(middle) >= n {
            high = middle;
        } else {
            low = middle;
        }
    }
    (0.5 * (low + high)).sqrt()
}

/// Two grids and one step of Richardson's extrapolation: what is left is of fourth order,
/// (n pi h)^4 / 1920 = 3e-12 for n = 8 on 2048 pieces, and rounding near 1e-10 of the shift.
fn extrapolated(twentieths: usize, g: f64, n: u32) -> f64 {
    let [coarse, fine] = [1020, 2040].map(|p| finite_difference(p, p * twentieths / 20, g, n));
    (4.0 * fine - coarse) / 3.0
}

#[test]
fn the_exact_root_is_that_of_a_finite_difference_string() {
    let tension = 74.1;
    for twentieths in [1, 5, 7, 10] {
        let share = twentieths as f64 / 20.0;
        let place = PullPlace::new(LENGTH, tension, share * LENGTH).expect("on the string");
        for strength in [-60.0, -2.0, 0.5, 0.95 / (share * (1.0 - share))] {
            let k = strength * tension / LENGTH;
            for n in 1..=8 {
                let waves = extrapolated(twentieths, strength, n) / PI;
                let exact = f64::from(n) * (1.0 + place.exact(k, n).expect("stable"));
                // The requirement: 1e-6 of the frequency.
                assert!(
                    (exact / waves - 1.0).abs() < 1e-6,
                    "x_p/L {share} kL/T {strength} n {n}: {exact} against {waves}"
                );
            }
        }
    }
}

#[test]
fn the_exact_root_fulfils_the_characteristic_equation() {
    let tension = 74.1;
    for share in [0.05, 0.237, 0.5, 0.93] {
        let place = PullPlace::new(LENGTH, tension, share * LENGTH).expect("on the string");
        for k in [-3000.0, -20.0, -1e-6, 1e-6, 1.0, 20.0, 90.0, 0.999_999 * place.unstable_from()] {
            for n in 1..=12 {
                let change = place.exact(k, n).expect("stable");
                let q = f64::from(n) * PI / LENGTH * (1.0 + change);
                let left = tension * q * (q * LENGTH).sin();
                let right = k * (q * share * LENGTH).sin() * (q * (1.0 - share) * LENGTH).sin();
                // Rounding of q L (up to 40) times the slope of the sine, T q, and of k.
                let scale = tension * q * q * LENGTH + k.abs();
                assert!((left - right).abs() < 1e-14 * scale, "{share} {k} {n}: {left} {right}");
                assert!(change * k <= 0.0 && change.abs() <= 1.0 / f64::from(n));
            }
        }
    }
}

#[test]
fn a_small_gradient_shifts_by_the_first_order_formula() {
    let place = PullPlace::new(LENGTH, 74.1, 0.16).expect("on the string");
    for n in 1..=10 {
        let (exact, first) = (place.exact(1e-4, n).expect("stable"), place.first_order(1e-4, n));
        // The next order is smaller by about k L / T = 1e-6.
        assert!((exact / first - 1.0).abs() < 2e-6, "{n}: {exact} {first}");
    }
    // At a quarter of the length the first order is 2.3 % short at 20 N/m (74.1 N); what is missing
    // is of second order in k, so a quarter of that at 5 N/m, to the next order.
    let place = PullPlace::new(LENGTH, 74.1, LENGTH / 4.0).expect("on the string");
    let apart = |k: f64| place.exact(k, 1).expect("stable") / place.first_order(k, 1) - 1.0;
    assert!((apart(20.0) - 0.023).abs() < 0.0005, "{}", apart(20.0));
    assert!((apart(5.0) - 0.25 * apart(20.0)).abs() < 0.0002, "{}", apart(5.0));
}

#[test]
fn a_partial_with_a_node_at_the_pickup_does_not_shift() {
    for parts in [2u32, 3, 4, 5, 7, 12] {
        let place = PullPlace::new(LENGTH, 74.1, LENGTH / f64::from(parts)).expect("on the string");
        for multiple in 1..=3 {
            for k in [-200.0, 5.0, 90.0] {
                let change = place.exact(k, multiple * parts).expect("stable");
                // Exact for powers of two; elsewhere the place itself is rounded, sin^2 ~ 1e-31.
                assert!(change.abs() < 1e-29, "1/{parts}, {multiple}, {k}: {change}");
            }
        }
        assert!(place.exact(5.0, 1).is_some_and(|c| c < -1e-4));
    }
    for end in [0.0, LENGTH] {
        let place = PullPlace::new(LENGTH, 74.1, end).expect("on the string");
        assert_eq!(place.exact(90.0, 1), Some(0.0));
    }
}

#[test]
fn the_same_from_both_ends() {
    for share in [0.1, 0.25, 0.4] {
        let place = |share: f64| PullPlace::new(1.0, 80.0, share).expect("on the string");
        for k in [-40.0, 7.0, 90.0] {
            for n in 1..=6 {
                let [one, other] = [place(share), place(1.0 - share)].map(|p| p.exact(k, n));
                let (one, other) = (one.expect("stable"), other.expect("stable"));
                // Rounding of 1 - share, magnified where the partial is near its node.
                assert!((one - other).abs() < 1e-14, "{share} {k} {n}: {one} {other}");
            }
        }
    }
}

#[test]
fn the_first_partial_falls_to_nothing_where_the_string_is_drawn_to_the_pole() {
    let place = PullPlace::new(LENGTH, 74.1, LENGTH / 4.0).expect("on the string");
    let limit = place.unstable_from();
    assert!((limit - 74.1 * LENGTH / (0.1875 * LENGTH * LENGTH)).abs() < 1e-10 * limit);
    assert_eq!(place.exact(limit, 1), None);
    assert_eq!(place.exact(f64::INFINITY, 1), None);
    assert_eq!(place.exact(f64::NAN, 2), None);
    let mut last = 0.0;
    for away in [1e-1, 1e-2, 1e-4, 1e-6, 1e-8] {
        let change = place.exact(limit * (1.0 - away), 1).expect("stable");
        assert!(change < last && change > -1.0, "{away}: {change}");
        last = change;
    }
    // Near the limit (1 + change)^2 is proportional to what is left of the stiffness.
    assert!(1.0 + last < 1e-3, "{last}");
    // Higher partials live on; a spring without limit pins the string in two.
    assert!(place.exact(10.0 * limit, 2).is_some());
    let pinned = place.exact(-1e12, 1).expect("stable");
    assert!((1.0 + pinned - 4.0 / 3.0).abs() < 1e-6, "{pinned}");
}

/// The table of shifts at a quarter of 647.7 mm: Hz and cents for gradients of 1, 5 and 20 N/m. They
/// are printed to 1e-3 Hz (1e-2 in the last column but the lowest string's) and 0.1 cent (1 cent),
/// some of them rounded from a rounded tension: one unit of the last.
#[test]
fn shifts_as_tabulated() {
    let e4 = 329.6276;
    let strings = [
        (Wire::plain(0.010 * INCH), e4, [-0.149, -0.750, -3.05], [-0.8, -3.9, -16.0]),
        (
            Wire::plain(0.017 * INCH),
            e4 / 2.0_f64.powf(0.75),
            [-0.087, -0.436, -1.78],
            [-0.8, -3.9, -16.0],
        ),
        (
            Wire::wound(0.046 * INCH, 0.017 * INCH),
            e4 / 4.0,
            [-0.034, -0.168, -0.684],
            [-0.7, -3.5, -14.0],
        ),
    ];
    for (wire, pitch, hertz, in_cents) in strings {
        let place = PullPlace::new(LENGTH, wire.tension(LENGTH, pitch), LENGTH / 4.0)
            .expect("on the string");
        for (i, k) in [1.0, 5.0, 20.0].into_iter().enumerate() {
            let change = place.exact(k, 1).expect("stable");
            let [unit, cent] = if i == 2 { [1e-2, 1.0] } else { [1e-3, 0.1] };
            assert!((pitch * change - hertz[i]).abs() < unit, "{k}: {}", pitch * change);
            assert!((cents(change) - in_cents[i]).abs() < cent, "{k}: {}", cents(change));
        }
        let shift = |n: u32| f64::from(n) * pitch * place.first_order(1.0, n);
        // "n=2 at L/4 has the same Hz as n=1": sin^2 doubles, 1/n halves.
        assert!((shift(2) / shift(1) - 1.0).abs() < 1e-12);
    }
    // "At bridge position (41 mm) ... E4, k=20: -0.24 Hz".
    let wire = Wire::plain(0.010 * INCH);
    let place = PullPlace::new(LENGTH, wire.tension(LENGTH, e4), 0.041).expect("on the string");
    let change = place.exact(20.0, 1).expect("stable") * e4;
    assert!((change + 0.24).abs() < 0.005, "{change}");
}

#[test]
fn places_off_the_string_are_refused() {
    for (length, tension, place) in [
        (0.6, 70.0, 0.61),
        (0.6, 70.0, -0.01),
        (0.6, 0.0, 0.1),
        (0.0, 70.0, 0.0),
        (f64::NAN, 70.0, 0.1),
        (0.6, f64::INFINITY, 0.1),
        (0.6, 70.0, f64::NAN),
    ] {
        assert_eq!(PullPlace::new(length, tension, place), None);
    }
}
