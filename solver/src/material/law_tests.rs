//! Properties that every law must have, tried on all kinds over a wide range of B.

use crate::material::{Law, SoftLaw};
use crate::section::{LawSpec, SaturatingCurve};
use crate::units::MU_0;

const NU_0: f64 = 1.0 / MU_0;

fn law(spec: &LawSpec, temperature: f64) -> Law {
    Law::from_spec(spec, temperature).expect("the data are sound").law
}

fn alnico(br: f64, hc: f64, bh: f64, recoil: f64) -> LawSpec {
    LawSpec::Magnet {
        remanence: br,
        coercivity: hc * 1e3,
        intrinsic_coercivity: None,
        energy_product: bh * 1e3,
        recoil,
        transverse: Some(3.0),
        remanence_per_kelvin: -2e-4,
        coercivity_per_kelvin: 1e-4,
    }
}

fn specs() -> Vec<LawSpec> {
    let saturating = |curve| LawSpec::Saturating { saturation: 2.05, mu_initial: 101.0, curve };
    vec![
        LawSpec::Linear { mu_r: 30.0 },
        LawSpec::Table {
            h: vec![0.0, 16.0, 54.0, 143.0, 222.0, 289.0, 433.0, 933.0, 2913.0, 9423.0],
            b: vec![0.0, 0.0025, 0.0125, 0.05, 0.3, 0.8, 1.2, 1.5, 1.65, 1.8],
        },
        // A kink from mu_r 5000 to a J that stands still.
        LawSpec::Table { h: vec![0.0, 200.0, 2e5], b: vec![0.0, 1.256_6, 1.507_676_1] },
        saturating(SaturatingCurve::Froehlich),
        saturating(SaturatingCurve::Langevin),
        saturating(SaturatingCurve::Arctangent),
        LawSpec::StraightMagnet { remanence: 1.25, recoil: 1.05 },
        alnico(0.75, 45.0, 13.5, 6.4),
        alnico(1.35, 59.0, 59.7, 3.8),
        alnico(0.82, 131.0, 42.2, 2.0),
        // Energy products too low and too high for the recoil permeability.
        alnico(0.75, 45.0, 10.0, 6.4),
        alnico(1.30, 940.0, 335.0, 1.05),
        LawSpec::KneeMagnet {
            remanence: 0.385,
            intrinsic_coercivity: 245e3,
            recoil: 1.07,
            transverse: None,
            remanence_per_kelvin: -0.002,
            coercivity_per_kelvin: 0.0027,
        },
        LawSpec::MagnetTable {
            h: vec![-52e3, -51e3, -48e3, -42e3, -30e3, -10e3, 0.0],
            b: vec![-0.05, 0.0, 0.6, 1.0, 1.18, 1.265, 1.28],
            recoil: 4.0,
            transverse: Some(3.0),
        },
    ]
}

/// Deterministic spread of flux densities: both signs, 1 nT to 30 T.
fn fluxes() -> impl Iterator<Item = f64> {
    let small = (0..200).map(|i| 10f64.powf(-9.0 + f64::from(i) * 0.05));
    let middle = (1..600).map(|i| f64::from(i) * 0.005 + 1e-7);
    let all: Vec<f64> = small.chain(middle).collect();
    let negative: Vec<f64> = all.iter().map(|b| -b).collect();
    all.into_iter().chain(negative)
}

const AXIS: [f64; 2] = [0.6, 0.8];

#[test]
fn energy_field_and_tangent_are_derivatives_of_each_other() {
    for spec in specs() {
        for temperature in [20.0, 80.0] {
            let law = law(&spec, temperature);
            for lowest in [None, Some(-20e3), Some(-60e3), Some(-300e3)] {
                for size in fluxes() {
                    check_derivatives(&law, [size * 0.28, size * 0.96], lowest);
                }
            }
        }
    }
}

