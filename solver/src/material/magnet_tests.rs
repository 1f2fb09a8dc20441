//! Demagnetisation curves against worked values, their history, and data that contradict.

use proptest::prelude::{ProptestConfig, prop, prop_assert, proptest};
use proptest::test_runner::RngSeed;

use crate::material::hyperbola::Hyperbola;
use crate::material::{DemagnetisationCurve, Law, Library};
use crate::section::LawSpec;
use crate::units::MU_0;

fn curve(spec: &LawSpec, temperature: f64) -> DemagnetisationCurve {
    match Law::from_spec(spec, temperature).expect("sound").law {
        Law::Magnet(curve) => curve,
        other => panic!("{other:?}"),
    }
}

fn shipped(name: &str) -> DemagnetisationCurve {
    let library = Library::built_in();
    curve(&library.find(name).expect("shipped").law, 20.0)
}

fn magnet(remanence: f64, coercivity_ka: f64, product_kj: f64, recoil: f64) -> LawSpec {
    LawSpec::Magnet {
        remanence,
        coercivity: coercivity_ka * 1e3,
        intrinsic_coercivity: None,
        energy_product: product_kj * 1e3,
        recoil,
        transverse: None,
        remanence_per_kelvin: 0.0,
        coercivity_per_kelvin: 0.0,
    }
}

fn table() -> LawSpec {
    LawSpec::MagnetTable {
        h: vec![-51e3, -48e3, -42e3, -30e3, -10e3, 0.0],
        b: vec![0.0, 0.6, 0.95, 1.1, 1.228, 1.28],
        recoil: 4.0,
        transverse: None,
    }
}

/// Where the curve meets the load line B = -mu_0 H of a cylinder charged across (N = 1/2).
fn on_load_line(h_of_b: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (0.0, 2.0);
    for _ in 0..200 {
        let b = 0.5 * (low + high);
        if b + MU_0 * h_of_b(b) > 0.0 { high = b } else { low = b }
    }
    0.5 * (low + high)
}

#[test]
fn the_three_data_hyperbola_meets_the_load_line_where_worked_out() {
    // B = B_r (H_c + H)/(H_c + a H), a = (2 sqrt(gamma) - 1)/gamma: the limit m = 0, H_x = H_c.
    // Worked independently in double precision and printed to 7 or 8 digits.
    for (br, hc, bh, h, b) in [
        (0.75, 45e3, 13.5e3, -43_826.96, 0.055_074_6),
        (1.28, 51e3, 43.8e3, -50_869.61, 0.063_924_6),
        (0.82, 131e3, 42.2e3, -121_197.74, 0.152_301_6),
    ] {
        let gamma: f64 = bh / (br * hc);
        let a = (2.0 * gamma.sqrt() - 1.0) / gamma;
        let form = Hyperbola { m: 0.0, remanence: br, scale: hc, a };
        let point = on_load_line(|b| form.along::<false>(b).h);
        assert!((point - b).abs() < 1e-7, "{point} {b}");
        assert!(
            (form.along::<false>(point).h - h).abs() < 0.01,
            "{} {h}",
            form.along::<false>(point).h
        );
    }
}

#[test]
fn the_four_data_curve_meets_the_load_line_where_worked_out() {
    // By halving on B(H) + mu_0 H = 0 with m, r, a to 6 and 7 digits: 1e-6 of the coercivity.
    for (br, hc, bh, recoil, h) in [
        (0.75, 45.0, 13.5, 6.4, -44_193.41),
        (1.28, 51.0, 43.8, 4.3, -50_964.11),
        (1.28, 51.0, 43.8, 3.6, -50_945.58),
        (0.82, 131.0, 42.2, 2.0, -121_784.17),
    ] {
        let curve = curve(&magnet(br, hc, bh, recoil), 20.0);
        let b = on_load_line(|b| curve.h_of_b(b).0);
        assert!((curve.h_of_b(b).0 / h - 1.0).abs() < 1e-6, "{} {h}", curve.h_of_b(b).0);
    }
}

