//! Checks of the coupled string on fields known in closed form.

use crate::material::SoftLaw;
use crate::section::SaturatingCurve;
use crate::strings::reaction_check;
use crate::strings::test_fields::{coil_a_phi, rod_a_phi};
use crate::strings::{
    CoupledString, CouplingError, PlaneSampling, Segments, StringBody, StringLaw, UpperField,
    couple, linkage_rises,
};
use crate::units::{MM, MU_0};

/// Rod 4.8 x 17 mm, 1.2 T, top at z = 0, in air (mu_r 1).
fn rod(z0: f64, lowest: f64) -> UpperField {
    UpperField::axisymmetric(|r| rod_a_phi(2.4 * MM, 17.0 * MM, 1.2, r, z0), &sampling(z0, lowest))
}

/// Annulus 3 to 7 mm, z from -13 to -2 mm, 7000 turns.
fn coil(z0: f64, lowest: f64) -> UpperField {
    let window = [3.0 * MM, 7.0 * MM, 2.0 * MM, 13.0 * MM];
    UpperField::axisymmetric(|r| coil_a_phi(window, 7000.0, r, z0), &sampling(z0, lowest))
}

fn sampling(z0: f64, lowest: f64) -> PlaneSampling {
    PlaneSampling { z0, lowest, reach: 45.0 * MM, rough: 3.0 * MM, extent: 0.3, depth: 0.009 }
}

fn segments(height: f64) -> Segments {
    Segments::graded(40.0 * MM, 2.4 * MM + 2.0 * height, height)
}

fn froehlich() -> StringLaw {
    let law = SoftLaw::saturating(SaturatingCurve::Froehlich, MU_0 * 1.6e6, 200.0);
    StringLaw::soft(law.unwrap())
}

const Z0: f64 = 1.2 * MM;
const LOWEST: f64 = 2.2 * MM;

fn body(diameter: f64, law: StringLaw, height: f64) -> StringBody {
    StringBody::new(0.5 * diameter * MM, segments(height * MM), law).unwrap()
}

/// |a - b| relative to the larger of |b| and `scale`.
fn deviation(a: f64, b: f64, scale: f64) -> f64 {
    (a - b).abs() / b.abs().max(scale)
}

#[test]
fn close_to_a_full_three_dimensional_solve() {
    // Reference: the same rod with mu_r 1.05, full three-dimensional finite-element solve with a
    // general-purpose library (own error 0.1 to 0.3 %). Here mu_r = 1 with the polarisation scaled
    // to the reference's flux density at the string, and a coil in air: the rod's 1.05 in the coil
    // and the rod's own reaction are left out, which is worth about 1.5 %.
    let reference_b = 0.12549;
    let upper = rod(Z0, LOWEST);
    let b = MU_0 * upper.eval([0.0, 0.0, 3.0 * MM]).h[2];
    let upper = upper.scaled(reference_b / b);
    let body = body(1.07, StringLaw::linear(200.0), 3.0);
    let s = couple(&upper, &[coil(Z0, LOWEST)], None, &body, [0.0, 0.0, 3.0 * MM]).unwrap();
    let coil = &s.coils[0];
    assert!(deviation(s.pull[2], -0.3344, 0.0) < 0.01, "{}", s.pull[2]);
    assert!(deviation(coil.rise, 1.3033e-3, 0.0) < 0.02, "{}", coil.rise);
    assert!(deviation(coil.change[1], -0.6369, 0.0) < 0.025, "{}", coil.change[1]);
}

