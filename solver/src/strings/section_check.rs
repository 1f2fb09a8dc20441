//! Strings over sections solved by the finite-element field, against full three-dimensional solves.

use std::sync::Arc;

use crate::field::fill::bodies;
use crate::field::{Field, Setup, SmallChange, Space};
use crate::geometry::arrange;
use crate::material::{Library, SoftLaw, assign};
use crate::mesh::mesh;
use crate::section::{SaturatingCurve, parse};
use crate::strings::reaction_check::{GAMMA, image_field, magnetisation, nodes, points};
use crate::strings::{Above, CoupledString, Segments, StringBody, StringLaw, couple};
use crate::units::{MM, MU_0};

/// Rod 4.8 x 17 mm, 1.2 T, top at z = 0, coil 3 to 7 mm, z -13 to -2 mm, 7000 turns.
fn section(mu_r: f64, gap: f64) -> String {
    format!(
        r#"
format = 1
title = "rod"
symmetry = "axisymmetric"
[[material]]
name = "rod steel"
law = "straight magnet"
remanence_T = 1.2
recoil_permeability = {mu_r}
[[part]]
name = "rod"
role = "magnet"
material = "rod steel"
rectangle = {{ width = "4.8 mm", height = "17 mm" }}
at = ["0 mm", "0 mm"]
anchor = "top"
charge = "up"
[[coil]]
name = "coil"
turns = 7000
window = {{ rectangle = {{ x = ["3 mm", "7 mm"], y = ["-13 mm", "-2 mm"] }} }}
[[string]]
name = "string"
gauge = "0.4 mm"
core = "music wire"
over = "rod"
gap = "{gap} mm"
"#
    )
}

fn rod(mu_r: f64, gap: f64) -> Above {
    let parsed = parse(&section(mu_r, gap));
    let section = parsed.section;
    let arranged = arrange(&section);
    let (materials, problems) = assign(&section, &Library::built_in());
    assert!(parsed.problems.is_empty(), "{:?}", parsed.problems);
    assert!(arranged.problems.is_empty() && problems.is_empty(), "{problems:?}");
    let regions = arranged.regions.unwrap();
    let z0 = regions.sampling_height.unwrap();
    let mesh = Arc::new(mesh(&regions).unwrap());
    let space = Arc::new(Space::of_potential(Arc::clone(&mesh)).unwrap());
    let setup = Setup::new(bodies(&section, &mesh.regions, &materials, false));
    let field = Field::solve(space, setup).unwrap();
    let tangent = SmallChange::new(&field).unwrap();
    let load = coil_load(&field);
    let per_ampere = tangent.answer(&load);
    Above::new(&regions, &field, &[&per_ampere], z0, gap * MM, MM).unwrap()
}

/// Linkage of each node's unknown: turns spread evenly over the window.
fn coil_load(field: &Field) -> Vec<f64> {
    use crate::field::element;
    let mesh = field.mesh();
    let mut load = vec![0.0; mesh.nodes.len()];
    for (t, nodes) in mesh.triangles.iter().enumerate() {
        if mesh.regions[mesh.region_of[t] as usize].name != "coil" {
            continue;
        }
        for (at, w) in element::quadrature(&element::corners(mesh, t)) {
            let a = at.potential_basis(mesh.symmetry);
            for (&node, a) in nodes.iter().zip(a) {
                load[node as usize] +=
                    7000.0 / (4.0 * MM * 11.0 * MM) * w * at.measure(mesh.symmetry) * a;
            }
        }
    }
    load
}

fn string(diameter: f64, height: f64, law: StringLaw) -> StringBody {
    let segments = Segments::graded(40.0 * MM, 2.4 * MM + 2.0 * height * MM, height * MM);
    StringBody::new(0.5 * diameter * MM, segments, law).unwrap()
}

fn froehlich() -> StringLaw {
    let law = SoftLaw::saturating(SaturatingCurve::Froehlich, MU_0 * 1.6e6, 200.0);
    StringLaw::soft(law.unwrap())
}

/// Couples a string of `diameter` and `height` of its axis, mm.
fn coupled(above: &Above, body: &StringBody, y: f64, height: f64, answer: bool) -> CoupledString {
    let reaction = answer.then_some(&above.reaction);
    couple(&above.upper, &above.coils, reaction, body, [0.0, y * MM, height * MM]).unwrap()
}

/// A rod of mu_r 200 against a full three-dimensional solve. The reference is good to 0.3 %, the
/// coupling by sections leaves up to 1 %.
#[test]
fn a_soft_rod_draws_the_string_more() {
    let above = rod(200.0, 1.465);
    let body = string(1.07, 2.0, StringLaw::linear(200.0));
    let with = coupled(&above, &body, 0.0, 2.0, true);
    let off = |value: f64, reference: f64| value / reference - 1.0;
    assert!(off(with.pull[2], -1.767038e-3).abs() < 0.01, "{:?}", with.pull);
    assert!(off(with.coils[0].rise, 5.1121e-4).abs() < 0.01);
    assert!(off(with.coils[0].change[1], -0.329884).abs() < 0.01);
    // Without the answer the pull is 18 % low, the flux 8 %.
    let without = coupled(&above, &body, 0.0, 2.0, false);
    assert!(off(without.pull[2], -1.767038e-3) < -0.15);
    assert!(off(without.coils[0].rise, 5.1121e-4) < -0.06);
}

