//! Soft laws against their data, and the curve through points against what it may not do.

use proptest::prelude::{ProptestConfig, Strategy, prop, prop_assert, proptest};
use proptest::test_runner::RngSeed;

use crate::material::{Law, LawError, Library, SoftLaw};
use crate::section::LawSpec;
use crate::units::MU_0;

/// The measured curve of the library's mild steel up to 1.8 T.
const H: [f64; 27] = [
    0.0, 16.0, 30.0, 54.0, 93.0, 143.0, 191.0, 210.0, 222.0, 233.0, 247.0, 258.0, 272.0, 289.0,
    313.0, 342.0, 377.0, 433.0, 509.0, 648.0, 933.0, 1228.0, 1934.0, 2913.0, 4993.0, 7189.0,
    9423.0,
];
const B: [f64; 27] = [
    0.0, 0.0025, 0.005, 0.0125, 0.025, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1,
    1.2, 1.3, 1.4, 1.5, 1.55, 1.6, 1.65, 1.7, 1.75, 1.8,
];

fn mild_steel() -> SoftLaw {
    let library = Library::built_in();
    let grade = library.find("mild steel").expect("shipped");
    match Law::from_spec(&grade.law, 20.0).expect("sound").law {
        Law::Soft(law) => law,
        other => panic!("{other:?}"),
    }
}

#[test]
fn the_shipped_curve_passes_through_its_points_and_saturates_as_stated() {
    let law = mild_steel();
    for (h, b) in H.into_iter().zip(B) {
        // Round-off; the cubic meets its knots.
        assert!((law.h_of_b(b).0 - h).abs() < 1e-11 * h.max(1.0), "{b} T");
    }
    // Its stated continuation: B = mu_0 H + a H^2 + b H + c from 1.8 T, B = mu_0 H + 2.16 beyond.
    for h in [10_000.0, 13_333.0, 25_000.0, 37_000.0] {
        let b = MU_0 * h - 2.381e-10 * h * h + 2.327e-5 * h + 1.590;
        // At 1.8 T the slopes of the measured points and of the parabola differ by a tenth; the
        // first piece has to lead from one to the other. Elsewhere 1e-5 T.
        assert!((law.b_of_h(h).0 - b).abs() < 4e-4, "{h} A/m: {} {b}", law.b_of_h(h).0);
    }
    for h in [60_000.0, 95_493.0, 3e6] {
        // The table is rounded to 1e-6 T.
        assert!((law.b_of_h(h).0 - (MU_0 * h + 2.16)).abs() < 2e-6, "{h} A/m");
    }
}

#[test]
fn a_smooth_curve_through_the_points_moves_a_cylinder_in_a_field_by_next_to_nothing() {
    // Infinite cylinder across a uniform field B_0: B = 2 B_0 - mu_0 H inside. H and B worked out
    // with straight lines between the points of the table.
    let worked = [
        (0.1, 209.950, 0.199_736_2),
        (0.5, 341.875, 0.999_570_4),
        (0.8, 1_900.28, 1.597_612),
        (1.0, 19_364.7, 1.975_666),
        (1.2, 95_493.0, 2.280_000),
    ];
    let law = mild_steel();
    for (b_0, h_lines, b_lines) in worked {
        let (mut low, mut high) = (0.0, 3.0);
        for _ in 0..100 {
            let b = 0.5 * (low + high);
            if b + MU_0 * law.h_of_b(b).0 > 2.0 * b_0 { high = b } else { low = b }
        }
        let h = law.h_of_b(low).0;
        // B hangs little on H: the largest difference is 4.3e-6, at 0.8 T.
        assert!((low / b_lines - 1.0).abs() < 1e-5, "B_0 {b_0} T: B {low}, by lines {b_lines}");
        // H itself differs by what the curve between two points is open to: at most 0.3 %.
        assert!((h / h_lines - 1.0).abs() < 0.004, "B_0 {b_0} T: H {h}, by lines {h_lines}");
    }
}

#[test]
fn a_table_cut_short_goes_on_to_a_sensible_saturation() {
    // What the head of `points` says of its tail, where the material itself saturates at 2.16 T.
    for (points, b_end, expected) in [(20, 1.4, 2.16), (23, 1.6, 1.80), (27, 1.8, 2.18)] {
        assert_eq!(B[points - 1], b_end);
        let law = SoftLaw::through_points(&H[..points], &B[..points]).expect("sound");
        let (end, saturation) = law.guessed_saturation().expect("cut short");
        assert!((end - b_end).abs() < 1e-12);
        assert!((saturation - expected).abs() < 0.006, "cut at {b_end} T: {saturation} T");
        let (m, slope) = law.magnetisation(1e9);
        assert!((MU_0 * m - saturation).abs() < 1e-4, "cut at {b_end} T: {}", MU_0 * m);
        assert!(slope < 1e-6, "cut at {b_end} T: dM/dH {slope}");
    }
    assert_eq!(mild_steel().guessed_saturation(), None);
    let spec = LawSpec::Table { h: H[..23].to_vec(), b: B[..23].to_vec() };
    assert_eq!(
        Law::from_spec(&spec, 20.0).expect("sound").remark.as_deref(),
        Some("the curve ends at 1.6 T, before saturation; beyond it J is led to 1.805 T")
    );
}

