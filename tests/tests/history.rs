//! What a magnet has been through: keepers taken off and put on, charged before assembly.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use lodestring::field::element;
use lodestring::material::{Law, Library};
use lodestring::pipeline::{Fields, Prepared, fields, prepare, solve};
use lodestring::units::MU_0;

/// A magnet with a steel keeper bar over its top: a rod turned about its axis, or a bar.
fn text(symmetry: &str, material: &str, history: &str) -> String {
    format!(
        "format = 1
symmetry = \"{symmetry}\"
history = {history}
mesh_scale = 3
[[part]]
name = \"rod\"
role = \"magnet\"
material = \"{material}\"
rectangle = {{ width = \"5 mm\", height = \"12 mm\" }}
at = [\"0 mm\", \"0 mm\"]
anchor = \"top\"
charge = \"up\"
[[part]]
name = \"keeper\"
role = \"keeper\"
material = \"mild steel\"
rectangle = {{ width = \"12 mm\", height = \"3 mm\" }}
at = [\"0 mm\", \"0 mm\"]
anchor = \"bottom\"
"
    )
}

fn solved(symmetry: &str, material: &str, history: &str) -> (Prepared, Fields) {
    let prepared = prepare(&text(symmetry, material, history), &Library::built_in()).unwrap();
    let fields = fields(&prepared).unwrap();
    (prepared, fields)
}

/// (B, H) along the charge at every quadrature point of the magnet, and the lowest H seen before.
fn points(fields: &Fields) -> Vec<(f64, f64, Option<f64>)> {
    let (mesh, setup) = (fields.without.mesh(), fields.without.setup());
    let mut points = Vec::new();
    for t in 0..mesh.triangles.len() {
        let body = &setup.bodies[mesh.region_of[t] as usize];
        if !body.law.is_magnet() {
            continue;
        }
        for (q, [xi, eta, _]) in element::QUADRATURE.into_iter().enumerate() {
            let b = fields.without.flux_density(t, xi, eta);
            let seen = setup.memory.as_ref().and_then(|memory| memory.at(t, q));
            points.push((b[1], body.law.respond(b, body.axis, seen).h[1], seen));
        }
    }
    points
}

/// Put a keeper on a magnet that was charged without: every point moves up its recoil line from where
/// it was. Take the keeper off: it is back where it was.
#[test]
fn a_keeper_put_on_and_taken_off_moves_the_magnet_along_its_recoil_line() {
    for symmetry in ["planar", "axisymmetric"] {
        let (prepared, open) = solved(symmetry, "alnico 5", "[\"keepers off\"]");
        let (_, closed) = solved(symmetry, "alnico 5", "[\"keepers off\", \"in place\"]");
        let (_, again) =
            solved(symmetry, "alnico 5", "[\"keepers off\", \"in place\", \"keepers off\"]");
        let Law::Magnet(curve) = &prepared.materials.parts[0].law else { unreachable!() };
        let (open, closed, again) = (points(&open), points(&closed), points(&again));
        assert!(open.len() > 100 && open.len() == closed.len());
        let mut risen = 0;
        for ((before, after), back) in open.iter().zip(&closed).zip(&again) {
            // On the major curve after the charge.
            assert!((curve.b_of_h(before.1).0 - before.0).abs() < 1e-9, "{before:?}");
            if after.1 > before.1 {
                // The line itself, from the point that was reached; both fields are solved to 1e-10 of
                // the gradient, which leaves 1e-8 T.
                let line = before.0 + MU_0 * curve.recoil() * (after.1 - before.1);
                assert!((after.0 - line).abs() < 1e-7, "{before:?} {after:?} {line}");
                // Well below the curve that it went down on.
                assert!(curve.b_of_h(after.1).0 > after.0);
                risen += 1;
            }
            assert!((back.0 - before.0).abs() < 1e-6, "{before:?} {back:?}");
            assert!((back.1 - before.1).abs() < 1.0, "{before:?} {back:?}");
        }
        assert!(risen * 10 > 9 * open.len(), "{risen} of {} rose", open.len());
    }
}

/// Charged alone a magnet goes further down than charged under its keeper, and what it has lost does
/// not come back when it is put together.
#[test]
fn charged_before_assembly_it_is_weaker_than_charged_in_place() {
    for symmetry in ["planar", "axisymmetric"] {
        let flux = |history: &str| {
            let (_, fields) = solved(symmetry, "alnico 5", history);
            let points = points(&fields);
            points.iter().map(|p| p.0).sum::<f64>() / points.len() as f64
        };
        let (in_place, alone) = (flux("[\"in place\"]"), flux("[\"alone\", \"in place\"]"));
        assert!(alone < 0.9 * in_place, "{symmetry}: {alone} {in_place}");
        // Taken off after the charge the keeper leaves it where it would have been without.
        let (opened, without) =
            (flux("[\"in place\", \"keepers off\"]"), flux("[\"keepers off\"]"));
        assert!((opened / without - 1.0).abs() < 1e-3, "{symmetry}: {opened} {without}");
    }
}

/// A straight line has no memory: whatever it has been through, the digits are the same.
#[test]
fn a_straight_line_forgets_to_the_last_digit() {
    const LAW: &str = "[[material]]
name = \"straight\"
law = \"straight magnet\"
remanence_T = 1.2
recoil_permeability = 1.05
";
    let make = |history: &str| {
        let text = format!("{}{LAW}", text("planar", "straight", history));
        let prepared = prepare(&text, &Library::built_in()).unwrap();
        fields(&prepared).unwrap().without.nodal
    };
    let plain = make("[\"in place\"]");
    assert!(plain.iter().any(|v| *v != 0.0));
    for history in ["[\"alone\", \"in place\"]", "[\"keepers off\", \"in place\"]"] {
        assert!(make(history) == plain, "{history}");
    }
}

/// With straight curves far from their knee everything goes with the remanence, whose coefficient is
/// -0.115 % per kelvin for neodymium and -0.2 % for ferrite.
#[test]
fn the_section_s_temperature_reaches_its_magnets() {
    let field = |material: &str, temperature: f64| {
        let text = text("axisymmetric", material, "[\"keepers off\"]")
            .replace("format = 1", &format!("format = 1\ntemperature_C = {temperature}"));
        let prepared = prepare(&text, &Library::built_in()).unwrap();
        let solved = solve(&prepared).unwrap();
        solved.quantities.parts[0].flux_density[1]
    };
    let library = Library::built_in();
    for (material, kelvin) in [("N42", 20.0), ("ferrite 8", -30.0)] {
        let alpha = match library.find(material).unwrap().law {
            lodestring::section::LawSpec::KneeMagnet { remanence_per_kelvin, .. } => {
                remanence_per_kelvin
            }
            _ => unreachable!("a knee magnet"),
        };
        let ratio = field(material, 20.0 + kelvin) / field(material, 20.0);
        // The equations are linear there: nothing but the solver's 1e-10 is left out.
        assert!((ratio - (1.0 + alpha * kelvin)).abs() < 1e-8, "{material}: {ratio}");
    }
}