/// Derivatives of the whole coupled system, poles' answer included, beside the pole as over it.
#[test]
fn derivatives_over_a_soft_rod_equal_differences() {
    let above = rod(200.0, 1.465);
    let body = string(1.07, 2.0, froehlich());
    // Truncation of the differences: (step / 0.5 mm)^2 / 6 = 3e-6; Newton's rest less.
    let (step, tolerance) = (2e-3, 2e-5);
    for y in [0.0, 0.9] {
        let at = |dy: f64, dz: f64| coupled(&above, &body, y + dy, 2.1 + dz, true);
        let here = at(0.0, 0.0);
        for (j, [dy, dz]) in [[step, 0.0], [0.0, step]].into_iter().enumerate() {
            let (up, down) = (at(dy, dz), at(-dy, -dz));
            let difference = |a: f64, b: f64| (a - b) / (2.0 * step * MM);
            for i in 0..2 {
                let gradient = difference(up.pull[i + 1], down.pull[i + 1]);
                let scale = here.pull_gradient[1][1].abs();
                assert!((gradient - here.pull_gradient[i][j]).abs() < tolerance * scale);
                let second = difference(up.coils[0].change[i], down.coils[0].change[i]);
                let scale = here.coils[0].second[1][1].abs();
                assert!((second - here.coils[0].second[i][j]).abs() < tolerance * scale);
            }
            let change = difference(up.coils[0].rise, down.coils[0].rise);
            let scale = here.coils[0].change[1].abs();
            assert!((change - here.coils[0].change[j]).abs() < tolerance * scale);
        }
    }
}

/// Cutting each segment in four moves nothing by more than 0.1 %, the bound promised.
#[test]
fn more_segments_change_nothing() {
    let above = rod(200.0, 1.4);
    for (diameter, height, y) in [(1.07, 3.0, 0.0), (1.07, 2.0, 1.0), (0.3, 1.6, 0.0)] {
        for law in [StringLaw::linear(200.0), froehlich()] {
            let coarse = string(diameter, height, law.clone());
            let segments = coarse.segments.refined().refined();
            let fine = StringBody::new(coarse.radius, segments, law).unwrap();
            let [a, b] = [&coarse, &fine].map(|body| coupled(&above, body, y, height, true));
            let off = |a: f64, b: f64| (a / b - 1.0).abs();
            assert!(off(a.pull[2], b.pull[2]) < 1e-3);
            assert!(off(a.pull_gradient[1][1], b.pull_gradient[1][1]) < 1e-3);
            let [a, b] = [&a.coils[0], &b.coils[0]];
            assert!(off(a.rise, b.rise) < 1e-3);
            assert!(off(a.change[1], b.change[1]) < 1e-3);
            assert!(off(a.second[1][1], b.second[1][1]) < 1e-3);
        }
    }
}

/// A block of iron, far wider than its distance, answers as a half-space does: with images.
#[test]
fn a_block_answers_with_images() {
    for symmetry in ["axisymmetric", "planar"] {
        let text = block(symmetry);
        let parsed = parse(&text);
        assert!(parsed.problems.is_empty(), "{:?}", parsed.problems);
        let arranged = arrange(&parsed.section);
        let (materials, _) = assign(&parsed.section, &Library::built_in());
        let mesh = Arc::new(mesh(&arranged.regions.unwrap()).unwrap());
        let space = Arc::new(Space::of_potential(Arc::clone(&mesh)).unwrap());
        let setup = Setup::new(bodies(&parsed.section, &mesh.regions, &materials, false));
        let field = Field::solve(space, setup).unwrap();
        let reaction = crate::strings::reaction(&field, 0.0, 1.5 * MM).unwrap();
        let points = points([0.0; 3]);
        let m = magnetisation();
        let answer = reaction.placed(&nodes(&points, 1e-7)).apply(&m);
        // (mu - 1)/(mu + 1) of the block in place of that of the images.
        let exact: Vec<f64> =
            image_field(&m, [0.0; 3]).iter().map(|h| 999.0 / 1001.0 / GAMMA * h).collect();
        // Linear elements of 0.3 mm under a string 2 mm up give 0.7 %; the block's ends, 20 mm away,
        // less than 0.1 %.
        let scale = exact.iter().fold(0.0_f64, |s, h| s.max(h.abs()));
        for (value, exact) in answer.iter().zip(&exact) {
            assert!((value - exact).abs() < 0.015 * scale, "{symmetry}: {value} {exact}");
        }
        let energy = |field: &[f64]| field.iter().zip(&m).map(|(h, m)| h * m).sum::<f64>();
        assert!((energy(&answer) / energy(&exact) - 1.0).abs() < 0.01);
    }
}

fn block(symmetry: &str) -> String {
    format!(
        r#"
format = 1
title = "block"
symmetry = "{symmetry}"
strings_run = "in plane"
[[material]]
name = "iron"
law = "linear"
permeability = 1000
[[part]]
name = "block"
role = "pole piece"
material = "iron"
rectangle = {{ width = "40 mm", height = "20 mm" }}
at = ["0 mm", "0 mm"]
anchor = "top"
[[string]]
name = "string"
gauge = "0.4 mm"
core = "music wire"
over = "block"
gap = "1.5 mm"
"#
    )
}
