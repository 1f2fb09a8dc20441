//! Wound strings through the plane: core and ring are one string.

use std::f64::consts::PI;

use crate::geometry::Source;
use crate::material::Library;
use crate::pipeline::{Prepared, Solved, prepare, solve};
use crate::quantity::StringReading;
use crate::units::{MM, MU_0};

const GAUGE: f64 = 1.2;
const CORE: f64 = 0.45;

/// A rod under a string of these keys, 3 mm above it; off the middle, so that it is pulled sideways too.
fn over_a_rod(string: &str) -> (Prepared, Solved) {
    solved(&format!(
        "format = 1\ntitle = \"rod\"\nsymmetry = \"planar\"\nstrings_run = \"through\"\n\
         [[material]]\nname = \"steel wire\"\nlaw = \"linear\"\npermeability = 10\n\
         [[material]]\nname = \"wire\"\nlaw = \"linear\"\npermeability = {}\n\
         [[part]]\nname = \"rod\"\nrole = \"magnet\"\nmaterial = \"alnico 5\"\n\
         rectangle = {{ width = \"4.8 mm\", height = \"17 mm\", bevel = \"0.3 mm\" }}\n\
         at = [\"0 mm\", \"0 mm\"]\nanchor = \"top\"\ncharge = \"up\"\n\
         [[coil]]\nname = \"coil\"\nturns = 7600\nwindow = {{ rectangle = {{ x = [\"3 mm\", \"7 mm\"], \
         y = [\"-13 mm\", \"-2 mm\"] }}, mirror = \"0 mm\" }}\n\
         [[string]]\nname = \"E2\"\nheight = \"3 mm\"\noffset = \"0.8 mm\"\n{string}",
        1.0 + wire_like(9.0),
    ))
}

fn solved(text: &str) -> (Prepared, Solved) {
    let prepared = prepare(text, &Library::built_in()).expect("no mistakes");
    let solved = solve(&prepared).expect("solves");
    (prepared, solved)
}

/// Areas of the hexagonal core and of the ring around it, and the share of the ring that is wire, mm2.
fn areas() -> (f64, f64, f64) {
    let core = 0.5 * 3.0_f64.sqrt() * CORE * CORE;
    let ring = 0.25 * PI * GAUGE * GAUGE - core;
    let wire = 0.5 * (GAUGE - CORE);
    (core, ring, 0.25 * PI * wire * PI * (CORE + wire) / ring)
}

/// Susceptibility of a wire whose layer of turns has the susceptibility `chi`.
fn wire_like(chi: f64) -> f64 {
    let (_, _, share) = areas();
    chi / (share - 0.042 * chi)
}

fn string(solved: &Solved) -> &StringReading {
    &solved.quantities.strings[0]
}

fn off(a: f64, b: f64) -> f64 {
    (a / b - 1.0).abs()
}

/// Pull and linkage change of `a` against those of `b`, held against the longer of their components.
fn close(a: &StringReading, b: &StringReading, tolerance: f64) {
    let size = |v: [f64; 2]| v[0].hypot(v[1]);
    for k in 0..2 {
        let pull = (a.pull[k] - b.pull[k]).abs() / size(b.pull);
        let of = |s: &StringReading| s.linkage_change[0];
        let change = (of(a)[k] - of(b)[k]).abs() / size(of(b));
        assert!(pull < tolerance && change < tolerance, "{k}: pull {pull:e}, change {change:e}");
        let field = (a.flux_density[k] - b.flux_density[k]).abs() / size(b.flux_density);
        assert!(field < tolerance, "{k}: flux density {field:e}");
    }
}

