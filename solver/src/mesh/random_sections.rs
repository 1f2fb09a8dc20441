//! Random part lists: either problems in words, or regions whose mesh is sound.

use proptest::prelude::*;

use super::{MeshError, mesh};
use crate::geometry::samples::{coil, empty, mm, named, part, string};
use crate::geometry::{Piece, Regions, Side, arrange};
use crate::point::Point;
use crate::section::{Corner, Part, PolygonSide, Role, Section, Shape, StringRun, Symmetry};
use crate::units::MM;

/// Lengths on a lattice, so that parts often touch, or anywhere.
fn length(low: i32, high: i32) -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => (2 * low..=2 * high).prop_map(|k| f64::from(k) * 0.5 * MM),
        1 => (f64::from(low)..f64::from(high)).prop_map(|v| v * MM),
    ]
}

fn place() -> impl Strategy<Value = Point> {
    (length(-8, 8), length(-8, 8)).prop_map(|(x, y)| Point::new(x, y))
}

fn corner() -> impl Strategy<Value = Corner> {
    prop_oneof![
        3 => Just(Corner::Sharp),
        1 => length(0, 2).prop_map(Corner::Round),
        1 => length(0, 2).prop_map(Corner::Bevel),
    ]
}

fn shape() -> impl Strategy<Value = Shape> {
    let side = prop_oneof![
        3 => Just(PolygonSide::Straight),
        1 => place().prop_map(PolygonSide::ArcThrough),
    ];
    prop_oneof![
        4 => (length(1, 8), length(1, 8), [corner(), corner(), corner(), corner()])
            .prop_map(|(width, height, corners)| Shape::Rectangle { width, height, corners }),
        2 => length(1, 4).prop_map(|radius| Shape::Circle { radius }),
        2 => prop::collection::vec((place(), side), 2..6).prop_map(|corners| {
            let (corners, sides) = corners.into_iter().unzip();
            Shape::Polygon { corners, sides }
        }),
    ]
}

fn turn() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => Just(0.0),
        1 => (0..8).prop_map(|k| f64::from(k) * std::f64::consts::FRAC_PI_4),
        1 => 0.0..6.3f64,
    ]
}

fn one_part() -> impl Strategy<Value = Part> {
    (shape(), place(), turn(), prop::bool::weighted(0.5)).prop_map(
        |(shape, at, rotation, through)| {
            let mut p = part("part", Role::Body, shape, at);
            p.rotation = rotation;
            if through {
                // Names are given later; the number of entries only says that it does.
                p.passes_through.push(named(""));
            }
            p
        },
    )
}

fn section() -> impl Strategy<Value = Section> {
    let windows = prop::collection::vec((length(1, 4), length(1, 4), place()), 0..2);
    let strings = prop::collection::vec((0.2..1.2f64, place()), 0..3);
    (prop::collection::vec(one_part(), 1..6), windows, strings, any::<bool>(), any::<bool>())
        .prop_map(|(parts, windows, strings, planar, through)| {
            let symmetry = if planar { Symmetry::Planar } else { Symmetry::Axisymmetric };
            let run = if planar && through { StringRun::Through } else { StringRun::InPlane };
            let mut s = empty(symmetry, run);
            for (i, mut p) in parts.into_iter().enumerate() {
                p.name = format!("part {i}");
                // Later parts pass through earlier ones, so that there are no circles.
                if !p.passes_through.is_empty() {
                    p.passes_through = (0..i).map(|k| named(&format!("part {k}"))).collect();
                }
                if !planar && p.rotation == 0.0 {
                    p.at.x = p.at.x.abs();
                }
                s.parts.push(p);
            }
            for (i, (w, h, at)) in windows.into_iter().enumerate() {
                let rectangle =
                    Shape::Rectangle { width: w, height: h, corners: [Corner::Sharp; 4] };
                s.coils.push(coil(&format!("coil {i}"), &[(rectangle, at, 1.0)]));
            }
            for (i, (gauge, at)) in strings.into_iter().enumerate() {
                let axis = if run == StringRun::Through { at } else { Point::new(0.0, at.y) };
                s.strings.push(string(&format!("string {i}"), gauge, axis + mm(0.0, 8.0)));
            }
            s
        })
}

