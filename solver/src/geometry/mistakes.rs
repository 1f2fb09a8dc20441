//! Every kind of mistake an arrangement can have is named, with its part and its size.

use super::samples::{
    coil, empty, lone_rod, mm, named, part, polygon, rectangle, regions, six_rods, string,
};
use super::{Arranged, Source, arrange};
use crate::point::Point;
use crate::section::{Corner, PolygonSide, Probe, Role, Section, Shape, StringRun, Symmetry};
use crate::units::MM;

fn planar() -> Section {
    empty(Symmetry::Planar, StringRun::Through)
}

fn messages(section: &Section) -> Vec<String> {
    let Arranged { regions, problems, .. } = arrange(section);
    assert_eq!(regions.is_none(), !problems.is_empty());
    assert!(problems.iter().all(|p| p.help.is_some()), "every problem has a way out: {problems:?}");
    problems.into_iter().map(|p| p.message).collect()
}

#[track_caller]
fn only(section: &Section, message: &str) {
    assert_eq!(messages(section), [message]);
}

#[test]
fn overlap_names_both_and_the_area() {
    let mut s = planar();
    s.parts.push(part("plate", Role::BasePlate, rectangle(20.0, 3.0), mm(0.0, 0.0)));
    s.parts.push(part("rod", Role::Magnet, rectangle(5.0, 10.0), mm(0.0, 6.0)));
    // From y = 1 to 1.5, 5 mm wide.
    only(&s, "`plate` and `rod` overlap by 2.5 mm2");
    s.parts[1].passes_through.push(named("plate"));
    assert_eq!(messages(&s), Vec::<String>::new());
}

#[test]
fn overlap_of_discs_has_the_area_of_a_lens() {
    let mut s = planar();
    let disc = Shape::Circle { radius: 3.0 * MM };
    s.parts.push(part("one", Role::Body, disc.clone(), mm(0.0, 0.0)));
    s.parts.push(part("two", Role::Body, disc, mm(3.0, 0.0)));
    // 2 r^2 acos(d / 2r) - d/2 sqrt(4 r^2 - d^2) with r = d = 3 mm: 11.055 mm2.
    only(&s, "`one` and `two` overlap by 11.1 mm2");
}

#[test]
fn one_inside_the_other_overlaps_too() {
    let mut s = planar();
    s.parts.push(part("inner", Role::Body, rectangle(2.0, 2.0), mm(0.0, 0.0)));
    s.parts.push(part("outer", Role::Body, rectangle(6.0, 6.0), mm(0.0, 0.0)));
    only(&s, "`inner` and `outer` overlap by 4 mm2");
    s.parts[0].passes_through.push(named("outer"));
    let found = regions(&s);
    // What is left of the outer one is its area less the inner one's.
    assert!((found.regions[2].area - 32e-6).abs() < 1e-17);
    assert_eq!(found.region_at(mm(0.5, 0.5)), 1);
    assert_eq!(found.region_at(mm(2.0, 0.5)), 2);
    assert_eq!(found.region_at(mm(5.0, 0.5)), super::AIR);
    assert_eq!(found.region_at(mm(5e4, 0.5)), super::OUTSIDE);
}

#[test]
fn touching_is_allowed_and_rounding_of_the_file_does_not_matter() {
    let mut s = planar();
    s.parts.push(part("plate", Role::BasePlate, rectangle(20.0, 3.0), mm(0.0, -1.5)));
    s.parts.push(part("left", Role::Magnet, rectangle(5.0, 10.0), mm(-2.5, 5.0)));
    // A nanometre into its neighbours.
    s.parts.push(part("right", Role::Magnet, rectangle(5.000001, 10.0), mm(2.5, 4.999999)));
    // A round bar that rests on a flat side.
    let disc = Shape::Circle { radius: 1.0 * MM };
    s.parts.push(part("bar", Role::Body, disc, mm(7.0, 1.0)));
    assert_eq!(messages(&s), Vec::<String>::new());
}

