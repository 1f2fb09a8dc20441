//! Tables of a page: heads with units that sort at a click, rows of words and numbers.

use maud::{Markup, html};

use super::number::signed;
use crate::report::layout::{Column, Layout};
use crate::report::picture::plain;
use crate::report::record::{Item, Report};
use crate::report::text::column;
use crate::report::unit::ONE;

/// A table.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// What stands over it.
    pub title: String,
    /// Its columns; the first names the rows.
    pub heads: Vec<Head>,
    /// Cells of each column, `[n_columns]`.
    pub columns: Vec<Cells>,
}

/// Head of a column.
#[derive(Clone, Debug)]
pub struct Head {
    /// What it is.
    pub label: String,
    /// Its unit; empty for words and pure numbers.
    pub unit: String,
}

/// Cells of a column, one for each row.
#[derive(Clone, Debug)]
pub enum Cells {
    /// Words.
    Words(Vec<String>),
    /// Numbers in their unit with their errors, to so many significant digits and at most so many
    /// decimals.
    Numbers(Vec<Value>, usize, usize),
}

/// A number where there is one, and its error where it has one.
pub type Value = (Option<f64>, Option<f64>);

impl Cells {
    /// Numbers that have no errors.
    pub fn exact(
        values: impl IntoIterator<Item = Option<f64>>,
        digits: usize,
        finest: usize,
    ) -> Self {
        Self::Numbers(values.into_iter().map(|value| (value, None)).collect(), digits, finest)
    }
}

/// The table of a layout; `None` where its group has no items.
pub fn sheet(report: &Report, layout: &Layout) -> Option<Sheet> {
    let items = report.items(layout.group);
    if items.is_empty() {
        return None;
    }
    let mut sheet =
        Sheet { title: layout.title.to_owned(), heads: Vec::new(), columns: Vec::new() };
    for column in layout.all_columns() {
        let Some((head, cells)) = of_column(items, column) else { continue };
        sheet.heads.push(head);
        sheet.columns.push(cells);
    }
    Some(sheet)
}

fn of_column(items: &[Item], column: Column) -> Option<(Head, Cells)> {
    let head =
        |label: &str, unit: &str| Head { label: label.replace('\n', " "), unit: unit.to_owned() };
    match column {
        Column::Word(key, label) => {
            let words: Vec<String> = items.iter().map(|i| i.get_word(key).to_owned()).collect();
            let label = if label.is_empty() { "remark" } else { label };
            words.iter().any(|w| !w.is_empty()).then(|| (head(label, ""), Cells::Words(words)))
        }
        Column::Number(name, label, digits) => {
            let numbers: Vec<_> = items.iter().map(|item| item.get(name)).collect();
            let unit = numbers.iter().flatten().map(|n| n.unit).next()?;
            let shown: Vec<Value> = numbers
                .iter()
                .map(|n| n.map_or((None, None), |n| (n.shown(), n.shown_error())))
                .collect();
            let counts = unit == ONE && shown.iter().filter_map(|v| v.0).all(|v| v.fract() == 0.0);
            let digits = if counts { 1 } else { digits };
            Some((head(label, unit.symbol), Cells::Numbers(shown, digits, unit.finest)))
        }
        // The layout has put them in their places.
        Column::Several(_) => None,
    }
}

impl Sheet {
    /// Number of rows.
    fn rows(&self) -> usize {
        let of = |cells: &Cells| match cells {
            Cells::Words(words) => words.len(),
            Cells::Numbers(numbers, ..) => numbers.len(),
        };
        self.columns.iter().map(of).max().unwrap_or(0)
    }

