//! What `balance` reports.

use crate::report::layout::{Column, Layout, write_head, write_limits, write_numbers, write_table};
use crate::report::record::{Group, Item, Report};
use crate::report::unit::{DB, MM, MN, UWB_PER_MM_OF_TRAVEL};
use crate::section::Section;
use crate::strings::signal::harmonics::decibels;
use crate::study::balance::{Balance, BalanceOptions, Balanced, Binds, Moved};

const STRINGS: Layout = Layout {
    title: "Strings",
    group: "strings",
    columns: &[
        Column::Word("name", "string"),
        Column::Number("gap_before", "gap\nbefore", 3),
        Column::Number("gap", "gap", 4),
        Column::Number("moved", "moved\naway", 4),
        Column::Number("height_before", "height\nbefore", 3),
        Column::Number("height", "height of\nits pole", 4),
        Column::Number("linkage_change_up", "flux change\nup", 4),
        Column::Number("level_before", "level\nbefore", 3),
        Column::Number("level", "level", 3),
        Column::Number("profile", "asked", 3),
        Column::Number("pull_up", "pull\nup", 4),
        Column::Word("binds", "held by"),
    ],
};

/// The report.
pub fn report(section: &Section, options: &BalanceOptions, balance: &Balance) -> Report {
    let reference = balance.strings[balance.softest].change[1].abs();
    let reference = reference / 10.0_f64.powf(options.profile[balance.softest] / 20.0);
    let head = Item::default()
        .number("imbalance_before", DB, balance.imbalance[0])
        .number("imbalance", DB, balance.imbalance[1])
        .number("closest", MM, options.gaps[0])
        .number("farthest", MM, options.gaps[1])
        .number("pull_limit", MN, Some(options.pull).filter(|p| p.is_finite()));
    let strings = balance.strings.iter().zip(&options.profile);
    Report {
        words: vec![
            ("title", section.title.clone()),
            ("model", model(options).to_owned()),
            ("softest", balance.strings[balance.softest].name.clone()),
        ],
        numbers: head.numbers,
        groups: vec![Group {
            key: "strings",
            items: strings.map(|(s, p)| string(s, *p, reference)).collect(),
        }],
        limits: vec![
            "Level is the flux change per millimetre of travel, against that of the string that can \
             get no louder: strings that swing alike sound alike. Thick strings as a rule swing less."
                .to_owned(),
            match options.moved {
                Moved::Strings => "Gaps are set by moving the strings. A pole that is raised instead also \
                                   moves inside the coil and against its neighbours, which is left out \
                                   here: solve that section again."
                    .to_owned(),
                Moved::Poles => format!(
                    "Gaps are set by moving the poles under strings that stay. The search has the exact \
                     derivative of each string's own coupling; that a raised pole also moves inside the \
                     coil and beside its neighbours was made good by putting the row together anew, {} \
                     times: the figures are those of the row at these heights.",
                    balance.rounds
                ),
            },
        ],
    }
}

fn model(options: &BalanceOptions) -> &'static str {
    match options.moved {
        Moved::Strings => "gaps that balance the strings",
        Moved::Poles => "pole heights that balance the strings",
    }
}

fn string(s: &Balanced, profile: f64, reference: f64) -> Item {
    let level = |change: f64| decibels(change.abs() / reference);
    let binds = match s.binds {
        Binds::Nothing => "",
        Binds::Closest => "closest gap",
        Binds::Farthest => "farthest gap",
        Binds::Pull => "pull limit",
        Binds::LowestString => "lowest string",
    };
    let mut item = Item::new(&s.name)
        .number("gap_before", MM, s.gap_before)
        .number("gap", MM, s.gap)
        .number("moved", MM, s.gap - s.gap_before);
    if let Some([before, now]) = s.height {
        item = item.number("height_before", MM, before).number("height", MM, now);
    }
    item.number("linkage_change_up", UWB_PER_MM_OF_TRAVEL, s.change[1])
        .number("level_before", DB, level(s.change[0]))
        .number("level", DB, level(s.change[1]))
        .number("profile", DB, profile)
        .number("off", DB, s.off)
        .number("pull_up", MN, s.pull)
        .word("binds", binds)
}

/// The report as a person reads it.
pub fn text(report: &Report) -> String {
    let mut out = String::new();
    write_head(report, &mut out);
    write_table(report, &STRINGS, &mut out);
    out.push('\n');
    write_numbers(
        report,
        &[
            ("imbalance_before", "imbalance before", 3),
            ("imbalance", "now", 3),
            ("pull_limit", "pull limit", 4),
        ],
        &mut out,
    );
    write_limits(report, &mut out);
    out
}
