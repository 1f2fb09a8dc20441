//! What `pull` reports.

use crate::report::layout::{Column, Layout, write_head, write_limits, write_tables};
use crate::report::record::{Group, Item, Report};
use crate::report::unit::{CENT, DEGREE, G_PER_M, HZ, MM, MN, N, N_PER_M_OF_TRAVEL, ONE};
use crate::section::{Instrument, Section};
use crate::strings::tuning::{NearestGap, PullAt};
use crate::study::pull::{PullOptions, StringPull};

/// The report's tables.
pub const TABLES: [Layout; 5] = [
    Layout {
        title: "Strings",
        group: "strings",
        columns: &[
            Column::Word("name", "string"),
            Column::Number("pitch", "pitch", 5),
            Column::Number("gauge", "gauge", 3),
            Column::Number("linear_density", "weight", 3),
            Column::Number("tension", "tension", 3),
            Column::Number("from_bridge", "pickup from\nbridge", 4),
            Column::Number("gap", "gap", 3),
            Column::Number("pull_up", "pull\nup", 4),
            Column::Number("gradient_upright", "gradient\nupright", 4),
            Column::Number("gradient_across", "gradient\nacross", 4),
            Column::Number("sag", "sag", 3),
        ],
    },
    Layout {
        title: "Tuning: changes at the section's gap, and the nearest gap within the limit",
        group: "tuning",
        columns: &[
            Column::Word("name", "string"),
            Column::Number("detuning_upright", "open,\nupright", 3),
            Column::Number("detuning_across", "open,\nacross", 3),
            Column::Number("beat", "beat", 3),
            Column::Number("largest_detuning", "largest,\nany fret", 3),
            Column::Number("at_fret", "at\nfret", 3),
            Column::Number("nearest_gap", "nearest\ngap", 3),
            Column::Word("remark", ""),
        ],
    },
    Layout {
        title: "Clearance: what is left of the gap when the string swings",
        group: "clearance",
        columns: &[
            Column::Word("name", "string"),
            Column::Number("fret", "fret", 3),
            Column::Number("gap", "gap", 3),
            Column::Number("clearance", "clearance", 3),
            Column::Word("remark", ""),
        ],
    },
    Layout {
        title: "Partials of the open string",
        group: "partials",
        columns: &[
            Column::Word("name", "string"),
            Column::Number("partial", "partial", 3),
            Column::Number("frequency", "frequency", 5),
            Column::Number("first_order", "first\norder", 3),
            Column::Number("detuning_upright", "upright", 3),
            Column::Number("detuning_across", "across", 3),
            Column::Number("beat", "beat", 3),
        ],
    },
    Layout {
        title: "Pull against the gap",
        group: "gaps",
        columns: &[
            Column::Word("name", "string"),
            Column::Number("gap", "gap", 3),
            Column::Number("pull_up", "pull\nup", 4),
            Column::Number("pull_across", "pull\nacross", 4),
            Column::Number("gradient_up", "gradient\nup", 4),
            Column::Number("gradient_across", "gradient\nacross", 4),
        ],
    },
];

/// The report.
pub fn report(
    section: &Section,
    instrument: &Instrument,
    options: &PullOptions,
    strings: &[StringPull],
    notes: &[String],
) -> Report {
    let head = Item::default()
        .number("scale", MM, instrument.scale)
        .number("frets", ONE, f64::from(instrument.frets))
        .number("amplitude", MM, options.amplitude)
        .number("limit", CENT, options.limit);
    let mut limits = notes.to_vec();
    limits.extend(
        [
            "Detuning is counted from the string without any magnet; tuning the open string takes \
             part of it back.",
            "The pull acts at one place of the string; it is spread over some 15 mm, which matters \
             for partials whose half waves are not much longer.",
            "Clearance takes the first partial alone, with its amplitude in the middle of the \
             speaking length. Frets lie on a straight line and pressing leaves the tension as it is.",
        ]
        .map(str::to_owned),
    );
    let error = strings.iter().map(|s| s.truncation).fold(0.0, f64::max);
    limits.push(format!(
        "Between the gaps at which strings were coupled pull and gradient are good to {} of their \
         largest values.",
        percent(error)
    ));
    Report {
        words: vec![
            ("title", section.title.clone()),
            ("model", format!("strings as on: {}", instrument.title)),
        ],
        numbers: head.numbers,
        groups: vec![
            Group {
                key: "strings",
                items: strings.iter().map(|s| string(s, instrument)).collect(),
            },
            Group { key: "tuning", items: strings.iter().map(tuning).collect() },
            Group { key: "clearance", items: strings.iter().flat_map(clearance).collect() },
            Group { key: "partials", items: strings.iter().flat_map(partials).collect() },
            Group {
                key: "frets",
                items: strings.iter().flat_map(|s| frets(s, instrument)).collect(),
            },
            Group { key: "gaps", items: strings.iter().flat_map(gaps).collect() },
        ],
        limits,
    }
}

