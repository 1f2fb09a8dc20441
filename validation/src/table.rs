//! The outcomes as Markdown: what `VALIDATION.md` holds.

use std::fmt::Write;

use crate::case::Shipped;
use crate::form::Form;
use crate::measure::{Outcome, Row, RunError};

/// How a case ended.
pub type Ended = (&'static Shipped, Result<Outcome, RunError>);

/// The whole document.
pub fn document(ended: &[Ended]) -> String {
    let mut text = String::from(HEAD);
    let outcomes = || ended.iter().filter_map(|(_, outcome)| outcome.as_ref().ok());
    let judged = || outcomes().flat_map(|o| &o.rows).filter(|row| row.tolerance.is_some());
    let (all, within) = (judged().count(), judged().filter(|row| row.within()).count());
    let failed = ended.iter().filter(|(_, outcome)| outcome.is_err()).count();
    line(
        &mut text,
        &format!("{within} of {all} numbers of {} cases within tolerance.", ended.len()),
    );
    if failed > 0 {
        line(&mut text, &format!("{failed} cases could not be run."));
    }
    beyond_their_errors(&mut text, &outcomes().collect::<Vec<_>>());
    for (shipped, outcome) in ended {
        text.push('\n');
        match outcome {
            Ok(outcome) => case(&mut text, outcome),
            Err(error) => {
                line(&mut text, &format!("## {}\n\nNot run: {error}", shipped.name));
            }
        }
    }
    text
}

const HEAD: &str = "\
# Validation

Exact solutions, three-dimensional references, other solvers and bench readings, each beside what
Lodestring says of the same section at its default settings. Written by
`cargo run -p lodestring-validation`; do not edit. Each case is a folder of `cases/` with the section,
the sources (keys of `references.bib`), the tolerances and the reason for each. A vector is shown by
its magnitude; its deviation is that of the vector. The estimated error is the solver's own of what its
mesh may have put wrong, as `solve` prints it; \"-\" where it gives none, \"no end\" where a number does not
settle as the mesh is refined. An estimate from three meshes may come out too small where the error
changes its sign between two of them.

";

/// How many of the numbers that have an exact solution and an estimated error are further from the one than the
/// other allows, and which. What is held against figures is left out: those have errors of their own.
fn beyond_their_errors(text: &mut String, outcomes: &[&Outcome]) {
    let exact = outcomes.iter().filter(|o| !matches!(o.case.reference, Form::Figures {}));
    let told: Vec<(&str, &Row)> = exact
        .flat_map(|o| o.rows.iter().map(|row| (o.name, row)))
        .filter(|(_, row)| row.error.is_some())
        .collect();
    let beyond: Vec<_> = told.iter().filter(|(_, row)| row.is_beyond_its_error()).collect();
    let colon = if beyond.is_empty() { "." } else { ":\n" };
    line(
        text,
        &format!(
            "Of {} numbers with an exact solution and an estimated error {} deviate by more than it{colon}",
            told.len(),
            beyond.len()
        ),
    );
    for (name, row) in beyond {
        line(
            text,
            &format!(
                "- `{name}`, {}: {:.4} %, estimated {:.4} %",
                row.what,
                100.0 * row.deviation,
                100.0 * row.error.unwrap_or(0.0) / row.value.abs()
            ),
        );
    }
}

fn case(text: &mut String, outcome: &Outcome) {
    let case = &outcome.case;
    line(text, &format!("## {}\n", case.title));
    let sources: Vec<String> = case.cites.iter().map(|key| format!("[{key}]")).collect();
    line(
        text,
        &format!(
            "`cases/{}`, {} unknowns. {}\n",
            outcome.name,
            outcome.unknowns,
            sources.join(", ")
        ),
    );
    line(
        text,
        "| quantity | unit | Lodestring | estimated error | reference | deviation | tolerance | |",
    );
    line(text, "|---|---|---|---|---|---|---|---|");
    for row in &outcome.rows {
        line(text, &self::row(row));
    }
    text.push('\n');
    let mut reasons: Vec<String> = Vec::new();
    for check in &case.check {
        let reason = match check.tolerance_percent {
            Some(percent) => format!("Tolerance {percent} %: {}.", check.reason),
            None => format!("Not judged: {}.", check.reason),
        };
        if !reasons.contains(&reason) {
            reasons.push(reason);
        }
    }
    line(text, &reasons.join(" "));
}

fn row(row: &Row) -> String {
    let (tolerance, verdict) = match row.tolerance {
        None => (String::new(), "shown"),
        Some(t) => {
            let verdict = if row.within() { "ok" } else { "**off**" };
            (format!("{} %", (t * 1e6).round() / 1e4), verdict)
        }
    };
    format!(
        "| {} | {} | {} | {} | {} | {:.3} % | {tolerance} | {verdict} |",
        row.what,
        row.unit,
        digits(row.value),
        estimated(row),
        digits(row.reference),
        row.deviation * 100.0,
    )
}

/// The estimated error as a share of the value.
pub fn estimated(row: &Row) -> String {
    match row.error {
        None => "-".to_owned(),
        Some(error) if error.is_infinite() => "no end".to_owned(),
        Some(error) => format!("{:.3} %", 100.0 * error / row.value.abs()),
    }
}

/// Six significant digits.
pub fn digits(value: f64) -> String {
    let exponent = value.abs().log10().floor();
    if (-4.0..6.0).contains(&exponent) {
        let decimals = (5.0 - exponent).max(0.0) as usize;
        format!("{value:.decimals$}")
    } else {
        format!("{value:.5e}")
    }
}

fn line(text: &mut String, words: &str) {
    // Writing into a string cannot fail.
    let _ = writeln!(text, "{words}");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_digits_whatever_the_size() {
        assert_eq!(digits(0.09980024), "0.0998002");
        assert_eq!(digits(904.22451), "904.225");
        assert_eq!(digits(-0.2435796), "-0.243580");
        assert_eq!(digits(1.7203960e-9), "1.72040e-9");
        assert_eq!(digits(19364.7), "19364.7");
    }
}
