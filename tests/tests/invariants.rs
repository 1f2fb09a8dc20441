//! What must hold whatever the section: forces balance, derivatives are those of the discrete
//! field, reciprocity, mirror images, energy, and few factorisations.

use std::sync::Arc;

use lodestring::field::fill::bodies;
use lodestring::field::{Begin, Body, Field, Setup, SmallChange, SolveInfo, Space};
use lodestring::geometry::Source;
use lodestring::material::Library;
use lodestring::mesh::Mesh;
use lodestring::pipeline::{Prepared, Solved, fields, fields_on, prepare, solve};
use lodestring::quantity::movement::Movement;
use lodestring::quantity::shape_change::shape_change;
use lodestring::quantity::{Quantities, coil};
use lodestring::units::{MM, MU_0};

/// A straight-line magnet under a steel pole that saturates, a coil, and a string across the
/// plane, off the middle. Straight, because a magnet on its curve answers up and down differently.
const POLE: &str = r#"
format = 1
title = "pole and string"
symmetry = "planar"
strings_run = "through"
[[material]]
name = "line"
law = "straight magnet"
remanence_T = 1.2
recoil_permeability = 1.05
[[part]]
name = "bar"
role = "magnet"
material = "line"
rectangle = { width = "6 mm", height = "6 mm" }
at = ["0 mm", "-18 mm"]
anchor = "bottom"
charge = "up"
[[part]]
name = "pole"
role = "pole piece"
material = "mild steel"
rectangle = { width = "4 mm", height = "12 mm" }
at = ["0 mm", "0 mm"]
anchor = "top"
[[coil]]
name = "coil"
turns = 1000
window = { rectangle = { x = ["2.5 mm", "6 mm"], y = ["-11 mm", "-2 mm"] }, sense = "out", mirror = "0 mm" }
[[string]]
name = "s"
gauge = "0.8 mm"
core = "music wire"
over = "pole"
gap = "2 mm"
offset = "1 mm"
"#;

/// The same with a wound string whose wrap is magnetic: core and ring move as one.
fn wound() -> String {
    let plain = "gauge = \"0.8 mm\"\n";
    POLE.replace(plain, &format!("{plain}core_diameter = \"0.35 mm\"\nwrap = \"nickel wrap\"\n"))
}

fn ready(text: &str) -> Prepared {
    prepare(text, &Library::built_in()).unwrap_or_else(|e| panic!("{e}: {e:?}"))
}

fn solved(text: &str) -> (Prepared, Solved) {
    let prepared = ready(text);
    let solved = solve(&prepared).unwrap_or_else(|e| panic!("{e}"));
    (prepared, solved)
}

fn shipped() -> Vec<(String, String)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../meshes");
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .expect("the folder is there")
        .map(|entry| entry.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .collect();
    files.sort();
    files
        .into_iter()
        .map(|path| {
            let text = std::fs::read_to_string(&path).expect("readable");
            (path.display().to_string(), text)
        })
        .filter(|(_, text)| text.contains("symmetry"))
        .collect()
}

#[test]
fn forces_balance_and_newton_is_quick_on_every_shipped_section() {
    let sections = shipped();
    assert!(sections.len() >= 8);
    for (name, text) in sections {
        let (_, solved) = solved(&text);
        let q: &Quantities = &solved.quantities;
        let mut sum = [0.0; 2];
        let mut largest: f64 = 0.0;
        for body in &q.pulls {
            for k in 0..2 {
                sum[k] += body.pull[k];
                largest = largest.max(body.pull[k].abs());
            }
        }
        // Over round poles and blades the strings are not in the mesh and its bodies hardly pull on
        // each other: there the tension B Phi / 2 mu_0 that the parts carry is the measure.
        for part in &q.parts {
            largest = largest.max((part.flux_density[1] * part.upward_flux).abs() / (2.0 * MU_0));
        }
        // What is left is the force on the outer boundary, some hundred times as far away as the
        // section is large, and rounding.
        assert!(sum[0].hypot(sum[1]) < 1e-9 * largest, "{name}: {sum:?} of {largest}");
        for info in [Some(&q.solve_without), q.solve_with.as_ref()].into_iter().flatten() {
            assert!(info.iterations() <= 8 && info.residual() <= 1e-10, "{name}: {info:?}");
        }
    }
}

