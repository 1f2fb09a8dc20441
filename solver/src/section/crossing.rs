//! Which parts pass through which: `passes_through`.
//!
//! In: the names typed in each part. Out: `Part::passes_through` filled in, a repeated part's name
//! standing for all its copies. No part may pass through itself, directly or by way of others:
//! where all of a circle overlap, nobody would be on top.

use std::collections::BTreeMap;

use crate::problem::Problem;
use crate::section::entry::Entry;
use crate::section::model::Named;
use crate::section::notes::Notes;
use crate::section::parts::{Found, Parts};

/// Most names in one list.
const MOST_NAMES: usize = 100;
/// Most pairs of parts in all, copies included.
const MOST_PAIRS: usize = 20_000;

/// The names typed: a list, or a single one.
pub(super) fn named(entry: &Entry, notes: &mut Notes) -> Vec<Named> {
    let items = if entry.is_text() {
        vec![entry.clone()]
    } else {
        entry.list(MOST_NAMES, "[\"plate\"]", notes).unwrap_or_default()
    };
    let read = |e: &Entry| {
        let name = e.text("[\"plate\"]", notes)?.to_owned();
        Some(Named { name, span: e.span() })
    };
    items.iter().filter_map(read).collect()
}

/// Fills in what each part passes through; `typed` lists the entries of the file by name.
pub(super) fn resolve(parts: &mut Parts, typed: &[(String, Vec<Named>)], notes: &mut Notes) {
    let mut pairs = 0;
    for (name, through) in typed {
        for other in through {
            let targets = match parts.find(&other.name) {
                Found::One(index) => index..index + 1,
                Found::Copies(range) => range,
                Found::Unreadable => continue,
                Found::Nothing => {
                    let names: Vec<&str> = parts.names().collect();
                    let help = notes.did_you_mean(&other.name, names, "name a part of this file");
                    let message = format!("no part is called `{}`", other.name);
                    notes.add_missing(Problem::at(other.span.clone(), message).help(help));
                    continue;
                }
            };
            let own = match parts.find(name) {
                Found::One(index) => index..index + 1,
                Found::Copies(range) => range,
                _ => continue,
            };
            if targets.start < own.end && own.start < targets.end {
                let message = format!("`{name}` cannot pass through itself");
                let help = "name the other part";
                notes.add(Problem::at(other.span.clone(), message).help(help));
                continue;
            }
            pairs += own.len() * targets.len();
            if pairs > MOST_PAIRS {
                let message = "too many pairs of parts pass through each other";
                let help = format!("at most {MOST_PAIRS} are taken, copies included");
                notes.add(Problem::at(other.span.clone(), message).help(help));
                return;
            }
            let named: Vec<Named> = targets
                .map(|t| Named { name: parts.list[t].name.clone(), span: other.span.clone() })
                .collect();
            for part in &mut parts.list[own] {
                for new in &named {
                    if !part.passes_through.iter().any(|old| old.name == new.name) {
                        part.passes_through.push(new.clone());
                    }
                }
            }
        }
    }
    note_circle(parts, notes);
}

/// Notes a circle of parts that pass through each other.
fn note_circle(parts: &Parts, notes: &mut Notes) {
    let index: BTreeMap<&str, usize> =
        parts.list.iter().enumerate().map(|(i, p)| (p.name.as_str(), i)).collect();
    let below: Vec<Vec<usize>> = parts
        .list
        .iter()
        .map(|p| {
            p.passes_through.iter().filter_map(|n| index.get(n.name.as_str()).copied()).collect()
        })
        .collect();
    // Take away, again and again, what nothing passes through; what stays is in or below a circle.
    let mut above = vec![0_usize; below.len()];
    for &i in below.iter().flatten() {
        above[i] += 1;
    }
    let mut free: Vec<usize> = (0..above.len()).filter(|&i| above[i] == 0).collect();
    while let Some(i) = free.pop() {
        for &j in &below[i] {
            above[j] -= 1;
            if above[j] == 0 {
                free.push(j);
            }
        }
    }
    // Whatever stays has something that stays above it: walk up until a part comes twice.
    let Some(start) = above.iter().position(|&n| n > 0) else { return };
    let mut path = vec![start];
    let circle = loop {
        let last = path[path.len() - 1];
        let Some(next) = (0..below.len()).find(|&i| above[i] > 0 && below[i].contains(&last))
        else {
            return;
        };
        if let Some(from) = path.iter().position(|&i| i == next) {
            break &path[from..];
        }
        path.push(next);
    };
    // Each of the path passes through the one before it, so downward is backward.
    let name = |i: &usize| parts.list[*i].name.as_str();
    let top = name(&circle[0]);
    let mut names = vec![top];
    names.extend(circle[1..].iter().rev().take(5).map(name));
    names.push(if circle.len() > 6 { "..." } else { top });
    let below_top = circle.last().map_or(top, name);
    let place = parts.list[circle[0]].passes_through.iter().find(|n| n.name == below_top);
    let message = format!("parts pass through each other in a circle: `{}`", names.join("`, `"));
    let help = "only one of two parts can displace the other";
    match place {
        Some(named) => notes.add(Problem::at(named.span.clone(), message).help(help)),
        None => notes.add(Problem::general(message).help(help)),
    }
}
