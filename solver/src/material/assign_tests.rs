//! Materials of whole sections, and what is said of those that can't be had.

use crate::material::{Law, Library, Sure, assign};
use crate::section::{Section, parse};

fn section(parts: &str) -> Section {
    let text = format!(
        "format = 1\ntitle = \"t\"\nsymmetry = \"planar\"\nstrings_run = \"through\"\n{parts}"
    );
    let parsed = parse(&text);
    assert_eq!(parsed.problems, []);
    parsed.section
}

fn part(name: &str, role: &str, material: &str, x: f64) -> String {
    let charge = if role == "magnet" { "charge = \"up\"\n" } else { "" };
    format!(
        "[[part]]\nname = \"{name}\"\nrole = \"{role}\"\nmaterial = \"{material}\"\n{charge}\
         rectangle = {{ width = \"4 mm\", height = \"10 mm\" }}\nat = [\"{x} mm\", \"0 mm\"]\n"
    )
}

fn string(core: &str, wrap: &str) -> String {
    format!(
        "[[string]]\nname = \"s\"\ngauge = \"1 mm\"\ncore = \"{core}\"\nwrap = \"{wrap}\"\n\
         core_diameter = \"0.4 mm\"\nover = \"a\"\ngap = \"2 mm\"\n"
    )
}

/// Message and help of each problem.
fn complaints(section: &Section) -> Vec<(String, String)> {
    let (assigned, problems) = assign(section, &Library::built_in());
    assert_eq!(assigned.parts.len(), section.parts.len());
    assert_eq!(assigned.strings.len(), section.strings.len());
    problems.into_iter().map(|p| (p.message, p.help.unwrap_or_default())).collect()
}

fn complaint(message: &str, help: &str) -> (String, String) {
    (message.to_owned(), help.to_owned())
}

#[test]
fn every_part_and_string_gets_its_material() {
    let own = "[[material]]\nname = \"mild steel\"\nlaw = \"linear\"\npermeability = 500\n";
    let text = [
        part("a", "magnet", "Alnico 5", 0.0),
        part("b", "pole piece", "mild steel", 10.0),
        part("c", "pole piece", "mild steel", 20.0),
        string("music wire", "nickel wrap"),
        own.to_owned(),
        "[temperature]\n".replace("[temperature]\n", ""),
    ]
    .concat();
    let section = section(&text);
    let (assigned, problems) = assign(&section, &Library::built_in());
    assert_eq!(problems, []);
    assert!(assigned.parts[0].law.is_magnet());
    // The section's own comes before the library's of the same name.
    assert!(matches!(assigned.parts[1].law, Law::Linear { mu_r: 500.0 }));
    assert!(matches!(assigned.strings[0].core.law, Law::Soft(_)));
    assert!(matches!(assigned.strings[0].wrap.as_ref().map(|w| &w.law), Some(Law::Soft(_))));
    let records: Vec<(&str, Option<&str>, Sure)> = assigned
        .provenance
        .iter()
        .map(|p| (p.material.as_str(), p.grade.as_deref(), p.sure))
        .collect();
    assert_eq!(
        records,
        [
            ("Alnico 5", Some("alnico 5"), Sure::Nominal),
            ("mild steel", None, Sure::User),
            ("music wire", Some("music wire"), Sure::Estimate),
            ("nickel wrap", Some("nickel wrap"), Sure::Estimate),
        ]
    );
}

#[test]
fn unknown_and_shared_names_come_with_a_way_out() {
    let section = section(
        &[
            part("a", "magnet", "alnicco 5", 0.0),
            part("b", "magnet", "alnico 4", 10.0),
            part("c", "body", "unobtainium", 20.0),
            part("d", "body", "unobtainium", 30.0),
        ]
        .concat(),
    );
    assert_eq!(
        complaints(&section),
        [
            complaint("unknown material `alnicco 5` for part `a`", "did you mean `alnico 5`?"),
            complaint(
                "`alnico 4` names more than one grade (part `b`)",
                "say which one: `alnico 4 low` or `alnico 4 high`"
            ),
            complaint(
                "unknown material `unobtainium` for part `c`",
                "the library has these families: alnico, ferrite, neodymium, samarium-cobalt, \
                 steel, stainless, plain, string; or define it under [[material]]"
            ),
        ]
    );
}

#[test]
fn magnets_and_their_materials_have_to_match() {
    let section = section(
        &[
            part("a", "magnet", "steel 1010", 0.0),
            part("b", "pole piece", "N42", 10.0),
            string("ferrite 8", "nickel wrap"),
        ]
        .concat(),
    );
    assert_eq!(
        complaints(&section),
        [
            complaint(
                "magnet `a` is made of `steel 1010`, which holds no charge",
                "choose a magnet grade, or give the part another role"
            ),
            complaint(
                "part `b` is made of the magnet `N42` but is no magnet",
                "set role = \"magnet\" and its `charge`, or choose another material"
            ),
            complaint(
                "string `s` is made of the magnet `ferrite 8`",
                "choose a wire, e.g. \"music wire\""
            ),
        ]
    );
}

#[test]
fn a_law_of_the_section_that_makes_no_sense_is_reported_once_even_if_unused() {
    let own = "[[material]]\nname = \"odd\"\nlaw = \"magnet\"\nremanence_T = 1.2\n\
               coercivity_kA_per_m = 50\nintrinsic_coercivity_kA_per_m = 40\n\
               energy_product_kJ_per_m3 = 30\nrecoil_permeability = 4\n";
    let message = "material `odd`: the coercivity of J, 40 kA/m, is below that of B, 50 kA/m; B \
                   vanishes before J does";
    let expected = [complaint(message, "compare with the maker's data sheet")];
    assert_eq!(complaints(&section(own)), expected);
    let used = [part("a", "magnet", "odd", 0.0), part("b", "magnet", "odd", 9.0)].concat() + own;
    assert_eq!(complaints(&section(&used)), expected);
}

#[test]
fn heat_beyond_the_limit_is_remarked() {
    let mut section = section(&part("a", "magnet", "N52", 0.0));
    section.temperature = 90.0;
    let (assigned, problems) = assign(&section, &Library::built_in());
    assert_eq!(problems, []);
    assert_eq!(
        assigned.provenance[0].remarks,
        ["the section is at 90 C, above the limit of use of 70 C"]
    );
}
