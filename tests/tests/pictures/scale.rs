//! Parts are where the section has them, within a pixel; PNG and SVG agree.

use lodestring::report::picture::{Look, draw_section};

use super::{Drawn, polyline, scene, shipped};

fn span(d: &str) -> ([f64; 2], [f64; 2]) {
    let (places, _) = polyline(d);
    let low = [0, 1].map(|k| places.iter().map(|p| p[k]).fold(f64::INFINITY, f64::min));
    let high = [0, 1].map(|k| places.iter().map(|p| p[k]).fold(f64::NEG_INFINITY, f64::max));
    (low, high)
}

#[test]
fn a_rod_is_drawn_to_scale() {
    for width in [400.0, 960.0, 3000.0] {
        let prepared = shipped("rod.toml");
        let look = Look { width, ..Look::default() };
        let picture = draw_section(&scene(&prepared), None, &look);
        let svg = roxmltree::Document::parse(&picture.svg).unwrap();
        let drawn = Drawn::of(&svg);
        let rod = svg.descendants().find(|n| n.attribute("data-part") == Some("rod")).unwrap();
        let (low, high) = span(rod.attribute("d").unwrap());
        // The rod: 4.8 mm across x = 0, from y = -17 mm to 0.
        let (top_left, bottom_right) = (drawn.px(-2.4, 0.0), drawn.px(2.4, -17.0));
        for (got, wanted) in low.iter().chain(&high).zip(top_left.iter().chain(&bottom_right)) {
            // Rounded to hundredths.
            assert!((got - wanted).abs() < 0.02, "{width}: {low:?} {high:?}");
        }
        // The frame holds just the window.
        let corner = drawn.px(drawn.window[2], drawn.window[1]);
        assert!((corner[0] - drawn.far[0]).abs() < 0.02 && (corner[1] - drawn.far[1]).abs() < 0.02);
        let string = svg.descendants().find(|n| n.attribute("data-strings") == Some("G3")).unwrap();
        let thick = super::number(string, "height");
        assert!((thick - (0.43 * drawn.px_per_mm).max(1.6)).abs() < 0.02, "{thick}");
    }
}

#[test]
fn every_part_of_six_rods_has_its_place() {
    let prepared = shipped("six-rods.toml");
    let picture = draw_section(&scene(&prepared), None, &Look::default());
    let svg = roxmltree::Document::parse(&picture.svg).unwrap();
    let drawn = Drawn::of(&svg);
    for i in 0..6 {
        let name = format!("rod {}", i + 1);
        let rod = svg.descendants().find(|n| n.attribute("data-outline") == Some(&name)).unwrap();
        let (low, high) = span(rod.attribute("d").unwrap());
        let middle = 10.5 * (f64::from(i) - 2.5);
        let wanted = drawn.px(middle, 0.0);
        assert!((0.5 * (low[0] + high[0]) - wanted[0]).abs() < 0.02, "{name}: {low:?} {high:?}");
        assert!((low[1] - wanted[1]).abs() < 0.02, "{name}");
    }
}

/// The poles of a row stand side by side, each at its own height.
#[test]
fn every_pole_of_a_row_has_its_place() {
    let prepared = shipped("six-rods-row.toml");
    let row = prepared.section.row.clone().unwrap();
    let picture = draw_section(&scene(&prepared), None, &Look::default());
    let svg = roxmltree::Document::parse(&picture.svg).unwrap();
    let drawn = Drawn::of(&svg);
    let mut heights = Vec::new();
    for k in 0..row.count {
        let name = format!("rod {}", k + 1);
        let rod = svg.descendants().find(|n| n.attribute("data-outline") == Some(&name)).unwrap();
        let (low, high) = span(rod.attribute("d").unwrap());
        let wanted = drawn.px(row.place(k) * 1e3, row.heights[k] * 1e3);
        // Rounded to hundredths.
        assert!((0.5 * (low[0] + high[0]) - wanted[0]).abs() < 0.02, "{name}: {low:?} {high:?}");
        assert!((low[1] - wanted[1]).abs() < 0.02, "{name}: {low:?} {wanted:?}");
        heights.push(low[1]);
    }
    heights.dedup();
    assert!(heights.len() > 3, "they are staggered: {heights:?}");
}

#[test]
fn png_and_svg_have_the_same_size_and_parts() {
    let prepared = shipped("rod.toml");
    let picture = draw_section(&scene(&prepared), None, &Look::default());
    for enlarge in [1u32, 2] {
        let (columns, rows, pixels) = super::pixels(&picture, enlarge);
        let size = (columns as u32, rows as u32);
        assert_eq!(size, (picture.width * enlarge, picture.height * enlarge));
        // The edge of the rod is where the SVG has it: ink there, fill or paper a few pixels away.
        let svg = roxmltree::Document::parse(&picture.svg).unwrap();
        let drawn = Drawn::of(&svg);
        let e = f64::from(enlarge);
        let lightness = |[x, y]: [f64; 2]| {
            let at = 4 * ((y * e) as usize * columns + (x * e) as usize);
            pixels[at..at + 3].iter().map(|c| u32::from(*c)).sum::<u32>() / 3
        };
        let edge = drawn.px(-2.4, -6.0);
        assert!(lightness(edge) < 120, "ink on the edge: {}", lightness(edge));
        assert!(lightness([edge[0] - 4.0, edge[1]]) > 200, "paper beside it");
        assert!(lightness([edge[0] + 4.0, edge[1]]) > 130, "filled on the other side");
    }
}
