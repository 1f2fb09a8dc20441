//! Flux lines, read back from the picture and held against the field.

use lodestring::field::Field;
use lodestring::mesh::Locator;
use lodestring::point::Point;
use lodestring::report::picture::{Look, Window, draw_flux};
use lodestring::section::Symmetry;

use super::{Drawn, layer, polyline, scene, shipped, solved};

struct Line {
    level: f64,
    places: Vec<[f64; 2]>,
    closed: bool,
}

struct Picture {
    drawn: Drawn,
    step: f64,
    lines: Vec<Line>,
    field: Field,
}

fn picture(name: &str, window: Option<Window>) -> Picture {
    let prepared = shipped(name);
    let field = solved(&prepared);
    let picture = draw_flux(&scene(&prepared), &field, window, 24, &Look::default());
    let svg = roxmltree::Document::parse(&picture.svg).unwrap();
    let group = svg.descendants().find(|n| n.attribute("data-layer") == Some("flux-lines"));
    let lines: Vec<Line> = layer(&svg, "flux-lines")
        .map(|path| {
            let (places, closed) = polyline(path.attribute("d").unwrap());
            Line { level: super::number(path, "data-level"), places, closed }
        })
        .collect();
    assert!(lines.len() > 10, "{name}: {} lines", lines.len());
    let step = super::number(group.unwrap(), "data-step");
    Picture { drawn: Drawn::of(&svg), step, lines, field }
}

/// Round, planar with strings in the plane, planar with strings through it, and a closer look.
fn all() -> Vec<(&'static str, Picture)> {
    let near = Window { left: -4e-3, bottom: -3e-3, right: 1e-3, top: 3e-3 };
    vec![
        ("rod", picture("rod.toml", None)),
        ("rod, near", picture("rod.toml", Some(near))),
        ("steel poles", picture("steel-poles-plate.toml", None)),
    ]
}

#[test]
fn lines_close_or_end_on_the_edge_and_never_cross() {
    for (name, picture) in all() {
        check_ends(name, &picture);
        check_crossings(name, &picture);
    }
}

#[test]
#[ignore = "slow: a section of 50,000 nodes in a debug build"]
fn lines_of_a_large_section_close_or_end_and_never_cross() {
    let picture = picture("six-rods.toml", None);
    check_ends("six rods", &picture);
    check_crossings("six rods", &picture);
    check_levels("six rods", &picture);
}

fn check_ends(name: &str, picture: &Picture) {
    let drawn = &picture.drawn;
    for line in picture.lines.iter().filter(|line| !line.closed) {
        for end in [line.places[0], line.places[line.places.len() - 1]] {
            let to_edge = (end[0] - drawn.origin[0])
                .abs()
                .min((end[0] - drawn.far[0]).abs())
                .min((end[1] - drawn.origin[1]).abs())
                .min((end[1] - drawn.far[1]).abs());
            // Numbers in the file are rounded to a hundredth, the edge's as well.
            assert!(to_edge < 0.021, "{name}: level {:e} ends at {end:?}", line.level);
        }
    }
}

/// No two pieces of lines have a point in common, but for neighbours on one line.
fn check_crossings(name: &str, picture: &Picture) {
    const CELL: f64 = 8.0;
    let mut pieces = Vec::new();
    for (l, line) in picture.lines.iter().enumerate() {
        let n = line.places.len();
        let sides = if line.closed { n } else { n - 1 };
        for i in 0..sides {
            pieces.push((l, i, sides, line.closed, line.places[i], line.places[(i + 1) % n]));
        }
    }
    // Pieces by the cells they may touch.
    let mut cells = std::collections::BTreeMap::<(i64, i64), Vec<usize>>::new();
    for (p, (.., a, b)) in pieces.iter().enumerate() {
        let range = |k: usize| {
            let (low, high) = (a[k].min(b[k]), a[k].max(b[k]));
            (low / CELL).floor() as i64..=(high / CELL).floor() as i64
        };
        for i in range(0) {
            for j in range(1) {
                cells.entry((i, j)).or_default().push(p);
            }
        }
    }
    for members in cells.values() {
        for (k, &p) in members.iter().enumerate() {
            for &q in &members[..k] {
                let ((l, i, sides, closed, a, b), (m, j, .., c, d)) = (pieces[p], pieces[q]);
                let apart = i.abs_diff(j);
                let neighbours = l == m && (apart <= 1 || (closed && apart == sides - 1));
                if !neighbours {
                    assert!(
                        !cross(a, b, c, d),
                        "{name}: levels {:e} and {:e} cross near {a:?}",
                        picture.lines[l].level,
                        picture.lines[m].level
                    );
                }
            }
        }
    }
}

