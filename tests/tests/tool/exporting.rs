//! `export`: grids of strings and collections of a study, and what cannot be had.
//!
//! What is in the grids is read back by independent readers in `read_vtu.rs`.

use std::fs;
use std::path::Path;

use super::{Run, repository, tool};

/// Runs `export` on the shipped `section` in `folder`.
fn export(folder: &Path, section: &str, arguments: &[&str]) -> Run {
    let section = repository().join("meshes").join(section).canonicalize().unwrap();
    Run::of(tool().current_dir(folder).arg("export").arg(section).args(arguments))
}

fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn a_study_is_a_collection_of_the_grids_beside_it() {
    let folder = tempfile::tempdir().unwrap();
    let run = export(
        folder.path(),
        "rod.toml",
        &["--vary", "string.G3.gap = 2 mm, 3 mm", "--out", "gap.pvd"],
    );
    assert_eq!((run.out.as_str(), run.err.as_str(), run.code), ("", "4 grids\n", 0));
    let grids = ["gap-1-strings.vtu", "gap-1.vtu", "gap-2-strings.vtu", "gap-2.vtu"];
    assert_eq!(files(folder.path()), [&grids[..], &["gap.pvd"]].concat());
    let collection = fs::read_to_string(folder.path().join("gap.pvd")).unwrap();
    for grid in grids {
        assert!(collection.contains(&format!("file=\"{grid}\"")), "{collection}");
    }
    assert_ne!(
        fs::read(folder.path().join(grids[1])).unwrap(),
        fs::read(folder.path().join(grids[3])).unwrap(),
        "every case has its own field"
    );
}

/// A case that cannot be solved is left out and told; the others stand.
#[test]
fn a_case_that_fails_is_left_out() {
    let folder = tempfile::tempdir().unwrap();
    let run = export(
        folder.path(),
        "rod.toml",
        &["--vary", "string.G3.gap = 2 mm, -3 mm", "--out", "gap.pvd"],
    );
    assert_eq!(run.code, 0, "{}", run.err);
    assert!(run.err.starts_with("left out: "), "{}", run.err);
    assert!(run.err.contains("case 2 of"), "{}", run.err);
    assert_eq!(files(folder.path()), ["gap-1-strings.vtu", "gap-1.vtu", "gap.pvd"]);
}

#[test]
fn what_cannot_be_had_is_told_and_nothing_is_written() {
    let wishes: [(&str, &[&str], &str); 6] = [
        ("rod.toml", &["--out", "a.vtu", "--vary", "string.G3.gap = 2 mm, 3 mm"], ".pvd"),
        ("rod.toml", &["--out", "a.pvd", "--strings", "b.vtu"], "files of its own"),
        ("rod.toml", &["--out", "a.vtu", "--strings", "a.vtu"], "a.vtu"),
        ("rod.toml", &["--out", "a.pvd", "--vary", "string.none.gap = 2 mm, 3 mm"], "none"),
        ("rod.toml", &["--out", "a.pvd", "--vary", "string.G3.gap = 2 mm to 3 mm in 1001"], "1000"),
        ("six-rods.toml", &["--out", "a.vtu", "--strings", "b.vtu"], "three dimensions"),
    ];
    for (section, arguments, told) in wishes {
        let folder = tempfile::tempdir().unwrap();
        let run = export(folder.path(), section, arguments);
        assert_eq!((run.out.as_str(), run.code), ("", 2), "{arguments:?}: {}", run.err);
        assert!(run.err.contains(told), "{arguments:?}: {}", run.err);
        assert_eq!(files(folder.path()), [""; 0], "{arguments:?}");
    }
}
