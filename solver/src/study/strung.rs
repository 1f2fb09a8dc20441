//! A section's strings with what the instrument says of them.

use crate::problem::Problem;
use crate::section::{Instrument, InstrumentString, Section, StringSpec, nearest_name};
use crate::strings::tuning::wire::{CORE_DENSITY, WRAP_DENSITY, Wire};
use crate::strings::tuning::{Action, frets::speaking_length};

/// Gauges that differ by more than this share are worth a word.
const SAME_GAUGE: f64 = 0.01;

/// A string of the section and of the instrument.
#[derive(Clone, Debug)]
pub struct Strung {
    /// Which of the section's strings.
    pub index: usize,
    /// As the section has it.
    pub spec: StringSpec,
    /// Gap to its pole, m.
    pub gap: f64,
    /// As a thing with weight and stiffness: gauge and core of the section, densities of the
    /// instrument.
    pub wire: Wire,
    /// Pitch of the open string, Hz.
    pub pitch: f64,
    /// Distance of the pickup from the bridge along it, m.
    pub place: f64,
    /// Tension, N.
    pub tension: f64,
}

/// Matches the strings of `section` with those of `instrument` by name.
///
/// Also gives notes on what does not agree.
///
/// # Errors
/// A problem for every string of the section that the instrument does not have, or whose gap to a
/// pole is not known; places are in the section's text.
pub fn strung(
    section: &Section,
    instrument: &Instrument,
) -> Result<(Vec<Strung>, Vec<String>), Vec<Problem>> {
    let mut found = Vec::new();
    let mut notes = Vec::new();
    let mut problems = Vec::new();
    for (index, spec) in section.strings.iter().enumerate() {
        let Some(own) = instrument.strings.iter().find(|s| s.name == spec.name) else {
            let names = instrument.strings.iter().map(|s| s.name.as_str());
            let near = nearest_name(&spec.name, names.clone());
            let all: Vec<&str> = names.collect();
            let help = match near {
                Some(near) => format!("did you mean `{near}`?"),
                None => format!("the instrument has {}", all.join(", ")),
            };
            let message = format!("the instrument has no string `{}`", spec.name);
            problems.push(Problem::at(spec.span.clone(), message).help(help));
            continue;
        };
        let Some(gap) = spec.gap else {
            let message = format!("string `{}` has no gap to a pole", spec.name);
            problems.push(
                Problem::at(spec.span.clone(), message)
                    .help("add e.g. over = \"rod\", the part whose face the gap is measured from"),
            );
            continue;
        };
        if (own.gauge / spec.gauge - 1.0).abs() > SAME_GAUGE {
            notes.push(format!(
                "String {} has a gauge of {:.3} mm in the section and of {:.3} mm in the \
                 instrument: the section's is used.",
                spec.name,
                spec.gauge * 1e3,
                own.gauge * 1e3
            ));
        }
        let wire = wire(spec, own);
        found.push(Strung {
            index,
            spec: spec.clone(),
            gap,
            wire,
            pitch: own.pitch,
            place: own.from_bridge,
            tension: wire.tension(instrument.scale, own.pitch),
        });
    }
    if problems.is_empty() { Ok((found, notes)) } else { Err(problems) }
}

fn wire(spec: &StringSpec, own: &InstrumentString) -> Wire {
    let wound = spec.wrap.is_some();
    Wire {
        core_density: own.core_density.unwrap_or(CORE_DENSITY),
        wrap_density: own.wrap_density.unwrap_or(WRAP_DENSITY),
        ..if wound { Wire::wound(spec.gauge, spec.core_diameter) } else { Wire::plain(spec.gauge) }
    }
}

/// How high the strings of an instrument are set.
pub fn action(instrument: &Instrument) -> Action {
    Action { scale: instrument.scale, at_nut: instrument.nut_height, at_twelfth: instrument.action }
}

impl Strung {
    /// The string with its gap at `gap` (m) instead, moved `sideways` (m).
    pub fn at(&self, gap: f64, sideways: f64) -> StringSpec {
        let mut spec = self.spec.clone();
        spec.axis.y += gap - self.gap;
        spec.gap = Some(gap);
        spec.offset += sideways;
        spec
    }

    /// Speaking length at `fret`, m; `None` where the pickup does not lie under it.
    pub fn length(&self, instrument: &Instrument, fret: u32) -> Option<f64> {
        let length = speaking_length(instrument.scale, fret);
        (self.place < length).then_some(length)
    }
}