/// Where Newton's method begins tells how long it takes, not what comes out: begun from a mesh four
/// times as coarse, with magnets that recoil from strings and without, the unknowns are those of a start
/// from nothing.
#[test]
fn a_start_on_a_coarser_mesh_does_not_change_the_fields() {
    for name in ["six-rods.toml", "steel-pole-disc.toml"] {
        let (_, text) =
            shipped().into_iter().find(|(of, _)| of.ends_with(name)).expect("is shipped");
        let ready = ready(&text);
        let mut coarse = ready.clone();
        coarse.regions.mesh_scale *= 4.0;
        let coarse = fields(&coarse).expect("converges");
        let plain = fields(&ready).expect("converges");
        let space = Arc::clone(&plain.without.assembly.space);
        let start = coarse.start_on(&space.mesh);
        let begun = fields_on(&ready, space, Some(&start)).expect("converges");
        // A factorisation takes as long as some five steps.
        let cost = |info: &SolveInfo| 5 * info.iterations() + info.steps.len();
        let (from, near) = (cost(&plain.without.info), cost(&begun.without.info));
        assert!(near < from, "{name}: {near}, and {from} from nothing");
        for (a, b) in [(&plain.without, &begun.without), (plain.field(), begun.field())] {
            let size = a.nodal.iter().fold(0.0_f64, |m, u| m.max(u.abs()));
            let off = a.nodal.iter().zip(&b.nodal).fold(0.0_f64, |m, (a, b)| m.max((a - b).abs()));
            // A residual of 1e-10 in the diagonal's norm lets a smooth error be larger by the root of
            // the condition number of the scaled matrix, which grows as the number of unknowns (Bank
            // and Scott, SIAM J. Numer. Anal. 26 (1989) 1383). Found: 5e-11 and 2e-9.
            let most = 1e-10 * (a.nodal.len() as f64).sqrt();
            assert!(off < most * size, "{name}: {:e} of {most:e}", off / size);
        }
    }
}

/// The field of `base`'s section on a mesh in which one body has moved.
fn moved(base: &Solved, setup: &Setup, weights: &[f64], axis: usize, by: f64) -> Field {
    let mut mesh = Mesh::clone(&base.fields.mesh);
    for (node, theta) in mesh.nodes.iter_mut().zip(weights) {
        let place = if axis == 0 { &mut node.x } else { &mut node.y };
        *place += by * theta;
    }
    let space = Space::of_potential(Arc::new(mesh)).expect("memory");
    Field::solve_from(Arc::new(space), setup.clone(), Begin::Near(&base.field().nodal))
        .expect("converges")
}

#[test]
fn derivatives_equal_differences_over_moved_meshes() {
    for text in [POLE, &wound()] {
        derivatives_equal_differences(text);
    }
}

fn derivatives_equal_differences(text: &str) {
    let (prepared, base) = solved(text);
    let field = base.field();
    let mesh = field.mesh();
    let movement = Movement::new(mesh).expect("memory");
    let region = mesh.regions.iter().position(|r| matches!(r.source, Source::String(_)));
    let body = movement.body(region.expect("a string") as u32).expect("a body");
    let windows: Vec<(f64, f64)> =
        prepared.section.coils[0].windows.iter().map(|w| (w.sense, w.turns)).collect();
    let load = coil::load(mesh, 0, &windows);
    let reading = &base.quantities.strings[0];
    let step = 1e-3 * MM;
    let weights = movement.at_nodes(mesh, body);
    for k in 0..2 {
        let [plus, minus] = [step, -step].map(|by| moved(&base, field.setup(), &weights, k, by));
        let slope = |pick: &dyn Fn(&Field) -> f64| (pick(&plus) - pick(&minus)) / (2.0 * step);
        let change = slope(&|f| coil::linkage(&load, &f.nodal));
        let exact = reading.linkage_change[0][k];
        let size = reading.linkage_change[0][1].abs();
        // The step is 1/2000 of the height over the pole: truncation about 1e-7. Newton's
        // residual of 1e-10 over a relative change of 1e-4 gives 1e-6.
        assert!((change - exact).abs() < 1e-6 * size, "{k}: {change} against {exact}");
        for i in 0..2 {
            let gradient = slope(&|f| shape_change(f, &movement, &[]).pulls[body][i]);
            let exact = reading.pull_gradient[i][k];
            let size = reading.pull_gradient[1][1].abs();
            assert!((gradient - exact).abs() < 1e-6 * size, "{i}{k}: {gradient} against {exact}");
        }
    }
}

#[test]
fn linkage_brought_by_a_string_is_its_magnetisation_in_the_coils_field() {
    for text in [POLE, &wound()] {
        linkage_is_magnetisation_in_the_coils_field(text);
    }
}

