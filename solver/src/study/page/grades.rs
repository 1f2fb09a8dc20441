//! The chapter on magnet grades in one section.

use crate::report::html::{Axis, Block, Chapter, Chart, Mark, Series, sheet};
use crate::report::record::{Item, Report};
use crate::study::compare_report::{TABLES, magnets};

/// The chapter; `report` is the report of the comparison.
pub fn grades(report: &Report) -> Chapter {
    // Of several strings and coils the first stand for all.
    let all = report.items("grades");
    let solved = all.iter().find(|item| item.get_word("failed").is_empty());
    let place = |item: &Item| ["string", "coil"].map(|key| item.get_word(key).to_owned());
    let first = solved.map(place).unwrap_or_default();
    let items: Vec<&Item> = all.iter().filter(|item| place(item) == first).collect();
    let mut families: Vec<&str> = items.iter().map(|item| item.get_word("family")).collect();
    families.sort_unstable();
    families.dedup();
    let units = |key: &str| {
        items.iter().find_map(|item| item.get(key)).map_or("", |number| number.unit.symbol)
    };
    let series = families
        .iter()
        .map(|family| {
            let (mut points, mut labels) = (Vec::new(), Vec::new());
            for item in items.iter().filter(|item| item.get_word("family") == *family) {
                let value = |key: &str| item.get(key).and_then(|number| number.shown());
                if let (Some(level), Some(pull)) = (value("level"), value("pull_up")) {
                    points.push([level, pull]);
                    labels.push(item.get_word("name").to_owned());
                }
            }
            Series { name: (*family).to_owned(), mark: Mark::Points, points, labels }
        })
        .filter(|series| !series.points.is_empty())
        .collect();
    let chart = Chart {
        title: "Which grade: pull against level".to_owned(),
        about: format!(
            "The farther right, the louder; the lower, the harder the string is pulled down.{}",
            match first.iter().filter(|name| !name.is_empty()).cloned().collect::<Vec<_>>() {
                names if names.is_empty() => String::new(),
                names => format!(" Of {}.", names.join(", ")),
            }
        ),
        x: Axis::new("level", units("level")),
        y: Axis::new("pull up", units("pull_up")),
        series,
        rules: Vec::new(),
        with_values: false,
    };
    let word = |key: &str| report.words.iter().find(|(k, _)| *k == key).map(|(_, w)| w.as_str());
    let mut facts = format!("Magnets: {}.", word("magnets").unwrap_or_default());
    for (key, words) in [
        ("string", "String"),
        ("strings", "Strings"),
        ("coil", "Coil"),
        ("coils", "Coils"),
        ("level_against", "Levels against"),
    ] {
        if let Some(said) = word(key) {
            facts.push_str(&format!(" {words}: {said}."));
        }
    }
    let mut blocks = vec![Block::Text(facts), Block::Charts(vec![chart])];
    let [at_string, in_magnet] = &TABLES;
    blocks.extend(sheet(report, at_string).map(Block::Sheet));
    blocks.extend(sheet(&magnets(report), in_magnet).map(Block::Sheet));
    blocks.push(Block::List(report.limits.clone()));
    Chapter { title: "Magnet grades", blocks }
}
