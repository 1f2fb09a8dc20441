//! Tables a person can read: columns aligned, a unit in each heading, no more digits than mean
//! something.
//!
//! In: columns of words and numbers. Out: lines of plain text, two spaces between columns, words
//! to the left and numbers to the right. Widths are counted in characters.

use std::fmt::Write;

/// Never more decimals than this, however small the numbers.
const MOST_DECIMALS: usize = 6;

/// A table being built, column by column.
#[derive(Clone, Debug, Default)]
pub struct Table {
    columns: Vec<Column>,
}

#[derive(Clone, Debug)]
struct Column {
    heading: String,
    unit: String,
    to_the_right: bool,
    cells: Vec<String>,
}

impl Table {
    /// A table without columns.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a column of words.
    #[must_use]
    pub fn words<S: Into<String>>(
        mut self,
        heading: &str,
        cells: impl IntoIterator<Item = S>,
    ) -> Self {
        self.columns.push(Column {
            heading: heading.into(),
            unit: String::new(),
            to_the_right: false,
            cells: cells.into_iter().map(Into::into).collect(),
        });
        self
    }

    /// Adds a column of numbers in `unit` (empty for a pure number), all with the same number of
    /// decimals: so many that the largest has `digits` significant ones, but at most `finest`.
    /// `None` shows as a dash.
    #[must_use]
    pub fn numbers(
        mut self,
        heading: &str,
        unit: &str,
        digits: usize,
        finest: usize,
        cells: impl IntoIterator<Item = Option<f64>>,
    ) -> Self {
        let cells = cells.into_iter().map(|value| (value, None));
        self = self.numbers_with_errors(heading, unit, digits, finest, cells);
        self
    }

    /// As [`Self::numbers`], each number with its error, where it has one. An error that shows is
    /// put in brackets, in units of the last digit, and no digit is shown beyond its first: 12.34(2)
    /// is 12.34 +- 0.02 (the concise form of JCGM 100:2008, "Guide to the expression of uncertainty
    /// in measurement", 7.2.2). An infinite error shows as (?).
    #[must_use]
    pub fn numbers_with_errors(
        mut self,
        heading: &str,
        unit: &str,
        digits: usize,
        finest: usize,
        cells: impl IntoIterator<Item = (Option<f64>, Option<f64>)>,
    ) -> Self {
        let values: Vec<(Option<f64>, Option<f64>)> = cells.into_iter().collect();
        let shown = column(&values, digits, finest).into_iter();
        let mut cells: Vec<String> = shown.map(|cell| cell.unwrap_or_else(|| "-".into())).collect();
        align_points(&mut cells);
        self.columns.push(Column {
            heading: heading.into(),
            unit: unit.into(),
            to_the_right: true,
            cells,
        });
        self
    }

    /// Whether no row has been given.
    pub fn is_empty(&self) -> bool {
        self.columns.iter().all(|c| c.cells.is_empty())
    }

    /// Appends the table to `out`, each line after `indent` spaces: headings (of several lines
    /// where they hold line feeds, standing on the last), units where a column has one, rows.
    pub fn write_to(&self, out: &mut String, indent: usize) {
        let widths: Vec<usize> = self.columns.iter().map(Column::width).collect();
        let rows = self.columns.iter().map(|c| c.cells.len()).max().unwrap_or(0);
        let heads = self.columns.iter().map(|c| c.heading.lines().count()).max().unwrap_or(0);
        let mut line = |cell: &dyn Fn(&Column) -> String| {
            let mut text = " ".repeat(indent);
            for (column, width) in self.columns.iter().zip(&widths) {
                let cell = cell(column);
                let _ = if column.to_the_right {
                    write!(text, "{cell:>width$}  ")
                } else {
                    write!(text, "{cell:<width$}  ")
                };
            }
            out.push_str(text.trim_end());
            out.push('\n');
        };
        for i in 0..heads {
            line(&|c| {
                let missing = heads - c.heading.lines().count();
                let own = i.checked_sub(missing).and_then(|i| c.heading.lines().nth(i));
                own.unwrap_or_default().to_owned()
            });
        }
        if self.columns.iter().any(|c| !c.unit.is_empty()) {
            line(&|c| c.unit.clone());
        }
        for row in 0..rows {
            line(&|c| c.cells.get(row).cloned().unwrap_or_default());
        }
    }
}