#[test]
fn gap_too_narrow_to_mesh() {
    let mut s = planar();
    s.parts.push(part("plate", Role::BasePlate, rectangle(20.0, 3.0), mm(0.0, -1.5)));
    s.parts.push(part("rod", Role::Magnet, rectangle(5.0, 10.0), mm(0.0, 5.0 + 5e-4)));
    only(&s, "the gap of 0.5 um between `plate` and `rod` is thinner than can be meshed (1 um)");
}

#[test]
fn strings_that_touch() {
    let mut s = six_rods();
    // Gauge 0.43 mm: its underside comes to 0.1 mm below the face, inside the rod.
    s.strings[3].axis.y = 0.115 * MM;
    only(&s, "string `string 4` touches `rod 4` (clearance -0.1 mm)");
    // The face itself touched.
    s.strings[3].axis.y = 0.5 * 0.43 * MM;
    only(&s, "string `string 4` touches `rod 4` (clearance 0 mm)");
    // Beside the pole, below its top.
    s.strings[3].axis = mm(10.2, -3.0);
    only(&s, "string `string 4` hangs 3.21 mm below the top of `rod 4`, which it stands over");
    let mut s = six_rods();
    s.strings[0].axis = mm(-32.0, -5.0);
    assert!(
        messages(&s)
            .contains(&"string `string 1` touches `coil window 1` (clearance -2.54 mm)".into()),
        "{:?}",
        messages(&s)
    );
    let mut s = six_rods();
    s.strings[1].axis = s.strings[0].axis + mm(0.9, 0.0);
    only(&s, "strings `string 1` and `string 2` touch (clearance -0.04 mm)");
}

#[test]
fn string_over_a_round_pole_must_clear_it() {
    let mut s = lone_rod();
    s.strings[0].axis.y = 0.4 * MM;
    only(&s, "string `string` does not clear the top of `rod` (clearance -0.135 mm)");
    // Metal beside the rod that stands higher than the string.
    let mut s = lone_rod();
    s.parts.push(part("ring", Role::Cover, rectangle(1.0, 20.0), mm(12.0, -4.0)));
    only(&s, "string `string` does not clear the top of `ring` (clearance -3.54 mm)");
    // It does not matter where the string never comes.
    s.strings[0].offset = 13.2 * MM;
    assert_eq!(messages(&s), Vec::<String>::new());
}

#[test]
fn clearances_are_the_shortest_distances() {
    let found = arrange(&six_rods()).clearances;
    let get = |a: &str, b: &str| {
        let d = found.iter().find(|c| c.first == a && c.second == b).map(|c| c.distance / MM);
        d.unwrap_or_else(|| panic!("no clearance between {a} and {b}: {found:?}"))
    };
    // Rounding of numbers of some 30 mm.
    let same = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
    for i in 1..=6 {
        same(get(&format!("string {i}"), &format!("rod {i}")), 2.5);
    }
    // Rod 1 ends at x = -28.4, window 1 at -30.
    same(get("coil window 1", "rod 1"), 1.6);
    same(get("coil window 2", "rod 6"), 1.6);
    let lone = arrange(&lone_rod()).clearances;
    same(lone[0].distance / MM, 3.0 - 0.535);
}

#[test]
fn thin_features_and_absurd_scales() {
    let mut s = planar();
    s.parts.push(part("foil", Role::Cover, rectangle(20.0, 5e-4), mm(0.0, 0.0)));
    only(&s, "`foil` has a feature of 0.5 um, thinner than can be meshed: the limit here is 1 um");
    let mut s = planar();
    s.parts.push(part("rod", Role::Magnet, rectangle(5.0, 5.0), mm(0.0, 0.0)));
    s.parts.push(part("moon", Role::Body, rectangle(5.0, 5.0), mm(1e6, 0.0)));
    assert_eq!(
        messages(&s),
        ["rod", "moon"].map(|n| format!(
            "`{n}` has a feature of 5 mm, thinner than can be meshed: the limit here is 10 mm"
        ))
    );
    let mut s = planar();
    s.parts.push(part("rod", Role::Magnet, rectangle(5.0, 5.0), mm(1e15, 0.0)));
    only(
        &s,
        "the section reaches 1.00e15 mm from the origin, too far for its parts to be told apart",
    );
}