/// Problems in words, a mesh error in words, or a mesh that passes its own check.
fn arranges_and_meshes(section: &Section) -> Result<(), String> {
    let arranged = arrange(section);
    let Some(regions) = arranged.regions else {
        return if arranged.problems.is_empty() {
            Err("refused in silence".into())
        } else {
            Ok(())
        };
    };
    let mesh = match mesh(&regions) {
        // A known limit, told in words.
        Err(MeshError::Crossing { .. }) if arcs_touch_from_within(&regions) => return Ok(()),
        mesh => mesh.map_err(|e| e.to_string())?,
    };
    mesh.check().map_err(|e| e.to_string())?;
    // Sharp triangles only where edges meet at less than 60 degrees: below that, no triangle of
    // the corner can have all its angles above 25 degrees for sure.
    let (least, input) = (mesh.quality().least_angle, sharpest_corner(&regions));
    if least < 25.0 && input > 60.0 {
        return Err(format!("an angle of {least} degrees where the input has {input}"));
    }
    Ok(())
}

/// Whether two arcs of different radii touch at a vertex and bend the same way there: the points of the inner
/// one lie outside the chords of the outer one however short these are, until they are cut at the same places.
fn arcs_touch_from_within(regions: &Regions) -> bool {
    let arcs = |v: u32| {
        let place = regions.vertices[v as usize];
        let edges = regions.edges.iter().filter(move |e| e.ends.contains(&v));
        edges.filter_map(move |e| match e.side {
            Side::Arc { centre, .. } => Some(centre - place),
            Side::Straight => None,
        })
    };
    (0..regions.vertices.len() as u32).any(|v| {
        arcs(v).any(|a| {
            arcs(v).any(|b| {
                let (p, q) = (a.norm(), b.norm());
                a.cross(b).abs() < 1e-3 * p * q && a.dot(b) > 0.0 && (p / q - 1.0).abs() > 1e-3
            })
        })
    })
}

/// Smallest angle between edges at a common vertex, degrees.
fn sharpest_corner(regions: &Regions) -> f64 {
    let mut away: Vec<Vec<f64>> = vec![Vec::new(); regions.vertices.len()];
    for e in &regions.edges {
        let [from, to] = e.ends.map(|v| regions.vertices[v as usize]);
        let piece = Piece { from, to, side: e.side };
        let (start, end) = (piece.tangent(0.0), piece.tangent(1.0) * -1.0);
        away[e.ends[0] as usize].push(start.y.atan2(start.x));
        away[e.ends[1] as usize].push(end.y.atan2(end.x));
    }
    let mut sharpest = 360.0f64;
    for directions in &mut away {
        directions.sort_by(f64::total_cmp);
        for k in 0..directions.len() {
            let next = directions[(k + 1) % directions.len()];
            let turn = (next - directions[k]).rem_euclid(std::f64::consts::TAU);
            // One edge alone turns by nothing.
            if directions.len() > 1 {
                sharpest = sharpest.min(turn.to_degrees());
            }
        }
    }
    sharpest
}

proptest! {
    // Each case takes some ten milliseconds.
    #![proptest_config(ProptestConfig::with_cases(60))]
    #[test]
    fn random_sections_are_refused_or_meshed(section in section()) {
        prop_assert_eq!(arranges_and_meshes(&section), Ok(()));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]
    #[test]
    #[ignore = "slow: the same at length"]
    fn many_random_sections_are_refused_or_meshed(section in section()) {
        prop_assert_eq!(arranges_and_meshes(&section), Ok(()));
    }
}
