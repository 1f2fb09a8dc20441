//! `lodestring signal`.

use std::path::PathBuf;

use clap::Args;

use super::Output;
use super::circuit::Circuit;

/// Tell the voltage of a plucked string, and write its sound
///
/// Harmonics, level in mV and dB, distortion against amplitude, the sound as WAV and CSV.
///
/// The flux is taken as a function of both displacements of the string, not as a straight line, so
/// that the harmonics a pickup adds are there. The strings must run over a round pole or in the
/// plane of the section.
#[derive(Debug, Args)]
pub struct Signal {
    /// Section file; `-` reads standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Instrument file: scale, frets, action, strings and their pitches
    #[arg(long, value_name = "FILE")]
    pub instrument: PathBuf,

    /// The string; may be left out where the section has only one
    #[arg(long, value_name = "NAME")]
    pub string: Option<String>,

    /// The coil; may be left out where the section has only one
    #[arg(long, hide_short_help = true, value_name = "NAME")]
    pub coil: Option<String>,

    /// Fret at which the string is pressed; 0 is the open string
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub fret: u32,

    /// Where it is plucked, from the bridge
    #[arg(long, value_name = "LENGTH", default_value = "120 mm")]
    pub pluck: String,

    /// How far it is pulled aside there
    #[arg(long, value_name = "LENGTH", default_value = "0.5 mm")]
    pub height: String,

    /// Direction of the pull, degrees from straight up
    #[arg(
        long,
        hide_short_help = true,
        value_name = "DEGREES",
        default_value_t = 45.0,
        allow_negative_numbers = true
    )]
    pub angle: f64,

    /// Width of what plucks it
    #[arg(long, hide_short_help = true, value_name = "LENGTH", default_value = "2 mm")]
    pub width: String,

    /// Seconds in which the sound falls to 1/e; without it, it does not decay
    #[arg(long, hide_short_help = true, value_name = "SECONDS")]
    pub decay: Option<f64>,

    /// Amplitudes over the pickup at which the distortion is told
    #[arg(
        long,
        hide_short_help = true,
        value_name = "LENGTHS",
        default_value = "0.1 mm, 0.2 mm, 0.5 mm"
    )]
    pub amplitudes: String,

    /// Number of harmonics told
    #[arg(long, hide_short_help = true, value_name = "N", default_value_t = 12,
          value_parser = clap::value_parser!(u16).range(1..=500))]
    pub harmonics: u16,

    /// Form and place of the report.
    #[command(flatten)]
    pub output: Output,

    /// The sound.
    #[command(flatten)]
    pub sound: Sound,

    /// What hangs on the coil.
    #[command(flatten)]
    pub circuit: Circuit,
}

/// Options of the sound.
#[derive(Debug, Args)]
pub struct Sound {
    /// Write the sound to this file, as 16-bit WAV
    #[arg(long, value_name = "FILE")]
    pub wav: Option<PathBuf>,

    /// Write the voltage against time to this file, as CSV
    #[arg(long, value_name = "FILE")]
    pub voltage: Option<PathBuf>,

    /// Voltage of the largest WAV sample, in millivolt; without it the sound fills the range
    #[arg(long, hide_short_help = true, value_name = "MV")]
    pub full_scale: Option<f64>,

    /// Length of the sound, in seconds
    #[arg(long, hide_short_help = true, value_name = "SECONDS", default_value_t = 2.0)]
    pub duration: f64,

    /// Samples a second
    #[arg(long, hide_short_help = true, value_name = "N", default_value_t = 48_000,
          value_parser = clap::value_parser!(u32).range(8_000..=384_000))]
    pub rate: u32,
}
