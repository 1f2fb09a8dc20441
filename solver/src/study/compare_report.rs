//! What `compare` reports: one row per grade.
//!
//! Every row is of one string, one coil and one magnet: where the section has several, those that are
//! asked for, else the first string and coil, or on request a row for each of them; and of the magnets
//! that are compared the one that is weakened most. A section without strings shows the field at the first point of its first probe. The
//! level is 20 log10 of the change of linkage with the string's height over that of
//! the reference.

use std::cmp::Ordering;

use crate::report::columns::WORKING_POINT;
use crate::report::layout::{
    Column, Layout, write_head, write_limits, write_markdown, write_markdown_limits, write_table,
};
use crate::report::record::{Group, Item, Number, Report};
use crate::report::unit::{CELSIUS, DB};
use crate::section::nearest_name;
use crate::study::compare::{Compared, Comparison};
use crate::study::row::one_line;

const AT_STRING: Layout = Layout {
    title: "At the string and in the coil",
    group: "grades",
    columns: &[
        Column::Word("name", "grade"),
        Column::Word("string", "string"),
        Column::Word("coil", "coil"),
        Column::Number("flux_density_without_up", "field up,\nno strings", 4),
        Column::Number("flux_density_up", "field up,\nin string", 4),
        Column::Number("largest_flux_density", "largest\nin string", 3),
        Column::Number("pull_up", "pull\nup", 4),
        Column::Number("pull_up_change_up", "pull change\nup", 3),
        Column::Number("linkage_change_up", "flux change\nup", 4),
        Column::Number("level", "level", 3),
        Column::Number("inductance", "inductance", 4),
        Column::Word("failed", "not solved because"),
    ],
};

const IN_MAGNET: Layout = Layout {
    title: "In the magnet",
    group: "grades",
    columns: &[
        Column::Word("name", "grade"),
        Column::Several(&WORKING_POINT),
        Column::Number("temperature_limit", "limit\nof use", 3),
        Column::Word("sure", "how sure"),
        Column::Word("remark", "remark"),
    ],
};

/// The report's tables; the second is of [`magnets`] alone.
pub const TABLES: [Layout; 2] = [AT_STRING, IN_MAGNET];

/// Numbers of a string, of a coil and of a magnet that a row takes from the report of its grade.
const OF_STRING: [&str; 5] = [
    "flux_density_without_up",
    "flux_density_up",
    "largest_flux_density",
    "pull_up",
    "pull_up_change_up",
];
const OF_MAGNET: [&str; 6] = [
    "working_field_strength",
    "working_flux_density",
    "permeance_coefficient",
    "margin_to_knee",
    "share_below_knee",
    "charge_kept",
];

/// What a table of grades shows, and in which order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TableOptions {
    /// Whose figures at the string; `None`: the first.
    pub string: Option<String>,
    /// Whose linkage and inductance; `None`: the first.
    pub coil: Option<String>,
    /// A row for each string and coil that is not named, instead of the first.
    pub each: bool,
    /// The column that rows are sorted by; `None`: the order of the grades.
    pub sort: Option<String>,
    /// Greatest first.
    pub descending: bool,
}

/// The table's choices, made before anything is solved.
#[derive(Clone, Debug, PartialEq)]
pub struct TablePlan {
    /// Strings, each with a row of its own; none where the section has none.
    strings: Vec<String>,
    /// Where the section has no strings.
    probe: Option<String>,
    /// Coils, each with a row of its own; none where the section has none.
    coils: Vec<String>,
    sort: Option<String>,
    descending: bool,
}

impl TablePlan {
    /// Looks whether what is asked for is there.
    ///
    /// # Errors
    /// A sentence with a way out.
    pub fn new(comparison: &Comparison, options: TableOptions) -> Result<Self, String> {
        let reference = comparison.reference();
        let names = |group: &str| -> Vec<String> {
            reference.items(group).iter().map(|item| item.get_word("name").to_owned()).collect()
        };
        let strings = pick("string", options.string, names("strings"), options.each)?;
        let coils = pick("coil", options.coil, names("coils"), options.each)?;
        let probe = names("probes").into_iter().next().filter(|_| strings.is_empty());
        let mut plan = Self { strings, probe, coils, sort: None, descending: options.descending };
        if let Some(typed) = options.sort {
            let first = Compared {
                candidate: crate::study::compare::Candidate {
                    name: String::new(),
                    family: String::new(),
                    sure: crate::section::Sure::Exact,
                    temperature_limit: None,
                },
                outcome: Ok(reference.clone()),
                remarks: Vec::new(),
            };
            let rows = plan.rows(comparison, &first);
            let row = rows.first().cloned().unwrap_or_default();
            let mut keys = vec!["name".to_owned(), "family".to_owned(), "sure".to_owned()];
            let told_apart =
                ["string", "coil"].into_iter().filter(|key| !row.get_word(key).is_empty());
            keys.extend(told_apart.map(str::to_owned));
            keys.extend(row.numbers.iter().map(|number| number.name.to_owned()));
            let wanted = row.numbers.iter().find(|number| number.key() == typed);
            let wanted = wanted.map_or(typed.as_str(), |number| number.name);
            if !keys.iter().any(|key| key == wanted) {
                let near = nearest_name(&typed, keys.iter().map(String::as_str));
                let help = match near {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("there are {}", keys.join(", ")),
                };
                return Err(format!("no column is called `{typed}`; {help}"));
            }
            plan.sort = Some(wanted.to_owned());
        }
        Ok(plan)
    }

