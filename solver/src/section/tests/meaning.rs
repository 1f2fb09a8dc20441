//! What a sound file comes to: lengths in metres, copies in their places, turns shared, SI laws.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_6, PI};

use crate::point::Point;
use crate::section::model::{
    Charge, Corner, LawSpec, PolygonSide, Role, SaturatingCurve, Section, Shape, StringRun,
    Symmetry,
};
use crate::section::parse;

/// The section of a text without mistakes.
fn read(text: &str) -> Section {
    let parsed = parse(text);
    assert!(parsed.problems.is_empty(), "{:?}", parsed.problems);
    parsed.section
}

fn full() -> Section {
    read(include_str!("full.toml"))
}

/// Rounding of a few sums and products of lengths below 1 m: 1e-15 m.
fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-15, "{a} is not {b}");
}

fn near_point(p: Point, x: f64, y: f64) {
    near(p.x, x);
    near(p.y, y);
}

#[test]
fn settings() {
    let s = full();
    assert_eq!((s.symmetry, s.string_run), (Symmetry::Planar, StringRun::Through));
    assert_eq!((s.title.as_str(), s.depth, s.temperature), ("everything", Some(0.06), 35.0));
    assert_eq!((s.applied_field, s.outer_radius, s.mesh_scale), ([0.0, 0.001], Some(0.3), 0.8));
    let bare = read("format = 1\nsymmetry = \"axisymmetric\"\n");
    assert_eq!((bare.symmetry, bare.string_run), (Symmetry::Axisymmetric, StringRun::InPlane));
    assert_eq!((bare.depth, bare.temperature, bare.mesh_scale), (None, 20.0, 1.0));
}

#[test]
fn copies_stand_in_a_row_with_their_stagger() {
    let s = full();
    let names: Vec<&str> = s.parts.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(names, ["rod 1", "rod 2", "rod 3", "plate", "bus bar", "wedge", "cap", "bar"]);
    // The anchor is the top, so the centre is half of 17 mm down.
    near_point(s.parts[0].at, -10.5e-3, -8.5e-3);
    near_point(s.parts[1].at, 0.0, -8.1e-3);
    near_point(s.parts[2].at, 10.5e-3, -8.9e-3);
    assert_eq!(s.parts[2].charge, Some(Charge::Angle(FRAC_PI_2)));
    assert_eq!(s.parts[2].passes_through[0].name, "plate");
    let text = include_str!("full.toml");
    assert_eq!(&text[s.parts[2].span.clone()], "\"rod\"");
    assert_eq!(&text[s.parts[2].material.span.clone()], "\"hard\"");
}

#[test]
fn shapes() {
    let s = full();
    let Shape::Rectangle { width, height, corners } = &s.parts[0].shape else { unreachable!() };
    near(*width, 4.7625e-3);
    near(*height, 17e-3);
    let [Corner::Bevel(low), _, _, Corner::Round(high)] = corners else { unreachable!() };
    near(*low, 0.254e-3);
    near(*high, 0.5e-3);
    near_point(s.parts[3].at, 0.0, -16.25e-3);
    assert_eq!(s.parts[3].shape, {
        let corners = [Corner::Bevel(1e-4); 4];
        Shape::Rectangle { width: 40e-3, height: -15.5e-3 - -17e-3, corners }
    });
    assert_eq!(s.parts[4].shape, Shape::Circle { radius: 1e-3 });
    assert_eq!((s.parts[4].role, s.parts[4].current), (Role::Body, -1.5));
    let Shape::Polygon { corners, sides } = &s.parts[5].shape else { unreachable!() };
    assert_eq!(corners.len(), 4);
    near_point(corners[2], 1e-3, 2e-3);
    assert_eq!(sides[1], PolygonSide::ArcThrough(Point::new(1.5e-3, 1e-3)));
    assert_eq!(sides[2], PolygonSide::Straight);
    near(s.parts[5].rotation, FRAC_PI_6);
}

#[test]
fn anchors_are_points_of_the_box_around_the_turned_shape() {
    for (anchor, x, y) in [
        ("centre", 0.0, 0.0),
        ("origin", 0.0, 0.0),
        ("top", 0.0, -2e-3),
        ("bottom", 0.0, 2e-3),
        ("left", 0.5e-3, 0.0),
        ("top right", -0.5e-3, -2e-3),
        ("bottom left", 0.5e-3, 2e-3),
    ] {
        // 4 mm wide and 1 mm high, turned upright.
        let s = read(&format!(
            "format = 1\nsymmetry = \"planar\"\n[[part]]\nname = \"p\"\nrole = \"body\"\n\
             material = \"brass\"\nrectangle = {{ width = \"4 mm\", height = \"1 mm\" }}\n\
             turn = 90\nat = [\"10 mm\", \"20 mm\"]\nanchor = \"{anchor}\"\n"
        ));
        near_point(s.parts[0].at, 10e-3 + x, 20e-3 + y);
    }
}

