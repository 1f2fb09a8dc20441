//! What the pull does to every string of an instrument.
//!
//! Each string is coupled at a few gaps ([`PullCurve`]); everything else follows from pull and
//! gradient against the gap. A string that is pressed at fret n comes down over the pickup; how far
//! is the geometry of [`crate::strings::tuning::frets`], and where it comes to rest under the pull
//! that grows on the way is [`rest_gap`]. The gap of the section file is that of the open string at
//! rest, pulled by the magnet.

use std::f64::consts::PI;

use rayon::prelude::*;

use crate::material::Library;
use crate::quantity::coupled::StringRange;
use crate::section::{Instrument, Section};
use crate::strings::tuning::frets::{Action, fretted_pitch};
use crate::strings::tuning::nearest_gap::{NearestGap, Worst, nearest_gap, worst_detuning};
use crate::strings::tuning::planes::beat_rate;
use crate::strings::tuning::sag::{compliance, rest_gap};
use crate::strings::tuning::shift::cents;
use crate::strings::tuning::wire::partial;
use crate::strings::tuning::{Planes, PullAt, PullCurve, PullPlace};
use crate::strings::{CoupledString, CouplingError};
use crate::study::bench::{BenchError, StringBench, range_of};
use crate::study::strung::{Strung, action};

/// What is asked of the strings.
#[derive(Clone, Debug, PartialEq)]
pub struct PullOptions {
    /// Gaps at which pull and gradient are told, m; the section's own comes by itself.
    pub gaps: Vec<f64>,
    /// Amplitude of vibration in the middle of the speaking length, m.
    pub amplitude: f64,
    /// Number of partials.
    pub partials: u32,
    /// Largest detuning allowed, cents.
    pub limit: f64,
    /// Closest and farthest gap looked at, m.
    pub range: [f64; 2],
}

impl Default for PullOptions {
    /// Gaps from 1 to 5 mm, 1 mm of amplitude, eight partials, a limit of one cent.
    fn default() -> Self {
        Self {
            gaps: (0..9).map(|i| 1e-3 + 0.5e-3 * f64::from(i)).collect(),
            amplitude: 1e-3,
            partials: 8,
            limit: 1.0,
            range: [0.3e-3, 10e-3],
        }
    }
}

/// Why the study could not be done.
#[derive(Clone, Debug, thiserror::Error)]
pub enum PullError {
    /// The section cannot be solved, or not with strings over it.
    #[error(transparent)]
    Bench(#[from] BenchError),
    /// A string could not be coupled.
    #[error("string `{name}` at a gap of {:.3} mm: {source}", .gap * 1e3)]
    Coupling {
        /// The string.
        name: String,
        /// Its gap, m.
        gap: f64,
        /// What went wrong.
        source: CouplingError,
    },
    /// The pickup does not lie under the open string.
    #[error("the pickup is not under the speaking length of string `{name}`")]
    OffString {
        /// The string.
        name: String,
    },
}

/// A partial of an open string over the pickup.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PartialShift {
    /// Its number.
    pub number: u32,
    /// Frequency without the pickup, Hz.
    pub frequency: f64,
    /// Change in the upright plane to first order, cents.
    pub first_order: f64,
    /// Change in the upright plane, cents; `None` where the string is drawn onto the pole.
    pub upright: Option<f64>,
    /// Change in the plane across, cents.
    pub across: Option<f64>,
    /// Beat between the two, Hz.
    pub beat: Option<f64>,
}

/// A string at a fret.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtFret {
    /// The fret; 0 is the open string.
    pub fret: u32,
    /// Gap at rest, m; `None` where the string is drawn onto the pole or closer to it than is
    /// looked at.
    pub gap: Option<f64>,
    /// What is left of the gap when the string swings with the given amplitude, m.
    pub clearance: Option<f64>,
}

/// Tuning of a string at a fret.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FretShift {
    /// The fret; 0 is the open string.
    pub fret: u32,
    /// Speaking length, m.
    pub length: f64,
    /// Pitch, Hz.
    pub pitch: f64,
    /// Gap at rest, m; `None` where the string is drawn onto the pole.
    pub gap: Option<f64>,
    /// Largest detuning over the partials and the two planes; negative infinity where the string is
    /// drawn onto the pole.
    pub worst: Worst,
}