#[test]
fn shapes_that_cannot_be_drawn() {
    let mut s = planar();
    let bow = polygon(&[(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 4.0)]);
    s.parts.push(part("bow", Role::Body, bow, mm(0.0, 0.0)));
    let spike = polygon(&[(0.0, 0.0), (4.0, 0.0), (2.0, 0.0), (2.0, 3.0)]);
    s.parts.push(part("spike", Role::Body, spike, mm(20.0, 0.0)));
    let flat = polygon(&[(0.0, 0.0), (4.0, 0.0)]);
    s.parts.push(part("flat", Role::Body, flat, mm(30.0, 0.0)));
    let round = Shape::Rectangle {
        width: 4.0 * MM,
        height: 4.0 * MM,
        corners: [Corner::Round(3.0 * MM), Corner::Bevel(2.0 * MM), Corner::Sharp, Corner::Sharp],
    };
    s.parts.push(part("round", Role::Body, round, mm(40.0, 0.0)));
    let line = Shape::Polygon {
        corners: vec![mm(0.0, 0.0), mm(4.0, 0.0), mm(4.0, 3.0)],
        sides: vec![
            PolygonSide::ArcThrough(mm(1.0, 0.0)),
            PolygonSide::Straight,
            PolygonSide::Straight,
        ],
    };
    s.parts.push(part("line", Role::Body, line, mm(50.0, 0.0)));
    s.parts.push(part("none", Role::Body, rectangle(0.0, f64::NAN), mm(60.0, 0.0)));
    s.parts.push(part("lost", Role::Body, rectangle(1.0, 1.0), Point::new(f64::INFINITY, 0.0)));
    let found = messages(&s);
    let expected = [
        "`bow` crosses or touches itself: the sides that begin at (0.0000, 0.0000) mm and (4.0000, 0.0000) mm meet",
        "`spike` crosses or touches itself: the sides that begin at (0.0000, 0.0000) mm and (4.0000, 0.0000) mm meet",
        "`flat` crosses or touches itself: the sides that begin at (0.0000, 0.0000) mm and (4.0000, 0.0000) mm meet",
        "`round` has corners that together are longer than its bottom side",
        "`line` has no arc on side 1: its three points lie in line",
        "`none` has a width that is not positive",
        "`none` has a height that is not positive",
        "`lost` stands nowhere: its place is not a number",
    ];
    assert_eq!(found, expected);
}

#[test]
fn half_sections_about_the_axis() {
    let mut s = empty(Symmetry::Axisymmetric, StringRun::InPlane);
    s.parts.push(part("off", Role::Magnet, rectangle(4.0, 4.0), mm(0.5, 0.0)));
    s.parts.push(part("far", Role::Magnet, rectangle(4.0, 4.0), mm(-5.0, 0.0)));
    assert_eq!(
        messages(&s),
        [
            "`off` straddles the axis without being symmetric about it",
            "`far` lies at negative radius"
        ]
    );
    let mut s = empty(Symmetry::Axisymmetric, StringRun::InPlane);
    let ball = Shape::Circle { radius: 2.0 * MM };
    s.parts.push(part("ball", Role::Magnet, ball, mm(0.0, 0.0)));
    let found = regions(&s);
    let half = 0.5 * std::f64::consts::PI * 4e-6;
    // Rounding of an arc's area.
    assert!((found.regions[1].area - half).abs() < 1e-14 * half);
    assert!(found.vertices.iter().all(|v| v.x >= 0.0));
}

#[test]
fn outer_radius_too_small() {
    let mut s = planar();
    s.parts.push(part("rod", Role::Magnet, rectangle(6.0, 8.0), mm(0.0, 0.0)));
    let at = vec![mm(0.0, 40.0)];
    s.probes.push(Probe { name: "far".into(), span: 0..1, points: at });
    s.outer_radius = Some(30.0 * MM);
    only(&s, "probe `far` lies beyond the outer radius");
    s.outer_radius = Some(4.0 * MM);
    assert_eq!(
        messages(&s)[0],
        "`rod` reaches 5 mm from the middle, too close to or beyond the outer radius of 4 mm"
    );
    s.outer_radius = Some(-1.0);
    only(&s, "the outer radius is not positive");
}

