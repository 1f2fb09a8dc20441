//! Which numbers of a report become columns of a study.
//!
//! A number is called by its group, the name of its item and its key: `strings.G3.pull_up_mN`; what
//! belongs to the whole by its key alone. Flux changes carry the coil's name before the key, samples
//! of a probe their number.

use crate::report::record::{Item, Number, Report};
use crate::section::nearest_name;
use crate::study::error::StudyError;

/// What is taken where nothing is asked for.
const USUAL: [&str; 4] = ["strings.*", "linkage_changes.*", "coils.*", "parts.*"];

/// The names of a study's columns.
#[derive(Clone, Debug, PartialEq)]
pub struct Columns {
    names: Vec<String>,
}

impl Columns {
    /// Those numbers of `report` whose names match one of `patterns`, `*` standing for any run of
    /// characters; the usual ones where there are none.
    ///
    /// # Errors
    /// [`StudyError::NoQuantity`] for a pattern that matches nothing.
    pub fn of(report: &Report, patterns: &[String]) -> Result<Self, StudyError> {
        let all: Vec<String> = numbers(report).into_iter().map(|(name, _)| name).collect();
        if patterns.is_empty() {
            let usual = |name: &&String| USUAL.iter().any(|p| matches(p, name));
            return Ok(Self { names: all.iter().filter(usual).cloned().collect() });
        }
        for pattern in patterns {
            if !all.iter().any(|name| matches(pattern, name)) {
                let begun = all.iter().find(|name| name.starts_with(pattern.as_str()));
                let near = nearest_name(pattern, all.iter().map(String::as_str));
                let near = begun.map(String::as_str).or(near);
                let way_out = match near.or(all.first().map(String::as_str)) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "this section gives no numbers".to_owned(),
                };
                return Err(StudyError::NoQuantity { pattern: pattern.clone(), way_out });
            }
        }
        let asked = |name: &&String| patterns.iter().any(|p| matches(p, name));
        Ok(Self { names: all.iter().filter(asked).cloned().collect() })
    }

    /// Their names.
    pub fn names(&self) -> &[String] {
        &self.names
    }

    /// Their values in `report`, in their own units; `None` where it has none.
    pub fn values(&self, report: &Report) -> Vec<Option<f64>> {
        let all = numbers(report);
        // As a rule the report has the same numbers as the one the columns were made from: the
        // next one is just behind the last one found.
        let mut from = 0;
        self.names
            .iter()
            .map(|name| {
                let after = all[from..].iter().position(|(n, _)| n == name).map(|i| from + i);
                let found = after.or_else(|| all[..from].iter().position(|(n, _)| n == name))?;
                from = found + 1;
                all[found].1
            })
            .collect()
    }
}

/// Every number of a report with its name.
fn numbers(report: &Report) -> Vec<(String, Option<f64>)> {
    let mut all: Vec<(String, Option<f64>)> =
        report.numbers.iter().map(|n| (n.key(), n.shown())).collect();
    for group in &report.groups {
        for item in &group.items {
            let place = place(group.key, item);
            all.extend(item.numbers.iter().map(|n: &Number| {
                let name = format!("{place}.{}", n.key());
                (name, n.shown())
            }));
        }
    }
    all
}

fn place(group: &str, item: &Item) -> String {
    let mut place = format!("{group}.{}", item.get_word("name"));
    let coil = item.get_word("coil");
    if !coil.is_empty() {
        place.push_str(&format!(".{coil}"));
    }
    if let Some(sample) = item.get("sample").and_then(Number::shown) {
        place.push_str(&format!(".{sample}"));
    }
    place
}

/// Whether `name` is `pattern`, each `*` in it standing for any run of characters.
fn matches(pattern: &str, name: &str) -> bool {
    let Some((head, rest)) = pattern.split_once('*') else { return pattern == name };
    let Some(mut left) = name.strip_prefix(head) else { return false };
    let mut pieces: Vec<&str> = rest.split('*').collect();
    let last = pieces.pop().unwrap_or_default();
    for piece in pieces {
        match left.find(piece) {
            Some(at) => left = &left[at + piece.len()..],
            None => return false,
        }
    }
    left.ends_with(last)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::record::Group;
    use crate::report::unit::{MM, ONE};

    fn report(pull: f64) -> Report {
        Report {
            numbers: vec![Number { name: "depth", unit: MM, value: Some(0.06), error: None }],
            groups: vec![
                Group {
                    key: "strings",
                    items: vec![
                        Item::new("E 2").number("gap", MM, 0.002).number("pull", ONE, pull),
                        Item::new("G3").number("gap", MM, None).number("pull", ONE, 2.0 * pull),
                    ],
                },
                Group {
                    key: "linkage_changes",
                    items: vec![Item::new("G3").word("coil", "top").number("up", ONE, 3.0)],
                },
                Group {
                    key: "probes",
                    items: vec![Item::new("line").number("sample", ONE, 7.0).number("x", MM, 1.0)],
                },
            ],
            ..Report::default()
        }
    }

    fn names(patterns: &[&str]) -> Vec<String> {
        let patterns: Vec<String> = patterns.iter().map(|p| (*p).to_owned()).collect();
        Columns::of(&report(1.0), &patterns).expect("matches").names().to_vec()
    }

    #[test]
    fn columns_are_named_and_chosen() {
        let usual = [
            "strings.E 2.gap_mm",
            "strings.E 2.pull",
            "strings.G3.gap_mm",
            "strings.G3.pull",
            "linkage_changes.G3.top.up",
        ];
        assert_eq!(names(&[]), usual);
        assert_eq!(names(&["*.pull"]), ["strings.E 2.pull", "strings.G3.pull"]);
        assert_eq!(names(&["depth_mm", "*G3*up"]), ["depth_mm", "linkage_changes.G3.top.up"]);
        assert_eq!(names(&["probes.*.x*"]), ["probes.line.7.x_mm"]);
        assert_eq!(names(&["*"]).len(), 8);
        let error = Columns::of(&report(1.0), &["strings.G3.pul".to_owned()]);
        let said = error.expect_err("no match").to_string();
        assert!(said.contains("did you mean `strings.G3.pull`?"), "{said}");
    }

    #[test]
    fn values_are_found_by_name() {
        let columns = Columns::of(&report(1.0), &[]).expect("matches");
        let mut other = report(5.0);
        assert_eq!(columns.values(&other), [Some(2.0), Some(5.0), None, Some(10.0), Some(3.0)]);
        other.groups[0].items.reverse();
        other.groups.remove(1);
        assert_eq!(columns.values(&other), [Some(2.0), Some(5.0), None, Some(10.0), None]);
    }
}
