//! What fuzzing has found, and the corpus it grew from: all of it must hold.

#![expect(clippy::print_stdout, reason = "names the input of a failure")]

use std::path::{Path, PathBuf};

use lodestring_fuzz::TARGETS;
use lodestring_fuzz::holds::section_holds;

/// The files of a folder of this crate, by name.
fn files(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let entries = std::fs::read_dir(&folder).unwrap_or_else(|e| panic!("{folder:?}: {e}"));
    let mut files: Vec<PathBuf> = entries.filter_map(Result::ok).map(|e| e.path()).collect();
    files.sort();
    files
}

#[test]
fn sections_that_once_failed_hold() {
    let found = files("found");
    assert!(found.len() >= 5);
    for path in found {
        let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path:?}: {e}"));
        println!("{}", path.display());
        section_holds(&text);
    }
}

#[test]
fn the_corpus_holds() {
    for target in &TARGETS {
        let corpus = files(&format!("corpus/{}", target.name));
        assert!(!corpus.is_empty(), "{}", target.name);
        for path in corpus {
            let bytes = std::fs::read(&path).unwrap_or_else(|e| panic!("{path:?}: {e}"));
            println!("{}", path.display());
            (target.holds)(&(target.text)(&bytes));
        }
    }
}
