//! Hatching: eight ways to fill a part that differ in form, so that materials are told apart
//! without colour.

use crate::report::picture::svg::{Escaped, Svg};
use crate::report::picture::theme::Palette;

/// A way to fill a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Hatch {
    /// Lines that rise to the right.
    Rising,
    /// Lines that fall to the right.
    Falling,
    /// Both.
    Crossed,
    /// Short level dashes, staggered.
    Dashes,
    /// Rings, as wire ends.
    Rings,
    /// Dots.
    Dots,
    /// Upright lines in pairs.
    Pairs,
    /// Waves.
    Waves,
    /// Nothing but ink; where lines fade away altogether, nothing but the tint.
    Solid,
}

/// What the magnets of a section are filled with, in the order of their materials.
pub(super) const OF_MAGNETS: [(f64, Hatch); 4] =
    [(20.0, Hatch::Dashes), (345.0, Hatch::Waves), (320.0, Hatch::Dots), (5.0, Hatch::Pairs)];
/// What soft parts are filled with.
pub(super) const OF_STEELS: [(f64, Hatch); 4] = [
    (240.0, Hatch::Rising),
    (205.0, Hatch::Falling),
    (275.0, Hatch::Crossed),
    (225.0, Hatch::Pairs),
];
/// What everything else is filled with.
pub(super) const OF_OTHERS: [(f64, Hatch); 4] =
    [(140.0, Hatch::Dots), (170.0, Hatch::Pairs), (110.0, Hatch::Waves), (150.0, Hatch::Falling)];
/// What windings are filled with.
pub(super) const OF_WINDINGS: (f64, Hatch) = (75.0, Hatch::Rings);
/// What strings are filled with.
pub(super) const OF_STRINGS: (f64, Hatch) = (255.0, Hatch::Solid);

impl Hatch {
    /// Writes the pattern `id` in `hue` (degrees). `strength` 1 draws the lines in full, less lets
    /// them fade behind what is drawn over them, 0 leaves the tint alone.
    pub(super) fn define(
        self,
        id: &str,
        hue: f64,
        strength: f64,
        palette: &Palette,
        svg: &mut Svg,
    ) {
        let (w, h, turn) = match self {
            Self::Rising => (6.5, 6.5, -45),
            Self::Falling => (6.5, 6.5, 45),
            Self::Crossed => (9.0, 9.0, 45),
            Self::Dashes => (14.0, 9.0, 0),
            Self::Rings => (8.0, 8.0, 0),
            Self::Dots => (6.0, 6.0, 30),
            Self::Pairs => (10.0, 10.0, 0),
            Self::Waves => (12.0, 7.0, 0),
            Self::Solid => (8.0, 8.0, 0),
        };
        let inked = self == Self::Solid && strength > 0.0;
        let tint = if inked { palette.ink.clone() } else { palette.tint(hue) };
        svg.put(format_args!(
            r#"<pattern id="{}" width="{w}" height="{h}" patternUnits="userSpaceOnUse""#,
            Escaped(id)
        ));
        if turn != 0 {
            svg.put(format_args!(r#" patternTransform="rotate({turn})""#));
        }
        svg.put(format_args!(r#"><rect width="{w}" height="{h}" fill="{tint}"/>"#));
        let line = palette.hatch(hue);
        let path = match self {
            Self::Rising | Self::Falling => "M0 3.25H6.5",
            Self::Crossed => "M0 4.5H9M4.5 0V9",
            Self::Dashes => "M1 2.25H7M8 6.75H14",
            Self::Pairs => "M2 0V10M5 0V10",
            Self::Waves => "M0 3.5C3 0.5 3 0.5 6 3.5S9 6.5 12 3.5",
            Self::Rings | Self::Dots | Self::Solid => "",
        };
        let fade = if strength < 1.0 { format!(r#" opacity="{strength}""#) } else { String::new() };
        match self {
            Self::Rings => svg.put(format_args!(
                r#"<g fill="none" stroke="{line}"{fade}><circle cx="2" cy="2" r="1.6"/><circle cx="6" cy="6" r="1.6"/></g>"#
            )),
            Self::Dots => {
                svg.put(format_args!(r#"<circle cx="3" cy="3" r="1.1" fill="{line}"{fade}/>"#));
            }
            Self::Solid => {}
            _ => svg.put(format_args!(
                r#"<path d="{path}" fill="none" stroke="{line}" stroke-width="1.1"{fade}/>"#
            )),
        }
        svg.put(format_args!("</pattern>\n"));
    }
}
