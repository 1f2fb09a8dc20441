//! What `signal` reports, and the sound as a table.

use std::io::{self, Write};

use crate::report::layout::{
    Column, Layout, write_head, write_limits, write_numbers, write_tables,
};
use crate::report::record::{Group, Item, Report};
use crate::report::unit::{DB, DEGREE, HZ, MM, MV, ONE, PERCENT, UWB_PER_MM_OF_TRAVEL};
use crate::section::Section;
use crate::strings::signal::Spectrum;
use crate::strings::signal::harmonics::decibels;
use crate::study::signal::{Signal, SignalOptions};
use crate::study::strung::Strung;

/// The report's tables.
pub const TABLES: [Layout; 2] = [
    Layout {
        title: "Harmonics at the start of the sound",
        group: "harmonics",
        columns: &[
            Column::Number("harmonic", "harmonic", 3),
            Column::Number("frequency", "frequency", 5),
            Column::Number("voltage", "open coil,\npeak", 4),
            Column::Number("level", "against\nthe first", 3),
            Column::Number("loaded_voltage", "with circuit,\npeak", 4),
        ],
    },
    Layout {
        title: "Distortion of a string that swings in its first partial alone",
        group: "distortion",
        columns: &[
            Column::Number("amplitude", "amplitude\nover the pickup", 3),
            Column::Number("level", "level,\nrms", 4),
            Column::Number("distortion", "distortion", 3),
            Column::Number("second", "second", 3),
            Column::Number("third", "third", 3),
        ],
    },
];

/// The report.
pub fn report(
    section: &Section,
    strung: &Strung,
    options: &SignalOptions,
    signal: &Signal,
    notes: &[String],
) -> Report {
    let level = signal.spectrum.level();
    let mut head = Item::default()
        .number("pitch", HZ, signal.pitch)
        .number("fret", ONE, f64::from(options.fret))
        .number("speaking_length", MM, signal.length)
        .number("pickup_from_bridge", MM, strung.place)
        .number("gap", MM, signal.gap)
        .number("linkage_change_up", UWB_PER_MM_OF_TRAVEL, signal.change[1])
        .number("linkage_change_across", UWB_PER_MM_OF_TRAVEL, signal.change[0])
        .number("aperture", MM, signal.aperture)
        .number("pluck_from_bridge", MM, options.pluck.place)
        .number("pluck_height", MM, options.pluck.height)
        .number("pluck_angle", DEGREE, options.pluck.angle)
        .number("level", MV, level)
        .number("level_against_1_V", DB, decibels(level));
    if let Some((circuit, loaded)) = &signal.loaded {
        let resonance = circuit.resonance();
        head = head
            .number("loaded_level", MV, loaded.level())
            .number("natural_frequency", HZ, resonance.natural)
            .number("resonance", HZ, resonance.peak.map(|p| p.0))
            .number("resonance_height", DB, resonance.peak.map(|p| decibels(p.1)));
    }
    let mut limits = notes.to_vec();
    limits.push(format!(
        "The linkage is known over the swing of the string to about {:.1e} of its change.",
        signal.truncation.max(1e-12)
    ));
    limits.extend(
        [
            "Every piece of the string is taken to answer as if the whole string stood where it \
             stands; one decay serves all partials.",
            "Eddy currents in poles, plate and cover are left out: they take off treble and blunt \
             the resonance.",
        ]
        .map(str::to_owned),
    );
    Report {
        words: vec![
            ("title", section.title.clone()),
            ("model", format!("string {}", strung.spec.name)),
        ],
        numbers: head.numbers,
        groups: vec![
            Group { key: "harmonics", items: harmonics(signal) },
            Group { key: "distortion", items: distortion(signal) },
        ],
        limits,
    }
}

/// The report as a person reads it.
pub fn text(report: &Report) -> String {
    let mut out = String::new();
    write_head(report, &mut out);
    out.push('\n');
    write_numbers(
        report,
        &[
            ("fret", "fret", 3),
            ("pitch", "pitch", 5),
            ("speaking_length", "speaking length", 5),
            ("pickup_from_bridge", "pickup at", 5),
            ("gap", "gap", 3),
            ("aperture", "aperture", 3),
        ],
        &mut out,
    );
    write_numbers(
        report,
        &[
            ("pluck_height", "plucked by", 3),
            ("pluck_from_bridge", "at", 4),
            ("pluck_angle", "at an angle of", 3),
        ],
        &mut out,
    );
    write_numbers(
        report,
        &[
            ("level", "level", 4),
            ("level_against_1_V", "against 1 V", 3),
            ("loaded_level", "with circuit", 4),
        ],
        &mut out,
    );
    write_numbers(
        report,
        &[
            ("linkage_change_up", "flux change up", 4),
            ("linkage_change_across", "across", 4),
            ("resonance", "resonance", 4),
            ("resonance_height", "of", 3),
            ("natural_frequency", "without losses", 4),
        ],
        &mut out,
    );
    write_tables(report, &TABLES, &mut out);
    write_limits(report, &mut out);
    out
}

fn harmonics(signal: &Signal) -> Vec<Item> {
    let first = signal.spectrum.amplitude(1);
    (1..=signal.spectrum.harmonics.len())
        .map(|k| {
            let own = signal.spectrum.amplitude(k);
            Item::new(k.to_string())
                .number("harmonic", ONE, k as f64)
                .number("frequency", HZ, signal.pitch * k as f64)
                .number("voltage", MV, own)
                .number("level", DB, decibels(own / first))
                .number("loaded_voltage", MV, signal.loaded.as_ref().map(|(_, l)| l.amplitude(k)))
        })
        .collect()
}

fn distortion(signal: &Signal) -> Vec<Item> {
    let share = |s: &Spectrum, k: usize| s.amplitude(k) / s.amplitude(1);
    signal
        .distortion
        .iter()
        .map(|d| {
            Item::new(format!("{:.4} mm", d.amplitude * 1e3))
                .number("amplitude", MM, d.amplitude)
                .number("level", MV, d.spectrum.level())
                .number("distortion", PERCENT, d.spectrum.distortion())
                .number("second", PERCENT, share(&d.spectrum, 2))
                .number("third", PERCENT, share(&d.spectrum, 3))
        })
        .collect()
}

/// Writes the sound as CSV: time in ms, voltage in mV.
///
/// # Errors
/// `out` refused.
pub fn write_sound(signal: &Signal, rate: u32, out: &mut impl Write) -> io::Result<()> {
    let mut text = String::from("time_ms,voltage_mV\n");
    for (i, v) in signal.voltage.iter().enumerate() {
        let time = 1e3 * i as f64 / f64::from(rate);
        text.push_str(&format!("{time:.6},{:.6e}\n", v * 1e3));
        if text.len() > 1 << 16 {
            out.write_all(text.as_bytes())?;
            text.clear();
        }
    }
    out.write_all(text.as_bytes())
}
