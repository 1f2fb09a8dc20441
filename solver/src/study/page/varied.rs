//! The chapter on a study: its numbers against what was varied, and all its cases.
//!
//! Numbers are drawn against the first key that takes numbers. Where other keys are varied too,
//! each of their settings has a curve of its own.

use crate::report::html::{Axis, Block, Cells, Chapter, Chart, Head, Mark, Series, Sheet};
use crate::report::unit::split_key;
use crate::study::cases::Study;
use crate::study::row::Outcome;
use crate::study::values::Setting;

/// More cases than this make no page that anyone reads.
pub const MOST_CASES: u64 = 2000;
/// Most curves of one chart.
const MOST_SERIES: usize = 16;
/// Most charts of what was asked for by name.
const MOST_CHARTS: usize = 6;
/// What is drawn where it is among the columns, and how it is called.
const USUAL: [(&str, &str); 4] = [
    ("pull_up", "pull up"),
    ("linkage_change_up", "flux change up"),
    ("flux_density_without_up", "field up, no strings"),
    ("inductance", "inductance"),
];

/// The chapter; `cases` are all cases of `study` in their order.
pub fn varied(study: &Study, cases: &[(Vec<Setting>, Outcome)]) -> Chapter {
    let (keys, columns) = (study.keys(), study.columns());
    let drawn = drawn(columns);
    let mut charts = Vec::new();
    let mut left_out = 0;
    for (label, unit, of) in &drawn {
        let (chart, more) = chart(keys, columns, cases, label, unit, of);
        charts.push(chart);
        left_out += more;
    }
    let all: Vec<usize> = (0..columns.len()).collect();
    let shown: Vec<usize> = drawn.iter().flat_map(|(_, _, of)| of.iter().copied()).collect();
    let failed = cases.iter().filter(|(_, o)| matches!(o, Outcome::Failed(_))).count();
    let mut text = format!("{} cases of {}.", cases.len(), keys.join(", "));
    if failed > 0 {
        text.push_str(&format!(" {failed} could not be solved; the table says why."));
    }
    if left_out > 0 {
        text.push_str(&format!(
            " {left_out} curves more would not be told apart; the table has them."
        ));
    }
    let mut blocks = vec![
        Block::Text(text),
        Block::Charts(charts),
        Block::Folded("Cases, and what is drawn of them", table(keys, columns, cases, &shown)),
    ];
    if shown.len() < all.len() {
        blocks.push(Block::Folded("All numbers of all cases", table(keys, columns, cases, &all)));
    }
    Chapter { title: "What was varied", blocks }
}

