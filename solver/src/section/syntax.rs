//! Faults of syntax: text that is not TOML, said in plain words.
//!
//! In: the errors of the TOML parser, which recovers and goes on. Out: [`Problem`]s with a way
//! out, and the other problems without those that a fault of syntax has only brought about.

use toml::de::Error;

use crate::problem::Problem;

/// A fault of syntax with a way out.
pub(super) fn problem(fault: &Error) -> Problem {
    let message = fault.message();
    let help = HELP
        .iter()
        .find(|(word, _)| message.contains(word))
        .map_or("one `key = value` on each line, text in quotes, lists in [ ]", |h| h.1);
    let span = fault.span().unwrap_or(0..0);
    Problem::at(span, format!("cannot read this: {message}")).help(help)
}

/// What a fault whose message holds a word calls for.
const HELP: [(&str, &str); 8] = [
    ("must be quoted", "put text in quotes, e.g. \"steel 1010\" or \"4.8 mm\""),
    ("basic string", "close the text with a quote on the same line"),
    ("literal string", "close the text with a quote on the same line"),
    ("duplicate key", "each key once; start the next part with a line [[part]] of its own"),
    ("comma", "put a comma between the entries, or close what stands before"),
    ("unclosed", "close it on the same line or further down"),
    ("no value", "write key = value"),
    ("recurs", "nothing here needs tables or lists that deep"),
];

/// Those of `problems` that do not stand where a fault of syntax is: there, what was read is not
/// what was meant.
pub(super) fn sound(problems: Vec<Problem>, faults: &[Error]) -> Vec<Problem> {
    let mut places: Vec<usize> = faults.iter().filter_map(|f| Some(f.span()?.start)).collect();
    places.sort_unstable();
    let untouched = |problem: &Problem| match &problem.span {
        None => true,
        Some(span) => {
            let first = places.partition_point(|place| *place < span.start);
            places.get(first).is_none_or(|place| *place > span.end)
        }
    };
    problems.into_iter().filter(untouched).collect()
}
