//! Colours by how they look: OKLab to sRGB and back, difference, contrast.
//!
//! In: lightness L (0 black, 1 white), chroma and hue in OKLab [Ottosson2020]. Out: 8-bit sRGB
//! (IEC 61966-2-1). Equal distances in OKLab look about equally far apart; L alone is what is left
//! in greyscale. Contrast is that of WCAG 2: (Y1 + 0.05) / (Y2 + 0.05) of relative luminances.

/// A colour as 8-bit sRGB.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Colour(pub [u8; 3]);

impl Colour {
    /// From OKLab lightness, chroma and hue (degrees). Chroma is lowered to what sRGB can show.
    pub fn oklch(lightness: f64, chroma: f64, hue: f64) -> Self {
        let (a, b) = (libm::cos(hue.to_radians()), libm::sin(hue.to_radians()));
        let (mut low, mut high) = (0.0, chroma);
        if in_gamut([lightness, high * a, high * b]) {
            low = high;
        }
        for _ in 0..24 {
            let middle = 0.5 * (low + high);
            if in_gamut([lightness, middle * a, middle * b]) {
                low = middle;
            } else {
                high = middle;
            }
        }
        Self::oklab([lightness, low * a, low * b])
    }

    /// From OKLab (L, a, b); components outside sRGB are clipped.
    pub fn oklab(lab: [f64; 3]) -> Self {
        Self(linear_rgb(lab).map(|c| {
            let c = c.clamp(0.0, 1.0);
            let encoded =
                if c <= 0.003_130_8 { 12.92 * c } else { 1.055 * libm::pow(c, 1.0 / 2.4) - 0.055 };
            (encoded * 255.0).round() as u8
        }))
    }

    /// OKLab (L, a, b).
    pub fn to_oklab(self) -> [f64; 3] {
        let [r, g, b] = self.linear();
        let l = libm::cbrt(0.412_221_470_8 * r + 0.536_332_536_3 * g + 0.051_445_992_9 * b);
        let m = libm::cbrt(0.211_903_498_2 * r + 0.680_699_545_1 * g + 0.107_396_956_6 * b);
        let s = libm::cbrt(0.088_302_461_9 * r + 0.281_718_837_6 * g + 0.629_978_700_5 * b);
        [
            0.210_454_255_3 * l + 0.793_617_785_0 * m - 0.004_072_046_8 * s,
            1.977_998_495_1 * l - 2.428_592_205_0 * m + 0.450_593_709_9 * s,
            0.025_904_037_1 * l + 0.782_771_766_2 * m - 0.808_675_766_0 * s,
        ]
    }

    /// As `#rrggbb`.
    pub fn hex(self) -> String {
        let [r, g, b] = self.0;
        format!("#{r:02x}{g:02x}{b:02x}")
    }

    /// Contrast ratio with `other`, 1 to 21.
    pub fn contrast(self, other: Self) -> f64 {
        let (a, b) = (self.luminance() + 0.05, other.luminance() + 0.05);
        if a > b { a / b } else { b / a }
    }

    /// Distance to `other` in OKLab.
    pub fn difference(self, other: Self) -> f64 {
        let (p, q) = (self.to_oklab(), other.to_oklab());
        p.iter().zip(q).map(|(p, q)| (p - q) * (p - q)).sum::<f64>().sqrt()
    }

    fn linear(self) -> [f64; 3] {
        self.0.map(|c| {
            let c = f64::from(c) / 255.0;
            if c <= 0.040_45 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) }
        })
    }

    fn luminance(self) -> f64 {
        let [r, g, b] = self.linear();
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }
}

fn in_gamut(lab: [f64; 3]) -> bool {
    linear_rgb(lab).iter().all(|c| (-1e-6..=1.0 + 1e-6).contains(c))
}

fn linear_rgb([l, a, b]: [f64; 3]) -> [f64; 3] {
    let cube = |x: f64| x * x * x;
    let long = cube(l + 0.396_337_777_4 * a + 0.215_803_757_3 * b);
    let medium = cube(l - 0.105_561_345_8 * a - 0.063_854_172_8 * b);
    let short = cube(l - 0.089_484_177_5 * a - 1.291_485_548_0 * b);
    [
        4.076_741_662_1 * long - 3.307_711_591_3 * medium + 0.230_969_929_2 * short,
        -1.268_438_004_6 * long + 2.609_757_401_1 * medium - 0.341_319_396_5 * short,
        -0.004_196_086_3 * long - 0.703_418_614_7 * medium + 1.707_614_701_0 * short,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grey_has_no_chroma_and_white_is_white() {
        assert_eq!(Colour::oklch(1.0, 0.0, 0.0).hex(), "#ffffff");
        assert_eq!(Colour::oklch(0.0, 0.0, 0.0).hex(), "#000000");
        let [_, a, b] = Colour([119, 119, 119]).to_oklab();
        // The published matrices are rounded to ten digits.
        assert!(a.abs() < 1e-6 && b.abs() < 1e-6, "{a} {b}");
    }

    #[test]
    fn there_and_back() {
        for rgb in [[12, 200, 90], [255, 0, 0], [0, 0, 255], [17, 34, 51], [250, 240, 3]] {
            assert_eq!(Colour::oklab(Colour(rgb).to_oklab()), Colour(rgb));
        }
    }

    #[test]
    fn contrast_of_black_on_white_is_21() {
        let ratio = Colour([0; 3]).contrast(Colour([255; 3]));
        assert!((ratio - 21.0).abs() < 1e-12, "{ratio}");
    }
}
