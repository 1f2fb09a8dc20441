//! Colours of a picture on light and on dark paper.
//!
//! Type and lines keep a contrast of at least 4.5 to the paper; materials differ little in
//! lightness, so that what is drawn over them stays legible everywhere.

use crate::report::picture::oklab::Colour;

/// Light or dark paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Theme {
    /// Dark on light, for print.
    #[default]
    Light,
    /// Light on dark, for screens.
    Dark,
}

/// The colours of a theme, as `#rrggbb`.
#[derive(Clone, Debug)]
pub(super) struct Palette {
    /// True on dark paper.
    pub dark: bool,
    /// Around the drawing.
    pub paper: String,
    /// Under the drawing.
    pub ground: String,
    /// Type and outlines.
    pub ink: String,
    /// Type of less weight, dimension lines.
    pub muted: String,
    /// Frame and rules.
    pub rule: String,
    /// Flux lines.
    pub flux: String,
    /// What is to be looked at: too much, too near.
    pub alert: String,
}

impl Palette {
    /// The colours of `theme`.
    pub(super) fn new(theme: Theme) -> Self {
        let colour = |light: [f64; 3], dark: [f64; 3]| {
            let [l, c, h] = if theme == Theme::Dark { dark } else { light };
            Colour::oklch(l, c, h).hex()
        };
        Self {
            dark: theme == Theme::Dark,
            paper: colour([0.985, 0.004, 85.0], [0.20, 0.012, 250.0]),
            ground: colour([1.0, 0.0, 0.0], [0.165, 0.012, 250.0]),
            ink: colour([0.24, 0.02, 255.0], [0.95, 0.006, 85.0]),
            muted: colour([0.47, 0.02, 255.0], [0.74, 0.012, 85.0]),
            rule: colour([0.83, 0.008, 85.0], [0.38, 0.012, 250.0]),
            flux: colour([0.43, 0.17, 262.0], [0.82, 0.11, 225.0]),
            alert: colour([0.50, 0.19, 25.0], [0.76, 0.15, 30.0]),
        }
    }

    /// Pale fill of a material with this hue (degrees).
    pub(super) fn tint(&self, hue: f64) -> String {
        let [l, c] = if self.dark { [0.34, 0.05] } else { [0.925, 0.045] };
        Colour::oklch(l, c, hue).hex()
    }

    /// Hatch lines of a material with this hue (degrees).
    pub(super) fn hatch(&self, hue: f64) -> String {
        let [l, c] = if self.dark { [0.56, 0.07] } else { [0.70, 0.075] };
        Colour::oklch(l, c, hue).hex()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(hex: &str) -> Colour {
        let part = |i: usize| u8::from_str_radix(&hex[i..i + 2], 16).unwrap_or_default();
        Colour([part(1), part(3), part(5)])
    }

    #[test]
    fn type_and_flux_lines_stand_out_from_paper_and_materials() {
        for theme in [Theme::Light, Theme::Dark] {
            let p = Palette::new(theme);
            let grounds = [&p.paper, &p.ground].map(|c| read(c));
            let tints = (0..12).map(|i| read(&p.tint(30.0 * f64::from(i))));
            for under in grounds.into_iter().chain(tints) {
                // WCAG 2 level AA: 4.5 for type, 3 for lines.
                assert!(read(&p.ink).contrast(under) > 4.5, "{theme:?} ink on {}", under.hex());
                assert!(read(&p.flux).contrast(under) > 4.5, "{theme:?} flux on {}", under.hex());
                assert!(read(&p.muted).contrast(under) > 4.0, "{theme:?} muted on {}", under.hex());
            }
            assert!(read(&p.muted).contrast(grounds[0]) > 4.5);
            assert!(read(&p.alert).contrast(grounds[0]) > 4.5);
        }
    }
}