#[test]
fn magnetisation_is_odd_and_its_slope_its_derivative() {
    let law = mild_steel();
    for h in [3.0, 150.0, 5e3, 2e4, 9e4] {
        let step = 1e-5 * h;
        let (m, slope) = law.magnetisation(h);
        let change = (law.magnetisation(h + step).0 - law.magnetisation(h - step).0) / (2.0 * step);
        assert_eq!(law.magnetisation(-h), (-m, slope));
        // Second-order difference over 1e-5 of a smooth piece, and round-off of M / step.
        assert!((change - slope).abs() < 1e-6 * slope + 1e-9 * m / h, "{h}: {change} {slope}");
    }
}

#[test]
fn tables_that_are_no_curve_are_refused_with_the_reason() {
    let error =
        |h: &[f64], b: &[f64]| SoftLaw::through_points(h, b).expect_err("not a curve").to_string();
    assert_eq!(error(&[0.0, 1.0], &[0.0]), "2 values of h but 1 of b");
    assert_eq!(error(&[0.0], &[0.0]), "a curve needs from 2 to 100000 points, and 1 are given");
    assert_eq!(
        error(&[0.0, 100.0, 100.0], &[0.0, 1.0, 1.1]),
        "h does not rise from point 2 to point 3"
    );
    assert_eq!(
        error(&[0.0, 100.0, 200.0], &[0.0, 1.0, 1.0]),
        "b does not rise from point 2 to point 3"
    );
    assert_eq!(
        error(&[10.0, 100.0], &[0.1, 1.0]),
        "the curve begins at 10 A/m, 0.1 T and not at 0, 0"
    );
    assert_eq!(
        error(&[0.0, f64::NAN], &[0.0, 1.0]),
        "point 2 has a value that is not a finite number"
    );
    // J instead of B.
    assert_eq!(
        error(&[0.0, 1e4, 1e5], &[0.0, 2.0, 2.01]),
        "from point 2 to point 3 b rises by 0.01 T, less than mu_0 times the rise of h, 0.1131 T"
    );
    let range = LawError::OutOfRange {
        what: "the saturation polarisation",
        value: 21.0,
        low: 1e-6,
        high: 3.0,
        unit: " T".to_owned(),
    };
    let spec = LawSpec::Saturating {
        saturation: 21.0,
        mu_initial: 100.0,
        curve: crate::section::SaturatingCurve::Froehlich,
    };
    assert_eq!(Law::from_spec(&spec, 20.0).err(), Some(range));
}

/// Any table that may be a curve: steps of H over nine decades, each with a permeability from just
/// above that of empty space to 1e5.
fn any_table() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    prop::collection::vec((-2.0..5.0_f64, 0.0..5.0_f64), 1..12).prop_map(|steps| {
        let (mut h, mut b) = (vec![0.0], vec![0.0]);
        for (length, mu) in steps {
            let step = 10f64.powf(length);
            let last = h.len() - 1;
            h.push(h[last] + step);
            b.push(b[last] + MU_0 * 10f64.powf(mu).max(1.0 + 1e-9) * step);
        }
        (h, b)
    })
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 1000,
        rng_seed: RngSeed::Fixed(1),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_rising_table_makes_a_rising_curve((h, b) in any_table(), places in prop::collection::vec(0.0..1.3_f64, 40)) {
        let law = match SoftLaw::through_points(&h, &b) {
            Ok(law) => law,
            // B beyond what any table may hold.
            Err(LawError::OutOfRange { .. }) => return Ok(()),
            Err(error) => panic!("{error}"),
        };
        for (h, b) in h.iter().zip(&b) {
            // Tables may be lifted by round-off where they rise by mu_0 H only.
            prop_assert!((law.h_of_b(*b).0 - h).abs() <= 1e-9 * h, "{h} {b}");
        }
        let end = b[b.len() - 1];
        let near_knots = b.iter().flat_map(|b| [b * (1.0 - 1e-7), b * (1.0 + 1e-7)]);
        for b in places.iter().map(|share| share * end).chain(near_knots) {
            let (h, slope) = law.h_of_b(b);
            prop_assert!(h >= 0.0 && slope > 0.0, "{b}: {h} {slope}");
            prop_assert!(slope <= (1.0 + 1e-9) / MU_0, "{b}: slope {slope}");
            prop_assert!(law.energy(b) >= 0.0);
            let (back, _) = law.b_of_h(h);
            // Round-off of H weighs heavily where B jumps.
            let tolerance = 1e-12 * b + 1e-14 * h / slope;
            prop_assert!((back - b).abs() <= tolerance, "{b}: back {back}, slope {slope}");
        }
    }
}
