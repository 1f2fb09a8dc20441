//! Chapters on the strings of an instrument: what the pull does to them, and what one gives.

use crate::report::html::{Axis, Block, Chapter, Chart, Mark, Rule, Series, sheet, shown};
use crate::report::record::Report;
use crate::report::unit::Unit;
use crate::strings::signal::harmonics::decibels;
use crate::study::pull::StringPull;
use crate::study::signal::Signal;
use crate::study::{pull_report, signal_report};

/// Ends of what is heard, Hz.
const AUDIBLE: [f64; 2] = [20.0, 20e3];
/// Values of the circuit's response: twenty to an octave.
const FREQUENCIES: usize = 201;

/// What the pull does; `report` is the report of these pulls.
pub fn pulled(report: &Report, strings: &[StringPull]) -> Chapter {
    let of = |f: &dyn Fn(&StringPull) -> Vec<[f64; 2]>| -> Vec<Series> {
        strings.iter().map(|s| Series::line(&s.strung.spec.name, f(s))).collect()
    };
    let cents = || Axis::new("detuning upright", "cent");
    let or_nothing = |value: Option<f64>| value.unwrap_or(f64::NAN);
    let chart = |title: &str, about: &str, x: Axis, y: Axis, series| Chart {
        title: title.to_owned(),
        about: about.to_owned(),
        x,
        y,
        series,
        rules: Vec::new(),
        with_values: true,
    };
    let charts = vec![
        chart(
            "Detuning at each fret",
            "The largest of all partials, at the section's gap; against the string without magnet. \
             A curve ends where the string is drawn to the pole.",
            Axis::new("fret", ""),
            Axis::new("largest detuning", "cent"),
            of(&|s| s.every_fret.iter().map(|f| [f64::from(f.fret), f.worst.cents]).collect()),
        ),
        chart(
            "Detuning of each partial",
            "Open string, upright plane.",
            Axis::new("partial", ""),
            cents(),
            of(&|s| {
                s.partials.iter().map(|p| [f64::from(p.number), or_nothing(p.upright)]).collect()
            }),
        ),
        chart(
            "Pull against the gap, as on the instrument",
            "",
            Axis::new("gap", "mm"),
            Axis::new("pull up", "mN"),
            of(&|s| s.at_gaps.iter().map(|(gap, at)| [gap * 1e3, at.pull[1] * 1e3]).collect()),
        ),
    ];
    let mut blocks = vec![Block::Text(model(report)), Block::Charts(charts)];
    blocks.extend(pull_report::TABLES.iter().filter_map(|t| sheet(report, t)).map(Block::Sheet));
    blocks.push(Block::List(report.limits.clone()));
    Chapter { title: "On the instrument", blocks }
}

/// What a plucked string gives; `report` is the report of the signal.
pub fn sounded(report: &Report, signal: &Signal) -> Chapter {
    let curve = |group: &str, x: &str, y: &str| -> Option<(Vec<[f64; 2]>, [Unit; 2])> {
        let items = report.items(group);
        let first = items.first()?;
        let units = [first.get(x)?.unit, first.get(y)?.unit];
        let of = |item: &crate::report::record::Item, key: &str| {
            item.get(key).and_then(|n| n.shown()).unwrap_or(f64::NAN)
        };
        Some((items.iter().map(|item| [of(item, x), of(item, y)]).collect(), units))
    };
    let chart = |title: &str, about: &str, labels: [&str; 2], units: [Unit; 2], series| Chart {
        title: title.to_owned(),
        about: about.to_owned(),
        x: Axis::new(labels[0], units[0].symbol),
        y: Axis::new(labels[1], units[1].symbol),
        series,
        rules: Vec::new(),
        with_values: false,
    };
    let mut charts = Vec::new();
    if let Some((points, units)) = curve("harmonics", "harmonic", "level") {
        let mut series = vec![Series { mark: Mark::Stems, ..Series::line("open coil", points) }];
        let mut about = "Peak of each harmonic at the start of the sound.".to_owned();
        if let Some((_, behind)) = &signal.loaded {
            let first = signal.spectrum.amplitude(1);
            let level = |k: usize| [k as f64, decibels(behind.amplitude(k) / first)];
            let points = (1..=behind.harmonics.len()).map(level).collect();
            series
                .push(Series { mark: Mark::Points, ..Series::line("behind the circuit", points) });
            about.push_str(" Both are against the first harmonic of the open coil.");
        }
        let labels = ["harmonic", "level against the first"];
        charts.push(chart("Harmonics", &about, labels, units, series));
    }
    charts.extend(response(signal));
    if let Some((_, units)) = curve("distortion", "amplitude", "distortion") {
        let series = [("in all", "distortion"), ("second", "second"), ("third", "third")]
            .into_iter()
            .filter_map(|(name, key)| {
                Some(Series::line(name, curve("distortion", "amplitude", key)?.0))
            })
            .collect();
        let about = "A string that swings in its first partial alone.";
        let labels = ["amplitude over the pickup", "share of the level"];
        charts.push(chart("Distortion", about, labels, units, series));
    }
    let mut blocks = vec![Block::Text(model(report)), Block::Charts(charts)];
    blocks.extend(signal_report::TABLES.iter().filter_map(|t| sheet(report, t)).map(Block::Sheet));
    blocks.push(Block::List(report.limits.clone()));
    Chapter { title: "What is heard", blocks }
}

/// What the circuit makes of each frequency.
fn response(signal: &Signal) -> Option<Chart> {
    let (circuit, _) = signal.loaded.as_ref()?;
    let level = |frequency: f64| {
        let [re, im] = circuit.response(frequency);
        [frequency, decibels(re.hypot(im))]
    };
    let share = |i: usize| i as f64 / (FREQUENCIES - 1) as f64;
    let points = (0..FREQUENCIES)
        .map(|i| level(AUDIBLE[0] * (AUDIBLE[1] / AUDIBLE[0]).powf(share(i))))
        .collect();
    let peak = circuit.resonance().peak;
    Some(Chart {
        title: "What the circuit does to each frequency".to_owned(),
        about: match peak {
            Some((frequency, height)) => format!(
                "Resonance at {} Hz, {} dB above the open coil.",
                shown(frequency, 4),
                shown(decibels(height), 3)
            ),
            None => "It has no resonance.".to_owned(),
        },
        x: Axis::new("frequency", "Hz").of_ratios(),
        y: Axis::new("level against the open coil", "dB"),
        series: vec![Series::line("behind the circuit", points)],
        rules: peak.map(|(at, _)| Rule { at, label: "resonance".to_owned() }).into_iter().collect(),
        with_values: true,
    })
}

fn model(report: &Report) -> String {
    report.words.iter().find(|(key, _)| *key == "model").map(|(_, w)| w.clone()).unwrap_or_default()
}
