//! A PNG shows what its SVG says: every flux line is inked, and every colour is that of the field.

use lodestring::mesh::Locator;
use lodestring::point::Point;
use lodestring::report::picture::{Look, Theme, draw_density, draw_flux};
use lodestring::section::Symmetry;

use super::{Drawn, layer, number, pixels, polyline, scene, shipped, solved};

/// Red, green and blue of "#rrggbb".
fn rgb(colour: &str) -> [u8; 3] {
    [1, 3, 5].map(|at| u8::from_str_radix(&colour[at..at + 2], 16).unwrap())
}

fn apart(a: [u8; 3], b: [u8; 3]) -> u32 {
    (0..3).map(|k| u32::from(a[k].abs_diff(b[k]))).sum()
}

#[test]
fn every_flux_line_is_inked_where_the_svg_has_it() {
    let prepared = shipped("rod.toml");
    let field = solved(&prepared);
    for (theme, enlarge) in [(Theme::Light, 1), (Theme::Dark, 3)] {
        let look = Look { theme, ..Look::default() };
        let picture = draw_flux(&scene(&prepared), &field, None, 24, &look);
        let svg = roxmltree::Document::parse(&picture.svg).unwrap();
        let group =
            svg.descendants().find(|n| n.attribute("data-layer") == Some("flux-lines")).unwrap();
        let (columns, rows, image) = pixels(&picture, enlarge);
        let at = |x: usize, y: usize| -> [u8; 3] {
            std::array::from_fn(|k| image[4 * (y * columns + x) + k])
        };
        let ink = rgb(group.attribute("stroke").unwrap());
        let paper = svg.descendants().filter(|n| n.tag_name().name() == "rect");
        let ground = rgb(paper.filter_map(|n| n.attribute("fill")).nth(1).unwrap());
        let (mut seen, mut inked) = (0, 0);
        for path in layer(&svg, "flux-lines") {
            let (places, _) = polyline(path.attribute("d").unwrap());
            for pair in places.windows(2) {
                let middle = [0, 1].map(|k| 0.5 * (pair[0][k] + pair[1][k]) * f64::from(enlarge));
                let [x, y] = middle.map(|v| v.floor() as usize);
                if x < 1 || y < 1 || x + 1 >= columns || y + 1 >= rows {
                    continue;
                }
                // A line of a pixel's width may lie between two of them.
                let near = (x - 1..=x + 1).flat_map(|x| (y - 1..=y + 1).map(move |y| (x, y)));
                let best = near.map(|(x, y)| apart(at(x, y), ink)).min().unwrap();
                seen += 1;
                inked += usize::from(best < apart(ink, ground) / 3);
            }
        }
        // Names, strings and arrow heads lie over some.
        assert!(seen > 500 && 100 * inked > 97 * seen, "{inked} of {seen} are inked");
    }
}

#[test]
fn every_colour_is_that_of_the_field() {
    colours_are_those_of_the_field("steel-pole-disc.toml", None);
}

/// A wound string: its core, a third of this picture, lies on the ring of its wrap.
#[test]
fn every_colour_about_a_wound_string_is_that_of_the_field() {
    colours_are_those_of_the_field("six-rods.toml", Some("-26.6 mm, 2.83 mm, -25.9 mm, 3.54 mm"));
}

#[test]
fn a_wound_string_is_shown_to_its_gauge() {
    let prepared = shipped("six-rods.toml");
    let window = scene(&prepared).window_of("E2").unwrap();
    assert!(window.width() > 1.17e-3, "{window:?}");
}

fn colours_are_those_of_the_field(section: &str, zoom: Option<&str>) {
    let prepared = shipped(section);
    let field = solved(&prepared);
    let scene = scene(&prepared);
    let window = zoom.map(|what| scene.window_of(what).unwrap());
    let picture = draw_density(&scene, &field, window, 0, &Look::default());
    let svg = roxmltree::Document::parse(&picture.svg).unwrap();
    let drawn = Drawn::of(&svg);
    // The scale: colours from the strongest down, and what is written at the borders between them.
    let scale: Vec<_> = layer(&svg, "scale").collect();
    let mut colours: Vec<[u8; 3]> = scale
        .iter()
        .filter_map(|n| n.attribute("fill"))
        .filter(|f| f.starts_with('#'))
        .map(rgb)
        .collect();
    let marks: Vec<f64> = scale
        .iter()
        .filter_map(|n| {
            n.text().and_then(|text| {
                text.trim()
                    .strip_suffix("mT")
                    .or(text.strip_suffix('T'))
                    .map(|t| (t, text.ends_with("mT")))
            })
        })
        .map(|(text, milli)| {
            let value: f64 = text.trim().trim_end_matches('\u{a0}').parse().unwrap();
            if milli { value * 1e-3 } else { value }
        })
        .collect();
    colours.truncate(marks.len() + 1);
    colours.reverse();
    let mut marks = marks;
    marks.sort_by(f64::total_cmp);
    assert!(marks.len() >= 3 && colours.len() == marks.len() + 1, "{marks:?} {}", colours.len());

    let (columns, _, image) = pixels(&picture, 1);
    let locator = Locator::new(field.mesh());
    let (mut seen, mut alike) = (0, 0);
    for i in 1..60 {
        for j in 1..60 {
            let share = |k: usize, n: i32| {
                drawn.origin[k] + (drawn.far[k] - drawn.origin[k]) * f64::from(n) / 60.0
            };
            let place = [share(0, i), share(1, j)].map(|v| v.floor() + 0.5);
            let [x, y] = drawn.mm(place);
            let x = if prepared.regions.symmetry == Symmetry::Axisymmetric { x.abs() } else { x };
            let Some((t, [xi, eta])) = locator.locate(Point::new(x * 1e-3, y * 1e-3)) else {
                continue;
            };
            let b = field.flux_density(t, xi, eta);
            let band = marks.iter().filter(|mark| **mark < b[0].hypot(b[1])).count();
            let at = 4 * (place[1] as usize * columns + place[0] as usize);
            let pixel = [image[at], image[at + 1], image[at + 2]];
            seen += 1;
            alike += usize::from(apart(pixel, colours[band]) <= 3);
        }
    }
    // Outlines, names and the string lie over some; at borders of bands the smoothing, which stays
    // within the mesh's own error, moves some others.
    assert!(seen > 3000 && 100 * alike > 93 * seen, "{alike} of {seen} are alike");
    assert!(number(svg.root_element(), "width") > 0.0);
}