/// True where the inner parts of two pieces cross.
fn cross(a: [f64; 2], b: [f64; 2], c: [f64; 2], d: [f64; 2]) -> bool {
    let side = |p: [f64; 2], q: [f64; 2], r: [f64; 2]| {
        (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])
    };
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

#[test]
fn the_same_flux_runs_between_neighbouring_lines() {
    for (name, picture) in all() {
        check_levels(name, &picture);
    }
}

fn check_levels(name: &str, picture: &Picture) {
    let mesh = picture.field.mesh();
    let round = mesh.symmetry == Symmetry::Axisymmetric;
    let turn = if round { std::f64::consts::TAU } else { 1.0 };
    // Levels are whole (about an axis) or half (in the plane) steps.
    for line in &picture.lines {
        let steps = line.level * turn / picture.step - if round { 0.0 } else { 0.5 };
        assert!((steps - steps.round()).abs() < 1e-6, "{name}: {steps} steps");
        assert!(!round || steps.round() != 0.0);
    }
    // And the field has that value along the line.
    let locator = Locator::new(mesh);
    let mut worst = 0.0f64;
    for line in &picture.lines {
        for place in &line.places {
            let [x, y] = picture.drawn.mm(*place);
            let p = Point::new(if round { x.abs() } else { x } * 1e-3, y * 1e-3);
            let Some((t, [xi, eta])) = locator.locate(p) else { continue };
            let a = picture.field.vector_potential(t, xi, eta);
            let psi = if round { p.x * a } else { a };
            let b = picture.field.flux_density(t, xi, eta);
            // What a hundredth of a pixel (rounding) and a tenth (pieces, thinning) are worth.
            let slope = b[0].hypot(b[1]) * if round { p.x } else { 1.0 };
            let px = 1e-3 / picture.drawn.px_per_mm;
            let off = ((psi - line.level).abs() - 0.15 * px * slope).max(0.0);
            worst = worst.max(off * turn / picture.step);
        }
    }
    // What is left is the smoothing, which stays within the mesh's own error: some thousandths of
    // what the flux function is in all, some hundredths of a step.
    assert!(worst < 0.05, "{name}: off by {worst:.4} of a step");
}

#[test]
fn arrows_point_along_the_flux_density() {
    let prepared = shipped("rod.toml");
    let field = solved(&prepared);
    let picture = draw_flux(&scene(&prepared), &field, None, 24, &Look::default());
    let svg = roxmltree::Document::parse(&picture.svg).unwrap();
    let drawn = Drawn::of(&svg);
    let arrows =
        svg.descendants().find(|n| n.attribute("data-layer") == Some("flux-direction")).unwrap();
    let locator = Locator::new(field.mesh());
    let mut count = 0;
    for arrow in arrows.attribute("d").unwrap().split_terminator('Z') {
        let (places, _) = polyline(arrow);
        let (tip, notch) = (drawn.mm(places[0]), drawn.mm(places[2]));
        let along = [tip[0] - notch[0], tip[1] - notch[1]];
        let side = tip[0].signum();
        let place = Point::new(tip[0].abs() * 1e-3, tip[1] * 1e-3);
        let (t, [xi, eta]) = locator.locate(place).unwrap();
        let b = field.flux_density(t, xi, eta);
        let cosine = (side * b[0] * along[0] + b[1] * along[1])
            / (b[0].hypot(b[1]) * along[0].hypot(along[1]));
        // A few px of a curved line.
        assert!(cosine > 0.9, "{tip:?}: {cosine}");
        count += 1;
    }
    assert!(count > 10, "{count} arrows");
}