/// All about one string.
#[derive(Clone, Debug)]
pub struct StringPull {
    /// The string.
    pub strung: Strung,
    /// Pull and gradient at the section's gap.
    pub own: PullAt,
    /// The planes of vibration there.
    pub planes: Planes,
    /// How far the pull bends the open string, m.
    pub sag: f64,
    /// Pull and gradient at the gaps asked for: (gap, pull).
    pub at_gaps: Vec<(f64, PullAt)>,
    /// Partials of the open string.
    pub partials: Vec<PartialShift>,
    /// The open string, and pressed at the last fret that leaves the pickup under it.
    pub frets: [AtFret; 2],
    /// Every fret that leaves the pickup under the string.
    pub every_fret: Vec<FretShift>,
    /// The largest detuning over all frets and partials at the section's gap.
    pub worst: Worst,
    /// The smallest gap of the open string that keeps the limit at every fret.
    pub nearest: NearestGap,
    /// About the relative error of pull and gradient between the gaps at which it was coupled.
    pub truncation: f64,
}

/// Does the study for the strings of `section`.
///
/// # Errors
/// The section cannot be solved, or a string not be coupled.
pub fn pull(
    section: &Section,
    library: &Library,
    instrument: &Instrument,
    strings: &[Strung],
    options: &PullOptions,
) -> Result<Vec<StringPull>, PullError> {
    let closest = options.range[0];
    let lowest = |gap: f64| move |s: &Strung| range_of(section, &s.at(gap, 0.0));
    let of_all = |gap: f64| strings.iter().map(lowest(gap)).reduce(StringRange::and);
    let asked = options.gaps.iter().copied().fold(closest, f64::min);
    let range = of_all(asked).ok_or(BenchError::NoStrings)?;
    let bench = StringBench::new(section, range, library)?;
    strings
        .iter()
        .map(|strung| {
            let coupled = |gap: f64| couple(&bench, strung, gap);
            one(strung, instrument, options, coupled)
        })
        .collect()
}

fn couple(bench: &StringBench, strung: &Strung, gap: f64) -> Result<PullAt, PullError> {
    let spec = strung.at(gap, 0.0);
    let name = || strung.spec.name.clone();
    match bench.couple(strung.index, &spec) {
        Ok(CoupledString { pull: [_, y, z], pull_gradient, .. }) => {
            Ok(PullAt { pull: [y, z], gradient: pull_gradient })
        }
        Err(source) => Err(PullError::Coupling { name: name(), gap, source }),
    }
}

fn one(
    strung: &Strung,
    instrument: &Instrument,
    options: &PullOptions,
    coupled: impl Fn(f64) -> Result<PullAt, PullError> + Sync,
) -> Result<StringPull, PullError> {
    let name = || strung.spec.name.clone();
    let off = || PullError::OffString { name: name() };
    let [closest, farthest] = options.range;
    let gaps = PullCurve::places(closest, farthest);
    let samples: Result<Vec<PullAt>, PullError> = gaps.par_iter().map(|&g| coupled(g)).collect();
    let not_finite = || PullError::Coupling {
        name: name(),
        gap: closest,
        source: CouplingError::NotConverged { iterations: 0, residual: f64::NAN, target: 0.0 },
    };
    let curve = PullCurve::new(closest, farthest, &samples?).ok_or_else(not_finite)?;
    let own = coupled(strung.gap)?;
    let at_gaps: Result<Vec<(f64, PullAt)>, PullError> =
        options.gaps.par_iter().map(|&g| coupled(g).map(|at| (g, at))).collect();

    let planes = Planes::new(own.gradient);
    let place = PullPlace::new(instrument.scale, strung.tension, strung.place).ok_or_else(off)?;
    let pressed = Pressed { strung, instrument, action: action(instrument), curve: &curve };
    let frets = 0..=instrument.frets;
    let last = frets.clone().rfind(|&f| strung.length(instrument, f).is_some()).unwrap_or(0);
    let swings = [0, last].map(|fret| pressed.swinging(fret, &own, options.amplitude));
    let worst_at = |gap: f64, own: Option<PullAt>| {
        let own = own.or_else(|| curve.at(gap));
        let all = frets.clone().filter_map(|fret| Some((fret, pressed.shifts(fret, gap, own)?)));
        worst_detuning(all, options.partials)
    };
    let never = |gap: f64| Ok::<f64, std::convert::Infallible>(worst_at(gap, None).cents);
    let nearest = match nearest_gap(options.limit, closest, farthest, never) {
        Ok(nearest) => nearest,
        Err(never) => match never {},
    };
    Ok(StringPull {
        own,
        planes,
        sag: -own.pull[1] * compliance(instrument.scale, strung.tension, strung.place),
        at_gaps: at_gaps?,
        partials: partials(strung, instrument, &place, &planes, options.partials),
        frets: swings,
        every_fret: frets
            .clone()
            .filter_map(|f| pressed.shift(f, &own, options.partials))
            .collect(),
        worst: worst_at(strung.gap, Some(own)),
        nearest,
        truncation: curve.truncation(),
        strung: strung.clone(),
    })
}

