//! The sheet a drawing stands on: title, frame with a millimetre scale along two edges, a column
//! with the key on the right (below on narrow sheets), and a caption.

use crate::point::Point;
use crate::report::picture::labels::Frame;
use crate::report::picture::steps::round_down;
use crate::report::picture::svg::{Escaped, N, Svg, Type};
use crate::report::picture::text::{BOLD, fitted, width, wrapped};
use crate::report::picture::theme::{Palette, Theme};
use crate::report::picture::view::{View, Window};

/// Type size and line height of the title, and line height of what is under it, px.
const TITLE: f64 = 20.0;
const TITLE_LINE: f64 = 25.0;
const KIND_LINE: f64 = 17.0;
/// Empty room around everything, px.
const MARGIN: f64 = 22.0;
/// Room left of the frame for the scale's numbers, px.
const LEFT: f64 = 46.0;
/// Width of the key, px.
pub(super) const KEY: f64 = 232.0;
/// Room between frame and key, px.
const GUTTER: f64 = 22.0;
/// Narrower sheets have the key below the frame, px.
const NARROW: f64 = 640.0;
/// Least and largest height of the frame relative to its width.
const HEIGHTS: [f64; 2] = [0.42, 1.15];

/// How a picture is to look.
#[derive(Clone, Debug)]
pub struct Look {
    /// Light or dark paper.
    pub theme: Theme,
    /// Width of the whole picture, px; 360 to 4000.
    pub width: f64,
    /// Begins every id in the SVG, so that several pictures can stand on one page. Letters, digits
    /// and `-`.
    pub id: String,
}

impl Default for Look {
    fn default() -> Self {
        Self { theme: Theme::Light, width: 960.0, id: "picture".into() }
    }
}

/// A finished picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// The SVG text.
    pub svg: String,
    /// Width, px.
    pub width: u32,
    /// Height, px.
    pub height: u32,
}

/// A picture in the making.
#[derive(Debug)]
pub(super) struct Sheet {
    /// Colours.
    pub palette: Palette,
    /// What is shown where.
    pub view: View,
    /// Patterns.
    pub defs: Svg,
    /// Drawn inside the frame, cut at its edge.
    pub inside: Svg,
    /// Drawn over everything.
    pub over: Svg,
    /// The key.
    pub key: Svg,
    /// Next free line of the key, px.
    pub key_y: f64,
    /// Prefix of ids.
    pub id: String,
    key_x: f64,
    width: f64,
    /// The title as it is heard.
    said: String,
    /// The title and what is to be seen, in lines.
    title: Vec<String>,
    kind: Vec<String>,
    caption: Vec<String>,
}

impl Sheet {
    /// A sheet that shows `window` at least, under the title `said`. `kind` says what is to be seen.
    pub(super) fn new(said: &str, kind: &str, window: Window, look: &Look) -> Self {
        let width =
            if look.width.is_finite() { look.width.clamp(360.0, 4000.0).round() } else { 960.0 };
        let narrow = width < NARROW;
        let beside = if narrow { 0.0 } else { KEY + GUTTER };
        let frame_width = width - LEFT - MARGIN - beside;
        let room = width - LEFT - MARGIN;
        let title = wrapped(said, TITLE * BOLD, room, 2);
        let kind = wrapped(kind, 13.0, room, 2);
        let more = |lines: &[String], high: f64| high * lines.len().saturating_sub(1) as f64;
        let top = MARGIN + 56.0 + more(&title, TITLE_LINE) + more(&kind, KIND_LINE);
        let view = View::fit(
            window,
            [LEFT, top],
            frame_width,
            (HEIGHTS[0] * frame_width).round(),
            (HEIGHTS[1] * frame_width).round(),
        );
        let (key_x, key_y) = if narrow {
            (LEFT, view.bottom_px() + 44.0)
        } else {
            (view.right_px() + GUTTER, top + 10.0)
        };
        let id: String =
            look.id.chars().filter(|c| c.is_ascii_alphanumeric() || *c == '-').take(40).collect();
        Self {
            palette: Palette::new(look.theme),
            view,
            defs: Svg::default(),
            inside: Svg::default(),
            over: Svg::default(),
            key: Svg::default(),
            key_y,
            id,
            key_x,
            width,
            said: said.to_owned(),
            title,
            kind,
            caption: Vec::new(),
        }
    }

