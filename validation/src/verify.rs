//! The cases with a closed form, run and told as a report: what the tool's `verify` prints.
//!
//! In: the cases of [`CASES`] that are held against an exact solution. Out: a [`Report`] with a row for
//! every number (JSON, CSV) and, as text, a row for every case: the number that comes nearest to its
//! tolerance, or is off by most.

use std::cmp::Ordering;

use lodestring::report::layout::{write_limits, write_markdown_limits};
use lodestring::report::record::{Group, Item, Report};
use lodestring::report::text::Table;
use lodestring::report::unit::{H, H_PER_M, N_PER_M, ONE, PERCENT, T, Unit};

use crate::case::Shipped;
use crate::form::Form;
use crate::measure::{Outcome, Row, RunError};
use crate::shipped::CASES;
use crate::table::{Ended, digits, estimated};

/// The shipped cases that have a closed form, in their order.
pub fn closed_forms() -> Vec<&'static Shipped> {
    let closed =
        |case: &&Shipped| case.read().is_ok_and(|case| !matches!(case.reference, Form::Figures {}));
    CASES.iter().filter(closed).collect()
}

/// How many cases cannot be relied on: they could not be run, or have a number off its tolerance.
pub fn off(ended: &[Ended]) -> usize {
    ended.iter().filter(|(_, outcome)| !is_within(outcome)).count()
}

/// The report on cases that were run.
pub fn report(ended: &[Ended]) -> Report {
    let rows = || ended.iter().filter_map(|(_, o)| o.as_ref().ok()).flat_map(|o| &o.rows);
    let count = |n: usize| Some(n as f64);
    let head = Item::default()
        .number("cases", ONE, count(ended.len()))
        .number("cases_off", ONE, count(off(ended)))
        .number("numbers", ONE, count(rows().count()))
        .number("numbers_off", ONE, count(rows().filter(|row| !row.within()).count()))
        .number("largest_deviation", PERCENT, rows().map(|row| row.deviation).reduce(f64::max));
    Report {
        words: vec![("title", "Lodestring beside exact solutions".to_owned())],
        numbers: head.numbers,
        groups: vec![Group { key: "checks", items: ended.iter().flat_map(items).collect() }],
        limits: vec![
            "Exact solutions show that the equations are solved right on this machine; they say nothing \
             of a material's data or of how well a pickup is drawn."
                .to_owned(),
        ],
    }
}

/// A row for every number of a case, or one that says why it was not run.
fn items((shipped, outcome): &Ended) -> Vec<Item> {
    match outcome {
        Ok(outcome) => outcome.rows.iter().map(|row| item(shipped.name, row)).collect(),
        Err(error) => {
            let item = Item::new(shipped.name).word("verdict", "not run");
            vec![item.word("reason", error.to_string())]
        }
    }
}

fn item(name: &str, row: &Row) -> Item {
    let unit = unit(row.unit);
    Item::new(name)
        .word("quantity", row.what.as_str())
        .word("verdict", verdict(row))
        .number("value", unit, row.value)
        .number("estimated_error", unit, row.error)
        .number("reference", unit, row.reference)
        .number("deviation", PERCENT, row.deviation)
        .number("tolerance", PERCENT, row.tolerance)
}

/// The report's unit that is written so.
fn unit(symbol: &str) -> Unit {
    [T, N_PER_M, H, H_PER_M].into_iter().find(|unit| unit.symbol == symbol).unwrap_or(ONE)
}

/// The cases as a person reads them.
pub fn text(ended: &[Ended]) -> String {
    let mut out = format!("{}\n\n", summary(ended));
    table(ended).write_to(&mut out, 2);
    for (shipped, error) in failures(ended) {
        out.push_str(&format!("  ! {}: {error}\n", shipped.name));
    }
    write_limits(&report(ended), &mut out);
    out
}

/// The cases as Markdown.
pub fn markdown(ended: &[Ended]) -> String {
    let mut out = format!("{}\n\n", summary(ended));
    table(ended).write_markdown(&mut out);
    for (shipped, error) in failures(ended) {
        out.push_str(&format!("\n- {}: {error}\n", shipped.name));
    }
    write_markdown_limits(&report(ended), &mut out);
    out
}

fn summary(ended: &[Ended]) -> String {
    let good = ended.len() - off(ended);
    format!(
        "{good} of {} cases with an exact solution are within tolerance.\n\
         Of each case the number that is nearest to its tolerance:",
        ended.len()
    )
}

fn failures(ended: &[Ended]) -> impl Iterator<Item = (&'static Shipped, &RunError)> {
    ended.iter().filter_map(|(shipped, outcome)| Some((*shipped, outcome.as_ref().err()?)))
}