#[test]
fn core_and_ring_have_the_areas_of_the_wire_and_move_as_one() {
    let nickel =
        format!("gauge = \"{GAUGE} mm\"\ncore_diameter = \"{CORE} mm\"\nwrap = \"nickel wrap\"\n");
    let (prepared, solved) = over_a_rod(&nickel);
    let area = |source| {
        let region = prepared.regions.regions.iter().find(|region| region.source == source);
        region.expect("there").area
    };
    let (core, ring, share) = areas();
    // Rounding.
    assert!(off(area(Source::String(0)), core * MM * MM) < 1e-9);
    assert!(off(area(Source::Wrap(0)), ring * MM * MM) < 1e-9);
    assert!(off(prepared.section.strings[0].share_of_wrap(), share) < 1e-12);
    let members: Vec<_> = solved.quantities.pulls.iter().map(|pull| &pull.members).collect();
    assert!(members.contains(&&vec!["E2".to_owned()]), "{members:?}");
    assert_eq!(solved.quantities.strings.len(), 1);
    assert!(string(&solved).wrap_is_meshed);
    // The clearance is that of the gauge.
    let clearance = prepared.clearances.iter().find(|c| c.second == "rod").expect("measured");
    assert!(off(clearance.distance, (3.0 - 0.5 * GAUGE) * MM) < 1e-9, "{clearance:?}");
}

/// A wrap whose turns answer as the core does, against a plain string of the gauge.
#[test]
fn a_wrap_like_its_core_makes_a_plain_string() {
    let steel = format!("gauge = \"{GAUGE} mm\"\ncore = \"steel wire\"\n");
    let (_, plain) = over_a_rod(&steel);
    let (_, wound) =
        over_a_rod(&format!("{steel}core_diameter = \"{CORE} mm\"\nwrap = \"wire\"\n"));
    // The default mesh is laid out for a thousandth.
    close(string(&wound), string(&plain), 1e-3);
}

/// Bronze is air to the field: the core alone is meshed, the round one of the hexagon's area.
#[test]
fn a_bronze_wrap_leaves_the_core() {
    let (prepared, wound) = over_a_rod(&format!(
        "gauge = \"{GAUGE} mm\"\ncore_diameter = \"{CORE} mm\"\nwrap = \"bronze\"\n"
    ));
    assert!(prepared.regions.regions.iter().all(|of| of.source != Source::Wrap(0)));
    assert!(!string(&wound).wrap_is_meshed);
    let (core, _, _) = areas();
    let diameter = 2.0 * (core / PI).sqrt();
    let (_, plain) = over_a_rod(&format!("gauge = \"{diameter} mm\"\n"));
    // The same mesh but for the rounding of the radius.
    close(string(&wound), string(&plain), 1e-9);
}

/// A core in a ring, both linear, in a uniform field: inside the core the field is uniform, in the ring
/// uniform and that of a dipole, of which the mean over the ring is nothing. With phi = -h1 x in the core
/// and -(h2 + p/r^2) x in the ring, k = (mu2 - mu1)/(mu2 + mu1), t the core's share of the area:
/// h1 = (1 + k) h2 and h2 ((1 + k t) + mu2 (1 - k t)) = 2 H_0.
#[test]
fn the_mean_field_in_a_wound_string_is_the_exact_one() {
    let (mu1, mu2) = (20.0, 10.0);
    let applied = 0.01;
    let (_, solved) = solved(&format!(
        "format = 1\ntitle = \"string\"\nsymmetry = \"planar\"\nstrings_run = \"through\"\n\
         applied_field_T = [0.0, {applied}]\n\
         [[material]]\nname = \"steel wire\"\nlaw = \"linear\"\npermeability = {mu1}\n\
         [[material]]\nname = \"wire\"\nlaw = \"linear\"\npermeability = {}\n\
         [[string]]\nname = \"E2\"\nheight = \"3 mm\"\ngauge = \"{GAUGE} mm\"\ncore = \"steel wire\"\n\
         core_diameter = \"{CORE} mm\"\nwrap = \"wire\"\n",
        1.0 + wire_like(mu2 - 1.0),
    ));
    let (core, ring, _) = areas();
    let t = core / (core + ring);
    let k = (mu2 - mu1) / (mu2 + mu1);
    let h2 = 2.0 * applied / MU_0 / ((1.0 + k * t) + mu2 * (1.0 - k * t));
    let exact = MU_0 * h2 * (mu1 * (1.0 + k) * t + mu2 * (1.0 - t));
    let [across, up] = string(&solved).flux_density;
    // The default mesh is laid out for a thousandth.
    assert!(off(up, exact) < 1e-3 && across.abs() < 1e-3 * exact, "{across} {up} of {exact}");
}
