//! Writing SVG: numbers, escaped text, elements.
//!
//! Coordinates are px with two decimals; a picture holds no style sheet, script or link, so that
//! it can be shown alone, inside a page, or turned into pixels.

use std::fmt::{self, Display, Write as _};

use crate::report::picture::text::plain;

/// A growing SVG text.
#[derive(Clone, Debug, Default)]
pub(super) struct Svg {
    text: String,
}

impl Svg {
    /// Appends.
    pub(super) fn put(&mut self, what: fmt::Arguments<'_>) {
        // Writing to a String does not fail.
        let _ = self.text.write_fmt(what);
    }

    /// Appends another piece.
    pub(super) fn append(&mut self, other: &Self) {
        self.text.push_str(&other.text);
    }

    /// The text so far.
    pub(super) fn into_text(self) -> String {
        self.text
    }

    /// A line of type: its anchor is `start`, `middle` or `end`.
    pub(super) fn line_of_type(&mut self, at: [f64; 2], text: &str, style: &Type<'_>) {
        let Type { size, bold, fill, anchor, halo, turned } = *style;
        let [x, y] = at;
        self.put(format_args!(r#"<text x="{}" y="{}" font-size="{}""#, N(x), N(y), N(size)));
        if turned {
            self.put(format_args!(r#" transform="rotate(-90 {} {})""#, N(x), N(y)));
        }
        if bold {
            self.put(format_args!(r#" font-weight="bold""#));
        }
        if anchor != "start" {
            self.put(format_args!(r#" text-anchor="{anchor}""#));
        }
        if let Some(halo) = halo {
            self.put(format_args!(
                r#" stroke="{halo}" stroke-width="3.5" stroke-linejoin="round" paint-order="stroke""#
            ));
        }
        self.put(format_args!(r#" fill="{fill}">{}</text>"#, Escaped(text)));
        self.text.push('\n');
    }
}

/// How a line of type looks.
#[derive(Clone, Copy, Debug)]
pub(super) struct Type<'a> {
    /// Type size, px.
    pub size: f64,
    /// Heavier.
    pub bold: bool,
    /// Colour.
    pub fill: &'a str,
    /// `start`, `middle` or `end`.
    pub anchor: &'a str,
    /// Colour of a rim that parts the letters from what lies under them.
    pub halo: Option<&'a str>,
    /// Reads upward.
    pub turned: bool,
}

impl<'a> Type<'a> {
    /// Type of this size and colour, from the left, without rim.
    pub(super) fn new(size: f64, fill: &'a str) -> Self {
        Self { size, bold: false, fill, anchor: "start", halo: None, turned: false }
    }
}

/// A coordinate with at most two decimals.
pub(super) struct N(pub f64);

impl Display for N {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let hundredths = (self.0 * 100.0).round();
        if !hundredths.is_finite() {
            return f.write_str("0");
        }
        let hundredths = hundredths.clamp(-1e15, 1e15) as i64;
        let (whole, part) = (hundredths.unsigned_abs() / 100, hundredths.unsigned_abs() % 100);
        if hundredths < 0 {
            f.write_str("-")?;
        }
        write!(f, "{whole}")?;
        match part {
            0 => Ok(()),
            p if p % 10 == 0 => write!(f, ".{}", p / 10),
            p => write!(f, ".{p:02}"),
        }
    }
}

/// Text as the content or attribute of an element: one line, markup escaped.
pub(super) struct Escaped<'a>(pub &'a str);

impl Display for Escaped<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for c in plain(self.0).chars() {
            match c {
                '&' => f.write_str("&amp;")?,
                '<' => f.write_str("&lt;")?,
                '>' => f.write_str("&gt;")?,
                '"' => f.write_str("&quot;")?,
                '\'' => f.write_str("&#39;")?,
                c => f.write_char(c)?,
            }
        }
        Ok(())
    }
}

/// A polyline as path data, px.
pub(super) struct Polyline<'a> {
    /// Places, px.
    pub places: &'a [[f64; 2]],
    /// Joins the last place to the first.
    pub closed: bool,
}

impl Display for Polyline<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, [x, y]) in self.places.iter().enumerate() {
            let letter = match i {
                0 => "M",
                1 => "L",
                _ => " ",
            };
            write!(f, "{letter}{} {}", N(*x), N(*y))?;
        }
        if self.closed { f.write_str("Z") } else { Ok(()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_rounded() {
        for (x, text) in
            [(1.0, "1"), (-0.5, "-0.5"), (3.216, "3.22"), (0.004, "0"), (-0.05, "-0.05")]
        {
            assert_eq!(N(x).to_string(), text);
        }
        assert_eq!(N(f64::NAN).to_string(), "0");
    }

    #[test]
    fn markup_is_harmless() {
        let said = Escaped("</text><script>alert('1\")</script>&\u{0}").to_string();
        assert_eq!(
            said,
            "&lt;/text&gt;&lt;script&gt;alert(&#39;1&quot;)&lt;/script&gt;&amp;\u{fffd}"
        );
    }
}
