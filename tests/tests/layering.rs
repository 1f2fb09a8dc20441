//! Who may import whom: a stage of the solver knows only the stages before it, and each foreign
//! numerical crate has one door.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::path::{Path, PathBuf};

/// In the order of the pipeline.
const STAGES: [&str; 9] =
    ["section", "geometry", "mesh", "material", "field", "strings", "quantity", "report", "study"];

/// Crates with one door each.
const DOORS: [(&str, &str); 13] = [
    ("spade", "mesh/triangulate.rs"),
    ("faer", "field/linear_solve.rs"),
    ("nalgebra_sparse", "field/linear_solve.rs"),
    ("vtkio", "report/vtk.rs"),
    ("resvg", "report/png.rs"),
    ("dejavu", "report/png.rs"),
    ("sha2", "report/html/page.rs"),
    ("base64", "report/html/page.rs"),
    ("hound", "report/wav.rs"),
    ("parquet", "report/columnar.rs"),
    ("argmin", "study/search.rs"),
    ("toml_edit", "study/template.rs"),
    ("rand_chacha", "study/draw.rs"),
];

/// Past this a file wants to be two; tables of data are told apart by their name.
const MOST_LINES: usize = 900;

/// What every stage may use and what uses none of them.
const BEFORE_ALL: [&str; 3] = ["units.rs", "point.rs", "problem.rs"];

#[test]
fn stages_import_only_what_comes_before_them() {
    let mut wrong = Vec::new();
    for (path, text) in solver_files() {
        let forbidden = if BEFORE_ALL.iter().any(|file| path == Path::new(file)) {
            &STAGES[..]
        } else {
            match STAGES.iter().position(|stage| path.starts_with(stage)) {
                Some(own) => &STAGES[own + 1..],
                None => &[],
            }
        };
        for (number, line) in code_lines(&text) {
            for stage in forbidden.iter().filter(|stage| names_module(line, stage)) {
                wrong.push(format!("{}:{number} imports {stage}", path.display()));
            }
            // So that the rule above sees every import.
            if line.contains("crate::{") || line.contains("super::super") {
                wrong.push(format!("{}:{number}: name the stage in full", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn names_module(line: &str, module: &str) -> bool {
    line.match_indices(&format!("crate::{module}")).any(|(at, found)| {
        !line[at + found.len()..].starts_with(|c: char| c.is_alphanumeric() || c == '_')
    })
}

#[test]
fn foreign_crates_are_named_behind_their_door_only() {
    let mut wrong = Vec::new();
    for (path, text) in solver_files() {
        for (name, door) in DOORS {
            if path != Path::new(door)
                && code_lines(&text).any(|(_, line)| line.contains(&format!("{name}::")))
            {
                wrong.push(format!("{} names {name}, whose door is {door}", path.display()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_solver_prints_nothing_and_opens_no_path() {
    let mut wrong = Vec::new();
    for (path, text) in solver_files() {
        for (number, line) in code_lines(&text) {
            if ["println!", "print!(", "std::fs", "std::env", "std::process", "std::net"]
                .iter()
                .any(|forbidden| line.contains(forbidden))
            {
                wrong.push(format!("{}:{number}: {}", path.display(), line.trim()));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn files_stay_readable() {
    let long: Vec<String> = solver_files()
        .iter()
        .filter(|(_, text)| text.lines().count() > MOST_LINES)
        .map(|(path, text)| format!("{}: {} lines", path.display(), text.lines().count()))
        .collect();
    assert!(long.is_empty(), "{}", long.join("\n"));
}

/// Every source file of the solver, its path relative to `solver/src`.
/// The least version of Rust that the packages ask for is the one that builds and tests them, here and in
/// `.ci/run`; every package asks for the workspace's.
#[test]
fn the_least_rust_version_is_the_one_that_builds() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let read = |file: &str| std::fs::read_to_string(root.join(file)).unwrap();
    let value = |text: &str, key: &str| {
        let line = text.lines().find(|line| line.starts_with(key)).unwrap().to_owned();
        line.split('"').nth(1).unwrap().to_owned()
    };
    let (manifest, toolchain) = (read("Cargo.toml"), read("rust-toolchain.toml"));
    let least = value(&manifest, "rust-version = ");
    let built_with = value(&toolchain, "channel = ");
    assert_eq!(built_with, format!("{least}.0"), "rust-version and rust-toolchain.toml");
    for member in value_list(&manifest, "members = ") {
        let own = read(&format!("{member}/Cargo.toml"));
        assert!(own.contains("rust-version.workspace = true"), "{member}");
    }
}

/// The texts of a list written on one line.
fn value_list(text: &str, key: &str) -> Vec<String> {
    let line = text.lines().find(|line| line.starts_with(key)).unwrap();
    line.split('"').skip(1).step_by(2).map(str::to_owned).collect()
}

fn solver_files() -> Vec<(PathBuf, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../solver/src");
    let mut files = Vec::new();
    let mut folders = vec![root.clone()];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let text = std::fs::read_to_string(&path).unwrap();
                files.push((path.strip_prefix(&root).unwrap().to_owned(), text));
            }
        }
    }
    assert!(files.len() > STAGES.len(), "found no source files");
    files
}

/// The numbered lines of `text` that are neither comments nor in its test module.
fn code_lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines()
        .enumerate()
        .map(|(i, line)| (i + 1, line))
        .take_while(|(_, line)| !line.contains("#[cfg(test)]"))
        .filter(|(_, line)| !line.trim_start().starts_with("//"))
}
