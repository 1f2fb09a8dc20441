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
    /// Numbers in their unit, to so many significant digits and at most so many decimals.
    Numbers(Vec<Option<f64>>, usize, usize),
}

/// The table of a layout; `None` where its group has no items.
pub fn sheet(report: &Report, layout: &Layout) -> Option<Sheet> {
    let items = report.items(layout.group);
    if items.is_empty() {
        return None;
    }
    let mut sheet =
        Sheet { title: layout.title.to_owned(), heads: Vec::new(), columns: Vec::new() };
    for column in layout.columns {
        let Some((head, cells)) = of_column(items, *column) else { continue };
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
            let shown: Vec<Option<f64>> =
                numbers.iter().map(|n| n.and_then(|n| n.shown())).collect();
            let counts = unit == ONE && shown.iter().flatten().all(|v| v.fract() == 0.0);
            let digits = if counts { 1 } else { digits };
            Some((head(label, unit.symbol), Cells::Numbers(shown, digits, unit.finest)))
        }
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
    Numbers(&'a [Option<f64>], Vec<String>),
}

impl<'a> Written<'a> {
    fn of(cells: &'a Cells) -> Self {
        match cells {
            Cells::Words(words) => Self::Words(words),
            Cells::Numbers(values, digits, finest) => {
                Self::Numbers(values, column(values, *digits, *finest))
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
                let value = values.get(row).copied().flatten();
                let text = shown.get(row).map(|s| signed(s)).unwrap_or_default();
                let text = if value.is_some() { text } else { "\u{2013}".to_owned() };
                let raw = value.map(|v| v.to_string());
                html! {
                    @if first { th.n scope="row" data-v=[raw] { (text) } }
                    @else { td.n data-v=[raw] { (text) } }
                }
            }
        }
    }
}
