//! A row of poles against one pole, against itself in a mirror, and against differences.

use crate::geometry::samples::rod_file;
use crate::material::Library;
use crate::pipeline::{prepare, solve};
use crate::quantity::{Quantities, StringReading};

fn pole() -> String {
    rod_file(1.5)
}

fn string(name: &str, pole: Option<usize>, gap: f64, offset: f64) -> String {
    let pole = pole.map_or_else(String::new, |k| format!("pole = {k}\n"));
    format!(
        "[[string]]\nname = \"{name}\"\ngauge = \"0.43 mm\"\nover = \"rod\"\ngap = \"{gap} mm\"\n\
         offset = \"{offset} mm\"\n{pole}"
    )
}

fn row(keys: &str, strings: &[String]) -> Quantities {
    let text = format!("{}[row]\n{keys}\n{}", pole(), strings.concat());
    solve(&prepare(&text, &Library::built_in()).expect("no mistakes")).expect("solves").quantities
}

fn lone(gap: f64, offset: f64) -> Quantities {
    let text = format!("{}{}", pole(), string("G3", None, gap, offset));
    solve(&prepare(&text, &Library::built_in()).expect("no mistakes")).expect("solves").quantities
}

fn off(a: f64, b: f64) -> f64 {
    (a / b - 1.0).abs()
}

fn change(s: &StringReading) -> [f64; 2] {
    s.linkage_change[0]
}

#[test]
fn a_row_of_one_is_the_pole_by_itself() {
    let (one, alone) =
        (row("count = 1\npitch = \"10 mm\"", &[string("G3", Some(1), 2.0, 1.0)]), lone(2.0, 1.0));
    let (a, b) = (&one.strings[0], &alone.strings[0]);
    // The same field of the magnet.
    assert!(off(a.pull[1], b.pull[1]) < 1e-9 && off(a.pull[0], b.pull[0]) < 1e-9);
    // The coil's own field by Biot and Savart on one side, on a mesh on the other, good to some 1e-4.
    for i in 0..2 {
        assert!(off(change(a)[i], change(b)[i]) < 1e-3, "{:?} {:?}", change(a), change(b));
    }
    let (a, b) = (&one.coils[0], &alone.coils[0]);
    // Rings stand for the window.
    assert!(off(a.linkage_without, b.linkage_without) < 1e-3, "{a:?} {b:?}");
    // Neumann's formula on one side, good to some thousandths, a mesh on the other.
    assert!(off(a.inductance, b.inductance) < 5e-3, "{} {}", a.inductance, b.inductance);
}

#[test]
fn distant_poles_are_each_by_themselves() {
    let keys = "count = 2\npitch = \"100 mm\"";
    let two = row(keys, &[string("a", Some(1), 2.0, 0.0), string("b", Some(2), 2.0, 0.0)]);
    let alone = lone(2.0, 0.0);
    for s in &two.strings {
        // The other's field at 100 mm is that of its moment, some 1e-5 T against 5e-2 T here.
        assert!(off(s.pull[1], alone.strings[0].pull[1]) < 2e-3, "{:?}", s.pull);
    }
}

#[test]
fn mirrored_strings_are_alike_and_neighbours_weaken_the_inner_poles() {
    let all: Vec<String> = (1..=6).map(|k| string(&format!("s{k}"), Some(k), 2.0, 0.0)).collect();
    let six = row("count = 6\npitch = \"10.5 mm\"", &all);
    for k in 0..3 {
        let (a, b) = (&six.strings[k], &six.strings[5 - k]);
        // Sums of the same terms in another order.
        assert!(off(a.pull[1], b.pull[1]) < 1e-9);
        assert!((a.pull[0] + b.pull[0]).abs() < 1e-9 * a.pull[1].abs());
        assert!(off(change(a)[1], change(b)[1]) < 1e-9);
        assert!((change(a)[0] + change(b)[0]).abs() < 1e-9 * change(a)[1].abs());
    }
    let laid = six.row.as_ref().map(|row| row.laid_on.clone()).expect("a row");
    assert!(laid.iter().all(|b| *b < 0.0) && laid[2] < laid[0], "{laid:?}");
    // Poles charged in turn help each other.
    let turned = row("count = 6\npitch = \"10.5 mm\"\npolarity = \"alternating\"", &all);
    let laid = turned.row.as_ref().map(|row| row.laid_on.clone()).expect("a row");
    assert!(laid.iter().all(|b| *b > 0.0), "{laid:?}");
    let (a, b) = (&turned.strings[0], &turned.strings[5]);
    // Their signals are opposite.
    assert!(off(change(a)[1], -change(b)[1]) < 1e-9);
}