/// Central differences of w and H against H and dH/dB.
fn check_derivatives(law: &Law, b: [f64; 2], lowest: Option<f64>) {
    let here = law.respond(b, AXIS, lowest);
    let size = b[0].hypot(b[1]);
    let step = 3e-5 * size.max(1e-3);
    for i in 0..2 {
        let at = |s: f64| {
            let mut moved = b;
            moved[i] += s * step;
            law.respond(moved, AXIS, lowest)
        };
        // Fourth-order differences: error step^4 times a fifth derivative, and round-off in w.
        let (m2, m1, p1, p2) = (at(-2.0), at(-1.0), at(1.0), at(2.0));
        let slope = |f: &dyn Fn(&crate::material::Response) -> f64| {
            (f(&m2) - 8.0 * f(&m1) + 8.0 * f(&p1) - f(&p2)) / (12.0 * step)
        };
        let kink = (0..3).map(|k| (p2.tangent[k] - m2.tangent[k]).abs()).fold(0.0, f64::max);
        let h_size = here.h[0].hypot(here.h[1]);
        let round_off = 1e-15 * here.energy.abs() / step;
        let error = (slope(&|r| r.energy) - here.h[i]).abs();
        // 1e-8 of H, round-off, and a kink of the tangent between the points of the difference.
        assert!(
            error < 1e-8 * h_size + 4.0 * round_off + kink * step,
            "{law:?} b {b:?} lowest {lowest:?}: dw/dB is off by {error}, H {h_size}"
        );
        for k in 0..2 {
            let tangent = here.tangent[i + k];
            let error = (slope(&|r| r.h[k]) - tangent).abs();
            let scale = here.tangent[0].max(here.tangent[2]);
            let round_off = 1e-15 * h_size / step;
            assert!(
                error < 1e-6 * scale + 4.0 * round_off + 2.0 * kink,
                "{law:?} b {b:?} lowest {lowest:?}: dH/dB is off by {error} of {tangent}"
            );
        }
    }
}

#[test]
fn tangent_lies_between_zero_and_empty_space() {
    for spec in specs() {
        let law = law(&spec, 20.0);
        for lowest in [None, Some(-40e3)] {
            for size in fluxes() {
                let b = [size * 0.28, size * 0.96];
                for t in [law.respond(b, AXIS, lowest).tangent, law.small_change(b, AXIS)] {
                    let mean = 0.5 * (t[0] + t[2]);
                    let spread = (0.25 * (t[0] - t[2]).powi(2) + t[1] * t[1]).sqrt();
                    assert!(mean - spread > 0.0, "{law:?} at {b:?}: {t:?}");
                    // Round-off of the sums above.
                    assert!(mean + spread < NU_0 * (1.0 + 1e-12), "{law:?} at {b:?}: {t:?}");
                }
            }
        }
    }
}

#[test]
fn both_directions_of_a_curve_are_inverse() {
    for spec in specs() {
        for size in fluxes() {
            let (h, slope, back, slope_back) = match law(&spec, 20.0) {
                Law::Linear { .. } => continue,
                Law::Soft(soft) => {
                    let (h, slope) = soft.h_of_b(size);
                    let (b, back) = soft.b_of_h(h);
                    (h, slope, b, back)
                }
                Law::Magnet(curve) => {
                    let (h, slope) = curve.h_of_b(size);
                    let (b, back) = curve.b_of_h(h);
                    (h, slope, b, back)
                }
            };
            // Round-off of B, of H as a flux density, and of a hyperbola's corner, which magnifies
            // it by 1/(1 - a).
            let tolerance = 1e-14 * size.abs() + 1e-15 * (h / slope).abs() + 1e-12;
            assert!((back - size).abs() < tolerance, "{spec:?} {size} {back} {h}");
            assert!((slope * slope_back - 1.0).abs() < 1e-6, "{spec:?} {size} {slope}");
        }
    }
}

#[test]
fn analytic_laws_start_and_saturate_as_stated() {
    for curve in
        [SaturatingCurve::Froehlich, SaturatingCurve::Langevin, SaturatingCurve::Arctangent]
    {
        let law = SoftLaw::saturating(curve, 2.05, 101.0).expect("in range");
        assert!((law.b_of_h(0.0).1 / MU_0 - 101.0).abs() < 1e-10);
        assert!((law.magnetisation(0.0).1 - 100.0).abs() < 1e-10);
        // At 1e9 A/m the slowest of the three is within 2e-5 of saturation.
        assert!((law.magnetisation(1e9).0 * MU_0 / 2.05 - 1.0).abs() < 2e-5);
        assert!((law.magnetisation(-300.0).0 + law.magnetisation(300.0).0).abs() == 0.0);
    }
}
