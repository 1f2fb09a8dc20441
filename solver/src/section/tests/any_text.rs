//! Any text at all: no panic, no hang, bounded results, and a place and a way out for each problem.

use proptest::prelude::*;

use crate::problem::render;
use crate::section::{Parsed, parse};

/// A file that uses every kind of table.
const FULL: &str = include_str!("full.toml");

/// Parses and renders; checks what holds for every text.
fn check(text: &str) -> Parsed {
    let parsed = parse(text);
    let shown = render(&parsed.problems, text, "any.toml");
    assert_eq!(shown.is_empty(), parsed.problems.is_empty());
    for problem in &parsed.problems {
        assert!(problem.help.is_some(), "no way out of: {}", problem.message);
        assert!(problem.message.len() < 600, "too long: {}", problem.message);
        assert!(!problem.message.ends_with('.'));
        if let Some(span) = &problem.span {
            assert!(span.start <= span.end && span.end <= text.len(), "{problem:?}");
        }
    }
    let section = &parsed.section;
    assert!(section.parts.len() <= 2_000);
    assert!(section.probes.iter().map(|p| p.points.len()).sum::<usize>() <= 100_000);
    for part in &section.parts {
        assert!(part.at.x.is_finite() && part.at.y.is_finite() && part.rotation.is_finite());
    }
    for string in &section.strings {
        assert!(string.gauge > 0.0 && string.axis.x.is_finite() && string.axis.y.is_finite());
    }
    for window in section.coils.iter().flat_map(|c| &c.windows) {
        assert!(window.turns > 0.0 && window.turns.is_finite(), "{window:?}");
    }
    parsed
}

/// Words and signs of the format, to be thrown together.
fn scrap() -> impl Strategy<Value = String> {
    prop_oneof![
        Just("\n".to_owned()),
        Just("[[part]]\n".to_owned()),
        Just("[[coil]]\n".to_owned()),
        Just("[[coil.window]]\n".to_owned()),
        Just("[[string]]\n".to_owned()),
        Just("name = ".to_owned()),
        Just("rectangle = ".to_owned()),
        Just("{ width = ".to_owned()),
        Just("polygon = [".to_owned()),
        Just("{ through = ".to_owned()),
        Just("repeat = { count = 7, pitch = \"1 mm\" }\n".to_owned()),
        Just("passes_through = ".to_owned()),
        Just("format = 1\n".to_owned()),
        Just("symmetry = \"axisymmetric\"\n".to_owned()),
        Just("]".to_owned()),
        Just("}".to_owned()),
        Just("\"".to_owned()),
        Just(", ".to_owned()),
        Just("\"4.8 mm\"".to_owned()),
        Just("-1e308".to_owned()),
        Just("nan".to_owned()),
        Just("\u{e9}\u{1f3b8}".to_owned()),
        Just("\u{0}\u{1b}\r\t".to_owned()),
        "[ -~]{0,6}",
    ]
}

proptest! {
    #[test]
    fn random_text(text in "\\PC{0,200}") {
        check(&text);
    }

    #[test]
    fn scraps_of_the_format(scraps in prop::collection::vec(scrap(), 0..60)) {
        check(&scraps.concat());
    }

    #[test]
    fn sound_files_with_a_piece_changed(
        from in 0..FULL.len(), length in 0_usize..40, put in scrap(),
    ) {
        let cut = |i: usize| (0..=i.min(FULL.len())).rev().find(|i| FULL.is_char_boundary(*i));
        let (from, to) = (cut(from).unwrap_or(0), cut(from + length).unwrap_or(0));
        check(&format!("{}{put}{}", &FULL[..from], &FULL[to.max(from)..]));
    }

    #[test]
    fn sound_files_with_a_value_changed(
        which in 0_usize..200,
        value in prop_oneof![
            Just("nan".to_owned()), Just("-inf".to_owned()), Just("0".to_owned()),
            Just("-1".to_owned()), Just("1e308".to_owned()), Just("\"1e308 mm\"".to_owned()),
            Just("\"-1 mm\"".to_owned()), Just("\"1e-300 m\"".to_owned()), Just("[]".to_owned()),
            Just("{}".to_owned()), Just("true".to_owned()), Just("1979-05-27".to_owned()),
            Just("9223372036854775807".to_owned()), Just("\"\"".to_owned()),
            Just("[[[[]]]]".to_owned()),
        ],
    ) {
        let mut lines: Vec<String> = FULL.lines().map(str::to_owned).collect();
        let with_key: Vec<usize> =
            (0..lines.len()).filter(|i| lines[*i].contains(" = ")).collect();
        let line = &mut lines[with_key[which % with_key.len()]];
        let key = line.split(" = ").next().unwrap_or("").to_owned();
        *line = format!("{key} = {value}");
        check(&lines.join("\n"));
    }
}