    /// The elements of the page.
    pub(super) fn markup(&self) -> Markup {
        let rows = self.rows();
        let sorts = rows > 1;
        let columns: Vec<Written> = self.columns.iter().map(Written::of).collect();
        html! {
            div.scroll tabindex="0" role="group" aria-label=(plain(&self.title)) {
                table.sortable[sorts] {
                    caption { bdi { (plain(&self.title)) } }
                    thead { tr {
                        @for (head, column) in self.heads.iter().zip(&columns) {
                            th scope="col" class=[column.class()] aria-sort=[sorts.then_some("none")] {
                                @if sorts {
                                    button type="button" { bdi { (plain(&head.label)) } (unit(&head.unit)) }
                                } @else {
                                    bdi { (plain(&head.label)) } (unit(&head.unit))
                                }
                            }
                        }
                    } }
                    tbody {
                        @for row in 0..rows {
                            tr {
                                @for (i, column) in columns.iter().enumerate() {
                                    (column.cell(row, i == 0))
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn unit(symbol: &str) -> Markup {
    html! { @if !symbol.is_empty() { " " span.unit { (symbol) } } }
}

/// A column ready to be written.
enum Written<'a> {
    Words(&'a [String]),
    Numbers(&'a [Value], Vec<Markup>),
}

impl<'a> Written<'a> {
    fn of(cells: &'a Cells) -> Self {
        match cells {
            Cells::Words(words) => Self::Words(words),
            Cells::Numbers(values, digits, finest) => {
                Self::Numbers(values, numbers(&column(values, *digits, *finest)))
            }
        }
    }

    fn class(&self) -> Option<&'static str> {
        matches!(self, Self::Numbers(..)).then_some("n")
    }

    fn cell(&self, row: usize, first: bool) -> Markup {
        match self {
            Self::Words(words) => {
                let word = words.get(row).map_or("", String::as_str);
                html! {
                    @if first { th scope="row" { bdi { (plain(word)) } } }
                    @else { td { bdi { (plain(word)) } } }
                }
            }
            Self::Numbers(values, shown) => {
                let raw = values.get(row).and_then(|v| v.0).map(|v| v.to_string());
                html! {
                    @if first { th.n scope="row" data-v=[raw] { (shown[row]) } }
                    @else { td.n data-v=[raw] { (shown[row]) } }
                }
            }
        }
    }
}

/// Cells of a column, their decimal points over each other: the errors, where there is any, stand in
/// a column of their own, and where digits are missing there is room for them.
fn numbers(shown: &[Option<String>]) -> Vec<Markup> {
    let parted: Vec<(&str, &str)> = shown
        .iter()
        .map(|cell| cell.as_deref().unwrap_or("\u{2013}"))
        .map(|cell| cell.split_at(cell.find('(').unwrap_or(cell.len())))
        .collect();
    let with_errors = parted.iter().any(|(_, error)| !error.is_empty());
    let decimals = |digits: &str| digits.find('.').map_or(0, |point| digits.len() - point - 1);
    let most = parted.iter().map(|(digits, _)| decimals(digits)).max().unwrap_or(0);
    parted
        .into_iter()
        .map(|(digits, error)| {
            // A space as wide as a digit, and one as wide as a point.
            let missing = most - decimals(digits);
            let point = if missing == most && missing > 0 { "\u{2008}" } else { "" };
            let room = if with_errors {
                format!("{point}{}", "\u{2007}".repeat(missing))
            } else {
                String::new()
            };
            html! { (signed(digits)) @if with_errors { (room) span.e { (error) } } }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::record::Group;
    use crate::report::unit::MN;

    #[test]
    fn a_number_keeps_its_error() {
        let mut items: Vec<Item> = [("E", -3.579e-3), ("A", -12e-3)]
            .into_iter()
            .map(|(name, pull)| Item::new(name).number("pull_up", MN, pull))
            .collect();
        items[0].numbers[0].error = Some(4e-6);
        let layout = Layout {
            title: "Strings",
            group: "strings",
            columns: &[Column::Word("name", "string"), Column::Number("pull_up", "pull\nup", 5)],
        };
        let report = Report { groups: vec![Group { key: "strings", items }], ..Report::default() };
        let html = sheet(&report, &layout).map(|s| s.markup().into_string()).unwrap_or_default();
        assert!(
            html.contains("data-v=\"-3.579\">\u{2212}3.579<span class=\"e\">(4)</span>"),
            "{html}"
        );
        assert!(html.contains(">\u{2212}12.000<span class=\"e\"></span>"), "{html}");
        assert!(html.contains("pull up</bdi> <span class=\"unit\">mN</span>"), "{html}");
    }
}
