//! Mistakes in a section file, as a person sees them: the library's text, with colours put on.

use clap::builder::styling::AnsiColor;
use lodestring::problem::{Problem, render, sorted};

use crate::args::STYLES;
use crate::section_file::SectionFile;

/// All `problems` of a section file, each with its place, and how many there are.
pub fn shown(file: &SectionFile, problems: &[Problem]) -> String {
    let name = file.name.trim_matches('`');
    let count = match sorted(problems).len() {
        1 => "1 mistake".to_owned(),
        n => format!("{n} mistakes"),
    };
    let text = coloured(&render(problems, &file.text, name));
    format!("{text}\n{count} in {name}\n")
}

/// The label of each message, and the mark under the place, stand out.
fn coloured(text: &str) -> String {
    let error = STYLES.get_error();
    let hint = AnsiColor::Cyan.on_default().bold();
    let mut out = String::with_capacity(text.len());
    for line in text.split_inclusive('\n') {
        let (style, from, to) = if line.starts_with("error:") {
            (*error, 0, "error:".len())
        } else if line.starts_with("hint:") {
            (hint, 0, "hint:".len())
        } else if let Some(start) = mark(line) {
            (*error, start, line.trim_end().len())
        } else {
            out.push_str(line);
            continue;
        };
        out.push_str(&format!(
            "{}{style}{}{style:#}{}",
            &line[..from],
            &line[from..to],
            &line[to..]
        ));
    }
    out
}

/// Where the carets of a line that holds nothing else start.
fn mark(line: &str) -> Option<usize> {
    let start = line.find('^')?;
    let blank_before = line[..start].chars().all(|c| matches!(c, ' ' | '|'));
    (blank_before && line[start..].trim_end().chars().all(|c| c == '^')).then_some(start)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_change_nothing_but_colour() {
        let text = "error: a ^ b\n --> x.toml:1:5\n1 | a = 1\n  |     ^\nhint: c\n\nerror: d\n";
        let painted = coloured(text);
        assert!(painted.contains("|     \u{1b}["), "{painted:?}");
        let mut plain = String::new();
        let mut inside = false;
        for c in painted.chars() {
            match c {
                '\u{1b}' => inside = true,
                'm' if inside => inside = false,
                c if !inside => plain.push(c),
                _ => {}
            }
        }
        assert_eq!(plain, text);
    }
}
