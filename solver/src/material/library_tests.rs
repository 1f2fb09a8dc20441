//! Every shipped grade: it loads, its law fits, and the law gives its own data back.

use std::collections::BTreeSet;

use crate::material::{DemagnetisationCurve, Law, Library, NotFound, SHIPPED_FILES, Sure};
use crate::section::{Grade, LawSpec, parse_grades};
use crate::units::MU_0;

fn law(grade: &Grade) -> Law {
    Law::from_spec(&grade.law, 20.0).expect(&grade.name).law
}

fn curve(grade: &Grade) -> DemagnetisationCurve {
    match law(grade) {
        Law::Magnet(curve) => curve,
        _ => panic!("{} is no magnet", grade.name),
    }
}

fn close(name: &str, what: &str, got: f64, wanted: f64, relative: f64) {
    assert!((got / wanted - 1.0).abs() < relative, "{name}: {what} is {got}, stated {wanted}");
}

#[test]
fn shipped_files_are_free_of_mistakes() {
    for (file, text) in SHIPPED_FILES {
        let parsed = parse_grades(text);
        assert_eq!(parsed.problems, [], "{file}");
        for grade in &parsed.grades {
            let fit = Law::from_spec(&grade.law, 20.0).expect(&grade.name);
            assert_eq!(fit.remark, None, "{file}: {}", grade.name);
            assert_ne!(grade.sure, Sure::User, "{file}: {}", grade.name);
        }
    }
}

#[test]
fn names_are_distinct_and_everything_asked_for_is_there() {
    let library = Library::built_in();
    let names: BTreeSet<String> = library.grades().map(|g| g.name.to_lowercase()).collect();
    assert_eq!(names.len(), library.grades().count());
    for name in [
        "alnico 1",
        "alnico 2",
        "alnico 3",
        "alnico 5",
        "alnico 5dg",
        "alnico 5-7",
        "alnico 6",
        "alnico 7",
        "alnico 8",
        "alnico 8hc",
        "alnico 9",
        "alnico 2 sintered",
        "alnico 5 sintered",
        "alnico 6 sintered",
        "alnico 8 sintered",
        "alnico 8hc sintered",
        "ferrite 1",
        "ferrite 5",
        "ferrite 7",
        "ferrite 8",
        "ferrite 10",
        "n30",
        "n42",
        "n52",
        "n35m",
        "n40h",
        "n42sh",
        "n38uh",
        "n30eh",
        "smco5 18",
        "sm2co17 26h",
        "mild steel",
        "steel 1010",
        "music wire",
        "nickel",
        "nickel wrap",
        "nickel-plated steel wrap",
        "stainless 430",
        "stainless 430f",
        "stainless 304",
        "air",
        "copper",
        "brass",
        "bobbin plastic",
        "ceramic 8",
        "Steel-1018",
    ] {
        assert!(library.find(name).is_ok(), "{name}");
    }
}

#[test]
fn four_data_curves_give_their_data_back() {
    for grade in Library::built_in().grades() {
        let LawSpec::Magnet {
            remanence,
            coercivity,
            intrinsic_coercivity,
            energy_product,
            recoil,
            ..
        } = grade.law
        else {
            continue;
        };
        let (name, curve) = (grade.name.as_str(), curve(grade));
        // The bound asked for; the fit is by halving and good to about 1e-13.
        close(name, "remanence", curve.b_of_h(0.0).0, remanence, 1e-6);
        close(name, "coercivity", curve.coercivity(), coercivity, 1e-6);
        close(name, "B at the coercivity + 1 T", 1.0 + curve.b_of_h(-coercivity).0, 1.0, 1e-6);
        close(name, "energy product", curve.energy_product(), energy_product, 1e-6);
        close(name, "slope", curve.b_of_h(0.0).1 / MU_0, recoil, 1e-6);
        // Not used by the fit: the form implies it, to a few per cent of the standard's value.
        if let Some(of_j) = intrinsic_coercivity {
            let implied = curve.intrinsic_coercivity().expect("has one");
            close(name, "coercivity of J", implied, of_j, 0.08);
        }
    }
}

