//! A PNG shows what its SVG says: every flux line is inked, and every colour is that of the field.

use lodestring::mesh::Locator;
use lodestring::point::Point;
use lodestring::report::picture::{Look, Theme, draw_density, draw_flux, draw_mesh};
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

/// The core and the wrap of a string that is meshed, as the rod below it.
#[test]
fn the_mesh_shows_in_strings_through_the_plane() {
    let string = |name: &str, _| name.starts_with("E2");
    mesh_shows("six-rods.toml", "-26.9 mm, 2.5 mm, -25.6 mm, 3.8 mm", string, 50);
    let rod = |name: &str, _| name == "rod 1";
    mesh_shows("six-rods.toml", "-27.3 mm, -2 mm, -25.2 mm, 0.1 mm", rod, 10);
}

/// A string in the plane is not meshed; the mesh of the air goes on behind it.
#[test]
fn the_mesh_shows_behind_strings_in_the_plane() {
    let string = |_: &str, p: Point| (2.02e-3..2.41e-3).contains(&p.y);
    mesh_shows("rod.toml", "-3 mm, 0.7 mm, 3 mm, 3.7 mm", string, 10);
}

/// Sides of triangles stand out from the middles of triangles where the name of the region and the place
/// are `wanted`; there are more than `least` such triangles.
fn mesh_shows(section: &str, zoom: &str, wanted: fn(&str, Point) -> bool, least: usize) {
    let prepared = shipped(section);
    let field = solved(&prepared);
    let (scene, mesh) = (scene(&prepared), field.mesh());
    for theme in [Theme::Light, Theme::Dark] {
        let look = Look { theme, ..Look::default() };
        let picture = draw_mesh(&scene, mesh, scene.window_of(zoom).ok(), &look);
        let svg = roxmltree::Document::parse(&picture.svg).unwrap();
        let drawn = Drawn::of(&svg);
        let (columns, _, image) = pixels(&picture, 3);
        // Light in the three pixels around the place, of three a pixel; `None` outside the frame.
        let light = |p: Point| -> Option<Vec<u32>> {
            let at = drawn.px(p.x * 1e3, p.y * 1e3);
            let inside = |k: usize| at[k] > drawn.origin[k] + 2.0 && at[k] < drawn.far[k] - 2.0;
            let [x, y] = at.map(|v| (3.0 * v) as usize);
            (inside(0) && inside(1)).then(|| {
                let near = (y - 1..=y + 1).flat_map(|y| (x - 1..=x + 1).map(move |x| (x, y)));
                near.map(|(x, y)| (0..3).map(|k| u32::from(image[4 * (y * columns + x) + k])).sum())
                    .collect()
            })
        };
        let (mut seen, mut shows) = (0, 0);
        for (t, nodes) in mesh.triangles.iter().enumerate() {
            let [a, b, c, side, ..] = nodes.map(|node| mesh.nodes[node as usize]);
            let middle = (a + b + c) * (1.0 / 3.0);
            let name = &mesh.regions[mesh.region_of[t] as usize].name;
            if ![middle, side].iter().all(|p| wanted(name, *p)) {
                continue;
            }
            let (Some(middle), Some(side)) = (light(middle), light(side)) else { continue };
            let line = match theme {
                Theme::Light => side.iter().min().unwrap().abs_diff(middle[4]),
                Theme::Dark => side.iter().max().unwrap().abs_diff(middle[4]),
            };
            seen += 1;
            // A third of what there is between black and white.
            shows += usize::from(line > 255);
        }
        // Scales, the axis and outlines lie over some.
        assert!(seen > least && 100 * shows > 95 * seen, "{theme:?}: {shows} of {seen} show");
    }
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