    /// The rows of a grade: one for each string and coil; one where it could not be solved.
    fn rows(&self, comparison: &Comparison, compared: &Compared) -> Vec<Item> {
        let one_or_none = |names: &[String]| -> Vec<Option<String>> {
            if names.is_empty() { vec![None] } else { names.iter().cloned().map(Some).collect() }
        };
        let (strings, coils) = (one_or_none(&self.strings), one_or_none(&self.coils));
        let rows = strings.iter().flat_map(|string| coils.iter().map(move |coil| (string, coil)));
        let most = if compared.outcome.is_ok() { usize::MAX } else { 1 };
        rows.take(most)
            .map(|(string, coil)| {
                self.row(comparison, compared, string.as_deref(), coil.as_deref())
            })
            .collect()
    }

    fn row(
        &self,
        comparison: &Comparison,
        compared: &Compared,
        string: Option<&str>,
        coil: Option<&str>,
    ) -> Item {
        let candidate = &compared.candidate;
        let item = Item::new(&candidate.name)
            .word("family", &candidate.family)
            .word("sure", candidate.sure.word());
        let report = match &compared.outcome {
            Ok(report) => report,
            Err(why) => return item.word("failed", why),
        };
        let of_several = |names: &[String], name: Option<&str>| match names.len() {
            0 | 1 => String::new(),
            _ => name.unwrap_or_default().to_owned(),
        };
        let item = item
            .word("string", of_several(&self.strings, string))
            .word("coil", of_several(&self.coils, coil));
        let magnet = weakest(report, &comparison.magnets());
        let mut item = match magnet {
            Some(magnet) => item
                .word("magnet", magnet.get_word("name"))
                .word("charge", magnet.get_word("charge")),
            None => item,
        }
        .word("remark", compared.remarks.join("; "));
        if let Some(string) = named(report.items("strings"), string) {
            take(&mut item, string, &OF_STRING);
        } else if let Some(probe) = named(report.items("probes"), self.probe.as_deref()) {
            take(&mut item, probe, &["flux_density_without_up"]);
        }
        let own = change(report, string, coil);
        item.numbers.extend(own);
        let reference = change(comparison.reference(), string, coil);
        if let (Some(own), Some(reference)) = (own, reference) {
            let ratio = own.value.zip(reference.value).map(|(a, b)| (a / b).abs());
            item = item.number("level", DB, ratio.map(|r| 20.0 * libm::log10(r)));
        }
        if let Some(coil) = named(report.items("coils"), coil) {
            take(&mut item, coil, &["inductance"]);
        }
        if let Some(magnet) = magnet {
            take(&mut item, magnet, &OF_MAGNET);
        }
        item.number("temperature_limit", CELSIUS, candidate.temperature_limit)
    }
}

/// The change of the coil's linkage with the string's height.
fn change(report: &Report, string: Option<&str>, coil: Option<&str>) -> Option<Number> {
    let (string, coil) = (string?, coil?);
    let items = report.items("linkage_changes");
    let of = |item: &&Item| item.get_word("name") == string && item.get_word("coil") == coil;
    items.iter().find(of)?.get("linkage_change_up").copied()
}

