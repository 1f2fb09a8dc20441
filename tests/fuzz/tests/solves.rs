//! Arrangements made to break the solve: each is solved with its invariants kept, or refused in words.

use std::cell::Cell;

use lodestring_fuzz::drawn;
use lodestring_fuzz::solves::{End, solve_holds};
use proptest::prelude::*;
use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};

/// Triangles of the quick tests: sections that need more are refused.
const MOST: usize = 4_000;

/// A length of any order of magnitude from a nanometre to a metre, m.
fn any_length() -> impl Strategy<Value = f64> {
    (-9.0..0.0_f64).prop_map(|power| 10f64.powf(power))
}

/// A part of the file. Rods are charged up, poles are of steel that saturates.
fn part(name: &str, magnet: bool, shape: &str, at_m: [f64; 2]) -> String {
    let kind = if magnet {
        "role = \"magnet\"\nmaterial = \"alnico 5\"\ncharge = \"up\""
    } else {
        "role = \"pole piece\"\nmaterial = \"mild steel\""
    };
    let [x, y] = at_m;
    format!("[[part]]\nname = \"{name}\"\n{kind}\n{shape}\nat = [\"{x:.12} m\", \"{y:.12} m\"]\n")
}

fn head(axisymmetric: bool, scale: f64) -> String {
    let symmetry =
        if axisymmetric { "\"axisymmetric\"" } else { "\"planar\"\nstrings_run = \"through\"" };
    format!("format = 1\nsymmetry = {symmetry}\nmesh_scale = {scale}\n")
}

const COIL: &str = "[[coil]]\nname = \"coil\"\nturns = 100\n[[coil.window]]\n\
    rectangle = { x = [\"6 mm\", \"8 mm\"], y = [\"-8 mm\", \"-2 mm\"] }\nsense = \"out\"\nmirror = \"0 mm\"\n";

/// A magnet under a pole, with a gap of any size between them, side by side or on top of each other.
fn gap() -> impl Strategy<Value = String> {
    (any_length(), any::<bool>(), any::<bool>(), any::<bool>()).prop_map(
        |(gap, axisymmetric, beside, coil)| {
            let bar = "rectangle = { width = \"4 mm\", height = \"6 mm\" }";
            let at = if beside && !axisymmetric { [0.004 + gap, 0.0] } else { [0.0, 0.006 + gap] };
            let mut text = head(axisymmetric, 8.0);
            text += &part("a", true, bar, [0.0, 0.0]);
            text += &part("b", false, bar, at);
            if coil && !axisymmetric {
                text += COIL;
            }
            text
        },
    )
}

/// Round bars that touch but for a hair, more than touch, or just miss each other.
fn tangent_circles() -> impl Strategy<Value = String> {
    let hair = (any::<bool>(), -9.0..-3.0_f64)
        .prop_map(|(in_out, power)| if in_out { 10f64.powf(power) } else { -(10f64.powf(power)) });
    (0.5..4.0_f64, 0.5..4.0_f64, hair, 0.0..360.0_f64).prop_map(|(r, s, hair, angle)| {
        let away = (r + s) * 1e-3 + hair;
        let (y, x) = angle.to_radians().sin_cos();
        let circle = |radius: f64| format!("circle = {{ diameter = \"{:.9} mm\" }}", 2.0 * radius);
        head(false, 8.0)
            + &part("a", true, &circle(r), [0.0, 0.0])
            + &part("b", false, &circle(s), [away * x, away * y])
    })
}

/// A blade, a sheet or a sliver of any thickness beside or inside a magnet's field.
fn sliver() -> impl Strategy<Value = String> {
    let size = || (-6.2..-0.5_f64).prop_map(|power| 10f64.powf(power));
    (size(), size(), any::<bool>(), 0.0..180.0_f64).prop_map(
        |(width, height, magnet, turn)| {
            let thin = format!(
                "rectangle = {{ width = \"{width:.12} m\", height = \"{height:.12} m\" }}\nturn = {turn:.6}"
            );
            head(false, 8.0)
                + &part("a", true, "circle = { diameter = \"4 mm\" }", [0.0, 0.0])
                + &part("b", magnet, &thin, [0.0, 0.5 * height.max(width) + 0.0025])
        },
    )
}

/// Rows of many bars, their gaps of any size.
fn many(most: usize) -> impl Strategy<Value = String> {
    (1..=most, -6.0..-2.0_f64, any::<bool>()).prop_map(|(count, power, magnet)| {
        let columns = (count as f64).sqrt().ceil() as usize;
        let pitch = 0.002 + 10f64.powf(power);
        let bar = "rectangle = { width = \"2 mm\", height = \"2 mm\" }";
        let mut text = head(false, 10.0);
        for k in 0..count {
            let at = [(k % columns) as f64 * pitch, (k / columns) as f64 * pitch];
            text += &part(&format!("p{k}"), magnet && k % 3 == 0, bar, at);
        }
        text
    })
}

/// What a fuzzer may draw.
fn anything() -> impl Strategy<Value = String> {
    prop::collection::vec(any::<u8>(), 0..300).prop_map(|bytes| drawn(&bytes))
}

fn arrangement() -> impl Strategy<Value = String> {
    prop_oneof![2 => gap(), 2 => tangent_circles(), 2 => sliver(), 1 => many(12), 2 => anything()]
}

/// Tries so many arrangements; shrinks the first that fails. It would prove nothing if most were refused.
fn try_arrangements(cases: u32, most: usize) {
    let config = ProptestConfig { cases, failure_persistence: None, ..ProptestConfig::default() };
    let solved = Cell::new(0);
    // The same ones every time: a change that breaks nothing fails nothing.
    let random = TestRng::deterministic_rng(RngAlgorithm::ChaCha);
    let outcome = TestRunner::new_with_rng(config, random).run(&arrangement(), |text| {
        if solve_holds(&text, most) == End::Solved {
            solved.set(solved.get() + 1);
        }
        Ok(())
    });
    if let Err(error) = outcome {
        panic!("{error}");
    }
    assert!(4 * solved.get() > cases, "only {} of {cases} were solved", solved.get());
}

#[test]
fn arrangements_are_solved_or_refused() {
    try_arrangements(48, MOST);
}

#[test]
#[ignore = "slow: the same at length"]
fn many_arrangements_are_solved_or_refused() {
    try_arrangements(600, 3 * MOST);
}

#[test]
fn a_gap_of_a_micrometre_and_one_of_a_metre_are_solved() {
    let bar = "rectangle = { width = \"4 mm\", height = \"6 mm\" }";
    for gap in [1e-6, 1e-4, 0.9] {
        let text = head(false, 8.0)
            + &part("a", true, bar, [0.0, 0.0])
            + &part("b", false, bar, [0.0, 0.006 + gap]);
        assert_eq!(solve_holds(&text, 60_000), End::Solved, "{gap}");
    }
}

#[test]
#[ignore = "slow: 2000 parts on a mesh of their own"]
fn two_thousand_parts_are_solved_and_one_more_is_refused() {
    let bar = "rectangle = { width = \"2 mm\", height = \"2 mm\" }";
    let row = |count: usize| {
        (0..count).fold(head(false, 10.0), |text, k| {
            let at = [(k % 45) as f64 * 0.004, (k / 45) as f64 * 0.004];
            text + &part(&format!("p{k}"), k % 40 == 0, bar, at)
        })
    };
    assert_eq!(solve_holds(&row(2000), 200_000), End::Solved);
    assert_eq!(solve_holds(&row(2001), 200_000), End::Refused);
}