impl Table {
    /// Appends the table as Markdown: one line of headings with their units, and a line per row.
    pub fn write_markdown(&self, out: &mut String) {
        let rows = self.columns.iter().map(|c| c.cells.len()).max().unwrap_or(0);
        let mut line = |cell: &dyn Fn(&Column) -> String| {
            let cells: Vec<String> = self.columns.iter().map(cell).collect();
            out.push_str(&format!("| {} |\n", cells.join(" | ")));
        };
        line(&|c| {
            let heading = escaped(&c.heading.replace('\n', " "));
            if c.unit.is_empty() { heading } else { format!("{heading} ({})", c.unit) }
        });
        line(&|c| if c.to_the_right { "---:" } else { "---" }.to_owned());
        for row in 0..rows {
            line(&|c| escaped(c.cells.get(row).map_or("", String::as_str)));
        }
    }
}

/// Text that cannot break out of a cell of Markdown.
fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace('|', "\\|").replace('<', "&lt;")
}

impl Column {
    fn width(&self) -> usize {
        let cells = self.cells.iter().map(String::as_str);
        let all = self.heading.lines().chain([self.unit.as_str()]).chain(cells);
        all.map(|s| s.chars().count()).max().unwrap_or(0)
    }
}

/// A number by itself, with `digits` significant digits: `12.3`, `0.00123`, `1.23e-7`.
pub fn number(value: f64, digits: usize) -> String {
    fixed(value, decimals(std::iter::once(value), digits), digits)
}

/// As [`number`], with its error in brackets where it has one that shows.
pub fn number_with_error(value: f64, error: Option<f64>, digits: usize) -> String {
    let decimals = decimals(std::iter::once(value), digits);
    error.map_or_else(
        || fixed(value, decimals, digits),
        |error| concise(value, error, decimals, digits),
    )
}

/// Numbers of a column and their errors, as [`Table::numbers_with_errors`] writes them; `None` where
/// there is none.
pub fn column(
    values: &[(Option<f64>, Option<f64>)],
    digits: usize,
    finest: usize,
) -> Vec<Option<String>> {
    let decimals = decimals(values.iter().filter_map(|v| v.0), digits).min(finest);
    let written = |&(value, error): &(Option<f64>, Option<f64>)| {
        Some(match (value?, error) {
            (value, None) => fixed(value, decimals, digits),
            (value, Some(error)) => concise(value, error, decimals, digits),
        })
    };
    values.iter().map(written).collect()
}

/// Decimals with which the largest of `values` shows `digits` significant digits.
fn decimals(values: impl Iterator<Item = f64>, digits: usize) -> usize {
    let largest = values.filter(|v| v.is_finite()).map(f64::abs).fold(0.0, f64::max);
    if largest == 0.0 {
        return 0;
    }
    let wanted = digits as i64 - 1 - i64::from(exponent(largest, digits));
    usize::try_from(wanted).unwrap_or(0).min(MOST_DECIMALS)
}

/// Exponent of ten of `value` once it is rounded to `digits` significant digits.
fn exponent(value: f64, digits: usize) -> i32 {
    let shown = format!("{value:.*e}", digits.saturating_sub(1));
    shown.split('e').nth(1).and_then(|e| e.parse().ok()).unwrap_or(0)
}

/// `value` with that many decimals; by a power of ten where it would show as nothing but zeros or
/// as a string of digits that means nothing.
fn fixed(value: f64, decimals: usize, digits: usize) -> String {
    if !value.is_finite() {
        return "not finite".into();
    }
    if value == 0.0 {
        return format!("{:.decimals$}", 0.0);
    }
    let exponent = exponent(value, digits);
    let lost_in_zeros = exponent < -(MOST_DECIMALS as i32) + 2 && decimals == MOST_DECIMALS;
    if lost_in_zeros || exponent >= 9 {
        return format!("{value:.*e}", digits.saturating_sub(1));
    }
    let shown = format!("{value:.decimals$}");
    // A small negative number must not show as -0.00.
    let nothing_left = shown.chars().all(|c| matches!(c, '-' | '0' | '.'));
    if nothing_left { shown.trim_start_matches('-').to_owned() } else { shown }
}