#[test]
fn recoil_runs_on_its_line_and_under_the_major_curve() {
    let names = ["alnico 2", "alnico 5", "alnico 5-7", "alnico 8", "ferrite 8", "N42"];
    let shipped = names.map(|name| (shipped(name), 1e-9));
    // Points that are flatter than the stated recoil line: the line is turned so far that it passes
    // under all points, and may cut into the arc between two of them by a trifle.
    let flat = LawSpec::MagnetTable {
        h: vec![-51e3, -48e3, -42e3, -30e3, -10e3, 0.0],
        b: vec![0.0, 0.6, 1.0, 1.18, 1.265, 1.28],
        recoil: 4.0,
        transverse: None,
    };
    let measured = [(curve(&table(), 20.0), 1e-9), (curve(&flat, 20.0), 1e-3)];
    for (curve, tolerance) in shipped.into_iter().chain(measured) {
        let deepest = 1.9 * curve.intrinsic_coercivity().expect("has one");
        for share in [0.2, 0.5, 0.9, 1.0] {
            let h_k = -share * deepest;
            let (b_k, _) = curve.b_of_h(h_k);
            let slope = (curve.apparent_remanence(h_k) - b_k) / (MU_0 * -h_k);
            assert!(slope <= curve.recoil() * (1.0 + 1e-12), "{slope}");
            for i in 0..=100 {
                let b = b_k + 0.03 * f64::from(i) * (curve.remanence() - b_k);
                let along = curve.along::<true>(b, Some(h_k));
                let line = h_k + (b - b_k) / (MU_0 * slope);
                assert!((along.h - line).abs() < 1e-9 * deepest, "{} {line}", along.h);
                assert!(
                    along.h >= curve.h_of_b(b).0 - tolerance * deepest,
                    "{along:?} lies over the major curve {:?}",
                    curve.along::<true>(b, None)
                );
            }
            // Lower than before: back on the major curve, as if nothing had been.
            let below = b_k - 0.01;
            assert_eq!(curve.along::<true>(below, Some(h_k)), curve.along::<true>(below, None));
            // Energy is continuous at the turning point.
            let (up, on) =
                (curve.along::<true>(b_k + 1e-9, Some(h_k)), curve.along::<true>(b_k, None));
            assert!((up.energy - on.energy - 1e-9 * h_k).abs() < 1e-9 * on.energy.abs());
        }
        assert_eq!(curve.apparent_remanence(0.0), curve.remanence());
    }
}

#[test]
fn a_straight_magnet_knows_no_history() {
    let curve = DemagnetisationCurve::straight(1.25, 1.05).expect("in range");
    for b in [-3.0, 0.0, 0.4, 1.25, 2.0] {
        let along = curve.along::<true>(b, None);
        assert_eq!(along.h, (b - 1.25) * (1.0 / (MU_0 * 1.05)));
        assert_eq!(curve.along::<true>(b, Some(-9e5)), along);
    }
    assert_eq!(curve.knee(), None);
}

#[test]
fn polarisation_turns_over_and_stays_below_the_remanence() {
    for curve in ["alnico 5", "alnico 8", "ferrite 1", "N52"].map(shipped) {
        let h_c = curve.intrinsic_coercivity().expect("has one");
        let j = |h: f64| curve.b_of_h(h).0 - MU_0 * h;
        // By the mirror: J(-2 H_cJ) = -B_r; round-off of B_r and mu_0 H.
        assert!((j(-2.0 * h_c) / curve.remanence() + 1.0).abs() < 1e-9);
        assert!(j(-h_c).abs() < 1e-9);
        let mut last = j(0.0);
        for i in 1..400 {
            let now = j(-0.01 * f64::from(i) * h_c);
            assert!(now <= last + 1e-12, "J rises against the field");
            last = now;
        }
    }
}

#[test]
fn the_knee_is_where_recoil_gives_back_nine_tenths() {
    for name in ["alnico 2", "alnico 5", "ferrite 8", "N42"] {
        let curve = shipped(name);
        let (h, b) = curve.knee().expect("has one");
        assert!((curve.b_of_h(h).0 - b).abs() < 1e-12);
        assert!((curve.apparent_remanence(h) / curve.remanence() - 0.9).abs() < 1e-9, "{name}");
    }
    // The straight part of a knee magnet ends at 0.88 of the coercivity of J, the knee lies below.
    let (h, _) = shipped("N42").knee().expect("has one");
    assert!((-0.96 * 955e3..-0.88 * 955e3).contains(&h), "{h}");
}

