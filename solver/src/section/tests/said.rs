//! What is said of a file, for tests that pin it word for word.

use crate::problem::{line_and_column, sorted};
use crate::section::parse;

/// "line:column message (hint)" of every problem, in order.
pub(super) fn said(text: &str) -> Vec<String> {
    let problems = parse(text).problems;
    let line = |p: &&crate::problem::Problem| {
        let place = match &p.span {
            Some(span) => {
                let (line, column) = line_and_column(text, span.start);
                format!("{line}:{column}")
            }
            None => "-".to_owned(),
        };
        format!("{place} {} ({})", p.message, p.help.as_deref().unwrap_or("NO WAY OUT"))
    };
    sorted(&problems).iter().map(line).collect()
}

/// What is said of a planar file with these lines after the first three.
pub(super) fn said_of(lines: &str) -> Vec<String> {
    said(&format!("format = 1\nsymmetry = \"planar\"\nstrings_run = \"in plane\"\n{lines}"))
}

/// What is said of an axisymmetric file with these lines after the first two.
pub(super) fn said_of_round(lines: &str) -> Vec<String> {
    said(&format!("format = 1\nsymmetry = \"axisymmetric\"\n{lines}"))
}

/// A sound part on lines 4 to 8; line 9 is free for more of it.
pub(super) const ROD: &str = "[[part]]\nname = \"rod\"\nrole = \"body\"\nmaterial = \"brass\"\n\
                   circle = { diameter = \"5 mm\" }\n";
