//! Curves: one set of axes, several series, as SVG that the page's style sheet colours.
//!
//! In: values in the units that are shown. Every value stands in the SVG beside its mark
//! (`data-v`, what is across and what is up), where the page's script finds it for the reader who
//! points at it or steps through the curve; and in a table below. Series are told apart by dashes
//! and marks as well as by colour.

use std::fmt::Write as _;

use maud::{Markup, PreEscaped, html};

use super::number::shown;
use super::table::{Cells, Head, Sheet};
use super::ticks::{tenfold, ticks};
use crate::report::picture::{fitted, plain, width};

/// Size of the drawing, px.
const SIZE: [f64; 2] = [480.0, 320.0];
/// Room left, right, above and below the axes, px.
const ROOM: [f64; 4] = [76.0, 16.0, 16.0, 46.0];
/// Type size of the names of points, px.
const NAME: f64 = 12.0;
/// Looks that series take in turn; the style sheet has as many.
const LOOKS: usize = 8;
/// A series with more values than this shows its line alone.
const MOST_MARKS: usize = 45;
/// Most rows of the table of values.
const MOST_ROWS: usize = 400;

/// An axis.
#[derive(Clone, Debug)]
pub struct Axis {
    /// What it is.
    pub label: String,
    /// Its unit; empty for a pure number.
    pub unit: String,
    /// Whether equal distances on it are equal ratios; for the lower axis only.
    pub ratios: bool,
}

impl Axis {
    /// An axis of `label` in `unit`.
    pub fn new(label: &str, unit: &str) -> Self {
        Self { label: label.to_owned(), unit: unit.to_owned(), ratios: false }
    }

    /// The axis with equal ratios at equal distances. What is not positive is left out.
    #[must_use]
    pub fn of_ratios(self) -> Self {
        Self { ratios: true, ..self }
    }

    fn head(&self) -> Head {
        Head { label: self.label.clone(), unit: self.unit.clone() }
    }

    fn written(&self) -> String {
        if self.unit.is_empty() {
            self.label.clone()
        } else {
            format!("{} ({})", self.label, self.unit)
        }
    }
}

/// How the values of a series are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mark {
    /// Joined by a line.
    Line,
    /// Each for itself.
    Points,
    /// Each on a stem that stands on the bottom.
    Stems,
}

/// Values that belong together.
#[derive(Clone, Debug)]
pub struct Series {
    /// What they are of.
    pub name: String,
    /// How they are drawn.
    pub mark: Mark,
    /// Across and up, in the axes' units. What is not finite is left out.
    pub points: Vec<[f64; 2]>,
    /// What each of them is called; empty where they have no names of their own.
    pub labels: Vec<String>,
}

impl Series {
    /// Values joined by a line.
    pub fn line(name: &str, points: Vec<[f64; 2]>) -> Self {
        Self { name: name.to_owned(), mark: Mark::Line, points, labels: Vec::new() }
    }
}

/// A line across the drawing at a value of the lower axis.
#[derive(Clone, Debug)]
pub struct Rule {
    /// Where, in the axis's unit.
    pub at: f64,
    /// What it marks.
    pub label: String,
}

/// A set of curves.
#[derive(Clone, Debug)]
pub struct Chart {
    /// What it shows.
    pub title: String,
    /// How to read it, in a sentence or two; may be empty.
    pub about: String,
    /// The lower axis.
    pub x: Axis,
    /// The upright axis.
    pub y: Axis,
    /// The curves.
    pub series: Vec<Series>,
    /// Marked values of the lower axis.
    pub rules: Vec<Rule>,
    /// Whether its values are shown in a table below; where they stand in a table of the chapter
    /// they need not.
    pub with_values: bool,
}

/// Where values fall on the drawing.
struct Frame {
    /// Ends of the axes, those of an axis of ratios as powers of ten.
    low: [f64; 2],
    high: [f64; 2],
    ratios: bool,
}