#[test]
fn heat_scales_remanence_and_coercivity() {
    let library = Library::built_in();
    let cold = shipped("N42");
    let hot = curve(&library.find("N42").expect("shipped").law, 80.0);
    // 60 K at -0.12 and -0.60 %/K.
    assert!((hot.remanence() / cold.remanence() - 0.928).abs() < 1e-12);
    let of_j = |c: &DemagnetisationCurve| c.intrinsic_coercivity().expect("has one");
    assert!((of_j(&hot) / of_j(&cold) - 0.64).abs() < 1e-9);

    let alnico = &library.find("alnico 5").expect("shipped").law;
    let (cold, hot) = (curve(alnico, 20.0), curve(alnico, 120.0));
    // 100 K at -0.02 and +0.02 %/K.
    assert!((hot.remanence() / cold.remanence() - 0.98).abs() < 1e-12);
    assert!((hot.coercivity() / cold.coercivity() - 1.02).abs() < 1e-9);
    assert!((hot.b_of_h(0.0).1 / MU_0 - 3.6).abs() < 1e-9);
}

#[test]
fn measured_points_are_met() {
    let LawSpec::MagnetTable { h, b, .. } = table() else { unreachable!() };
    let curve = curve(&table(), 20.0);
    for (h, b) in h.into_iter().zip(b) {
        assert!((curve.h_of_b(b).0 - h).abs() < 1e-9, "{b} T");
        assert!((curve.b_of_h(h).0 - b).abs() < 1e-12, "{h} A/m");
    }
}

#[test]
fn data_out_of_range_of_the_form_are_moved_and_said_so() {
    // The energy product of nearly straight data, with a recoil permeability that is too high.
    let fit = Law::from_spec(&magnet(1.30, 940.0, 335.0, 1.05), 20.0).expect("sound");
    let remark = fit.remark.expect("moved");
    assert!(remark.starts_with("the energy product is high for these data"), "{remark}");
    let Law::Magnet(high) = fit.law else { panic!("no magnet") };
    assert!(high.recoil() < 1.05 && high.recoil() >= 1.0, "{}", high.recoil());
    // And one that sags.
    let fit = Law::from_spec(&magnet(0.75, 45.0, 10.0, 6.4), 20.0).expect("sound");
    let remark = fit.remark.expect("moved");
    assert!(remark.starts_with("the energy product is low for these data"), "{remark}");
    let Law::Magnet(low) = fit.law else { panic!("no magnet") };
    assert_eq!(low.recoil(), 6.4);
    for (curve, br, hc, product) in [(high, 1.30, 940e3, 335e3), (low, 0.75, 45e3, 10e3)] {
        assert!((curve.remanence() / br - 1.0).abs() < 1e-6);
        assert!((curve.coercivity() / hc - 1.0).abs() < 1e-6);
        assert!((curve.energy_product() / product - 1.0).abs() < 1e-6);
    }
}

