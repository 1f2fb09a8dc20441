//! Rows of poles against what they must come to: a sum of closed forms, and a blade.
//!
//! Magnets of permeability 1 add up exactly, so both hold but for the mesh.

use std::fmt::Write;

use crate::material::Library;
use crate::pipeline::{prepare, solve};
use crate::quantity::Quantities;
use crate::strings::test_fields::rod_a_phi;
use crate::strings::{PlaneSampling, Segments, StringBody, StringLaw, UpperField, couple};
use crate::units::{MM, MU_0};

fn solved(text: &str) -> Quantities {
    solve(&prepare(text, &Library::built_in()).expect("no mistakes")).expect("solves").quantities
}

/// A row of rods, `radius` and `length` mm, 1 T, in a coil that stands `clear` mm beside them.
fn row(radius: f64, length: f64, keys: &str, string: &str) -> Quantities {
    let (inner, outer) = (radius + 0.5, radius + 1.5);
    solved(&format!(
        "format = 1\nsymmetry = \"axisymmetric\"\n{MATERIALS}[[part]]\nname = \"rod\"\nrole = \"magnet\"\n\
         material = \"plain 1\"\nrectangle = {{ width = \"{} mm\", height = \"{length} mm\" }}\n\
         at = [\"0 mm\", \"0 mm\"]\nanchor = \"top\"\ncharge = \"up\"\n\
         [[coil]]\nname = \"coil\"\nturns = 1000\nwindow = {{ rectangle = {{ \
         x = [\"{inner} mm\", \"{outer} mm\"], y = [\"-{length} mm\", \"-1 mm\"] }} }}\n\
         [row]\n{keys}\n{string}",
        2.0 * radius
    ))
}

const MATERIALS: &str = "[[material]]\nname = \"plain 1\"\nlaw = \"straight magnet\"\nremanence_T = 1\n\
    recoil_permeability = 1\n[[material]]\nname = \"string steel\"\nlaw = \"linear\"\npermeability = 50\n";

fn string(more: &str) -> String {
    format!("[[string]]\nname = \"s\"\ngauge = \"0.4 mm\"\ncore = \"string steel\"\n{more}\n")
}

#[test]
fn a_row_is_the_sum_of_its_rods_in_closed_form() {
    let keys = "count = 3\npitch = \"7 mm\"\nstagger = [\"0.4 mm\", \"0 mm\", \"0.2 mm\"]";
    let over = string("over = \"rod\"\npole = 2\ngap = \"2 mm\"\noffset = \"0.8 mm\"");
    let q = row(2.0, 12.0, keys, &over);
    // The string's axis is 2.2 mm over the second pole; heights are those over it.
    let sampling = PlaneSampling {
        z0: 1.0 * MM,
        lowest: 2.0 * MM,
        reach: 45.0 * MM,
        rough: 2.5 * MM,
        extent: 0.3,
        depth: 7.0 * MM,
    };
    let rod = |y: f64, higher: f64| {
        let a_phi = |r: f64| rod_a_phi(2.0 * MM, 12.0 * MM, 1.0, r, 1.0 * MM - higher * MM);
        UpperField::axisymmetric(a_phi, &sampling).moved(0.0, y * MM)
    };
    let sum = rod(-7.0, 0.4).plus(&rod(0.0, 0.0)).plus(&rod(7.0, 0.2));
    let segments = Segments::graded(40.0 * MM, 7.2 * MM, 2.2 * MM);
    let body = StringBody::new(0.2 * MM, segments, StringLaw::linear(50.0)).expect("a string");
    let at = [0.0, 0.8 * MM, 2.2 * MM];
    let exact = couple(&sum, &[], None, &body, at).expect("couples");
    let s = &q.strings[0];
    let field = sum.eval(at).h;
    // The mesh is laid out for a thousandth.
    for c in 0..2 {
        assert!((s.pull[c] - exact.pull[c + 1]).abs() < 1e-3 * exact.pull[2].abs(), "{:?}", s.pull);
        let b = MU_0 * field[c + 1];
        assert!((s.flux_density_without[c] - b).abs() < 1e-3 * MU_0 * field[2], "{b}");
    }
    for i in 0..2 {
        let off = s.pull_gradient[i][i] - exact.pull_gradient[i][i];
        assert!(off.abs() < 2e-3 * exact.pull_gradient[1][1], "{:?}", s.pull_gradient);
    }
}

