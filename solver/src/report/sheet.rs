//! Items as one table with a row each: CSV with a line of heads.
//!
//! In: the items of a group, with all their words and numbers. An item that lacks one leaves its cell
//! empty. For tables that are to be sorted and drawn; [`super::csv`] writes any report.

use std::io::{self, Write};

use super::record::{Item, Report};

/// Writes a row for every item of `group`: its words, then its numbers, under keys that end in their
/// unit. Columns stand in the order in which items first have them.
///
/// # Errors
/// `out` refused.
pub fn write_rows(report: &Report, group: &str, out: &mut impl Write) -> io::Result<()> {
    let items = report.items(group);
    let mut words: Vec<&str> = Vec::new();
    let mut numbers: Vec<String> = Vec::new();
    for item in items {
        for (key, _) in &item.words {
            if !words.contains(key) {
                words.push(key);
            }
        }
        for key in item.numbers.iter().map(|number| number.key()) {
            if !numbers.contains(&key) {
                numbers.push(key);
            }
        }
    }
    let mut writer = csv::Writer::from_writer(out);
    writer.write_record(words.iter().copied().chain(numbers.iter().map(String::as_str)))?;
    for item in items {
        let own_words = words.iter().map(|key| item.get_word(key).to_owned());
        let own_numbers = numbers.iter().map(|key| number(item, key));
        writer.write_record(own_words.chain(own_numbers))?;
    }
    writer.flush()
}

fn number(item: &Item, key: &str) -> String {
    let found = item.numbers.iter().find(|number| number.key() == key);
    found.and_then(|number| number.shown()).map_or_else(String::new, |value| value.to_string())
}

#[cfg(test)]
mod tests {
    use super::super::record::Group;
    use super::super::unit::{MM, MN};
    use super::*;

    #[test]
    fn every_item_is_a_row_and_what_it_lacks_is_empty() {
        let failed = Item::new("N42").word("failed", "it, too, is \"odd\"");
        let solved = Item::new("alnico 5").number("gap", MM, 0.002).number("pull", MN, None);
        let group = Group { key: "grades", items: vec![failed, solved] };
        let report = Report { groups: vec![group], ..Report::default() };
        let mut out = Vec::new();
        write_rows(&report, "grades", &mut out).unwrap_or_default();
        let expected = "name,failed,gap_mm,pull_mN\n\
                        N42,\"it, too, is \"\"odd\"\"\",,\nalnico 5,,2,\n";
        assert_eq!(String::from_utf8_lossy(&out), expected);
    }
}
