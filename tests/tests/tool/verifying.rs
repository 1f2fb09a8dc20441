//! `verify`: every case with an exact solution, and what the table says.

use super::{Run, run};

#[test]
#[ignore = "slow: solves every section that has an exact solution"]
fn all_cases_are_within_tolerance_and_told_with_error_and_limit() {
    let Run { out, err, code } = run(&["verify"]);
    assert_eq!((err.as_str(), code), ("", 0));
    let (done, rest) = out.split_once(" of ").unwrap();
    assert!(rest.starts_with(&format!("{done} cases")), "{out}");
    // A head, a row for each, each with its verdict.
    assert_eq!(out.lines().filter(|line| line.ends_with("  ok")).count().to_string(), done);
    assert!(out.contains("estimated error") && out.contains("What these numbers cannot tell"));
    assert!(out.lines().all(|line| line.chars().count() <= 130), "{out}");
}

#[test]
fn a_table_that_cannot_be_written_is_an_error_before_the_work() {
    let Run { out, err, code } = run(&["verify", "--out", "none/verify.json"]);
    assert_eq!((out.as_str(), code), ("", 6));
    assert!(err.contains("cannot write `none/verify.json`"), "{err}");
}

#[test]
fn grades_of_one_s_own_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("mine.toml");
    std::fs::write(&path, "format = 1\n").unwrap();
    let Run { out, err, code } = run(&["verify", "--materials", path.to_str().unwrap()]);
    assert_eq!((out.as_str(), code), ("", 2));
    assert!(err.contains("the cases bring their own materials"), "{err}");
}