/// Rods a hair apart, seen from farther than their pitch, are a blade of the same length whose
/// magnetisation across is the share of the pitch that is rod. What the ends of the row and of the coil
/// miss is a series in the square of its length, of which three lengths tell two terms and the endless row.
#[test]
fn a_long_row_of_poles_close_together_is_a_blade() {
    const PITCH: f64 = 2.05;
    let over = |count: usize| {
        // Halfway between two poles: as over one, since the field no longer changes along the row.
        let keys = format!("count = {count}\npitch = \"{PITCH} mm\"");
        let more = format!(
            "over = \"rod\"\npole = {}\ngap = \"2.4 mm\"\noffset = \"{} mm\"",
            count / 2,
            0.5 * PITCH
        );
        row(1.0, 4.0, &keys, &string(&more))
    };
    let rows: Vec<(f64, Quantities)> = [12, 18, 24]
        .into_iter()
        .map(|count| ((PITCH * count as f64).powi(-2), over(count)))
        .collect();
    let endless = |pick: &dyn Fn(&Quantities) -> f64| -> f64 {
        let share = |x: f64| {
            let others = rows.iter().map(|(other, _)| *other).filter(|other| *other != x);
            others.map(|other| other / (other - x)).product::<f64>()
        };
        rows.iter().map(|(x, q)| share(*x) * pick(q)).sum()
    };

    // The blade in ten slices.
    let mut text = format!(
        "format = 1\nsymmetry = \"planar\"\nstrings_run = \"in plane\"\n{MATERIALS}\
         [[coil]]\nname = \"coil\"\nturns = 1000\n[[coil.window]]\nrectangle = {{ \
         x = [\"-2.5 mm\", \"-1.5 mm\"], y = [\"-4 mm\", \"-1 mm\"] }}\nsense = \"out\"\nmirror = \"0 mm\"\n"
    );
    let under = |x: f64| 0.5 * (x * (1.0 - x * x).sqrt() + x.asin());
    for i in 0..10 {
        let (left, right) = (-1.0 + 0.2 * i as f64, -0.8 + 0.2 * i as f64);
        // Mean chord of the circle over the slice, as a share of the pitch.
        let share = 2.0 * (under(right.min(1.0)) - under(left)) / 0.2 / PITCH;
        write!(
            text,
            "[[part]]\nname = \"slice {i}\"\nrole = \"magnet\"\nmaterial = \"m{i}\"\nrectangle = {{ \
             x = [\"{left:.3} mm\", \"{right:.3} mm\"], y = [\"-4 mm\", \"0 mm\"] }}\ncharge = \"up\"\n\
             [[material]]\nname = \"m{i}\"\nlaw = \"straight magnet\"\nremanence_T = {share}\n\
             recoil_permeability = 1\n"
        )
        .expect("a string takes all");
    }
    let blade = solved(&(text + &string("over = \"slice 4\"\ngap = \"2.4 mm\"")));
    let (s, own) = (&blade.strings[0], &blade.strings[0].linkage_change[0]);
    let off = |value: f64, exact: f64| (value / exact - 1.0).abs();
    let field = endless(&|q| q.strings[0].flux_density_without[1]);
    // The first harmonic of the pitch has lost exp(-2 pi 2.6 / 2.05) = 3e-4, and slices for a circle the
    // square of their width over the height in units of it, 1e-3; the sixth power of the lengths leaves less.
    assert!(off(field, s.flux_density_without[1]) < 2e-3, "{field} {:?}", s.flux_density_without);
    let pull = endless(&|q| q.strings[0].pull[1]);
    // Twice that: the field enters the pull squared.
    assert!(off(pull, s.pull[1]) < 4e-3, "{pull} {:?}", s.pull);
    let change = endless(&|q| q.strings[0].linkage_change[0][1]);
    assert!(off(change, own[1]) < 4e-3, "{change} {own:?}");
    // Few poles are no blade.
    let few = over(4).strings[0].pull[1];
    assert!(off(few, s.pull[1]) > 2e-2, "{few} {:?}", s.pull);
}
