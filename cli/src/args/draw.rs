//! `lodestring draw`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

/// Draw a section, its mesh or its field as SVG or PNG
///
/// Parts are to scale and told apart by hatching and name as well as by colour. Between every two
/// flux lines runs the same flux, which the picture states. `--show section` needs no solve.
#[derive(Debug, Args)]
pub struct Draw {
    /// Section file; `-` reads standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,

    /// Picture to write, ending in `.svg` or `.png`; `-` is standard output, as SVG
    #[arg(long, value_name = "FILE")]
    pub out: PathBuf,

    /// What to draw
    #[arg(long, value_enum, value_name = "WHAT", default_value_t = Show::Section)]
    pub show: Show,

    /// Show only this: the name of a part, coil, string or probe, or four lengths
    ///
    /// The lengths are left, bottom, right and top of a box, as in `--zoom=-5mm,-2mm,5mm,6mm`.
    #[arg(long, value_name = "WHERE", allow_hyphen_values = true)]
    pub zoom: Option<String>,

    /// About how many flux lines to draw; 24 or 10 if left out
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=400))]
    pub lines: Option<u16>,

    /// For `--show saturation`: from which share of saturation to warn, in per cent
    #[arg(long, value_name = "PERCENT", default_value_t = 90, value_parser = clap::value_parser!(u8).range(1..=99))]
    pub share: u8,

    /// Light on dark, for screens
    #[arg(long)]
    pub dark: bool,

    /// Width of the picture in pixels
    #[arg(long, value_name = "PIXELS", default_value_t = 960, value_parser = clap::value_parser!(u16).range(360..=4000))]
    pub width: u16,

    /// Make a PNG this many times larger, line widths and type included
    #[arg(long, value_name = "TIMES", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=8))]
    pub enlarge: u8,
}

/// What can be drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum Show {
    /// The parts, named, with their main dimensions
    Section,
    /// The triangles
    Mesh,
    /// Where the flux goes
    Flux,
    /// How strong the field is
    Density,
    /// Where steel is near saturation
    Saturation,
}