/// The report as a person reads it.
pub fn text(report: &Report) -> String {
    let mut out = String::new();
    write_head(report, &mut out);
    write_tables(report, &TABLES, &mut out);
    write_limits(report, &mut out);
    out
}

fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    if percent < 0.01 { "less than 0.01 %".to_owned() } else { format!("about {percent:.2} %") }
}

fn string(s: &StringPull, instrument: &Instrument) -> Item {
    let strung = &s.strung;
    let inharmonicity = strung.wire.inharmonicity(instrument.scale, strung.tension);
    Item::new(&strung.spec.name)
        .number("pitch", HZ, strung.pitch)
        .number("gauge", MM, strung.spec.gauge)
        .number("linear_density", G_PER_M, strung.wire.linear_density())
        .number("tension", N, strung.tension)
        .number("inharmonicity", ONE, inharmonicity)
        .number("from_bridge", MM, strung.place)
        .number("gap", MM, strung.gap)
        .number("pull_up", MN, s.own.pull[1])
        .number("pull_across", MN, s.own.pull[0])
        .number("gradient_upright", N_PER_M_OF_TRAVEL, s.planes.upright)
        .number("gradient_across", N_PER_M_OF_TRAVEL, s.planes.across)
        .number("lean", DEGREE, s.planes.lean)
        .number("sag", MM, s.sag)
}

fn tuning(s: &StringPull) -> Item {
    let first = s.partials.first();
    let (nearest, remark) = match s.nearest {
        NearestGap::At(gap) => (Some(gap), String::new()),
        NearestGap::BelowLimitAt(gap) => {
            (None, format!("within the limit down to {:.2} mm and closer", gap * 1e3))
        }
        NearestGap::AboveLimitAt(gap) => {
            (None, format!("beyond the limit even at {:.2} mm", gap * 1e3))
        }
    };
    let drawn = s.worst.cents.is_infinite();
    let remark = match (drawn, remark.is_empty()) {
        (false, _) => remark,
        (true, true) => "drawn to the pole at that fret".to_owned(),
        (true, false) => format!("drawn to the pole at that fret; {remark}"),
    };
    Item::new(&s.strung.spec.name)
        .number("detuning_upright", CENT, first.and_then(|p| p.upright))
        .number("detuning_across", CENT, first.and_then(|p| p.across))
        .number("beat", HZ, first.and_then(|p| p.beat))
        .number("largest_detuning", CENT, Some(s.worst.cents).filter(|c| c.is_finite()))
        .number("at_fret", ONE, f64::from(s.worst.fret))
        .number("of_partial", ONE, f64::from(s.worst.partial))
        .number("nearest_gap", MM, nearest)
        .word("remark", remark)
}

fn clearance(s: &StringPull) -> Vec<Item> {
    s.frets
        .iter()
        .map(|at| {
            let remark = match (at.gap, at.clearance) {
                (None, _) => "drawn to the pole, or as good as touching it",
                (_, Some(left)) if left <= 0.0 => "strikes the pole",
                _ => "",
            };
            Item::new(&s.strung.spec.name)
                .number("fret", ONE, f64::from(at.fret))
                .number("gap", MM, at.gap)
                .number("clearance", MM, at.clearance)
                .word("remark", remark)
        })
        .collect()
}

/// Every fret. Too long to read: JSON and CSV only.
fn frets(s: &StringPull, instrument: &Instrument) -> Vec<Item> {
    s.every_fret
        .iter()
        .map(|at| {
            Item::new(&s.strung.spec.name)
                .number("fret", ONE, f64::from(at.fret))
                .number("from_nut", MM, instrument.scale - at.length)
                .number("speaking_length", MM, at.length)
                .number("pitch", HZ, at.pitch)
                .number("gap", MM, at.gap)
                .number("largest_detuning", CENT, Some(at.worst.cents).filter(|c| c.is_finite()))
                .number("of_partial", ONE, f64::from(at.worst.partial))
        })
        .collect()
}

fn partials(s: &StringPull) -> Vec<Item> {
    s.partials
        .iter()
        .map(|p| {
            Item::new(&s.strung.spec.name)
                .number("partial", ONE, f64::from(p.number))
                .number("frequency", HZ, p.frequency)
                .number("first_order", CENT, p.first_order)
                .number("detuning_upright", CENT, p.upright)
                .number("detuning_across", CENT, p.across)
                .number("beat", HZ, p.beat)
        })
        .collect()
}

fn gaps(s: &StringPull) -> Vec<Item> {
    let item = |(gap, at): &(f64, PullAt)| {
        Item::new(&s.strung.spec.name)
            .number("gap", MM, *gap)
            .number("pull_up", MN, at.pull[1])
            .number("pull_across", MN, at.pull[0])
            .number("gradient_up", N_PER_M_OF_TRAVEL, at.gradient[1][1])
            .number("gradient_across", N_PER_M_OF_TRAVEL, at.gradient[0][0])
    };
    s.at_gaps.iter().map(item).collect()
}