/// `value` with its error in units of the last digit shown, of which there are at most `decimals`.
fn concise(value: f64, error: f64, decimals: usize, digits: usize) -> String {
    let plain = fixed(value, decimals, digits);
    if error.is_infinite() {
        return format!("{plain}(?)");
    }
    let place = error.log10().floor();
    let ten = 10_f64.powf(place);
    // Up, but an error of 0.02 stays 2 when the division leaves 2.0000000000000004.
    let first = (error / ten * (1.0 - 1e-9)).ceil();
    let (first, place) = if first >= 10.0 { (1.0, place + 1.0) } else { (first, place) };
    if !error.is_finite() || plain.contains('e') || -place > decimals as f64 {
        return plain;
    }
    if place >= 0.0 {
        let ten = 10_f64.powf(place);
        return format!("{:.0}({:.0})", (value / ten).round() * ten, first * ten);
    }
    format!("{}({first:.0})", fixed(value, (-place) as usize, digits))
}

/// Puts spaces after the cells so that their decimal points stand over each other once the cells
/// are set to the right. Numbers without errors are left alone: they have the same decimals.
fn align_points(cells: &mut [String]) {
    if !cells.iter().any(|cell| cell.contains('(')) {
        return;
    }
    let tail = |cell: &str| cell.len() - cell.find(['.', '(']).unwrap_or(cell.len());
    let longest = cells.iter().map(|cell| tail(cell)).max().unwrap_or(0);
    for cell in cells {
        let missing = longest - tail(cell);
        cell.extend(std::iter::repeat_n(' ', missing));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_are_in_units_of_the_last_digit() {
        for (value, error, shown) in [
            (12.3456, 0.02, "12.35(2)"),
            (12.3456, 0.021, "12.35(3)"),
            (12.3456, 0.098, "12.3(1)"),
            (12.3456, 1e-7, "12.3456"),
            (12.3456, 3.0, "12(3)"),
            (1234.56, 42.0, "1230(50)"),
            (12.3456, f64::INFINITY, "12.3456(?)"),
            (0.0, 0.02, "0.00(2)"),
        ] {
            assert_eq!(concise(value, error, 4, 6), shown);
        }
        let mut cells = ["12.35(2)".to_owned(), "-".to_owned(), "3(1)".to_owned()];
        align_points(&mut cells);
        assert_eq!(cells, ["12.35(2)", "-      ", "3(1)   "]);
    }

    #[test]
    fn numbers_keep_their_significant_digits() {
        for (value, digits, shown) in [
            (12.345, 3, "12.3"),
            (0.0012345, 3, "0.00123"),
            (0.99996, 4, "1.000"),
            (123_456.0, 3, "123456"),
            (1.234e-7, 3, "1.23e-7"),
            (-4.5e12, 2, "-4.5e12"),
            (0.0, 3, "0"),
            (-0.0, 3, "0"),
            (f64::NAN, 3, "not finite"),
        ] {
            assert_eq!(number(value, digits), shown, "{value:e}");
        }
    }

    #[test]
    fn a_column_shares_its_decimals_and_hides_no_sign() {
        let mut out = String::new();
        Table::new()
            .words("part", ["rod 1", "µ-plate"])
            .numbers("pull", "mN", 3, 6, [Some(-12.34), Some(-0.004)])
            .numbers("gap to\npole", "mm", 3, 6, [None, Some(2.5)])
            .numbers("turns", "", 4, 6, [Some(7000.0), None])
            .write_to(&mut out, 2);
        let expected = "                  gap to
  part      pull    pole  turns
              mN      mm
  rod 1    -12.3       -   7000
  µ-plate    0.0    2.50      -
";
        assert_eq!(out, expected);
    }

    #[test]
    fn as_markdown_nothing_breaks_out_of_a_cell() {
        let mut out = String::new();
        Table::new()
            .words("part", ["a|b", "<i>"])
            .numbers("pull\nup", "mN", 3, 6, [Some(-12.34), None])
            .write_markdown(&mut out);
        let expected =
            "| part | pull up (mN) |\n| --- | ---: |\n| a\\|b | -12.3 |\n| &lt;i> | - |\n";
        assert_eq!(out, expected);
    }

    #[test]
    fn empty_tables_are_known() {
        assert!(Table::new().words("part", Vec::<String>::new()).is_empty());
        assert!(!Table::new().words("part", ["a"]).is_empty());
    }
}
