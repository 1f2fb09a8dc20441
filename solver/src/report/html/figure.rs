//! A picture in a page: in the reader's light or dark, wide or narrow.
//!
//! The same drawing is made on light and on dark paper. The two differ in their colours alone, so
//! the page holds one of them, with each pair of colours under a name that the style sheet gives
//! the reader's one. Should they differ in more, the page holds both and shows one.

use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::report::picture::{Look, Picture, Theme};

/// Widths of a picture: on screens and paper, and on phones, px.
const WIDTHS: [f64; 2] = [960.0, 360.0];

/// A picture that fits any reader.
#[derive(Clone, Debug)]
pub struct Figure {
    /// Light and dark, for each width.
    drawn: Vec<[Picture; 2]>,
}

impl Figure {
    /// The picture that `draw` makes; `id` tells it from the others on the page.
    pub fn new(id: &str, draw: impl Fn(&Look) -> Picture + Sync) -> Self {
        let looks: Vec<Look> = WIDTHS
            .iter()
            .flat_map(|width| {
                [Theme::Light, Theme::Dark].map(|theme| Look {
                    theme,
                    width: *width,
                    id: format!("{id}-{width}"),
                })
            })
            .collect();
        let mut drawn: Vec<Picture> = looks.par_iter().map(&draw).collect();
        let mut pairs = Vec::new();
        while drawn.len() >= 2 {
            let rest = drawn.split_off(2);
            if let Ok(pair) = <[Picture; 2]>::try_from(drawn) {
                pairs.push(pair);
            }
            drawn = rest;
        }
        Self { drawn: pairs }
    }

    /// The elements of the page: for each width its class and its SVG.
    pub(super) fn elements(&self, colours: &mut Colours) -> Vec<(&'static str, String)> {
        let mut all = Vec::new();
        for (class, [light, dark]) in ["wide", "narrow"].iter().zip(&self.drawn) {
            match colours.merged(&light.svg, &dark.svg) {
                Some(svg) => all.push((*class, svg)),
                None => {
                    let [on_light, on_dark] = match *class {
                        "wide" => ["wide on-light", "wide on-dark"],
                        _ => ["narrow on-light", "narrow on-dark"],
                    };
                    // Two of a kind on a page must not share their ids.
                    let other = dark.svg.replace("id=\"", "id=\"d-").replace("url(#", "url(#d-");
                    let other = other.replace("aria-labelledby=\"", "aria-labelledby=\"d-");
                    all.push((on_light, light.svg.clone()));
                    all.push((on_dark, other));
                }
            }
        }
        all
    }
}

/// Pairs of colours, light and dark, and their numbers.
#[derive(Clone, Debug, Default)]
pub(super) struct Colours {
    numbers: BTreeMap<(String, String), usize>,
}

impl Colours {
    /// One text of two that differ in their colours alone; `None` where they differ in more.
    fn merged(&mut self, light: &str, dark: &str) -> Option<String> {
        let (mut light, mut dark) = (light, dark);
        let mut out = String::with_capacity(light.len());
        loop {
            match (next_colour(light), next_colour(dark)) {
                (Some(a), Some(b)) if light[..a] == dark[..b] => {
                    out.push_str(&light[..a]);
                    let pair = (light[a..a + 7].to_owned(), dark[b..b + 7].to_owned());
                    let count = self.numbers.len();
                    let number = self.numbers.entry(pair).or_insert(count);
                    out.push_str(&format!("var(--k{number})"));
                    (light, dark) = (&light[a + 7..], &dark[b + 7..]);
                }
                (None, None) if light == dark => {
                    out.push_str(light);
                    return Some(out);
                }
                _ => return None,
            }
        }
    }

    /// What the style sheet says of them: on light, and on dark paper.
    pub(super) fn styles(&self) -> [String; 2] {
        let mut styles = [String::new(), String::new()];
        for ((light, dark), number) in &self.numbers {
            styles[0].push_str(&format!("--k{number}:{light};"));
            styles[1].push_str(&format!("--k{number}:{dark};"));
        }
        styles
    }
}

/// Where the next attribute that is a colour, `"#rrggbb"`, has its `#`.
fn next_colour(text: &str) -> Option<usize> {
    let bytes = text.as_bytes();
    let is_colour = |at: usize| {
        bytes.get(at + 1..at + 7).is_some_and(|d| d.iter().all(u8::is_ascii_hexdigit))
            && bytes.get(at + 7) == Some(&b'"')
    };
    text.match_indices("\"#").map(|(at, _)| at + 1).find(|at| is_colour(*at))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pictures_that_differ_in_colour_become_one() {
        let mut colours = Colours::default();
        let light =
            "<rect fill=\"#ffffff\" id=\"a\"/><path fill=\"url(#ffeedd)\" stroke=\"#000000\"/>";
        let dark = light.replace("#ffffff", "#101010").replace("#000000", "#eeeeee");
        let merged = colours.merged(light, &dark);
        let expected =
            "<rect fill=\"var(--k0)\" id=\"a\"/><path fill=\"url(#ffeedd)\" stroke=\"var(--k1)\"/>";
        assert_eq!(merged.as_deref(), Some(expected));
        assert_eq!(colours.styles()[1], "--k1:#eeeeee;--k0:#101010;");
        assert_eq!(colours.merged(light, &dark.replace("rect", "path")), None);
    }
}
