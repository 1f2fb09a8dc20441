//! Sections for tests, built by hand.

use super::{Regions, arrange};
use crate::point::Point;
use crate::section::{
    Charge, Coil, Corner, Named, Part, PickupState, PolygonSide, Role, Section, Shape, StringRun,
    StringSpec, Symmetry, Window,
};
use crate::units::MM;

pub(crate) fn mm(x: f64, y: f64) -> Point {
    Point::new(x * MM, y * MM)
}

pub(crate) fn named(name: &str) -> Named {
    Named { name: name.to_owned(), span: 0..0 }
}

pub(crate) fn empty(symmetry: Symmetry, string_run: StringRun) -> Section {
    Section {
        title: "sample".to_owned(),
        symmetry,
        string_run,
        depth: None,
        parts: Vec::new(),
        coils: Vec::new(),
        strings: Vec::new(),
        row: None,
        probes: Vec::new(),
        materials: Vec::new(),
        temperature: 20.0,
        history: vec![PickupState::InPlace],
        applied_field: [0.0, 0.0],
        outer_radius: None,
        mesh_scale: 1.0,
    }
}

pub(crate) fn rectangle(width: f64, height: f64) -> Shape {
    Shape::Rectangle { width: width * MM, height: height * MM, corners: [Corner::Sharp; 4] }
}

pub(crate) fn polygon(corners: &[(f64, f64)]) -> Shape {
    Shape::Polygon {
        corners: corners.iter().map(|c| mm(c.0, c.1)).collect(),
        sides: vec![PolygonSide::Straight; corners.len()],
    }
}

pub(crate) fn part(name: &str, role: Role, shape: Shape, at: Point) -> Part {
    Part {
        name: name.to_owned(),
        span: 0..1,
        role,
        material: named("any"),
        shape,
        at,
        rotation: 0.0,
        charge: (role == Role::Magnet).then_some(Charge::Angle(std::f64::consts::FRAC_PI_2)),
        passes_through: Vec::new(),
        current: 0.0,
    }
}

pub(crate) fn string(name: &str, gauge: f64, axis: Point) -> StringSpec {
    StringSpec {
        name: name.to_owned(),
        span: 0..1,
        gauge: gauge * MM,
        core_diameter: gauge * MM,
        core: named("string wire"),
        wrap: None,
        axis,
        offset: 0.0,
        over: None,
        gap: None,
        pole: None,
        bends: Vec::new(),
    }
}

pub(crate) fn coil(name: &str, windows: &[(Shape, Point, f64)]) -> Coil {
    Coil {
        name: name.to_owned(),
        span: 0..1,
        turns: 7000.0,
        wire_diameter: None,
        windows: windows
            .iter()
            .map(|(shape, at, sense)| Window {
                shape: shape.clone(),
                at: *at,
                sense: *sense,
                turns: 7000.0,
                span: 0..1,
            })
            .collect(),
    }
}

/// Six round magnets in a row with a string across each and a coil around them all.
pub(crate) fn six_rods() -> Section {
    let mut s = empty(Symmetry::Planar, StringRun::Through);
    let gauges = [1.07, 0.81, 0.61, 0.43, 0.33, 0.25];
    for (i, gauge) in gauges.iter().enumerate() {
        let x = (i as f64 - 2.5) * 10.4;
        s.parts.push(part(
            &format!("rod {}", i + 1),
            Role::Magnet,
            rectangle(4.8, 18.0),
            mm(x, -9.0),
        ));
        let mut line = string(&format!("string {}", i + 1), *gauge, mm(x, 2.5 + 0.5 * gauge));
        line.over = Some(i);
        line.gap = Some(2.5 * MM);
        s.strings.push(line);
    }
    let window = rectangle(4.0, 11.0);
    s.coils.push(coil(
        "coil",
        &[(window.clone(), mm(-32.0, -8.0), 1.0), (window, mm(32.0, -8.0), -1.0)],
    ));
    s
}

/// One round magnet in its coil, a string across its axis.
pub(crate) fn lone_rod() -> Section {
    let mut s = empty(Symmetry::Axisymmetric, StringRun::InPlane);
    s.parts.push(part("rod", Role::Magnet, rectangle(4.8, 17.0), mm(0.0, -8.5)));
    s.coils.push(coil("coil", &[(rectangle(4.0, 11.0), mm(5.0, -7.5), 1.0)]));
    s.strings.push(string("string", 1.07, mm(0.0, 3.0)));
    s
}

/// The file of a rod of alnico 5 in its coil, without strings, with mesh sizes of `mesh_scale` times the
/// usual.
pub(crate) fn rod_file(mesh_scale: f64) -> String {
    format!(
        r#"format = 1
symmetry = "axisymmetric"
mesh_scale = {mesh_scale}
[[part]]
name = "rod"
role = "magnet"
material = "alnico 5"
rectangle = {{ width = "4.8 mm", height = "17 mm" }}
at = ["0 mm", "0 mm"]
anchor = "top"
charge = "up"
[[coil]]
name = "coil"
turns = 7000
window = {{ rectangle = {{ x = ["3 mm", "7 mm"], y = ["-13 mm", "-2 mm"] }} }}
"#
    )
}

/// The arrangement of a section that has no problems.
pub(crate) fn regions(section: &Section) -> Regions {
    let arranged = arrange(section);
    assert_eq!(arranged.problems, Vec::new());
    arranged.regions.expect("no problems, so there are regions")
}

/// The mirror image of a section about x = 0, as another file would state it.
pub(crate) fn mirrored(section: &Section) -> Section {
    let flip = |p: Point| Point::new(-p.x, p.y);
    let shape = |s: &Shape| match s {
        Shape::Rectangle { width, height, corners: [bl, br, tr, tl] } => {
            Shape::Rectangle { width: *width, height: *height, corners: [*br, *bl, *tl, *tr] }
        }
        Shape::Circle { radius } => Shape::Circle { radius: *radius },
        Shape::Polygon { corners, sides } => Shape::Polygon {
            corners: corners.iter().map(|c| flip(*c)).collect(),
            sides: sides
                .iter()
                .map(|s| match s {
                    PolygonSide::Straight => PolygonSide::Straight,
                    PolygonSide::ArcThrough(p) => PolygonSide::ArcThrough(flip(*p)),
                })
                .collect(),
        },
    };
    let mut image = section.clone();
    for p in &mut image.parts {
        p.shape = shape(&p.shape);
        p.at = flip(p.at);
        p.rotation = -p.rotation;
    }
    for c in &mut image.coils {
        for w in &mut c.windows {
            w.shape = shape(&w.shape);
            w.at = flip(w.at);
        }
    }
    for s in &mut image.strings {
        s.axis = flip(s.axis);
    }
    image
}