impl Frame {
    fn of(chart: &Chart) -> Option<Self> {
        let mut low = [f64::INFINITY; 2];
        let mut high = [f64::NEG_INFINITY; 2];
        let ratios = chart.x.ratios;
        for point in chart.series.iter().flat_map(|s| finite(&s.points)) {
            let point = [if ratios { point[0].log10() } else { point[0] }, point[1]];
            if point[0].is_nan() || point[0].is_infinite() {
                continue;
            }
            for k in 0..2 {
                low[k] = low[k].min(point[k]);
                high[k] = high[k].max(point[k]);
            }
        }
        if low[0] > high[0] {
            return None;
        }
        // Zero belongs to it where the values come near it anyway.
        if low[1] > 0.0 && low[1] < 0.5 * high[1] {
            low[1] = 0.0;
        }
        if high[1] < 0.0 && high[1] > 0.5 * low[1] {
            high[1] = 0.0;
        }
        for (k, share) in [0.02, 0.05].into_iter().enumerate() {
            let span = high[k] - low[k];
            // One value alone stands in the middle.
            let margin = if span > 0.0 { share * span } else { 0.5 * high[k].abs().max(1e-9) };
            if low[k] != 0.0 {
                low[k] -= margin;
            }
            if high[k] != 0.0 || span == 0.0 {
                high[k] += margin;
            }
        }
        Some(Self { low, high, ratios })
    }

    /// Where a value of the lower axis is, from 0 at its left end to 1.
    fn share(&self, x: f64) -> f64 {
        let x = if self.ratios { x.log10() } else { x };
        (x - self.low[0]) / (self.high[0] - self.low[0])
    }

    /// Ticks of the lower axis.
    fn ticks_across(&self) -> Vec<(f64, String)> {
        if self.ratios {
            tenfold(self.low[0], self.high[0])
        } else {
            ticks(self.low[0], self.high[0], 6)
        }
    }

    fn place(&self, point: [f64; 2]) -> [f64; 2] {
        let [left, right, top, bottom] = ROOM;
        let up = (point[1] - self.low[1]) / (self.high[1] - self.low[1]);
        [
            left + self.share(point[0]) * (SIZE[0] - left - right),
            SIZE[1] - bottom - up * (SIZE[1] - top - bottom),
        ]
    }
}

fn finite(points: &[[f64; 2]]) -> impl Iterator<Item = [f64; 2]> + '_ {
    points.iter().copied().filter(|p| p[0].is_finite() && p[1].is_finite())
}

impl Chart {
    /// The elements of the page; nothing where there is not a single value.
    pub(super) fn markup(&self) -> Markup {
        let Some(frame) = Frame::of(self) else { return html! {} };
        let count: usize = self.series.iter().map(|s| finite(&s.points).count()).sum();
        let several = self.series.len() > 1;
        let said = format!(
            "{} against {}: {} of {}",
            self.y.written(),
            self.x.written(),
            match count {
                1 => "one value".to_owned(),
                n => format!("{n} values"),
            },
            self.series.iter().map(|s| s.name.as_str()).collect::<Vec<_>>().join(", ")
        );
        html! {
            figure.chart {
                figcaption { strong { bdi { (plain(&self.title)) } } @if !self.about.is_empty() { " " span.about { bdi { (plain(&self.about)) } } } }
                div.plot role="slider" tabindex="0" aria-label=(plain(&self.title)) aria-valuemin="0"
                    aria-valuemax=(count) aria-valuenow="0" aria-valuetext=(plain(&said)) {
                    (PreEscaped(self.svg(&frame)))
                }
                p.value { output { "Point at the curve, or step with the arrow keys, to read its values." } }
                @if several {
                    ul.legend { @for (i, series) in self.series.iter().enumerate() {
                        li { (PreEscaped(swatch(i, series.mark))) " " bdi { (plain(&series.name)) } }
                    } }
                }
                @if self.with_values {
                    details { summary { "Values" } (self.values().markup()) }
                }
            }
        }
    }