/// The report on the grades that are done; `asked` is how many there were to be.
pub fn report(comparison: &Comparison, plan: &TablePlan, done: &[Compared], asked: u64) -> Report {
    let rows = done.iter().flat_map(|one| plan.rows(comparison, one));
    let mut items: Vec<Item> = rows.collect();
    if let Some(key) = &plan.sort {
        items.sort_by(|a, b| ordered(a, b, key, plan.descending));
    }
    let title = Some(comparison.section().title.clone()).filter(|title| !title.is_empty());
    let mut words: Vec<(&'static str, String)> =
        title.map(|title| ("title", title)).into_iter().collect();
    if (done.len() as u64) < asked {
        words.push(("interrupted", format!("{} of {asked} grades are done", done.len())));
    }
    let all = |keys: [&'static str; 2], names: &[String]| {
        let key = keys[usize::from(names.len() > 1)];
        (!names.is_empty()).then(|| (key, names.join(", ")))
    };
    words.extend(all(["string", "strings"], &plan.strings));
    words.extend(plan.probe.clone().map(|probe| ("probe", probe)));
    words.extend(all(["coil", "coils"], &plan.coils));
    words.push(("magnets", comparison.magnets().join(", ")));
    words.push(("level_against", comparison.against().to_owned()));
    let mut limits = comparison.reference().limits.clone();
    limits.insert(
        1.min(limits.len()),
        format!(
            "The errors of the mesh are told for {} and taken as the same share of each number: with other \
             grades they are much alike.",
            comparison.against()
        ),
    );
    let mut sures: Vec<_> = done.iter().map(|one| one.candidate.sure).collect();
    sures.sort_unstable();
    sures.dedup();
    limits.extend(sures.iter().map(|sure| format!("`{}`: {}.", sure.word(), sure.meaning())));
    limits.push(
        "Below the knee a magnet loses charge that does not come back: it holds the figures here only \
         where it was charged in the finished pickup and nothing has weakened it since."
            .to_owned(),
    );
    Report { words, numbers: Vec::new(), groups: vec![Group { key: "grades", items }], limits }
}

/// The report as a person reads it.
pub fn text(report: &Report) -> String {
    let mut out = String::new();
    write_head(report, &mut out);
    out.push_str(&facts(report));
    write_table(report, &AT_STRING, &mut out);
    write_table(&magnets(report), &IN_MAGNET, &mut out);
    write_limits(report, &mut out);
    out
}

/// The report as Markdown.
pub fn markdown(report: &Report) -> String {
    let title = report.words.iter().find(|(key, _)| *key == "title");
    let mut out = title.map_or_else(String::new, |(_, title)| format!("# {}\n\n", one_line(title)));
    out.push_str(facts(report).replace('\n', "\n\n").trim_end());
    out.push('\n');
    write_markdown(report, &AT_STRING, &mut out);
    write_markdown(&magnets(report), &IN_MAGNET, &mut out);
    write_markdown_limits(report, &mut out);
    out
}

/// Of what the rows are, in a sentence each.
fn facts(report: &Report) -> String {
    let word =
        |key: &str| report.words.iter().find(|(k, _)| *k == key).map(|(_, word)| word.as_str());
    let mut out = String::new();
    if let Some(interrupted) = word("interrupted") {
        out.push_str(&format!("Interrupted: {interrupted}.\n"));
    }
    let who = ["string", "strings", "probe", "coil", "coils", "magnets"]
        .map(|key| word(key).map(|name| format!("{key} {name}")));
    let who = who.into_iter().flatten().collect::<Vec<_>>().join(", ");
    out.push_str(&format!("Rows are of {who}.\n"));
    let any = |one, several| word(one).or(word(several)).is_some();
    if let Some(against) =
        word("level_against").filter(|_| any("string", "strings") && any("coil", "coils"))
    {
        out.push_str(&format!("Levels are against {against}.\n"));
    }
    out
}

/// The report with one row of each grade that could be solved: in a magnet all strings have the same.
pub fn magnets(report: &Report) -> Report {
    let mut report = report.clone();
    for group in &mut report.groups {
        let mut told: Vec<String> = Vec::new();
        group.items.retain(|item| {
            let name = item.get_word("name");
            let first = !told.iter().any(|known| known == name);
            told.push(name.to_owned());
            first && item.get_word("failed").is_empty()
        });
    }
    report
}

/// The name that is asked for; else all for `each`, or the first.
fn pick(
    kind: &str,
    asked: Option<String>,
    names: Vec<String>,
    each: bool,
) -> Result<Vec<String>, String> {
    match asked {
        None if each => Ok(names),
        None => Ok(names.into_iter().take(1).collect()),
        Some(name) if names.contains(&name) => Ok(vec![name]),
        Some(name) => {
            let help = match nearest_name(&name, names.iter().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`?"),
                None if names.is_empty() => format!("the section has no {kind} that is solved"),
                None => format!("the section has {}", names.join(", ")),
            };
            Err(format!("no {kind} is called `{name}`; {help}"))
        }
    }
}

fn named<'i>(items: &'i [Item], name: Option<&str>) -> Option<&'i Item> {
    items.iter().find(|item| Some(item.get_word("name")) == name)
}

/// Of these magnets the one with the least margin to the knee; where none has a knee the first.
fn weakest<'r>(report: &'r Report, magnets: &[&str]) -> Option<&'r Item> {
    let own = report.items("parts").iter().filter(|part| magnets.contains(&part.get_word("name")));
    let margin =
        |part: &Item| part.get("margin_to_knee").and_then(|n| n.value).unwrap_or(f64::INFINITY);
    own.min_by(|a, b| margin(a).total_cmp(&margin(b)))
}

fn take(row: &mut Item, from: &Item, names: &[&str]) {
    row.numbers.extend(names.iter().filter_map(|name| from.get(name).copied()));
}

/// By the number or the word with that key; what has none comes last either way.
fn ordered(a: &Item, b: &Item, key: &str, descending: bool) -> Ordering {
    let failed = |item: &Item| !item.get_word("failed").is_empty();
    let number = |item: &Item| item.get(key).and_then(|n| n.value).filter(|v| !v.is_nan());
    let turned = |order: Ordering| if descending { order.reverse() } else { order };
    failed(a).cmp(&failed(b)).then_with(|| match (number(a), number(b)) {
        (Some(a), Some(b)) => turned(a.total_cmp(&b)),
        (Some(_), None) => Ordering::Less,
        (None, Some(_)) => Ordering::Greater,
        (None, None) => turned(a.get_word(key).cmp(b.get_word(key))),
    })
}