#[test]
fn refining_the_segments_changes_nothing() {
    let upper = rod(Z0, LOWEST);
    let coils = [coil(Z0, LOWEST)];
    for law in [StringLaw::linear(200.0), froehlich()] {
        for (diameter, height) in [(1.07, 3.0), (0.43, 2.25)] {
            let coarse = body(diameter, law.clone(), height);
            let fine =
                StringBody::new(coarse.radius, coarse.segments.refined(), law.clone()).unwrap();
            let at = [0.0, 0.4 * MM, height * MM];
            let [c, f] = [coarse, fine].map(|b| couple(&upper, &coils, None, &b, at).unwrap());
            // The promise is 0.1 %.
            assert!(deviation(c.pull[2], f.pull[2], 0.0) < 1e-4);
            assert!(deviation(c.coils[0].rise, f.coils[0].rise, 0.0) < 1e-4);
            assert!(deviation(c.coils[0].change[1], f.coils[0].change[1], 0.0) < 1e-4);
            assert!(deviation(c.pull_gradient[1][1], f.pull_gradient[1][1], 0.0) < 1e-3);
        }
    }
}

#[test]
fn derivatives_of_the_coupled_system_equal_differences() {
    let upper = rod(Z0, LOWEST);
    let coils = [coil(Z0, LOWEST)];
    let reaction = reaction_check::round(4);
    let at = [0.5 * MM, 0.8 * MM, 2.6 * MM];
    let step = 2e-6;
    for law in [StringLaw::linear(200.0), froehlich()] {
        let body = body(1.07, law, 2.6);
        for reaction in [None, Some(&reaction)] {
            let solve = |shift: [f64; 2]| {
                let place = [at[0], at[1] + shift[0], at[2] + shift[1]];
                couple(&upper, &coils, reaction, &body, place).unwrap()
            };
            let here = solve([0.0; 2]);
            let own = &here.coils[0];
            for q in 0..2 {
                let mut up = [0.0; 2];
                up[q] = step;
                let (plus, minus) = (solve(up), solve(up.map(|s| -s)));
                let slope = |pick: &dyn Fn(&CoupledString) -> f64| {
                    (pick(&plus) - pick(&minus)) / (2.0 * step)
                };
                // Truncation: (step / 0.5 mm)^2 / 6 = 3e-6.
                let tolerance = 1e-5;
                let change = slope(&|s| s.coils[0].rise);
                assert!(deviation(change, own.change[q], own.change[1].abs()) < tolerance);
                for p in 0..2 {
                    let gradient = slope(&|s| s.pull[p + 1]);
                    let scale = here.pull_gradient[1][1].abs();
                    assert!(deviation(gradient, here.pull_gradient[p][q], scale) < tolerance);
                    let second = slope(&|s| s.coils[0].change[p]);
                    let scale = own.second[1][1].abs();
                    assert!(deviation(second, own.second[p][q], scale) < tolerance);
                }
            }
        }
    }
}

/// The rise by itself is that of the whole coupling, derivatives left out.
#[test]
fn the_rise_alone_is_that_of_the_coupling() {
    let upper = rod(Z0, LOWEST);
    let coils = [coil(Z0, LOWEST)];
    let body = body(0.43, froehlich(), 3.0);
    for reaction in [reaction_check::round(4), reaction_check::planar(3)] {
        let at = [0.0, 0.4 * MM, 3.0 * MM];
        let whole = couple(&upper, &coils, Some(&reaction), &body, at).unwrap();
        let alone = linkage_rises(&upper, &coils, Some(&reaction), &body, at).unwrap();
        // The same sums; where they are cut into vectors may differ.
        assert!(deviation(alone[0], whole.coils[0].rise, 0.0) < 1e-12);
        let free = couple(&upper, &coils, None, &body, at).unwrap();
        assert!(deviation(free.coils[0].rise, alone[0], 0.0) > 1e-4, "the poles do answer");
    }
    let low = linkage_rises(&upper, &coils, None, &body, [0.0, 0.0, 1.3 * MM]);
    assert!(matches!(low, Err(CouplingError::TooLow { .. })), "{low:?}");
}

