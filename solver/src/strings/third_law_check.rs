//! The pull on a string against the force that its own magnetisation does on the poles, dipole by dipole.
//!
//! Nothing of the sampled waves enters: the poles' magnetisation comes from the triangles, the string's
//! from its nodes, and mu_0 (m . grad) H of one dipole in the field of another is added up.

use std::f64::consts::PI;

use crate::field::{Field, element};
use crate::geometry::Source;
use crate::material::{Law, Library};
use crate::pipeline::{Fields, fields, prepare};
use crate::section::Symmetry;
use crate::strings::{Above, CoupledString, Segments, StringBody, StringLaw, couple};
use crate::units::{MM, MU_0};

fn text(symmetry: &str, mu_r: f64) -> String {
    format!(
        r#"
format = 1
symmetry = "{symmetry}"
strings_run = "in plane"
[[material]]
name = "hard"
law = "straight magnet"
remanence_T = 0.8
recoil_permeability = {mu_r}
[[part]]
name = "pole"
role = "magnet"
material = "hard"
rectangle = {{ width = "4.8 mm", height = "17 mm" }}
at = ["0 mm", "0 mm"]
anchor = "top"
charge = "up"
[[string]]
name = "string"
gauge = "0.43 mm"
over = "pole"
gap = "1.785 mm"
"#
    )
}

/// The string `y` mm beside the middle, 2 mm up, and the field of the section below it.
fn coupled(symmetry: &str, mu_r: f64, y: f64) -> (Field, StringBody, CoupledString) {
    let text = text(symmetry, mu_r);
    let text =
        if symmetry == "planar" { text } else { text.replace("strings_run = \"in plane\"", "") };
    let prepared = prepare(&text, &Library::built_in()).unwrap();
    let Fields { without, .. } = fields(&prepared).unwrap();
    let z0 = prepared.regions.sampling_height.unwrap();
    let above = Above::new(&prepared.regions, &without, &[], z0, 1.785 * MM, MM).unwrap();
    let segments = Segments::graded(40.0 * MM, 6.4 * MM, 2.0 * MM);
    let body = StringBody::new(0.215 * MM, segments, StringLaw::linear(50.0)).unwrap();
    // Without the poles' answer to the string: their magnetisation here is that without it too.
    let string = couple(&above.upper, &[], None, &body, [0.0, y * MM, 2.0 * MM]).unwrap();
    (without, body, string)
}

/// Force on a dipole `b` in the field of a dipole `a`, r from a to b, N.
fn force(a: [f64; 3], b: [f64; 3], r: [f64; 3]) -> [f64; 3] {
    let dot = |u: [f64; 3], v: [f64; 3]| u[0] * v[0] + u[1] * v[1] + u[2] * v[2];
    let (square, ar, br) = (dot(r, r), dot(a, r), dot(b, r));
    let factor = 3.0 * MU_0 / (4.0 * PI * square * square * square.sqrt());
    std::array::from_fn(|i| {
        factor * (ar * b[i] + br * a[i] + (dot(a, b) - 5.0 * ar * br / square) * r[i])
    })
}

/// The same for dipoles per metre that go on for ever along y, N/m; plane vectors (x, z).
fn force_per_metre(a: [f64; 2], b: [f64; 2], r: [f64; 2]) -> [f64; 2] {
    let dot = |u: [f64; 2], v: [f64; 2]| u[0] * v[0] + u[1] * v[1];
    let (square, ar, br) = (dot(r, r), dot(a, r), dot(b, r));
    let factor = MU_0 / (PI * square * square);
    std::array::from_fn(|i| {
        factor * (ar * b[i] + br * a[i] + (dot(a, b) - 4.0 * ar * br / square) * r[i])
    })
}

/// Places of the string's nodes and their moments, A m2.
fn dipoles(body: &StringBody, string: &CoupledString, y: f64) -> Vec<([f64; 3], [f64; 3])> {
    let weights = body.segments.weights();
    string
        .x
        .iter()
        .zip(weights)
        .zip(&string.magnetisation)
        .map(|((x, w), m)| ([*x, y * MM, 2.0 * MM], m.map(|m| m * w * body.area())))
        .collect()
}

/// Force of the string on the poles, (along, sideways, up), N.
fn on_poles(field: &Field, string: &[([f64; 3], [f64; 3])]) -> [f64; 3] {
    const ROUND: usize = 24;
    let mesh = field.mesh();
    let mut sum = [0.0; 3];
    for t in 0..mesh.triangles.len() {
        let region = mesh.region_of[t] as usize;
        if !matches!(mesh.regions[region].source, Source::Part(_)) {
            continue;
        }
        let body = &field.setup().bodies[region];
        assert!(matches!(body.law, Law::Magnet(_)));
        let corners = element::corners(mesh, t);
        for [xi, eta, w] in element::QUADRATURE {
            let at = element::evaluate(&corners, xi, eta);
            let b = field.flux_density(t, xi, eta);
            let h = body.law.respond(b, body.axis, None).h;
            let m = [b[0] / MU_0 - h[0], b[1] / MU_0 - h[1]];
            let weight = w * at.jacobian;
            for (place, moment) in string {
                match mesh.symmetry {
                    Symmetry::Planar => {
                        let r = [at.place.x - place[0], at.place.y - place[2]];
                        let f = force_per_metre([moment[0], moment[2]], m, r);
                        sum[0] += weight * f[0];
                        sum[2] += weight * f[1];
                    }
                    Symmetry::Axisymmetric => {
                        for i in 0..ROUND {
                            let angle = 2.0 * PI * (i as f64 + 0.5) / ROUND as f64;
                            let (sin, cos) = angle.sin_cos();
                            let (x, y) = (at.place.x * cos, at.place.x * sin);
                            let r = [x - place[0], y - place[1], at.place.y - place[2]];
                            let f = force(*moment, [m[0] * cos, m[0] * sin, m[1]], r);
                            let share = weight * 2.0 * PI * at.place.x / ROUND as f64;
                            (0..3).for_each(|c| sum[c] += share * f[c]);
                        }
                    }
                }
            }
        }
    }
    sum
}

#[test]
fn the_pull_on_the_string_is_minus_the_force_on_the_poles() {
    for (symmetry, y) in [("axisymmetric", 0.0), ("axisymmetric", 1.5), ("planar", 0.0)] {
        for mu_r in [1.05, 4.0] {
            let (field, body, string) = coupled(symmetry, mu_r, y);
            let back = on_poles(&field, &dipoles(&body, &string, y));
            let size = string.pull[2].abs();
            assert!(size > 1e-3, "{:?}", string.pull);
            for c in 0..3 {
                // The string's moments stand on its axis: (a / 2 mm)^2 = 1 % at most, and (a / d)^2 / 8
                // for the mean over its section, 0.2 %; the magnetisation is good to 0.1 %.
                let rest = string.pull[c] + back[c];
                assert!(
                    rest.abs() < 0.005 * size,
                    "{symmetry} {mu_r} {y}: {:?} {back:?}",
                    string.pull
                );
            }
        }
    }
}