#[test]
fn contradictory_data_are_refused_with_the_reason() {
    let error = |spec: LawSpec| Law::from_spec(&spec, 20.0).expect_err("contradictory").to_string();
    let LawSpec::Magnet { .. } = magnet(1.28, 51.0, 43.8, 4.0) else { unreachable!() };
    let with_of_j = |of_j: f64| LawSpec::Magnet {
        remanence: 1.28,
        coercivity: 51e3,
        intrinsic_coercivity: Some(of_j),
        energy_product: 43.8e3,
        recoil: 4.0,
        transverse: None,
        remanence_per_kelvin: 0.0,
        coercivity_per_kelvin: 0.0,
    };
    assert_eq!(
        error(with_of_j(50e3)),
        "the coercivity of J, 50 kA/m, is below that of B, 51 kA/m; B vanishes before J does"
    );
    assert_eq!(
        error(magnet(0.40, 330.0, 30.0, 1.05)),
        "the coercivity 330 kA/m is more than B_r/mu_0 = 318.3 kA/m, so B would rise by less than \
         mu_0 H"
    );
    assert_eq!(
        error(magnet(0.58, 90.0, 18.0, 5.5)),
        "the recoil permeability 5.5 is more than B_r/(mu_0 H_c) = 5.128, so recoil would be \
         steeper than the curve itself"
    );
    assert_eq!(
        error(magnet(1.28, 51.0, 16.0, 4.0)),
        "the energy product 16 kJ/m3 is less than a quarter of B_r H_c = 65.28 kJ/m3, so the curve \
         would sag below the straight line"
    );
    assert_eq!(
        error(magnet(1.28, 51.0, 66.0, 4.0)),
        "the energy product 66 kJ/m3 is more than B_r H_c = 65.28 kJ/m3"
    );
    assert_eq!(
        error(magnet(1.20, 800.0, 290.0, 1.05)),
        "the energy product 290 kJ/m3 is more than B_r^2/(4 mu_0) = 286.5 kJ/m3, the most that this \
         remanence allows"
    );
    assert_eq!(
        error(magnet(1.28, 51.0, 65.0, 4.0)),
        "the energy product 65 kJ/m3 is more than 59.36 kJ/m3, the most that a smooth curve of this \
         remanence and coercivity allows"
    );
    let knee = |recoil: f64| LawSpec::KneeMagnet {
        remanence: 0.4,
        intrinsic_coercivity: 1600e3,
        recoil,
        transverse: None,
        remanence_per_kelvin: -0.002,
        coercivity_per_kelvin: 0.0027,
    };
    assert_eq!(
        error(knee(1.2)),
        "with the recoil permeability 1.2 the straight line loses 0.4021 T of the remanence 0.4 T \
         before the knee"
    );
    assert_eq!(
        Law::from_spec(&knee(1.05), 540.0).expect_err("gone").to_string(),
        "520 K from the reference temperature the remanence is gone altogether; the coefficient \
         doesn't hold that far"
    );
    let LawSpec::MagnetTable { h, b, .. } = table() else { unreachable!() };
    let points = |h: Vec<f64>, b: Vec<f64>, recoil: f64| {
        error(LawSpec::MagnetTable { h, b, recoil, transverse: None })
    };
    assert_eq!(
        points(h[..5].to_vec(), b[..5].to_vec(), 4.0),
        "the curve ends at h = -10000 A/m; its last point has to be the remanence, at h = 0"
    );
    assert_eq!(
        points(h, b, 25.0),
        "the recoil permeability 25 is steeper than the curve itself, whose mean slope is 19.97 \
         mu_0"
    );
    assert_eq!(
        points(vec![-60e3, -51e3, 0.0], vec![-0.5, 0.0, 1.28], 4.0),
        "point 1 lies below the coercivity of J (b < mu_0 h); leave such points out, the curve is \
         mirrored there"
    );
    assert_eq!(
        error(LawSpec::StraightMagnet { remanence: 13.0, recoil: 1.05 }),
        "the remanence is 13 T, outside the range 0.001 to 3 T"
    );
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 1000,
        rng_seed: RngSeed::Fixed(1),
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Any four data make a curve that gives them back, or are refused.
    #[test]
    fn any_four_data_fit_or_are_refused(
        br in 0.05..2.0_f64,
        k in 0.01..1.05_f64,
        gamma in 0.2..1.05_f64,
        recoil in 1.0..10.0_f64,
        places in prop::collection::vec(-3.0..2.0_f64, 30),
    ) {
        let hc = k * br / MU_0;
        let Ok(fit) = Law::from_spec(&magnet(br, hc * 1e-3, gamma * br * hc * 1e-3, recoil), 20.0)
        else {
            return Ok(());
        };
        let Law::Magnet(curve) = fit.law else { panic!("no magnet") };
        prop_assert!((curve.coercivity() / hc - 1.0).abs() < 1e-6);
        prop_assert!((curve.energy_product() / (gamma * br * hc) - 1.0).abs() < 1e-6);
        prop_assert!(curve.recoil() >= 1.0 - 1e-9 && curve.recoil() <= recoil);
        for b in places.iter().map(|share| share * br) {
            let (h, slope) = curve.h_of_b(b);
            // dH/dB between 0 and 1/mu_0, no steeper than the recoil line; round-off of a sharp
            // corner, 1/(1 - a) = 2000 units in the last place.
            prop_assert!(slope > 0.0 && slope * MU_0 * curve.recoil() < 1.0 + 1e-9, "{b}: {slope}");
            prop_assert!((curve.b_of_h(h).0 - b).abs() < 1e-11 * (br + b.abs()), "{b}: {h}");
        }
    }
}

#[test]
fn a_knee_magnet_is_straight_to_its_knee_and_square_below() {
    let (curve, recoil) = (shipped("N42"), 1.05);
    let h_c = 955e3;
    let lost = |share: f64| {
        let h = -share * h_c;
        curve.remanence() + MU_0 * recoil * h - curve.b_of_h(h).0
    };
    for share in [0.1, 0.5, 0.88] {
        assert!(lost(share).abs() < 1e-12, "{share}");
    }
    // What is lost at the coercivity of J is all that the line had there; a tenth of it at 0.95.
    assert!((lost(1.0) / (1.30 - MU_0 * 0.05 * h_c) - 1.0).abs() < 1e-9);
    assert!((lost(0.95) / lost(1.0) - 0.1).abs() < 1e-9, "{}", lost(0.95) / lost(1.0));
}