#[test]
fn pull_is_the_derivative_of_the_energy() {
    // Linear law: U = -1/2 mu_0 sum V M . H0, and mu_0 sum V M . H0 is the linkage rise of a coil
    // whose field per ampere is H0 itself; so the pull is half of that coil's linkage change.
    let upper = rod(Z0, LOWEST);
    let reaction = reaction_check::round(4);
    let body = body(1.07, StringLaw::linear(200.0), 2.6);
    let at = [0.0, 0.8 * MM, 2.6 * MM];
    let s = couple(&upper, std::slice::from_ref(&upper), Some(&reaction), &body, at).unwrap();
    for p in 0..2 {
        // Round-off.
        assert!(deviation(s.pull[p + 1], 0.5 * s.coils[0].change[p], 0.0) < 1e-11);
        for q in 0..2 {
            let half = 0.5 * s.coils[0].second[p][q];
            assert!(deviation(s.pull_gradient[p][q], half, 1.0) < 1e-10);
        }
    }
}

#[test]
fn reciprocity_and_symmetry() {
    let (upper, coil) = (rod(Z0, LOWEST), coil(Z0, LOWEST));
    let body = body(0.43, StringLaw::linear(200.0), 3.0);
    let at = |y: f64| [0.0, y, 3.0 * MM];
    let rise = |source: &UpperField, sink: &UpperField, y: f64| {
        couple(source, std::slice::from_ref(sink), None, &body, at(y)).unwrap().coils[0].rise
    };
    // Round-off of a symmetric system.
    assert!(deviation(rise(&upper, &coil, MM), rise(&coil, &upper, MM), 0.0) < 1e-11);

    // Saturating, mirrored sideways.
    let body = StringBody::new(body.radius, body.segments, froehlich()).unwrap();
    let solve = |y: f64| couple(&upper, std::slice::from_ref(&coil), None, &body, at(y)).unwrap();
    let (left, middle, right) = (solve(-MM), solve(0.0), solve(MM));
    assert!(deviation(left.pull[2], right.pull[2], 0.0) < 1e-11);
    assert!(deviation(left.pull[1], -right.pull[1], 0.0) < 1e-9);
    assert!(right.pull[1] < 0.0, "a string beside the pole is drawn over it");
    assert!(middle.pull[1].abs() < 1e-12 && middle.pull[0].abs() < 1e-12);
    assert!(middle.coils[0].change[0].abs() < 1e-12);
    assert!(middle.greatest_flux_density < MU_0 * 2e6, "saturates near 2 T");
}

#[test]
fn sensitivity_along_the_string_sums_to_the_change() {
    let upper = rod(Z0, LOWEST);
    let coils = [coil(Z0, LOWEST)];
    let reaction = reaction_check::round(4);
    for (law, reaction) in [(froehlich(), None), (StringLaw::linear(100.0), Some(&reaction))] {
        let body = body(1.07, law, 2.6);
        let s = couple(&upper, &coils, reaction, &body, [0.0, 0.5 * MM, 2.6 * MM]).unwrap();
        let coil = &s.coils[0];
        for q in 0..2 {
            let sum: f64 =
                coil.sensitivity[q].iter().zip(body.segments.weights()).map(|(s, w)| s * w).sum();
            // The density takes the derivative of a degree-four magnetisation along x.
            assert!(deviation(sum, coil.change[q], 0.0) < 5e-3, "{sum} {}", coil.change[q]);
        }
        // Most of the signal comes from some 5 mm over a pole of 4.8 mm.
        assert!((3e-3..8e-3).contains(&coil.aperture[1]), "{:?}", coil.aperture);
    }
}

#[test]
fn refuses_a_string_among_the_sources() {
    let body = body(1.07, StringLaw::linear(200.0), 3.0);
    let outcome = couple(&rod(Z0, LOWEST), &[], None, &body, [0.0, 0.0, 1.6 * MM]);
    assert!(matches!(outcome, Err(CouplingError::TooLow { .. })));
    let segments = segments(3.0 * MM);
    let outcome = StringBody::new(f64::NAN, segments, StringLaw::linear(2.0)).map(|_| ());
    assert!(matches!(outcome, Err(CouplingError::BadString { .. })));
}