    fn svg(&self, frame: &Frame) -> String {
        let [w, h] = SIZE;
        let [left, right, top, bottom] = ROOM;
        let attribute = |text: &str| html! { (plain(text)) }.into_string();
        let mut svg = format!(
            "<svg viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" aria-hidden=\"true\" \
             data-x=\"{}\" data-xu=\"{}\" data-y=\"{}\" data-yu=\"{}\">",
            attribute(&self.x.label),
            attribute(&self.x.unit),
            attribute(&self.y.label),
            attribute(&self.y.unit),
        );
        let (x0, x1, y0, y1) = (left, w - right, h - bottom, top);
        let mut grid = String::new();
        let mut words = String::new();
        for (value, text) in frame.ticks_across() {
            let [x, _] = frame.place([value, 0.0]);
            let _ = write!(grid, "M{x:.1} {y0}V{y1}");
            let _ =
                write!(words, "<text x=\"{x:.1}\" y=\"{}\" class=\"mid\">{text}</text>", y0 + 18.0);
        }
        for (value, text) in ticks(frame.low[1], frame.high[1], 6) {
            let [_, y] = frame.place([0.0, value]);
            let _ = write!(grid, "M{x0} {y:.1}H{x1}");
            let _ = write!(
                words,
                "<text x=\"{}\" y=\"{:.1}\" class=\"end\">{text}</text>",
                x0 - 7.0,
                y + 4.5
            );
        }
        let _ = write!(svg, "<path class=\"grid\" d=\"{grid}\"/>");
        if frame.low[1] < 0.0 && frame.high[1] > 0.0 {
            let [_, y] = frame.place([0.0, 0.0]);
            let _ = write!(svg, "<path class=\"zero\" d=\"M{x0} {y:.1}H{x1}\"/>");
        }
        for rule in &self.rules {
            if !(0.0..=1.0).contains(&frame.share(rule.at)) {
                continue;
            }
            let [x, _] = frame.place([rule.at, 0.0]);
            let far = x > 0.6 * w;
            let (at, class) = if far { (x - 5.0, "end") } else { (x + 5.0, "") };
            let _ = write!(svg, "<path class=\"rule\" d=\"M{x:.1} {y0}V{y1}\"/>");
            let _ = write!(
                words,
                "<text x=\"{at:.1}\" y=\"{}\" class=\"{class}\">{}</text>",
                y1 + 12.0,
                attribute(&rule.label)
            );
        }
        let _ = write!(
            words,
            "<text x=\"{:.1}\" y=\"{}\" class=\"mid name\">{}</text>",
            0.5 * (x0 + x1),
            h - 8.0,
            attribute(&self.x.written())
        );
        let middle = 0.5 * (y0 + y1);
        let _ = write!(
            words,
            "<text x=\"14\" y=\"{middle}\" transform=\"rotate(-90 14 {middle})\" class=\"mid name\">{}</text>",
            attribute(&self.y.written())
        );
        for (i, series) in self.series.iter().enumerate() {
            let _ =
                write!(svg, "<g class=\"s{}\" data-s=\"{}\">", i % LOOKS, attribute(&series.name));
            let seen = |p: &[f64; 2]| !frame.ratios || p[0] > 0.0;
            let points: Vec<[f64; 2]> = finite(&series.points).filter(seen).collect();
            // Names are of values that are all finite.
            let labels = if points.len() == series.points.len() { &series.labels[..] } else { &[] };
            let places: Vec<[f64; 2]> = points.iter().map(|p| frame.place(*p)).collect();
            match series.mark {
                Mark::Line => {
                    let mut d = String::new();
                    for (k, [x, y]) in places.iter().enumerate() {
                        let _ = write!(d, "{}{x:.1} {y:.1}", if k == 0 { "M" } else { "L" });
                    }
                    let _ = write!(svg, "<path class=\"line\" d=\"{d}\"/>");
                }
                Mark::Stems => {
                    let mut d = String::new();
                    for [x, y] in &places {
                        let _ = write!(d, "M{x:.1} {y0}V{y:.1}");
                    }
                    let _ = write!(svg, "<path class=\"stem\" d=\"{d}\"/>");
                }
                Mark::Points => {}
            }
            let bare = series.mark == Mark::Line && points.len() > MOST_MARKS;
            for (k, (p, [x, y])) in points.iter().zip(&places).enumerate() {
                let form = if bare { "h0" } else { form(i) };
                let class = if bare { "" } else { " class=\"mark\"" };
                let (across, up) = (shown(p[0], 5), shown(p[1], 4));
                let _ =
                    write!(svg, "<path{class} d=\"M{x:.1} {y:.1}{form}\" data-v=\"{across}|{up}\"");
                if let Some(label) = labels.get(k) {
                    let _ = write!(svg, " data-l=\"{}\"", attribute(label));
                }
                svg.push_str("/>");
            }
            svg.push_str("</g>");
        }
        words.push_str(&self.names_of_points(frame));
        svg.push_str(&words);
        svg.push_str("<circle class=\"at\" r=\"7\" visibility=\"hidden\"/></svg>");
        svg
    }