    /// The frame on the picture.
    pub(super) fn frame(&self) -> Frame {
        let v = &self.view;
        Frame { left: v.left_px, top: v.top_px, right: v.right_px(), bottom: v.bottom_px() }
    }

    /// Left edge of the key, px.
    pub(super) fn key_x(&self) -> f64 {
        self.key_x
    }

    /// A heading in the key.
    pub(super) fn key_heading(&mut self, text: &str) {
        let style = Type { bold: true, ..Type::new(13.0, &self.palette.ink) };
        self.key.line_of_type([self.key_x, self.key_y], &fitted(text, 13.0, true, KEY), &style);
        self.key_y += 19.0;
    }

    /// A line of type in the key, `indent` px from its edge.
    pub(super) fn key_line(&mut self, text: &str, indent: f64, strong: bool) {
        let colour = if strong { &self.palette.ink } else { &self.palette.muted };
        let style = Type::new(12.0, colour);
        let text = fitted(text, 12.0, false, KEY - indent);
        self.key.line_of_type([self.key_x + indent, self.key_y], &text, &style);
        self.key_y += 15.5;
    }

    /// As [`Self::key_line`], on as many lines as it takes, at most four.
    pub(super) fn key_lines(&mut self, text: &str, indent: f64, strong: bool) {
        for line in wrapped(text, 12.0, KEY - indent, 4) {
            self.key_line(&line, indent, strong);
        }
    }

    /// Empty room in the key.
    pub(super) fn key_space(&mut self, room: f64) {
        self.key_y += room;
    }

    /// A sentence under the drawing.
    pub(super) fn caption(&mut self, text: impl Into<String>) {
        self.caption.push(text.into());
    }