/// What is drawn: its label, its unit, and the columns that are curves of it.
fn drawn(columns: &[String]) -> Vec<(String, &'static str, Vec<usize>)> {
    let last = |column: &str| -> (String, &'static str) {
        let (name, unit) = split_key(column.rsplit('.').next().unwrap_or(column));
        (name.to_owned(), unit.symbol)
    };
    let mut found: Vec<(String, &'static str, Vec<usize>)> = Vec::new();
    for (name, label) in USUAL {
        let of: Vec<usize> = (0..columns.len()).filter(|i| last(&columns[*i]).0 == name).collect();
        if let Some(first) = of.first() {
            found.push((label.to_owned(), last(&columns[*first]).1, of));
        }
    }
    if found.is_empty() {
        for (i, column) in columns.iter().enumerate() {
            let (name, unit) = last(column);
            let label = name.replace('_', " ");
            match found.iter().position(|(l, u, _)| *l == label && *u == unit) {
                Some(known) => found[known].2.push(i),
                None if found.len() < MOST_CHARTS => found.push((label, unit, vec![i])),
                None => {}
            }
        }
    }
    found
}

fn chart(
    keys: &[String],
    columns: &[String],
    cases: &[(Vec<Setting>, Outcome)],
    label: &str,
    unit: &str,
    of: &[usize],
) -> (Chart, usize) {
    let numbers =
        |k: usize| cases.iter().all(|(s, _)| s.get(k).is_some_and(|s| s.measure().is_some()));
    let across = (0..keys.len()).find(|k| numbers(*k));
    // The settings of the other keys, where they vary: a curve for each set of them, unless they
    // are so many that they cannot be told apart.
    let others = |settings: &[Setting]| -> String {
        let varies = |k: usize| {
            across.is_some_and(|a| a != k)
                && cases.iter().any(|(other, _)| other.get(k) != settings.get(k))
        };
        let own = settings.iter().enumerate().filter(|(k, _)| varies(*k));
        own.map(|(_, s)| s.shown()).collect::<Vec<_>>().join(", ")
    };
    let others: Vec<String> = cases.iter().map(|(settings, _)| others(settings)).collect();
    let mut sets: Vec<&str> = others.iter().map(String::as_str).collect();
    sets.sort_unstable();
    sets.dedup();
    let apart = sets.len() > 1 && sets.len() * of.len() <= MOST_SERIES;
    let mut series: Vec<Series> = Vec::new();
    for (number, (settings, outcome)) in cases.iter().enumerate() {
        let x = match across {
            Some(k) => settings[k].measure().map_or(f64::NAN, |(x, _)| x),
            None => (number + 1) as f64,
        };
        for &column in of {
            let value = match outcome {
                Outcome::Solved { values, .. } => values.get(column).copied().flatten(),
                Outcome::Failed(_) => None,
            };
            let mut name = place(&columns[column]);
            if apart {
                name.push_str(&format!("; {}", others[number]));
            }
            let point = [x, value.unwrap_or(f64::NAN)];
            match series.iter_mut().find(|s| s.name == name) {
                Some(known) => known.points.push(point),
                None => series.push(Series::line(&name, vec![point])),
            }
        }
    }
    for series in &mut series {
        let x = |w: &[[f64; 2]]| w[1][0] - w[0][0];
        let rising = series.points.windows(2).all(|w| x(w) > 0.0);
        let falling = series.points.windows(2).all(|w| x(w) < 0.0);
        if across.is_none() || !(rising || falling) {
            series.mark = Mark::Points;
        }
    }
    let left_out = series.len().saturating_sub(MOST_SERIES);
    series.truncate(MOST_SERIES);
    let x = match across {
        Some(k) => {
            let unit = cases.first().and_then(|(s, _)| s[k].measure()).map_or("", |(_, unit)| unit);
            Axis::new(&keys[k], unit)
        }
        None => Axis::new("case", ""),
    };
    let chart = Chart {
        title: format!("{} against {}", capital(label), x.label),
        about: String::new(),
        x,
        y: Axis::new(label, unit),
        series,
        rules: Vec::new(),
        with_values: false,
    };
    (chart, left_out)
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// `strings.G3.pull_up_mN` is of G3, `linkage_changes.G3.coil.up` of G3 and the coil.
fn place(column: &str) -> String {
    let inner = column.rsplit_once('.').map_or("", |(place, _)| place);
    let inner = inner.split_once('.').map_or(inner, |(_, inner)| inner);
    if inner.is_empty() { "whole".to_owned() } else { inner.replace('.', ", ") }
}

fn table(
    keys: &[String],
    columns: &[String],
    cases: &[(Vec<Setting>, Outcome)],
    shown: &[usize],
) -> Sheet {
    let head = |label: &str, unit: &str| Head { label: label.to_owned(), unit: unit.to_owned() };
    let mut heads = vec![head("case", "")];
    let numbers = (1..=cases.len()).map(|n| Some(n as f64));
    let mut cells = vec![Cells::exact(numbers, 1, 0)];
    for (k, key) in keys.iter().enumerate() {
        let measures: Vec<Option<(f64, &str)>> =
            cases.iter().map(|(s, _)| s.get(k).and_then(Setting::measure)).collect();
        let unit = measures.first().copied().flatten().map(|(_, unit)| unit);
        match unit.filter(|u| measures.iter().all(|m| m.is_some_and(|(_, own)| own == *u))) {
            Some(unit) => {
                heads.push(head(key, unit));
                let values = measures.iter().map(|m| m.map(|(value, _)| value));
                cells.push(Cells::exact(values, 5, 6));
            }
            None => {
                heads.push(head(key, ""));
                let words =
                    cases.iter().map(|(s, _)| s.get(k).map_or(String::new(), Setting::shown));
                cells.push(Cells::Words(words.collect()));
            }
        }
    }
    for &column in shown {
        let name = &columns[column];
        let (what, unit) = split_key(name.rsplit('.').next().unwrap_or(name));
        heads.push(head(&format!("{}: {}", place(name), what.replace('_', " ")), unit.symbol));
        let values = cases.iter().map(|(_, outcome)| match outcome {
            Outcome::Solved { values, .. } => values.get(column).copied().flatten(),
            Outcome::Failed(_) => None,
        });
        cells.push(Cells::exact(values, 5, unit.finest));
    }
    let reasons: Vec<String> = cases
        .iter()
        .map(|(_, outcome)| match outcome {
            Outcome::Failed(reason) => reason.clone(),
            Outcome::Solved { .. } => String::new(),
        })
        .collect();
    if reasons.iter().any(|reason| !reason.is_empty()) {
        heads.push(head("not solved because", ""));
        cells.push(Cells::Words(reasons));
    }
    Sheet { title: "Cases".to_owned(), heads, columns: cells }
}