#[test]
fn changes_are_derivatives_over_uneven_poles() {
    let keys = "count = 3\npitch = \"9 mm\"\nstagger = [\"0.5 mm\", \"0 mm\", \"0.2 mm\"]";
    let at = |gap: f64, offset: f64| {
        let q =
            row(keys, &[string("lowest", Some(1), 1.5, 0.0), string("s", Some(2), gap, offset)]);
        let s = q.strings[1].clone();
        let rise = s.coupled.as_ref().map(|c| c.coils[0].rise).expect("coupled");
        (s, rise)
    };
    let (here, _) = at(2.2, 0.7);
    let d = 0.02;
    for (i, [up, down]) in
        [[at(2.2, 0.7 + d), at(2.2, 0.7 - d)], [at(2.2 + d, 0.7), at(2.2 - d, 0.7)]]
            .into_iter()
            .enumerate()
    {
        let step = 2.0 * d * 1e-3;
        let slope = (up.1 - down.1) / step;
        // d^2 / 6 of the third derivative, which is some 6 / mm^2 of the first: 4e-4 of the larger change.
        let size = change(&here)[1].abs();
        assert!((slope - change(&here)[i]).abs() < 4e-4 * size, "{i}: {slope} {:?}", change(&here));
        for k in 0..2 {
            let slope = (up.0.pull[k] - down.0.pull[k]) / step;
            let size = here.pull_gradient[1][1].abs();
            let exact = here.pull_gradient[k][i];
            assert!((slope - exact).abs() < 1e-3 * size, "{k} {i}: {slope} {exact}");
        }
    }
}

/// Poles that are no magnets and no steel: the coil is one in air.
#[test]
fn poles_of_air_leave_the_coil_as_it_is() {
    let text = pole()
        .replace("role = \"magnet\"", "role = \"body\"")
        .replace("alnico 5", "void")
        .replace("charge = \"up\"\n", "")
        + "[[material]]\nname = \"void\"\nlaw = \"linear\"\npermeability = 1\n"
        + "[row]\ncount = 2\npitch = \"10 mm\"\n"
        + &string("a", Some(1), 2.0, 0.0);
    let prepared = prepare(&text, &Library::built_in()).expect("no mistakes");
    let q = solve(&prepared).expect("solves").quantities;
    let air = crate::strings::Racetrack {
        inner: 3e-3,
        outer: 7e-3,
        bottom: -13e-3,
        top: -2e-3,
        straight: 10e-3,
        turns: 7000.0,
    };
    // The same sums but for rounding.
    assert!(off(q.coils[0].inductance, air.inductance()) < 1e-9, "{}", q.coils[0].inductance);
    assert_eq!(q.strings[0].pull[1], 0.0);
}

#[test]
fn a_bend_is_the_string_at_that_offset() {
    let keys = "count = 2\npitch = \"10.5 mm\"";
    let bent = string("a", Some(1), 2.0, 0.0) + "bend = [\"3 mm\", \"5.25 mm\"]\n";
    let q = row(keys, &[bent]);
    let pushed = row(keys, &[string("a", Some(1), 2.0, 3.0)]);
    let bends = &q.row.as_ref().expect("a row").bends;
    // The sampling reaches farther for the bend; the waves are as good.
    assert!(off(bends[0].pull[1], pushed.strings[0].pull[1]) < 1e-4);
    assert!(off(bends[0].linkage_change[0][1], change(&pushed.strings[0])[1]) < 1e-4);
    // Halfway between the poles: as much to one as to the other. What the other pole answers is a tenth of
    // the pull and is carried over to other wave numbers, good to some 1e-5 of itself.
    assert!(bends[1].pull[0].abs() < 4e-6 * bends[1].pull[1].abs(), "{:?}", bends[1].pull);
    assert!(bends[1].level < bends[0].level && bends[0].level < 1.0);
}

#[test]
fn everything_wrong_with_a_row_is_said_at_once() {
    let text = pole().replace("format = 1", "format = 1\napplied_field_T = [0, 0.01]")
        + "[row]\ncount = 3\npitch = \"4 mm\"\nstagger = [\"0 mm\"]\nstraight = \"2 mm\"\n\
           [[probe]]\nname = \"p\"\nat = [\"0 mm\", \"3 mm\"]\n"
        + &string("a", Some(4), 2.0, 0.0);
    let problems = crate::section::parse(&text).problems;
    let said: Vec<&str> = problems.iter().map(|p| p.message.as_str()).collect();
    for word in
        ["applied_field_T", "no probes", "1 heights for 3", "overlaps", "less than the 8 mm"]
    {
        assert!(said.iter().any(|m| m.contains(word)), "{word}: {said:?}");
    }
    let good = pole() + "[row]\ncount = 2\npitch = \"9 mm\"\nstagger = [\"0 mm\", \"2 mm\"]\n";
    let said = |string: &str| {
        let problems = crate::section::parse(&format!("{good}{string}")).problems;
        problems.into_iter().map(|p| p.message).collect::<Vec<_>>().join("; ")
    };
    assert_eq!(said(&string("a", Some(1), 2.5, 0.0)), "");
    assert!(said(&string("a", Some(1), 1.5, 0.0)).contains("highest pole"));
    assert!(said(&string("a", Some(3), 2.5, 0.0)).contains("`pole` is 3"));
    assert!(said(&string("a", None, 2.5, 0.0)).contains("has no `pole`"));
    let planar = pole().replace("axisymmetric", "planar") + "[row]\ncount = 2\npitch = \"9 mm\"\n";
    let problems = crate::section::parse(&planar).problems;
    assert!(problems.iter().any(|p| p.message.contains("axisymmetric")), "{problems:?}");
    let no_row = format!("{}{}", pole(), string("a", Some(1), 2.0, 0.0));
    let problems = crate::section::parse(&no_row).problems;
    assert!(problems.iter().any(|p| p.message.contains("row of poles")), "{problems:?}");
}