    /// Puts everything together.
    pub(super) fn finish(mut self) -> Picture {
        self.scale_along_edges();
        let mut y = self.view.bottom_px() + 40.0;
        let mut lines = Svg::default();
        let style = Type::new(13.0, &self.palette.ink);
        let narrow = self.width < NARROW;
        if narrow {
            y = self.key_y + 16.0;
        }
        let room = if narrow { self.width - LEFT - MARGIN } else { self.view.width_px() };
        for sentence in &self.caption {
            for line in wrapped(sentence, 13.0, room, 6) {
                lines.line_of_type([LEFT, y], &line, &style);
                y += 19.0;
            }
        }
        let height = (y.max(self.key_y) + MARGIN - 8.0).ceil();
        let (width, p, v) = (self.width, &self.palette, &self.view);
        let mut svg = Svg::default();
        svg.put(format_args!(
            concat!(
                r#"<svg xmlns="http://www.w3.org/2000/svg" width="{w}" height="{h}" viewBox="0 0 {w} {h}" "#,
                r#"role="img" aria-labelledby="{id}-title {id}-desc" "#,
                r#"font-family="DejaVu Sans, Verdana, sans-serif" "#,
                r#"data-window-mm="{} {} {} {}" data-px-per-mm="{}">"#,
                "\n<title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-desc\">{}</desc>\n"
            ),
            v.window.left * 1e3,
            v.window.bottom * 1e3,
            v.window.right * 1e3,
            v.window.top * 1e3,
            v.scale * 1e-3,
            Escaped(&self.said),
            Escaped(&std::iter::once(&self.kind.join(" ")).chain(&self.caption).map(String::as_str).collect::<Vec<_>>().join(". ")),
            w = N(width),
            h = N(height),
            id = self.id,
        ));
        svg.put(format_args!(
            "<defs>\n<clipPath id=\"{}-frame\">{}</clipPath>\n",
            self.id,
            rectangle(v, "")
        ));
        svg.append(&self.defs);
        svg.put(format_args!("</defs>\n"));
        svg.put(format_args!(
            "<rect width=\"{}\" height=\"{}\" fill=\"{}\"/>\n",
            N(width),
            N(height),
            p.paper
        ));
        let title = Type { bold: true, ..Type::new(TITLE, &p.ink) };
        let mut y = MARGIN + 18.0;
        for line in &self.title {
            svg.line_of_type([LEFT, y], line, &title);
            y += TITLE_LINE;
        }
        let kind = Type::new(13.0, &p.muted);
        y = MARGIN + 39.0 + TITLE_LINE * self.title.len().saturating_sub(1) as f64;
        for line in &self.kind {
            svg.line_of_type([LEFT, y], line, &kind);
            y += KIND_LINE;
        }
        svg.put(format_args!("{}\n", rectangle(v, &format!(r#" fill="{}""#, p.ground))));
        svg.put(format_args!("<g clip-path=\"url(#{}-frame)\">\n", self.id));
        svg.append(&self.inside);
        svg.put(format_args!("</g>\n"));
        svg.put(format_args!(
            "{}\n",
            rectangle(v, &format!(r#" data-layer="frame" fill="none" stroke="{}""#, p.rule))
        ));
        svg.append(&self.over);
        svg.append(&self.key);
        svg.append(&lines);
        svg.put(format_args!("</svg>\n"));
        Picture { svg: svg.into_text(), width: width as u32, height: height as u32 }
    }

    /// Ticks and millimetres along the bottom and the left edge.
    fn scale_along_edges(&mut self) {
        let v = self.view;
        let step = round_down(110.0 / v.scale);
        if step <= 0.0 {
            return;
        }
        let decimals = (-(step * 1e3).log10().floor()).clamp(0.0, 9.0) as usize;
        let written = |k: i64| {
            let text = format!("{:.decimals$}", k as f64 * step * 1e3);
            if k == 0 { "0".to_owned() } else { text.replace('-', "\u{2212}") }
        };
        let style = Type { anchor: "middle", ..Type::new(11.0, &self.palette.muted) };
        let right = Type { anchor: "end", ..style };
        let mut ticks = String::new();
        let inside =
            |low: f64, high: f64| (low / step).ceil() as i64..=(high / step).floor() as i64;
        let unit = width("mm", 11.0, false);
        for k in inside(v.window.left, v.window.right) {
            let [x, _] = v.place(Point::new(k as f64 * step, 0.0));
            let y = v.bottom_px();
            ticks.push_str(&format!("M{} {}V{}", N(x), N(y), N(y + 5.0)));
            let text = written(k);
            // The unit stands at the right end.
            if x + 0.5 * width(&text, 11.0, false) < v.right_px() - unit - 4.0 {
                self.over.line_of_type([x, y + 17.0], &text, &style);
            }
        }
        for k in inside(v.window.bottom, v.window.top) {
            let [_, y] = v.place(Point::new(0.0, k as f64 * step));
            ticks.push_str(&format!("M{} {}H{}", N(v.left_px), N(y), N(v.left_px - 5.0)));
            self.over.line_of_type([v.left_px - 8.0, y + 4.0], &written(k), &right);
        }
        self.over.line_of_type([v.right_px(), v.bottom_px() + 17.0], "mm", &right);
        self.over.put(format_args!(
            "<path d=\"{ticks}\" stroke=\"{}\" fill=\"none\"/>\n",
            self.palette.muted
        ));
    }
}

fn rectangle(v: &View, more: &str) -> String {
    format!(
        r#"<rect x="{}" y="{}" width="{}" height="{}"{more}/>"#,
        N(v.left_px),
        N(v.top_px),
        N(v.width_px()),
        N(v.height_px())
    )
}