#[test]
fn knee_curves_give_their_data_back() {
    for grade in Library::built_in().grades() {
        let LawSpec::KneeMagnet { remanence, intrinsic_coercivity, recoil, .. } = grade.law else {
            continue;
        };
        let (name, curve) = (grade.name.as_str(), curve(grade));
        close(name, "remanence", curve.b_of_h(0.0).0, remanence, 1e-12);
        let (b, _) = curve.b_of_h(-intrinsic_coercivity);
        close(name, "mu_0 H at the coercivity of J", b, -MU_0 * intrinsic_coercivity, 1e-12);
        close(name, "slope", curve.b_of_h(0.0).1 / MU_0, recoil, 1e-12);
        // Not used by the law. The remanence is the middle of a range 3 to 8 % wide (the energy
        // product goes with its square); one coercivity of J serves a whole range of makers.
        if let Some(product) = grade.listed_energy_product {
            close(name, "energy product", curve.energy_product(), product, 0.10);
        }
        if let Some(listed) = grade.listed_coercivity {
            close(name, "coercivity", curve.coercivity(), listed, 0.13);
        }
    }
}

#[test]
fn a_shared_name_is_refused_with_both_grades() {
    let library = Library::built_in();
    let both = vec!["alnico 4 low".to_owned(), "alnico 4 high".to_owned()];
    assert_eq!(library.find("Alnico 4").err(), Some(NotFound::Ambiguous(both)));
    let near = NotFound::Unknown(Some("alnico 5".to_owned()));
    assert_eq!(library.find("alnicco 5").err(), Some(near));
}

#[test]
fn a_users_file_adds_and_replaces() {
    let text = r#"
        format = 1

        [[grade]]
        name = "Alnico-5"
        family = "alnico"
        law = "magnet"
        remanence_T = 1.25
        coercivity_kA_per_m = 48
        energy_product_kJ_per_m3 = 40
        recoil_permeability = 4
        source = "sheet of the maker"
        sure = "data sheet"

        [[grade]]
        name = "my wire"
        law = "saturating"
        saturation_T = 2.0
        initial_permeability = 80
        shape = "froehlich"
    "#;
    let shipped = Library::built_in().grades().count();
    let library = Library::built_in().with_user_file(text).expect("sound");
    assert_eq!(library.grades().count(), shipped + 1);
    let alnico = library.find("alnico 5").expect("replaced");
    close("alnico 5", "remanence", curve(alnico).remanence(), 1.25, 1e-15);
    assert_eq!(library.find("my wire").expect("added").sure, Sure::User);
}

#[test]
fn a_users_file_with_mistakes_lists_them_all() {
    let text = "format = 1\n\
        [[grade]]\nname = \"a\"\nlaw = \"magnet\"\nremanence_T = 1.2\ncoercivity_kA_per_m = 50\n\
        energy_product_kJ_per_m3 = 90\nrecoil_permeability = 4\n\
        [[grade]]\nname = \"b\"\nlaw = \"linear\"\npermeability = 1\nsauce = \"x\"\n\
        [[grade]]\nname = \"a\"\nlaw = \"linear\"\npermeability = 1\n";
    let problems = Library::built_in().with_user_file(text).expect_err("three mistakes");
    let messages: Vec<&str> = problems.iter().map(|p| p.message.as_str()).collect();
    assert_eq!(
        messages,
        [
            "unknown key `sauce` in a grade",
            "the name `a` is taken already",
            "grade `a`: the energy product 90 kJ/m3 is more than B_r H_c = 60 kJ/m3"
        ]
    );
    assert!(problems.iter().all(|p| p.span.is_some() && p.help.is_some()));
}
