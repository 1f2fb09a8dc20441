//! Pictures as their SVG says them: to scale, true to the field, harmless.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod flux_lines;
mod looks;
mod pixels;
mod scale;
mod words;

use std::path::Path;

use lodestring::field::Field;
use lodestring::material::Library;
use lodestring::pipeline::{self, Prepared};
use lodestring::report::picture::Scene;

/// A section that ships with the tool, prepared.
fn shipped(name: &str) -> Prepared {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../meshes").join(name);
    prepared(&std::fs::read_to_string(path).unwrap())
}

fn prepared(text: &str) -> Prepared {
    pipeline::prepare(text, &Library::built_in()).unwrap()
}

fn scene(prepared: &Prepared) -> Scene<'_> {
    Scene { section: &prepared.section, regions: &prepared.regions }
}

fn solved(prepared: &Prepared) -> Field {
    pipeline::fields(prepared).unwrap().field().clone()
}

/// A picture as it was written.
struct Drawn {
    /// Left, bottom, right, top of the window, mm.
    window: [f64; 4],
    px_per_mm: f64,
    /// Left and top of the frame, px.
    origin: [f64; 2],
    /// Right and bottom of the frame, px.
    far: [f64; 2],
}

impl Drawn {
    fn of(svg: &roxmltree::Document<'_>) -> Self {
        let root = svg.root_element();
        let window: Vec<f64> = root
            .attribute("data-window-mm")
            .unwrap()
            .split(' ')
            .map(|x| x.parse().unwrap())
            .collect();
        let frame = svg.descendants().find(|n| n.attribute("data-layer") == Some("frame")).unwrap();
        let at = |name: &str| number(frame, name);
        Self {
            window: window.try_into().unwrap(),
            px_per_mm: number(root, "data-px-per-mm"),
            origin: [at("x"), at("y")],
            far: [at("x") + at("width"), at("y") + at("height")],
        }
    }

    /// Where (x, y) in mm must be, px.
    fn px(&self, x: f64, y: f64) -> [f64; 2] {
        let s = self.px_per_mm;
        [self.origin[0] + s * (x - self.window[0]), self.origin[1] + s * (self.window[3] - y)]
    }

    /// The place in mm of a px.
    fn mm(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let s = self.px_per_mm;
        [self.window[0] + (x - self.origin[0]) / s, self.window[3] - (y - self.origin[1]) / s]
    }
}

fn number(node: roxmltree::Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

/// The elements of a layer.
fn layer<'a>(
    svg: &'a roxmltree::Document<'_>,
    name: &'a str,
) -> impl Iterator<Item = roxmltree::Node<'a, 'a>> {
    svg.descendants()
        .filter(move |n| n.attribute("data-layer") == Some(name))
        .flat_map(|n| n.children().filter(roxmltree::Node::is_element))
}

/// The places of a polyline "M..L..", and whether it closes.
fn polyline(d: &str) -> (Vec<[f64; 2]>, bool) {
    let numbers: Vec<f64> = d
        .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter(|s| !s.is_empty())
        .map(|s| s.parse().unwrap())
        .collect();
    (numbers.chunks(2).map(|p| [p[0], p[1]]).collect(), d.ends_with('Z'))
}

/// Columns, rows and RGBA of a picture as pixels.
fn pixels(picture: &lodestring::report::picture::Picture, enlarge: u32) -> (usize, usize, Vec<u8>) {
    let bytes = lodestring::report::png::png(picture, f64::from(enlarge)).unwrap();
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    (info.width as usize, info.height as usize, pixels)
}