#[test]
fn windows_share_turns_by_area_and_have_mirror_images() {
    let coil = &full().coils[0];
    // 0.127 mm x 92^(-6/39), worked out by hand: 63.34 um.
    assert!((coil.wire_diameter.unwrap_or(0.0) - 63.34e-6).abs() < 0.01e-6);
    let [first, image, triangle, _, circle, _] = coil.windows.as_slice() else { unreachable!() };
    near_point(first.at, 17e-3, -7.5e-3);
    near_point(image.at, -17e-3, -7.5e-3);
    assert_eq!((first.sense, image.sense), (-1.0, 1.0));
    assert_eq!((triangle.turns, circle.sense), (1000.0, -1.0));
    let (large, small) = (44e-6, PI * 0.25e-6);
    // Turns are thousands: rounding 1e-9.
    assert!((first.turns - 6000.0 * large / (large + small)).abs() < 1e-9);
    assert!((circle.turns - 6000.0 * small / (large + small)).abs() < 1e-9);
    for sense in [1.0, -1.0] {
        let all: f64 = coil.windows.iter().filter(|w| w.sense == sense).map(|w| w.turns).sum();
        assert!((all - 7000.0).abs() < 1e-9);
    }
    let Shape::Polygon { corners, .. } = &coil.windows[3].shape else { unreachable!() };
    near_point(corners[0], -20e-3, -5e-3);
    near_point(coil.windows[3].at, 0.0, 0.0);
}

#[test]
fn a_mirror_may_stand_anywhere() {
    let s = read(
        "format = 1\nsymmetry = \"planar\"\n[[coil]]\nname = \"c\"\nturns = 9\nwindow = { \
         polygon = [[\"1 mm\", 0], [\"2 mm\", 0], { through = [\"2.5 mm\", \"1 mm\"] }, \
         [\"2 mm\", \"2 mm\"]], at = [\"4 mm\", \"1 mm\"], mirror = \"3 mm\" }\n",
    );
    let image = &s.coils[0].windows[1];
    near_point(image.at, 2e-3, 1e-3);
    let Shape::Polygon { corners, sides } = &image.shape else { unreachable!() };
    near_point(corners[1], -2e-3, 0.0);
    assert_eq!(sides[1], PolygonSide::ArcThrough(Point::new(-2.5e-3, 1e-3)));
    assert_eq!(s.coils[0].windows[0].sense, -image.sense);
}

#[test]
fn strings_stand_over_their_poles() {
    let s = full();
    let (wound, plain) = (&s.strings[0], &s.strings[1]);
    near(wound.gauge, 1.1684e-3);
    near(wound.core_diameter, 0.4318e-3);
    assert_eq!(wound.wrap.as_ref().map(|w| w.name.as_str()), Some("nickel wrap"));
    assert_eq!((wound.over, wound.offset), (Some(0), 0.0));
    near_point(wound.axis, -10.5e-3 - 0.5e-3, 2.5e-3 + 0.5842e-3);
    near(plain.gauge, 0.254e-3);
    near(plain.core_diameter, plain.gauge);
    assert_eq!((plain.core.name.as_str(), &plain.wrap, plain.gap), ("music wire", &None, None));
    near_point(plain.axis, 0.0, 3e-3);
}

#[test]
fn a_string_in_the_plane_keeps_its_offset_and_finds_the_top_of_a_dome() {
    let s = read(
        "format = 1\nsymmetry = \"axisymmetric\"\n[[part]]\nname = \"pole\"\n\
         role = \"pole piece\"\nmaterial = \"steel 1010\"\npolygon = [[\"-2 mm\", \"-9 mm\"], \
         [\"2 mm\", \"-9 mm\"], [\"2 mm\", \"-1 mm\"], { through = [\"0 mm\", \"0.25 mm\"] }, \
         [\"-2 mm\", \"-1 mm\"]]\n[[string]]\nname = \"a\"\ngauge = \"0.5 mm\"\nover = \"pole\"\n\
         gap = \"2 mm\"\noffset = \"1 mm\"\n[[string]]\nname = \"b\"\ngauge = \"0.5 mm\"\n\
         over = \"pole\"\nheight = \"3 mm\"\n",
    );
    near_point(s.strings[0].axis, 0.0, 2.5e-3);
    assert_eq!(s.strings[0].offset, 1e-3);
    near(s.strings[1].gap.unwrap_or(0.0), 2.5e-3);
}

