//! Mistakes in a section file, as they are shown: each with its place and a way out.

use super::{Run, tool};

/// What `check` says of a section, the exit code in front.
fn told(text: &str) -> String {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("section.toml"), text).unwrap();
    let run = Run::of(tool().current_dir(folder.path()).args(["check", "section.toml"]));
    assert_eq!(run.out, "");
    format!("exit code {}\n{}", run.code, run.err)
}

#[test]
fn every_mistake_at_once() {
    insta::assert_snapshot!(told(
        r#"format = 1
title = "x"
symetry = "planar"

[[part]]
name = "rod"
role = "magnett"
material = "alnico 5"
rectangle = { width = "-4.8 mm", height = "17" }
"#
    ));
}

#[test]
fn not_toml() {
    insta::assert_snapshot!(told("format = 1\ntitle = \"x\nsymmetry = \"planar\"\n"));
}

#[test]
fn an_empty_file() {
    insta::assert_snapshot!(told(""));
}

/// A round pole in its coil.
const POLE: &str = r#"format = 1
symmetry = "axisymmetric"

[[part]]
name = "rod"
role = "magnet"
material = "alnico 5"
rectangle = { width = "4.8 mm", height = "17 mm" }
at = ["0 mm", "0 mm"]
anchor = "top"
charge = "up"

[[coil]]
name = "coil"
turns = 7000
window = { rectangle = { x = ["3 mm", "7 mm"], y = ["-13 mm", "-2 mm"] } }
"#;

const STRING: &str = r#"
[[string]]
name = "G3"
gauge = "0.43 mm"
over = "rod"
gap = "2 mm"
"#;

/// What is said of `text` with each pair of words exchanged, a paragraph for each.
fn told_of_each(text: &str, exchanged: &[[&str; 2]]) -> String {
    let one = |[from, to]: &[&str; 2]| {
        assert!(text.contains(from), "{from}");
        format!("{to}\n{}", told(&text.replace(from, to)))
    };
    exchanged.iter().map(one).collect::<Vec<_>>().join("\n")
}

#[test]
fn strings_and_poles_where_they_cannot_be() {
    insta::assert_snapshot!(told_of_each(
        &format!("{POLE}{STRING}"),
        &[
            ["gap = \"2 mm\"", "gap = \"-0.5 mm\""],
            ["over = \"rod\"\ngap = \"2 mm\"", "height = \"-1 mm\""],
            ["[\"-13 mm\", \"-2 mm\"]", "[\"-13 mm\", \"4 mm\"]"],
            ["at = [\"0 mm\", \"0 mm\"]", "at = [\"1 mm\", \"0 mm\"]"],
            ["x = [\"3 mm\", \"7 mm\"]", "x = [\"-7 mm\", \"-3 mm\"]"],
            ["turns = 7000", "turns = 0"],
        ]
    ));
}

#[test]
fn rows_that_cannot_be() {
    let row = "\n[row]\ncount = 2\npitch = \"10 mm\"\nstagger = [\"0 mm\", \"1 mm\"]\n";
    insta::assert_snapshot!(told_of_each(
        &format!("{POLE}{row}{STRING}pole = 1\n"),
        &[
            ["pitch = \"10 mm\"", "pitch = \"4 mm\""],
            ["count = 2", "count = 0"],
            ["stagger = [\"0 mm\", \"1 mm\"]", "stagger = [\"0 mm\"]"],
            ["gap = \"2 mm\"", "gap = \"0.5 mm\""],
            ["pole = 1", "pole = 3"],
            ["pole = 1\n", ""],
            ["symmetry = \"axisymmetric\"", "symmetry = \"planar\"\nstrings_run = \"in plane\""],
            ["\n[row]", "\n[[probe]]\nname = \"p\"\nat = [\"0 mm\", \"3 mm\"]\n\n[row]"],
        ]
    ));
}