#[test]
fn passing_through_nothing_or_in_a_circle() {
    let mut s = planar();
    s.parts.push(part("a", Role::Body, rectangle(4.0, 2.0), mm(0.0, 0.0)));
    s.parts.push(part("b", Role::Body, rectangle(2.0, 4.0), mm(0.0, 0.0)));
    s.parts[0].passes_through.push(named("b"));
    s.parts[1].passes_through.push(named("c"));
    only(&s, "`b` passes through `c`, which is not there");
    s.parts[1].passes_through[0].name = "a".into();
    only(&s, "`a` and others pass through each other in a circle");
    // All copies of a repeated part at once.
    let mut s = six_rods();
    let mut plate = part("keeper", Role::Keeper, rectangle(80.0, 1.0), mm(0.0, -9.0));
    plate.passes_through.push(named("rod"));
    plate.passes_through.push(named("coil"));
    s.parts.push(plate);
    let found = regions(&s);
    let source = |x: f64| found.regions[found.region_at(mm(x, -9.0)) as usize].source;
    assert_eq!([source(-26.0), source(31.0), source(0.0)], [Source::Part(6); 3]);
}

#[test]
fn nothing_left_and_nothing_there() {
    only(&planar(), "the section holds nothing to solve for");
    let mut s = planar();
    s.parts.push(part("inner", Role::Body, rectangle(2.0, 2.0), mm(0.0, 0.0)));
    s.parts.push(part("outer", Role::Body, rectangle(6.0, 6.0), mm(0.0, 0.0)));
    s.parts[1].passes_through.push(named("inner"));
    only(&s, "nothing is left of `inner`: others cover all of it");
}

#[test]
fn too_many_sides() {
    let mut s = planar();
    for i in 0..6000 {
        let at = mm(f64::from(i) * 10.0, 0.0);
        s.parts.push(part(&format!("rod {i}"), Role::Magnet, rectangle(4.0, 4.0), at));
    }
    only(&s, "the section has 24000 sides, more than 20000");
}

#[test]
fn coil_windows_are_named_by_number_only_where_there_are_several() {
    let mut s = lone_rod();
    assert_eq!(regions(&s).regions[2].name, "coil");
    s.coils.push(coil(
        "outer",
        &[(rectangle(1.0, 2.0), mm(20.0, 0.0), 1.0), (rectangle(1.0, 2.0), mm(22.0, 0.0), 1.0)],
    ));
    let names: Vec<String> = regions(&s).regions.into_iter().map(|r| r.name).collect();
    assert_eq!(names, ["air", "rod", "coil", "outer window 1", "outer window 2"]);
}

#[test]
fn strings_in_the_plane_are_strips_and_sampled_below() {
    let mut s = empty(Symmetry::Planar, StringRun::InPlane);
    s.parts.push(part("blade", Role::PolePiece, rectangle(3.0, 10.0), mm(0.0, -5.0)));
    s.strings.push(string("low", 1.0, mm(0.0, 2.5)));
    s.strings.push(string("behind", 0.5, mm(0.0, 2.25)));
    let found = regions(&s);
    let sources: Vec<Source> = found.regions.iter().map(|r| r.source).collect();
    assert_eq!(sources, [Source::Air, Source::Part(0), Source::String(0)]);
    // Both undersides are 2 mm above the blade.
    assert_eq!(found.sampling_height, Some(0.35 * 2.0 * MM));
    assert!(found.fine_lines.iter().all(|l| l.from.y == 0.7 * MM && l.to.y == 0.7 * MM));
    let options = super::ArrangeOptions { mesh_in_plane_strings: false, ..Default::default() };
    let found = super::arrange_with(&s, &options).regions.expect("no problems");
    assert_eq!(found.regions.len(), 2);
}
