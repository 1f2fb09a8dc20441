//! The sources every check rests on.

use std::collections::BTreeSet;

/// `references.bib` as shipped.
pub const REFERENCES: &str = include_str!("../references.bib");

/// Keys of all entries of a BibTeX file, sorted.
pub fn keys(bibtex: &str) -> BTreeSet<&str> {
    bibtex
        .lines()
        .filter_map(|line| line.strip_prefix('@'))
        .filter_map(|entry| entry.split_once('{'))
        .filter_map(|(_, rest)| rest.strip_suffix(','))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::{Path, PathBuf};

    fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in std::fs::read_dir(folder).expect("the crate's own folder is readable") {
            let path = entry.expect("a folder entry can be read").path();
            if path.is_dir() {
                sources(&path, found);
            } else if path.extension().is_some_and(|end| end == "rs") {
                found.push(path);
            }
        }
    }

    /// Words in square brackets that look like keys: letters, then a four-digit year.
    fn cited(text: &str) -> Vec<&str> {
        text.lines()
            .filter(|line| line.trim_start().starts_with("//"))
            .flat_map(|line| line.split('[').skip(1))
            .filter_map(|rest| rest.split_once(']').map(|(key, _)| key))
            .filter(|key| {
                let digits = key.len().saturating_sub(4);
                key.len() > 6
                    && key.is_char_boundary(digits)
                    && key[digits..].bytes().all(|c| c.is_ascii_digit())
                    && key[..digits].bytes().all(|c| c.is_ascii_alphabetic())
            })
            .collect()
    }

    #[test]
    fn every_source_cited_in_the_code_is_listed() {
        let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
        let mut files = Vec::new();
        sources(&root, &mut files);
        let listed = keys(REFERENCES);
        let mut seen = 0;
        for file in files {
            let text = std::fs::read_to_string(&file).expect("source files are readable");
            for key in cited(&text) {
                seen += 1;
                assert!(
                    listed.contains(key),
                    "{} cites [{key}], which is not listed",
                    file.display()
                );
            }
        }
        // The test would pass on nothing at all if the search broke.
        assert!(seen > 20, "only {seen} citations found");
    }
}