#[test]
fn a_round_coil_holds_its_turns_once() {
    let s = read(
        "format = 1\nsymmetry = \"axisymmetric\"\n[[coil]]\nname = \"c\"\nturns = 900\n\
         window = [{ rectangle = { x = [\"3 mm\", \"5 mm\"], y = [0, \"2 mm\"] } }, \
         { rectangle = { x = [\"3 mm\", \"5 mm\"], y = [\"3 mm\", \"4 mm\"] } }]\n",
    );
    let turns: Vec<f64> = s.coils[0].windows.iter().map(|w| w.turns).collect();
    assert!((turns[0] - 600.0).abs() < 1e-9 && (turns[1] - 300.0).abs() < 1e-9, "{turns:?}");
    assert_eq!(s.coils[0].windows[0].sense, 1.0);
}

#[test]
fn repeated_names_stand_for_all_copies() {
    let part = |name: &str, more: &str| {
        format!(
            "[[part]]\nname = \"{name}\"\nrole = \"body\"\nmaterial = \"brass\"\n\
             circle = {{ diameter = \"2 mm\" }}\nat = [0, 0]\n{more}\n"
        )
    };
    let s = read(&format!(
        "format = 1\nsymmetry = \"planar\"\n{}{}{}",
        part("pin", "passes_through = [\"rod\", \"rod 2\"]"),
        part("rod", "repeat = { count = 2, pitch = \"3 mm\" }"),
        part("cap", "passes_through = \"rod 2\""),
    ));
    let through = |i: usize| -> Vec<&str> {
        s.parts[i].passes_through.iter().map(|n| n.name.as_str()).collect()
    };
    assert_eq!(through(0), ["rod 1", "rod 2"]);
    assert_eq!(through(3), ["rod 2"]);
}

#[test]
fn charges_by_word_and_by_angle() {
    let charge = |symmetry: &str, typed: &str| {
        read(&format!(
            "format = 1\nsymmetry = \"{symmetry}\"\n[[part]]\nname = \"m\"\nrole = \"magnet\"\n\
             material = \"ferrite 8\"\ncircle = {{ diameter = \"2 mm\" }}\nat = [0, 0]\n\
             charge = {typed}\n"
        ))
        .parts[0]
            .charge
    };
    assert_eq!(charge("planar", "\"left\""), Some(Charge::Angle(PI)));
    assert_eq!(charge("planar", "180"), Some(Charge::Angle(PI)));
    assert_eq!(charge("planar", "\"-30 deg\""), Some(Charge::Angle((-30_f64).to_radians())));
    assert_eq!(charge("axisymmetric", "270"), Some(Charge::Angle(-FRAC_PI_2)));
    assert_eq!(charge("axisymmetric", "\"inward\""), Some(Charge::Radial(-1.0)));
}

#[test]
fn probes_on_lines_hold_both_ends() {
    let s = full();
    assert_eq!(s.probes[0].points, [Point::new(0.0, 2.5e-3)]);
    let line = &s.probes[1].points;
    assert_eq!(line.len(), 41);
    assert_eq!((line[0].x, line[40].x), (-20e-3, 20e-3));
    near_point(line[21], 1e-3, 2.5e-3);
}

#[test]
fn laws_in_si_units() {
    let s = full();
    let laws: Vec<&LawSpec> = s.materials.iter().map(|m| &m.law).collect();
    assert_eq!(
        *laws[0],
        LawSpec::Table { h: vec![0.0, 100.0, 1e3, 1e4], b: vec![0.0, 0.5, 1.4, 1.8] }
    );
    assert_eq!(
        *laws[1],
        LawSpec::Saturating {
            saturation: 2.1,
            mu_initial: 200.0,
            curve: SaturatingCurve::Froehlich
        }
    );
    assert_eq!(*laws[2], LawSpec::Linear { mu_r: 200.0 });
    assert_eq!(*laws[3], LawSpec::StraightMagnet { remanence: 1.2, recoil: 1.05 });
    assert_eq!(
        *laws[4],
        LawSpec::Magnet {
            remanence: 1.28,
            coercivity: 51e3,
            intrinsic_coercivity: Some(51.5e3),
            energy_product: 43.8e3,
            recoil: 3.8,
            transverse: Some(4.0),
            remanence_per_kelvin: -2e-4,
            coercivity_per_kelvin: 2e-4,
        }
    );
    assert_eq!(
        *laws[5],
        LawSpec::KneeMagnet {
            remanence: 0.385,
            intrinsic_coercivity: 245e3,
            recoil: 1.1,
            transverse: Some(1.05),
            remanence_per_kelvin: 0.01 * -0.2,
            coercivity_per_kelvin: 0.01 * 0.27,
        }
    );
    assert_eq!(
        *laws[6],
        LawSpec::MagnetTable {
            h: vec![-51e3, -40e3, 0.0],
            b: vec![0.0, 1.0, 1.28],
            recoil: 3.8,
            transverse: Some(4.0),
        }
    );
}
