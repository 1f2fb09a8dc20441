//! What has happened to the magnets: the states of the pickup, from the one in which they are charged
//! to the one that is asked for.

use crate::problem::Problem;
use crate::section::entry::Entry;
use crate::section::model::{Part, PickupState, Role};
use crate::section::notes::Notes;

/// Most states of a history.
const MOST_STATES: usize = 20;

const STATES: [(&str, PickupState); 3] = [
    ("in place", PickupState::InPlace),
    ("alone", PickupState::Alone),
    ("keepers off", PickupState::KeepersOff),
];

/// Reads `history`; `None` where it cannot be understood.
pub(super) fn read(entry: &Entry, notes: &mut Notes) -> Option<Vec<PickupState>> {
    let items = entry.list(MOST_STATES, "[\"alone\", \"in place\"]", notes)?;
    let read: Vec<_> = items.iter().map(|item| item.choice(&STATES, notes)).collect();
    let states: Vec<PickupState> = read.into_iter().collect::<Option<_>>()?;
    match (items.last(), states.last()) {
        (Some(item), Some(PickupState::Alone)) => {
            notes.add(
                item.problem("cannot be the last state: it is the one that is solved")
                    .help("let \"in place\" or \"keepers off\" follow"),
            );
            None
        }
        (_, None) => {
            let help = "name the state that is solved, e.g. [\"in place\"]";
            notes.add(entry.problem("has no state").help(help));
            None
        }
        _ => Some(states),
    }
}

/// Notes a history whose keepers do not exist.
pub(super) fn check(entry: &Entry, states: &[PickupState], parts: &[Part], notes: &mut Notes) {
    let has_keeper = parts.iter().any(|part| part.role == Role::Keeper);
    if states.contains(&PickupState::KeepersOff) && !has_keeper {
        let message = "`history` takes keepers off, but no part is a keeper";
        notes.add_missing(
            Problem::at(entry.key_span(), message).help("give the keeper role = \"keeper\""),
        );
    }
}

#[cfg(test)]
mod tests {
    use crate::section::{PickupState, parse};

    fn section(history: &str, role: &str) -> String {
        format!(
            "format = 1\nsymmetry = \"axisymmetric\"\n{history}\n[[part]]\nname = \"rod\"\n\
             role = \"magnet\"\nmaterial = \"alnico 5\"\ncharge = \"up\"\nat = [\"0 mm\", \"0 mm\"]\n\
             rectangle = {{ width = \"5 mm\", height = \"10 mm\" }}\n[[part]]\nname = \"bar\"\n\
             role = \"{role}\"\nmaterial = \"mild steel\"\nat = [\"0 mm\", \"6 mm\"]\n\
             rectangle = {{ width = \"5 mm\", height = \"2 mm\" }}\n"
        )
    }

    fn said(history: &str, role: &str) -> Vec<String> {
        let problems = parse(&section(history, role)).problems;
        problems
            .into_iter()
            .map(|p| format!("{}: {}", p.message, p.help.unwrap_or_default()))
            .collect()
    }

    #[test]
    fn states_are_read_in_order_and_the_default_is_in_place() {
        use PickupState::{Alone, InPlace, KeepersOff};
        for (history, states) in [
            ("", vec![InPlace]),
            ("history = [\"alone\", \"in place\"]", vec![Alone, InPlace]),
            ("history = [\"in place\", \"keepers off\"]", vec![InPlace, KeepersOff]),
        ] {
            let parsed = parse(&section(history, "keeper"));
            assert!(parsed.problems.is_empty(), "{:?}", parsed.problems);
            assert_eq!(parsed.section.history, states);
        }
    }

    #[test]
    fn mistakes_are_told() {
        for (history, role, expected) in [
            ("history = []", "keeper", "has no state"),
            ("history = [\"alone\"]", "keeper", "cannot be the last state"),
            ("history = [\"keeper off\"]", "keeper", "did you mean `keepers off`?"),
            ("history = \"in place\"", "keeper", "history"),
            ("history = [\"keepers off\"]", "body", "no part is a keeper"),
        ] {
            let said = said(history, role);
            assert!(said.len() == 1 && said[0].contains(expected), "{history}: {said:?}");
        }
    }
}