    /// The names of points that stand by themselves, beside them; those that would lie on each other
    /// or on another point are left to the pointer.
    fn names_of_points(&self, frame: &Frame) -> String {
        let named: Vec<([f64; 2], &str)> = self
            .series
            .iter()
            .filter(|s| s.mark == Mark::Points && s.labels.len() == s.points.len())
            .flat_map(|s| s.points.iter().zip(&s.labels))
            .filter(|(p, _)| p[0].is_finite() && p[1].is_finite())
            .map(|(p, label)| (frame.place(*p), label.as_str()))
            .collect();
        let mut taken: Vec<[f64; 4]> =
            named.iter().map(|([x, y], _)| [x - 5.0, y - 5.0, x + 5.0, y + 5.0]).collect();
        let mut out = String::new();
        for (i, ([x, y], label)) in named.iter().enumerate() {
            let label = fitted(label, NAME, false, 120.0);
            let wide = width(&label, NAME, false);
            let sides = [
                ([x + 7.0, y + 4.0], "", [x + 6.0, x + 7.0 + wide]),
                ([x - 7.0, y + 4.0], "end", [x - 7.0 - wide, x - 6.0]),
                ([*x, y - 8.0], "mid", [x - 0.5 * wide, x + 0.5 * wide]),
                ([*x, y + 17.0], "mid", [x - 0.5 * wide, x + 0.5 * wide]),
            ];
            let free = sides.into_iter().find(|([_, base], _, [left, right])| {
                let own = [*left, base - 11.0, *right, base + 3.0];
                let meets =
                    |o: &[f64; 4]| own[0] < o[2] && o[0] < own[2] && own[1] < o[3] && o[1] < own[3];
                let inside = own[0] > ROOM[0]
                    && own[2] < SIZE[0]
                    && own[1] > 2.0
                    && own[3] < SIZE[1] - ROOM[3];
                inside && taken.iter().enumerate().all(|(k, o)| k == i || !meets(o))
            });
            let Some(([at, base], class, [left, right])) = free else { continue };
            taken.push([left, base - 11.0, right, base + 3.0]);
            let _ = write!(
                out,
                "<text x=\"{at:.1}\" y=\"{base:.1}\" class=\"{class} of\">{}</text>",
                html! { (label) }.into_string()
            );
        }
        out
    }

    /// All values as a table: a column for each series where they share what is across.
    fn values(&self) -> Sheet {
        let across: Vec<f64> = self
            .series
            .first()
            .map(|s| s.points.iter().map(|p| p[0]).collect())
            .unwrap_or_default();
        let shared = self.series.iter().all(|s| {
            s.points.len() == across.len() && s.points.iter().zip(&across).all(|(p, x)| p[0] == *x)
        });
        let title = format!("{}: values", self.title);
        if shared {
            // Too many rows are thinned; the curve still has them all.
            let step = across.len().div_ceil(MOST_ROWS).max(1);
            let thin = |values: Vec<f64>| -> Cells {
                let kept = values.into_iter().step_by(step);
                Cells::exact(kept.map(|v| Some(v).filter(|v| v.is_finite())), 5, 6)
            };
            let mut heads = vec![self.x.head()];
            let mut columns = vec![thin(across)];
            for series in &self.series {
                let label = match self.series.len() {
                    1 => self.y.label.clone(),
                    _ => series.name.clone(),
                };
                heads.push(Head { label, unit: self.y.unit.clone() });
                columns.push(thin(series.points.iter().map(|p| p[1]).collect()));
            }
            return Sheet { title, heads, columns };
        }
        let rows: Vec<(&str, [f64; 2])> = self
            .series
            .iter()
            .flat_map(|s| finite(&s.points).map(|p| (s.name.as_str(), p)))
            .collect();
        let step = rows.len().div_ceil(MOST_ROWS).max(1);
        let rows: Vec<_> = rows.into_iter().step_by(step).collect();
        let number = |k: usize| Cells::exact(rows.iter().map(|(_, p)| Some(p[k])), 5, 6);
        Sheet {
            title,
            heads: vec![
                Head { label: "curve".into(), unit: String::new() },
                self.x.head(),
                self.y.head(),
            ],
            columns: vec![
                Cells::Words(rows.iter().map(|(name, _)| (*name).to_owned()).collect()),
                number(0),
                number(1),
            ],
        }
    }
}

