//! The cases that come with the crate, in the order in which they are reported.

use crate::case::Shipped;

macro_rules! case {
    ($name:literal) => {
        Shipped {
            name: $name,
            section: include_str!(concat!("../cases/", $name, "/section.toml")),
            case: include_str!(concat!("../cases/", $name, "/case.toml")),
        }
    };
}

/// A case whose section is one of those that come with the program.
macro_rules! of_mesh {
    ($mesh:literal) => {
        Shipped {
            name: concat!("shipped-", $mesh),
            section: include_str!(concat!("../../meshes/", $mesh, ".toml")),
            case: include_str!(concat!("../cases/shipped-", $mesh, "/case.toml")),
        }
    };
}

/// All cases.
pub const CASES: &[Shipped] = &[
    case!("permeable-cylinder-mu-5"),
    case!("permeable-cylinder-mu-100"),
    case!("permeable-cylinder-mu-1000"),
    case!("steel-cylinder-1-T"),
    case!("steel-cylinder-1.6-T"),
    case!("cylindrical-shell-mu-100"),
    case!("cylindrical-shell-mu-1000"),
    case!("cylindrical-shell-mu-10000"),
    case!("magnetised-cylinder-mu-1"),
    case!("magnetised-cylinder-mu-1.05"),
    case!("magnetised-cylinder-mu-4"),
    case!("alnico-2-cylinder"),
    case!("alnico-2-sphere"),
    case!("alnico-5-cylinder"),
    case!("alnico-5-sphere"),
    case!("alnico-8-cylinder"),
    case!("alnico-8-sphere"),
    case!("rectangular-bar"),
    case!("flat-bar"),
    case!("parallel-wires"),
    case!("wire-beside-cylinder"),
    case!("wires-over-iron"),
    case!("wire-over-bar-magnet"),
    case!("two-magnetised-cylinders"),
    case!("halbach-cylinder"),
    case!("cylinder-magnet"),
    case!("permeable-sphere-mu-5"),
    case!("permeable-sphere-mu-100"),
    case!("permeable-sphere-mu-1000"),
    case!("steel-sphere-1.6-T"),
    case!("spherical-shell-mu-100"),
    case!("spherical-shell-mu-1000"),
    case!("magnetised-sphere"),
    case!("coaxial-loops"),
    case!("solenoid"),
    case!("thick-coils"),
    case!("rod-and-string-3-D"),
    case!("lone-rod-alnico-2"),
    case!("lone-rod-alnico-3"),
    case!("lone-rod-alnico-5"),
    case!("lone-rod-alnico-6"),
    case!("lone-rod-alnico-8"),
    case!("lone-rod-ferrite-8"),
    case!("lone-rod-SmCo5-18"),
    case!("lone-rod-N42"),
    case!("soft-rod-and-string-3-D"),
    case!("softer-rod-and-string-3-D"),
    case!("soft-rod-and-thin-string-3-D"),
    case!("rod-and-saturating-string-3-D"),
    case!("rod-of-mu-20-and-thin-string-3-D"),
    case!("rod-of-mu-1000-and-string-3-D"),
    case!("row-middle-3-D"),
    case!("row-end-3-D"),
    case!("row-pushed-3-D"),
    case!("row-of-soft-poles-3-D"),
    case!("row-of-close-soft-poles-3-D"),
    case!("blade-and-string-3-D"),
    of_mesh!("six-rods"),
    of_mesh!("twin-blade"),
    of_mesh!("steel-poles-plate"),
    of_mesh!("steel-pole-disc"),
    case!("bench-rod"),
    case!("bench-bars"),
    case!("bench-core-swap"),
];

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::path::Path;

    use lodestring::section::parse;

    use super::*;
    use crate::bibliography::{REFERENCES, keys};
    use crate::case::Target;
    use crate::form::Form;

    #[test]
    fn every_folder_is_a_case_and_every_case_a_folder() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("cases");
        let found: BTreeSet<String> = std::fs::read_dir(folder)
            .expect("the folder of cases is readable")
            .map(|entry| {
                let name = entry.expect("a folder entry can be read").file_name();
                name.to_string_lossy().into_owned()
            })
            .collect();
        let listed: BTreeSet<String> = CASES.iter().map(|case| case.name.to_owned()).collect();
        assert_eq!(found, listed);
    }

    #[test]
    fn every_case_reads_and_cites_what_is_listed() {
        let listed = keys(REFERENCES);
        for shipped in CASES {
            let case = shipped.read().unwrap_or_else(|error| panic!("{}: {error}", shipped.name));
            assert!(!case.check.is_empty(), "{} checks nothing", shipped.name);
            assert!(!case.cites.is_empty(), "{} cites nothing", shipped.name);
            for key in &case.cites {
                assert!(listed.contains(key.as_str()), "{} cites [{key}]", shipped.name);
            }
            for check in &case.check {
                assert!(check.reason.len() > 20, "{} gives no reason", shipped.name);
            }
        }
    }

    #[test]
    fn every_section_reads_and_its_reference_answers_every_check() {
        for shipped in CASES {
            let name = shipped.name;
            let parsed = parse(shipped.section);
            assert!(parsed.problems.is_empty(), "{name}: {:?}", parsed.problems);
            let section = parsed.section;
            let case = shipped.read().expect("the case reads: another test says so");
            assert!(case.title.starts_with(&section.title), "{name}: {}", section.title);
            let form = &case.reference;
            for check in &case.check {
                if matches!(form, Form::Figures {}) {
                    let figures = &check.figures;
                    assert!(!figures.is_empty(), "{name}: no figures");
                    assert!(figures.iter().all(|f| f.is_finite() && *f != 0.0), "{name}");
                    continue;
                }
                match &check.of {
                    Target::FluxDensity(names) => {
                        for probe in names {
                            let found = section.probes.iter().find(|p| &p.name == probe);
                            let points = &found.unwrap_or_else(|| panic!("{name}: {probe}")).points;
                            for &p in points {
                                let b = form.flux_density(p);
                                let b = b.unwrap_or_else(|| panic!("{name}: no field at {probe}"));
                                assert!(b[0].is_finite() && b[1].is_finite(), "{name}: {probe}");
                                assert!(b != [0.0; 2], "{name}: {probe}");
                            }
                        }
                    }
                    Target::Pull(bodies) => {
                        for body in bodies {
                            assert!(
                                section.parts.iter().any(|p| &p.name == body),
                                "{name}: {body}"
                            );
                            assert!(form.pull(body).is_some(), "{name}: no pull on {body}");
                        }
                    }
                    Target::Inductance(coils) => {
                        for coil in coils {
                            assert!(
                                section.coils.iter().any(|c| &c.name == coil),
                                "{name}: {coil}"
                            );
                            assert!(form.inductance(coil, coil).is_some(), "{name}: {coil}");
                        }
                    }
                    Target::MutualInductance([one, two]) => {
                        assert!(form.inductance(one, two).is_some(), "{name}: {one}, {two}");
                    }
                    other => panic!("{name}: no closed form has {other:?}"),
                }
            }
        }
    }
}