fn linkage_is_magnetisation_in_the_coils_field(text: &str) {
    let linear = text.replace("material = \"mild steel\"", "material = \"plain steel\"").replace(
        "[[part]]\nname = \"bar\"",
        "[[material]]\nname = \"plain steel\"\nlaw = \"linear\"\npermeability = 500\n\n[[part]]\nname = \"bar\"",
    );
    let (prepared, base) = solved(&linear);
    let field = base.field();
    let mesh = field.mesh();
    // The coil's field with the string taken out: exact reciprocity of the linear rest.
    let without = bodies(&prepared.section, &mesh.regions, &prepared.materials, false);
    let space = Arc::clone(&field.assembly.space);
    let empty = Field::solve(space, Setup::new(without)).expect("linear");
    let windows: Vec<(f64, f64)> =
        prepared.section.coils[0].windows.iter().map(|w| (w.sense, w.turns)).collect();
    let load = coil::load(mesh, 0, &windows);
    let own = SmallChange::new(&empty).expect("definite").answer(&load);
    let coil_field = Field { nodal: own, ..empty.clone() };
    let mut rise = 0.0;
    for t in 0..mesh.triangles.len() {
        let region = mesh.region_of[t] as usize;
        if mesh.regions[region].source.string().is_none() {
            continue;
        }
        let Body { law, axis, .. } = &field.setup().bodies[region];
        let corners = lodestring::field::element::corners(mesh, t);
        for (q, (_, w)) in lodestring::field::element::quadrature(&corners).enumerate() {
            let [xi, eta, _] = lodestring::field::element::QUADRATURE[q];
            let b = field.flux_density(t, xi, eta);
            let h = law.respond(b, *axis, None).h;
            let own = coil_field.flux_density(t, xi, eta);
            rise += w * (0..2).map(|k| (b[k] / MU_0 - h[k]) * own[k]).sum::<f64>();
        }
    }
    let difference = coil::linkage(&load, &field.nodal) - coil::linkage(&load, &empty.nodal);
    // Galerkin solutions of both problems on one mesh: equal but for Newton's residual, magnified
    // by linkage over its rise (about 1e3).
    assert!((rise - difference).abs() < 1e-6 * difference.abs(), "{rise} against {difference}");
}

#[test]
fn a_mirrored_section_gives_mirrored_numbers() {
    for text in [POLE.to_owned(), wound()] {
        let other = text.replace("offset = \"1 mm\"", "offset = \"-1 mm\"");
        mirrored(&solved(&text).1.quantities, &solved(&other).1.quantities);
    }
}

fn mirrored(a: &Quantities, b: &Quantities) {
    let (a, b) = (&a.strings[0], &b.strings[0]);
    // Rounding only: the mirrored mesh is the mirror image of the mesh.
    let close = |x: f64, y: f64, size: f64| assert!((x - y).abs() < 1e-9 * size, "{x} {y}");
    close(a.pull[0], -b.pull[0], a.pull[1].abs());
    close(a.pull[1], b.pull[1], a.pull[1].abs());
    let size = a.linkage_change[0][1].abs();
    close(a.linkage_change[0][0], -b.linkage_change[0][0], size);
    close(a.linkage_change[0][1], b.linkage_change[0][1], size);
    close(a.flux_density_without[1], b.flux_density_without[1], 0.1);
}

#[test]
fn energy_of_a_linear_field_balances_its_sources() {
    // Magnets alone: the integral of B . H over all space is zero.
    let text = POLE
        .replace("material = \"mild steel\"", "material = \"brass\"")
        .replace("role = \"pole piece\"", "role = \"body\"");
    let (_, base) = solved(&text);
    let field = &base.fields.without;
    let mesh = field.mesh();
    let (mut sum, mut size) = (0.0, 0.0);
    for t in 0..mesh.triangles.len() {
        let body = &field.setup().bodies[mesh.region_of[t] as usize];
        let corners = lodestring::field::element::corners(mesh, t);
        for (q, (_, w)) in lodestring::field::element::quadrature(&corners).enumerate() {
            let [xi, eta, _] = lodestring::field::element::QUADRATURE[q];
            let b = field.flux_density(t, xi, eta);
            let h = body.law.respond(b, body.axis, None).h;
            let work = w * (b[0] * h[0] + b[1] * h[1]);
            sum += work;
            size += work.abs();
        }
    }
    // The solver's residual.
    assert!(sum.abs() < 1e-10 * size, "{sum} of {size}");
}
