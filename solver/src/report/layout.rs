//! A report as text: its title, its tables and its limits, on one screen where the section allows.
//!
//! Which items and columns make up a table is data ([`Layout`]), kept beside the code that fills
//! the report; how it is drawn is the same for all.

use super::record::{Item, Report};
use super::text::{Table, number_with_error};
use super::unit::ONE;

/// Widest line of running text, characters.
const WIDTH: usize = 96;

/// One table of a text report.
#[derive(Clone, Copy, Debug)]
pub struct Layout {
    /// What stands over it.
    pub title: &'static str,
    /// Which group it shows.
    pub group: &'static str,
    /// Its columns. One whose numbers none of the items has is left out.
    pub columns: &'static [Column],
}

/// One column.
#[derive(Clone, Copy, Debug)]
pub enum Column {
    /// The word with this key, under this heading.
    Word(&'static str, &'static str),
    /// The number with this name, under this heading, with this many significant digits.
    Number(&'static str, &'static str, usize),
    /// Columns that several tables have in common.
    Several(&'static [Column]),
}

impl Layout {
    /// Its columns, those in common with other tables in their places.
    pub fn all_columns(&self) -> Vec<Column> {
        let mut all = Vec::new();
        let mut next: Vec<Column> = self.columns.iter().rev().copied().collect();
        while let Some(column) = next.pop() {
            match column {
                Column::Several(columns) => next.extend(columns.iter().rev()),
                one => all.push(one),
            }
        }
        all
    }
}

/// Appends the `title` of the report and the line under it.
pub fn write_head(report: &Report, out: &mut String) {
    for key in ["title", "model"] {
        if let Some((_, word)) = report.words.iter().find(|(k, _)| *k == key) {
            out.push_str(&printable(word));
            out.push('\n');
        }
    }
}

/// Appends a table, with an empty line before it; nothing where its group has no items.
pub fn write_table(report: &Report, layout: &Layout, out: &mut String) {
    let items = report.items(layout.group);
    if items.is_empty() {
        return;
    }
    out.push_str(&format!("\n{}\n", layout.title));
    table(items, layout).write_to(out, 2);
}

/// Appends tables one after another.
pub fn write_tables(report: &Report, layouts: &[Layout], out: &mut String) {
    for layout in layouts {
        write_table(report, layout, out);
    }
}

/// Appends a table as Markdown, under a heading; nothing where its group has no items.
pub fn write_markdown(report: &Report, layout: &Layout, out: &mut String) {
    let items = report.items(layout.group);
    if items.is_empty() {
        return;
    }
    out.push_str(&format!("\n## {}\n\n", layout.title));
    table(items, layout).write_markdown(out);
}

fn table(items: &[Item], layout: &Layout) -> Table {
    let mut table = Table::new();
    for column in layout.all_columns() {
        table = match column {
            // They have been put in their places.
            Column::Several(_) => continue,
            Column::Word(key, heading) => {
                if items.iter().all(|item| item.get_word(key).is_empty()) {
                    continue;
                }
                table.words(heading, items.iter().map(|item| printable(item.get_word(key))))
            }
            Column::Number(name, heading, digits) => {
                let numbers: Vec<_> = items.iter().map(|item| item.get(name)).collect();
                let Some(unit) = numbers.iter().flatten().map(|n| n.unit).next() else { continue };
                let shown: Vec<(Option<f64>, Option<f64>)> = numbers
                    .iter()
                    .map(|n| n.map_or((None, None), |n| (n.shown(), n.shown_error())))
                    .collect();
                let values = || shown.iter().filter_map(|(value, _)| *value);
                let counts = unit == ONE && values().all(|v| v.fract() == 0.0);
                let digits = if counts { 1 } else { digits };
                table.numbers_with_errors(heading, unit.symbol, digits, unit.finest, shown)
            }
        };
    }
    table
}

/// Appends numbers of the whole report as one line, each given by its name, its words and how many
/// digits it shows; those that are not there are left out.
pub fn write_numbers(report: &Report, numbers: &[(&str, &str, usize)], out: &mut String) {
    let head = Item { numbers: report.numbers.clone(), ..Item::default() };
    let facts: Vec<String> =
        numbers.iter().map(|&(name, words, digits)| phrase(&head, name, words, digits)).collect();
    write_facts(&facts, out);
}

/// `name 12.3 mm` for a number of the report or of an item, with `digits` significant digits;
/// empty where it is not there.
pub fn phrase(item: &Item, name: &str, words: &str, digits: usize) -> String {
    let Some(number) = item.get(name) else { return String::new() };
    let Some(value) = number.shown() else { return String::new() };
    let shown = || number_with_error(value, number.shown_error(), digits);
    match number.unit.symbol {
        "" if value.fract() == 0.0 => format!("{words} {value}"),
        "" => format!("{words} {}", shown()),
        "°" => format!("{words} {}°", shown()),
        unit => format!("{words} {} {unit}", shown()),
    }
}

/// Appends the limits as a Markdown list.
pub fn write_markdown_limits(report: &Report, out: &mut String) {
    out.push('\n');
    for limit in &report.limits {
        out.push_str(&format!("- {limit}\n"));
    }
}

/// Appends phrases as one line; those that are empty are left out.
pub fn write_facts(facts: &[String], out: &mut String) {
    let facts: Vec<&str> = facts.iter().map(String::as_str).filter(|s| !s.is_empty()).collect();
    out.push_str(&format!("  {}\n", facts.join(", ")));
}

/// Appends what is to be heeded, each of the `items` in its word `text`, folded to the width of a
/// screen.
pub fn write_warnings(items: &[Item], out: &mut String) {
    for item in items {
        out.push_str(&fold(&printable(item.get_word("text")), "  ! ", "    "));
    }
}

/// Appends the limits as a list, folded to the width of a screen.
pub fn write_limits(report: &Report, out: &mut String) {
    if report.limits.is_empty() {
        return;
    }
    out.push_str("\nWhat these numbers cannot tell\n");
    for limit in &report.limits {
        out.push_str(&fold(&printable(limit), "  - ", "    "));
    }
}

/// `text` in lines of at most [`WIDTH`] characters, the first after `first`, the others after
/// `rest`.
fn fold(text: &str, first: &str, rest: &str) -> String {
    let mut out = String::from(first);
    let mut width = first.chars().count();
    let mut fresh = true;
    for word in text.split_whitespace() {
        let wide = word.chars().count();
        if !fresh && width + 1 + wide > WIDTH {
            out.push('\n');
            out.push_str(rest);
            width = rest.chars().count();
            fresh = true;
        }
        if !fresh {
            out.push(' ');
            width += 1;
        }
        out.push_str(word);
        width += wide;
        fresh = false;
    }
    out.push('\n');
    out
}

/// Text from a section file without characters that would steer a terminal or break a table.
fn printable(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::super::record::Group;
    use super::super::unit::{MM, N_PER_M};
    use super::*;

    const LAYOUT: Layout = Layout {
        title: "Strings",
        group: "strings",
        columns: &[
            Column::Word("name", "string"),
            Column::Word("wrap", "wrap"),
            Column::Number("gap", "gap", 3),
            Column::Several(&[
                Column::Number("pull", "pull\nup", 3),
                Column::Number("absent", "absent", 3),
            ]),
        ],
    };

    #[test]
    fn a_table_shows_what_there_is() {
        let report = Report {
            words: vec![("title", "bad\u{1b}[31mtitle".into()), ("model", "planar".into())],
            groups: vec![Group {
                key: "strings",
                items: vec![
                    Item::new("E").number("gap", MM, 0.002).number("pull", N_PER_M, -1.5),
                    Item::new("A").number("gap", MM, 0.0125),
                ],
            }],
            ..Report::default()
        };
        let mut out = String::new();
        write_head(&report, &mut out);
        write_table(&report, &LAYOUT, &mut out);
        let expected = "bad [31mtitle
planar

Strings
                 pull
  string   gap     up
            mm    N/m
  E        2.0  -1.50
  A       12.5      -
";
        assert_eq!(out, expected);
        let mut none = String::new();
        write_table(&Report::default(), &LAYOUT, &mut none);
        assert_eq!(none, "");
    }

    #[test]
    fn limits_are_folded() {
        let report = Report { limits: vec!["word ".repeat(40)], ..Report::default() };
        let mut out = String::new();
        write_limits(&report, &mut out);
        assert!(out.lines().all(|line| line.chars().count() <= WIDTH), "{out}");
        assert_eq!(out.matches("word").count(), 40);
    }
}
