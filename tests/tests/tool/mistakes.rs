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