fn table(ended: &[Ended]) -> Table {
    let worst: Vec<Option<&Row>> =
        ended.iter().map(|(_, outcome)| outcome.as_ref().ok().and_then(worst)).collect();
    let of = |show: fn(&Row) -> String| {
        worst.iter().map(move |row| row.map_or_else(String::new, show)).collect::<Vec<String>>()
    };
    let percent = |share: f64| format!("{:.3} %", 100.0 * share);
    Table::new()
        .words("case", ended.iter().map(|(shipped, _)| shipped.name))
        .words("quantity", of(|row| kind(&row.what).to_owned()))
        .words("value", of(|row| digits(row.value)))
        .words("reference", of(|row| format!("{} {}", digits(row.reference), row.unit)))
        .words("estimated error", of(estimated))
        .words(
            "deviation",
            worst.iter().map(|row| row.map_or_else(String::new, |r| percent(r.deviation))),
        )
        .words(
            "tolerance",
            worst.iter().map(|row| row.and_then(|r| r.tolerance).map_or_else(String::new, percent)),
        )
        .words("verdict", worst.iter().map(|row| row.map_or("not run", verdict)))
}

/// The row that uses up most of its tolerance; a deviation that is no number comes first.
fn worst(outcome: &Outcome) -> Option<&Row> {
    let used = |row: &Row| row.tolerance.map_or(0.0, |tolerance| row.deviation / tolerance);
    let order = |a: &&Row, b: &&Row| match (used(a).is_nan(), used(b).is_nan()) {
        (false, false) => used(a).total_cmp(&used(b)),
        (true, false) => Ordering::Greater,
        (false, true) => Ordering::Less,
        (true, true) => Ordering::Equal,
    };
    outcome.rows.iter().max_by(order)
}

/// What kind of number it is: what stands before its place or its bearer.
fn kind(what: &str) -> &str {
    let ends = [",", " on the ", " of the "].iter().filter_map(|end| what.find(end));
    &what[..ends.min().unwrap_or(what.len())]
}

fn verdict(row: &Row) -> &'static str {
    if row.within() { "ok" } else { "off" }
}

fn is_within(outcome: &Result<Outcome, RunError>) -> bool {
    outcome
        .as_ref()
        .is_ok_and(|outcome| !outcome.rows.is_empty() && outcome.rows.iter().all(Row::within))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::run;

    const WIRES: &str = "parallel-wires";

    fn shipped(name: &str) -> &'static Shipped {
        CASES.iter().find(|case| case.name == name).expect("it is shipped")
    }

    #[test]
    fn most_cases_have_a_closed_form_and_readings_have_none() {
        let names: Vec<&str> = closed_forms().iter().map(|case| case.name).collect();
        assert!(names.contains(&WIRES) && names.contains(&"solenoid"), "{names:?}");
        assert!(!names.contains(&"bench-rod") && !names.contains(&"lone-rod-N42"), "{names:?}");
    }

    #[test]
    fn a_case_within_its_tolerance_is_told_number_by_number() {
        let ended: Vec<Ended> = vec![(shipped(WIRES), run(shipped(WIRES)))];
        assert_eq!(off(&ended), 0);
        let report = report(&ended);
        let rows = report.items("checks");
        assert!(rows.iter().all(|row| row.get_word("verdict") == "ok"), "{rows:?}");
        assert!(rows.iter().any(|row| row.get("value").is_some_and(|v| v.unit == N_PER_M)));
        let text = text(&ended);
        assert!(text.starts_with("1 of 1 cases"), "{text}");
        assert!(text.contains("estimated error") && text.contains("cannot tell"), "{text}");
    }

    #[test]
    fn a_wrong_reference_and_a_case_that_cannot_be_run_are_off() {
        let good = shipped(WIRES);
        // Twice the current in the reference only: twice the field.
        let wrong = good.case.replace("current_A = 100", "current_A = 200");
        assert_ne!(wrong, good.case);
        let wrong = Shipped { case: Box::leak(wrong.into_boxed_str()), ..*good };
        let broken = Shipped { section: "format = 1", ..*good };
        let wrong: &'static Shipped = Box::leak(Box::new(wrong));
        let broken: &'static Shipped = Box::leak(Box::new(broken));
        let ended: Vec<Ended> = vec![(good, run(good)), (wrong, run(wrong)), (broken, run(broken))];
        assert_eq!(off(&ended), 2);
        let text = text(&ended);
        assert!(text.starts_with("1 of 3 cases"), "{text}");
        assert!(text.contains(" off\n") && text.contains("not run\n"), "{text}");
        assert!(text.contains("  ! parallel-wires: the section has"), "{text}");
        let report = report(&ended);
        assert!(report.items("checks").iter().any(|row| row.get_word("verdict") == "not run"));
    }
}
