//! The chapter on magnet grades in one section.

use crate::report::html::{Axis, Block, Chapter, Chart, Mark, Series, sheet};
use crate::report::record::Report;
use crate::study::compare_report::TABLES;

/// The chapter; `report` is the report of the comparison.
pub fn grades(report: &Report) -> Chapter {
    let items = report.items("grades");
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
        about: "The farther right, the louder; the lower, the harder the string is pulled down."
            .to_owned(),
        x: Axis::new("level", units("level")),
        y: Axis::new("pull up", units("pull_up")),
        series,
        rules: Vec::new(),
        with_values: false,
    };
    let word = |key: &str| report.words.iter().find(|(k, _)| *k == key).map(|(_, w)| w.as_str());
    let mut facts = format!("Magnets: {}.", word("magnets").unwrap_or_default());
    for (key, words) in
        [("string", "String"), ("coil", "Coil"), ("level_against", "Levels against")]
    {
        if let Some(said) = word(key) {
            facts.push_str(&format!(" {words}: {said}."));
        }
    }
    let mut blocks = vec![Block::Text(facts), Block::Charts(vec![chart])];
    blocks.extend(TABLES.iter().filter_map(|t| sheet(report, t)).map(Block::Sheet));
    blocks.push(Block::List(report.limits.clone()));
    Chapter { title: "Magnet grades", blocks }
}