#[test]
fn the_full_file_is_sound() {
    let parsed = check(FULL);
    assert_eq!(render(&parsed.problems, FULL, "full.toml"), "");
}

#[test]
fn the_reference_names_every_key() {
    let reference = include_str!("../FORMAT.md");
    // A planar section takes no row of poles.
    let row = include_str!("../../../../meshes/six-rods-row.toml");
    let mut keys = Vec::new();
    let mut left = Vec::new();
    for text in [FULL, row] {
        let tree: toml::Table = text.parse().unwrap_or_default();
        assert!(!tree.is_empty());
        left.push(toml::Value::Table(tree));
    }
    while let Some(value) = left.pop() {
        match value {
            toml::Value::Table(table) => {
                for (key, value) in table {
                    keys.push(key);
                    left.push(value);
                }
            }
            toml::Value::Array(list) => left.extend(list),
            _ => {}
        }
    }
    for known in [
        &crate::section::parts::KEYS[..],
        &crate::section::coils::KEYS,
        &crate::section::strings::KEYS,
        &crate::section::probes::KEYS,
        &crate::section::materials::KEYS,
    ]
    .concat()
    {
        assert!(keys.iter().any(|k| k == known), "full.toml does not use `{known}`");
    }
    for key in keys {
        assert!(reference.contains(&key), "FORMAT.md does not name `{key}`");
    }
}

/// Texts of a megabyte made to be slow or deep. In a debug build each takes well under a second;
/// the test would be killed long before a hang went unseen.
#[test]
fn hostile_megabytes() {
    let n = 990_000;
    let rows = |row: &str| row.repeat(n / row.len());
    let head = "format = 1\nsymmetry = \"planar\"\n";
    let numbered = |row: &dyn Fn(usize) -> String| {
        let mut text = head.to_owned();
        let mut i = 0;
        while text.len() < n {
            text += &row(i);
            i += 1;
        }
        text
    };
    check(&format!("x = {}", rows("[")));
    check(&format!("x = {}", rows("{ a = ")));
    check(&format!("{}a = 1", rows("a.")));
    check(&rows("[[part]]\n"));
    check(&rows("a = 1\n"));
    check(&rows("[[part]]\nname = \"a\"\n"));
    check(&numbered(&|i| format!("key{i} = 1\n")));
    check(&numbered(&|i| format!("[[string]]\nname = \"s{i}\"\nover = \"p{i}\"\ngap = 1\n")));
    check(&format!("{head}[[part]]\nname = \"{}\"\n", "a".repeat(n)));
    check(&format!("{head}part = [{}]\n", "1, ".repeat(n / 3)));
    check(&numbered(&|i| {
        format!("[[part]]\nname = \"p{i}\"\npasses_through = [\"q{i}\", \"r{i}\"]\n")
    }));
    check(&format!("{head}[[part]]\nname = \"p\"\npolygon = [{}]", "[0, 0], ".repeat(n / 8 - 9)));
}
