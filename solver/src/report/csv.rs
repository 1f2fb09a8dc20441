//! A report as comma-separated values, one line per number: kind, name, quantity, unit, value.
//!
//! Long rather than wide: every report, however many strings or coils, has the same six columns,
//! so that files of several runs can be put one after another. Words (a material, a role) have an
//! empty unit and stand in the value column. A number that cannot be had has an empty value. The error is in the
//! number's unit, empty where there is none, `inf` where the number does not settle as the mesh is
//! refined.

use std::io::{self, Write};

use super::record::{Number, Report};

/// The column heads.
const HEADS: [&str; 6] = ["kind", "name", "quantity", "unit", "value", "error"];

/// Writes `report` as CSV (RFC 4180 quoting, lines end in a line feed).
///
/// # Errors
/// `out` refused.
pub fn write_csv(report: &Report, out: &mut impl Write) -> io::Result<()> {
    let mut writer = csv::Writer::from_writer(out);
    writer.write_record(HEADS)?;
    let mut rows = |kind: &str, name: &str, words: &[(&str, String)], numbers: &[Number]| {
        for (key, word) in words {
            writer.write_record([kind, name, *key, "", word.as_str(), ""])?;
        }
        for number in numbers {
            let value = number.shown().map_or_else(String::new, |v| v.to_string());
            let error = number.shown_error().map_or_else(String::new, |e| e.to_string());
            let unit = number.unit.key;
            writer.write_record([kind, name, number.name, unit, value.as_str(), error.as_str()])?;
        }
        Ok::<(), csv::Error>(())
    };
    rows("section", "", &report.words, &report.numbers)?;
    for group in &report.groups {
        for item in &group.items {
            let words = item.words.get(1..).unwrap_or(&[]);
            rows(group.key, item.get_word("name"), words, &item.numbers)?;
        }
    }
    for limit in &report.limits {
        writer.write_record(["limit", "", "", "", limit, ""])?;
    }
    writer.flush()
}

#[cfg(test)]
mod tests {
    use super::super::record::{Group, Item};
    use super::super::unit::MM;
    use super::*;

    #[test]
    fn one_line_per_number_with_quotes_where_due() {
        let mut report = Report {
            words: vec![("title", "rod, \"long\"".into())],
            numbers: vec![],
            groups: vec![Group {
                key: "parts",
                items: vec![
                    Item::new("a,b").word("role", "magnet").number("width", MM, 0.0048),
                    Item::new("c").number("gap", MM, None),
                ],
            }],
            limits: vec!["one, two".into()],
        };
        report.groups[0].items[0].numbers[0].error = Some(1.2e-6);
        let mut written = Vec::new();
        assert!(write_csv(&report, &mut written).is_ok());
        let expected = "kind,name,quantity,unit,value,error\n\
            section,,title,,\"rod, \"\"long\"\"\",\n\
            parts,\"a,b\",role,,magnet,\n\
            parts,\"a,b\",width,mm,4.8,0.0012\n\
            parts,c,gap,mm,,\n\
            limit,,,,\"one, two\",\n";
        assert_eq!(String::from_utf8_lossy(&written), expected);
    }
}