/// The mark of series `i`, drawn from its middle: disc, square, diamond, triangle.
fn form(i: usize) -> &'static str {
    match i % 4 {
        0 => "m-3.2 0a3.2 3.2 0 1 0 6.4 0a3.2 3.2 0 1 0-6.4 0z",
        1 => "m-3-3h6v6h-6z",
        2 => "m0-4.2l4.2 4.2l-4.2 4.2l-4.2-4.2z",
        _ => "m0-4l4 7h-8z",
    }
}

fn swatch(i: usize, mark: Mark) -> String {
    let line = match mark {
        Mark::Points => "",
        _ => "<path class=\"line\" d=\"M1 8H31\"/>",
    };
    format!(
        "<svg class=\"swatch\" viewBox=\"0 0 32 16\" width=\"32\" height=\"16\" aria-hidden=\"true\"><g class=\"s{}\">{line}<path class=\"mark\" d=\"M16 8{}\"/></g></svg>",
        i % LOOKS,
        form(i)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chart(points: Vec<[f64; 2]>) -> Chart {
        Chart {
            title: "pull <b>".into(),
            about: String::new(),
            x: Axis::new("gap", "mm"),
            y: Axis::new("pull", "mN"),
            series: vec![Series::line("\"G3\"<i>", points)],
            rules: vec![Rule { at: 2.0, label: "as drawn".into() }],
            with_values: true,
        }
    }

    /// Marks stand where a ruler laid on the axes has them.
    #[test]
    fn values_are_drawn_to_scale() {
        let svg = chart(vec![[1.0, -4.0], [2.0, -2.0], [3.0, f64::NAN], [5.0, -1.0]]);
        let frame = Frame::of(&svg).expect("values");
        let text = svg.svg(&frame);
        // Two ticks are two values with known places.
        let [a, b] = [[1.0, -4.0], [5.0, -1.0]].map(|p| frame.place(p));
        let middle = frame.place([2.0, -2.0]);
        assert!((middle[0] - (a[0] + 0.25 * (b[0] - a[0]))).abs() < 1e-9);
        assert!((middle[1] - (a[1] + 2.0 / 3.0 * (b[1] - a[1]))).abs() < 1e-9);
        for (p, v) in [(a, "1|\u{2212}4"), (middle, "2|\u{2212}2"), (b, "5|\u{2212}1")] {
            let mark = format!("d=\"M{:.1} {:.1}{}\" data-v=\"{v}\"", p[0], p[1], form(0));
            assert!(text.contains(&mark), "{mark} in {text}");
        }
        assert_eq!(text.matches("data-v").count(), 3);
        assert!(!text.contains("NaN"));
    }

    /// On an axis of ratios a decade is as wide as the next.
    #[test]
    fn ratios_are_drawn_to_scale() {
        let mut ratios = chart(vec![[0.0, 1.0], [10.0, 1.0], [100.0, 2.0], [1000.0, 3.0]]);
        ratios.x = ratios.x.of_ratios();
        let frame = Frame::of(&ratios).expect("values");
        let [a, b, c] = [10.0, 100.0, 1000.0].map(|x| frame.place([x, 1.0])[0]);
        // Rounding.
        assert!((b - a - (c - b)).abs() < 1e-9 && b > a);
        let svg = ratios.svg(&frame);
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        assert!(svg.contains(">500</text>"), "{svg}");
    }

    /// Points that stand apart have their names beside them; none lies on another, so that of eight points
    /// in one place some are left without.
    #[test]
    fn points_have_their_names() {
        let mut named = chart(Vec::new());
        named.series[0].mark = Mark::Points;
        named.series[0].points = [vec![[1.0, 1.0], [9.0, 2.0]], vec![[5.0, 5.0]; 8]].concat();
        let names = ["far", "<i>", "a", "b", "c", "d", "e", "f", "g", "h"];
        named.series[0].labels = names.map(str::to_owned).to_vec();
        let svg = Frame::of(&named).map(|frame| named.svg(&frame)).unwrap_or_default();
        assert!(svg.contains(">far</text>") && svg.contains(">&lt;i&gt;</text>"), "{svg}");
        assert!((3..10).contains(&svg.matches(" of\">").count()), "{svg}");
    }

    #[test]
    fn names_do_not_become_markup() {
        let text = chart(vec![[1.0, 2.0]]).markup().into_string();
        assert!(text.contains("&lt;b&gt;") && !text.contains("<b>"));
        assert!(text.contains("&quot;G3&quot;&lt;i&gt;") && !text.contains("<i>"));
        assert!(chart(Vec::new()).markup().into_string().is_empty());
    }
}