fn partials(
    strung: &Strung,
    instrument: &Instrument,
    place: &PullPlace,
    planes: &Planes,
    count: u32,
) -> Vec<PartialShift> {
    let b = strung.wire.inharmonicity(instrument.scale, strung.tension);
    (1..=count)
        .map(|number| {
            let frequency = partial(strung.pitch, number, b);
            let upright = place.exact(planes.upright, number);
            let across = place.exact(planes.across, number);
            PartialShift {
                number,
                frequency,
                first_order: cents(place.first_order(planes.upright, number)),
                upright: upright.map(cents),
                across: across.map(cents),
                beat: upright
                    .zip(across)
                    .map(|(u, a)| beat_rate(frequency * (1.0 + u), frequency * (1.0 + a))),
            }
        })
        .collect()
}

/// A string at its frets.
struct Pressed<'a> {
    strung: &'a Strung,
    instrument: &'a Instrument,
    action: Action,
    curve: &'a PullCurve,
}

impl Pressed<'_> {
    /// Gap at rest at `fret` when that of the open string at rest is `open`, where its pull is
    /// `own`. `None` where the string is drawn onto the pole, or comes closer to it than the curve.
    fn gap(&self, fret: u32, open: f64, own: Option<PullAt>) -> Option<f64> {
        if fret == 0 {
            return Some(open);
        }
        let Strung { tension, place, .. } = *self.strung;
        let length = self.strung.length(self.instrument, fret)?;
        let give = |length: f64| compliance(length, tension, place);
        let drop = self.action.drop(place, fret)?;
        let free = open - own?.pull[1] * give(self.instrument.scale) - drop;
        let [closest, farthest] = self.curve.range();
        let pull = |gap: f64| {
            let at = self.curve.at(gap.clamp(closest, farthest));
            Ok::<f64, std::convert::Infallible>(at.map_or(0.0, |at| -at.pull[1]))
        };
        match rest_gap(free, give(length), closest, pull) {
            Ok(gap) => gap,
            Err(never) => match never {},
        }
    }

    /// The place on the string at `fret` and the gradients in its planes of vibration; the inner
    /// `None` where it has no place of rest, the outer where the pickup is not under it.
    #[expect(clippy::option_option, reason = "worst_detuning tells the two apart")]
    fn shifts(
        &self,
        fret: u32,
        open: f64,
        own: Option<PullAt>,
    ) -> Option<Option<(PullPlace, [f64; 2])>> {
        let length = self.strung.length(self.instrument, fret)?;
        let place = PullPlace::new(length, self.strung.tension, self.strung.place)?;
        let at = if fret == 0 {
            own
        } else {
            self.gap(fret, open, own).and_then(|gap| self.curve.at(gap))
        };
        Some(at.map(|at| {
            let planes = Planes::new(at.gradient);
            (place, [planes.upright, planes.across])
        }))
    }

    fn shift(&self, fret: u32, own: &PullAt, partials: u32) -> Option<FretShift> {
        let gap = self.strung.gap;
        let found = self.shifts(fret, gap, Some(*own))?;
        Some(FretShift {
            fret,
            length: self.strung.length(self.instrument, fret)?,
            pitch: fretted_pitch(self.strung.pitch, fret),
            gap: self.gap(fret, gap, Some(*own)),
            worst: worst_detuning([(fret, found)], partials),
        })
    }

    fn swinging(&self, fret: u32, own: &PullAt, amplitude: f64) -> AtFret {
        let gap = self.gap(fret, self.strung.gap, Some(*own));
        let swing = self
            .strung
            .length(self.instrument, fret)
            .map(|length| amplitude * (PI * self.strung.place / length).sin());
        AtFret { fret, gap, clearance: gap.zip(swing).map(|(gap, swing)| gap - swing) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::section::{parse, parse_instrument};
    use crate::study::sample::{row_under, string, string_over, under};
    use crate::study::strung::strung;

    const INSTRUMENT: &str = "format = 1
scale = \"25.5 in\"
action = \"1.8 mm\"
nut_height = \"0.5 mm\"
pickup = { from_bridge = \"160 mm\" }
[[string]]
name = \"G3\"
pitch = \"G3\"
gauge = \"0.017 in\"
";

    fn setup() -> (Section, Instrument, Vec<Strung>) {
        let section = parse(&under(&[string("G3", "0.017 in", "4 mm")])).section;
        let instrument = parse_instrument(INSTRUMENT).instrument;
        let (strings, notes) = strung(&section, &instrument).expect("match");
        assert!(notes.is_empty(), "{notes:?}");
        (section, instrument, strings)
    }

    const OPTIONS: PullOptions = PullOptions {
        gaps: Vec::new(),
        amplitude: 1e-3,
        partials: 4,
        limit: 1.0,
        range: [0.3e-3, 10e-3],
    };

    /// P = F exp(-g / l) towards the pole: everything has a closed form.
    fn model(strength: f64, fall: f64) -> impl Fn(f64) -> Result<PullAt, PullError> + Sync {
        move |gap: f64| {
            let pull = strength * (-gap / fall).exp();
            let k = pull / fall;
            Ok(PullAt { pull: [0.0, -pull], gradient: [[-0.25 * k, 0.0], [0.0, k]] })
        }
    }

    #[test]
    fn everything_follows_from_pull_and_gradient() {
        let (_, instrument, strings) = setup();
        let g3 = &strings[0];
        let study = one(g3, &instrument, &OPTIONS, model(0.08, 1.5e-3)).expect("works");
        assert!(study.truncation < 1e-6, "{}", study.truncation);
        let pull = 0.08 * (-4.0_f64 / 1.5).exp();
        let give = compliance(0.6477, g3.tension, 0.16);
        // Rounding of a few products.
        assert!((study.sag / (pull * give) - 1.0).abs() < 1e-12);
        assert!((study.planes.upright / (pull / 1.5e-3) - 1.0).abs() < 1e-12);
        let first = study.partials[0];
        let place = PullPlace::new(0.6477, g3.tension, 0.16).expect("on the string");
        let own = place.cents(study.planes.upright, 1).expect("stable");
        assert!(first.upright.is_some_and(|c| (c / own - 1.0).abs() < 1e-12));
        assert!(first.upright.is_some_and(|c| (c / first.first_order - 1.0).abs() < 0.01));
        assert!(first.beat.is_some_and(|b| b > 0.0));

        // Pressed at fret 22: 181.76 mm long, the pickup 160 mm from the bridge. By hand: bridge
        // 3.1 mm, nut 0.5 mm, open height 2.458 mm, pressed 0.371 mm, so 2.087 mm lower.
        let [open, last] = study.frets;
        assert_eq!((open.fret, open.gap, last.fret), (0, Some(4e-3), 22));
        let length = 0.6477 / 2.0_f64.powf(22.0 / 12.0);
        let gap = last.gap.expect("at rest");
        let free =
            4e-3 + study.sag - (3.1e-3 - 2.6e-3 * 0.16 / 0.6477 - 3.1e-3 * (1.0 - 0.16 / length));
        let rest = free - compliance(length, g3.tension, 0.16) * 0.08 * (-gap / 1.5e-3).exp();
        // The curve is good to some 1e-6 of 80 mN, times the give of 0.26 mm/N.
        assert!((gap - rest).abs() < 1e-9, "{gap} {rest}");
        assert!((gap - 1.91e-3).abs() < 0.02e-3, "{gap}");
        let swing = 1e-3 * (PI * 0.16 / length).sin();
        assert!(last.clearance.is_some_and(|c| (c - (gap - swing)).abs() < 1e-15));

        // Every fret, and the worst of them.
        let frets: Vec<u32> = study.every_fret.iter().map(|f| f.fret).collect();
        assert_eq!(frets, (0..=22).collect::<Vec<u32>>());
        assert_eq!(study.every_fret[22].gap, last.gap);
        let largest = study.every_fret.iter().map(|f| f.worst.cents.abs()).fold(0.0, f64::max);
        assert_eq!(largest, study.worst.cents.abs());
        // An octave up: half the length.
        let octave = study.every_fret[12];
        assert!((octave.length - 0.5 * 0.6477).abs() < 1e-12);
        assert!((octave.pitch - 2.0 * g3.pitch).abs() < 1e-9);

        // At the nearest gap the limit is met, and a little closer it is not.
        let NearestGap::At(nearest) = study.nearest else { unreachable!("{:?}", study.nearest) };
        let at = |gap: f64| {
            let strung = Strung { gap, spec: g3.at(gap, 0.0), ..g3.clone() };
            one(&strung, &instrument, &OPTIONS, model(0.08, 1.5e-3)).expect("works").worst
        };
        assert!(at(nearest + 1e-6).cents.abs() <= 1.0, "{:?}", at(nearest + 1e-6));
        assert!(at(nearest - 3e-6).cents.abs() > 1.0, "{:?}", at(nearest - 3e-6));
        // The string is worst where it comes nearest or where the pickup is at its middle, not open.
        assert!(study.worst.fret > 0);
    }

    #[test]
    fn a_pull_too_strong_has_no_rest() {
        let (_, instrument, strings) = setup();
        // Next to nothing at 4 mm, but steeper at 2 mm, where the string is when it is pressed at the
        // last fret, than its give of 0.26 mm/N allows.
        let study = one(&strings[0], &instrument, &OPTIONS, model(3000.0, 0.3e-3)).expect("works");
        assert!(study.sag < 0.01e-3 && study.frets[0].gap.is_some());
        assert_eq!(study.frets[1].gap, None);
        assert_eq!(study.worst.cents, f64::NEG_INFINITY);
        assert!(!matches!(study.nearest, NearestGap::BelowLimitAt(_)));
    }

    /// A real rod: pull and gradient between the gaps at which the string was coupled are those of a
    /// coupling there.
    #[test]
    fn a_rod_and_a_string() {
        let (section, instrument, strings) = setup();
        let options = PullOptions { gaps: vec![1.1e-3, 2.3e-3], ..OPTIONS };
        let library = Library::built_in();
        let all = pull(&section, &library, &instrument, &strings, &options).expect("solves");
        let study = &all[0];
        assert!(study.own.pull[1] < 0.0 && study.own.gradient[1][1] > 0.0);
        assert!(study.own.gradient[0][0] < 0.0, "{:?}", study.own.gradient);
        assert_eq!(study.at_gaps.len(), 2);
        let pulls: Vec<f64> = study.at_gaps.iter().map(|(_, at)| -at.pull[1]).collect();
        assert!(pulls[0] > pulls[1] && pulls[1] > -study.own.pull[1]);
        assert!(study.truncation < 1e-3, "{}", study.truncation);
        assert!(matches!(study.nearest, NearestGap::At(_)), "{:?}", study.nearest);
    }

    /// Over a row, what `solve` tells of the string at its gap, and gaps lower than the highest pole.
    #[test]
    fn a_string_over_a_row() {
        let over = string_over(2, "G3", "0.017 in", "2 mm");
        let keys = "count = 3\npitch = \"10 mm\"\nstagger = [\"0.6 mm\", \"0 mm\", \"0.3 mm\"]";
        let text = row_under(keys, &[over]).replace("mesh_scale = 2", "mesh_scale = 1");
        let library = Library::built_in();
        let section = parse(&text).section;
        let instrument = parse_instrument(INSTRUMENT).instrument;
        let (strings, _) = strung(&section, &instrument).expect("match");
        let options = PullOptions { gaps: vec![0.4e-3, 2e-3], ..OPTIONS };
        let all = pull(&section, &library, &instrument, &strings, &options).expect("solves");
        let study = &all[0];
        let prepared = crate::pipeline::prepare(&text, &library).expect("no mistakes");
        let own = crate::pipeline::solve(&prepared).expect("solves").quantities;
        // The field is sampled along another line. A mesh of half the size changes both gradients by less
        // than 8e-4 and both pulls by 1e-3.
        let off = |a: f64, b: f64| (a / b - 1.0).abs();
        assert!(off(study.own.pull[1], own.strings[0].pull[1]) < 1e-3);
        let gradient = own.strings[0].pull_gradient;
        assert!(off(study.own.gradient[1][1], gradient[1][1]) < 1e-3);
        assert_eq!(study.at_gaps.len(), 2);
        assert!(study.at_gaps[0].1.pull[1] < 2.0 * study.own.pull[1], "{:?}", study.at_gaps);
        // From 0.3 mm on, where segments of the string that change with the gap show, by a thousandth.
        assert!(study.truncation < 3e-3, "{}", study.truncation);
        // Poles that are charged alike weaken each other: one by itself pulls harder.
        let lone = parse(&under(&[string("G3", "0.017 in", "2 mm")])).section;
        let (strings, _) = strung(&lone, &instrument).expect("match");
        let lone = pull(&lone, &library, &instrument, &strings, &OPTIONS).expect("solves");
        assert!(lone[0].own.pull[1] < 1.01 * study.own.pull[1]);
    }
}
