//! The grade library as the tool lists it, with a file of the person's own.

use super::{Run, run, section, tool};

/// A grade file that adds one and replaces one.
const OWN: &str = "format = 1

[[grade]]
name = \"batch 7\"
family = \"alnico\"
law = \"magnet\"
remanence_T = 1.25
coercivity_kA_per_m = 49.5
energy_product_kJ_per_m3 = 40
recoil_permeability = 4.1
source = \"test sheet\"
sure = \"data sheet\"

[[grade]]
name = \"Alnico 5\"
family = \"alnico\"
law = \"straight magnet\"
remanence_T = 0.5
recoil_permeability = 1
source = \"mine\"
sure = \"user\"
";

#[test]
fn a_family_is_listed_in_every_form() {
    let Run { out, err, code } = run(&["grades", "ferrite"]);
    assert_eq!((err.as_str(), code), ("", 0));
    insta::assert_snapshot!("grades", out);
    let csv = run(&["grades", "ferrite", "--format", "csv"]).out;
    let mut lines = csv.lines();
    let heads: Vec<&str> = lines.next().unwrap().split(',').collect();
    for head in ["name", "source", "remanence_T", "energy_product_kJ_per_m3", "sure"] {
        assert!(heads.contains(&head), "{heads:?}");
    }
    assert_eq!(lines.count(), 5);
    let json: serde_json::Value =
        serde_json::from_str(&run(&["grades", "N42", "--format", "json"]).out).unwrap();
    assert_eq!(json["magnets"][0]["name"], "N42");
    assert_eq!(json["magnets"][0]["recoil_permeability"], 1.05);
    let markdown = run(&["grades", "ferrite", "--format", "markdown"]).out;
    assert!(markdown.contains("| ferrite 8 | ferrite | 0.385 |"), "{markdown}");
}

#[test]
fn rows_that_are_nominal_from_memory_say_so() {
    let out = run(&["grades", "--magnets"]).out;
    let row = out.lines().find(|line| line.trim_start().starts_with("alnico 5 ")).unwrap();
    assert!(row.ends_with("nominal"), "{row}");
    assert!(out.contains("from memory of a standard"), "{out}");
    assert!(out.contains("data sheet of the maker comes first"), "{out}");
}

#[test]
fn a_file_of_ones_own_adds_and_replaces() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("own.toml");
    std::fs::write(&path, OWN).unwrap();
    let with = |arguments: &[&str]| Run::of(tool().args(arguments).arg("--materials").arg(&path));
    let csv = with(&["grades", "batch 7", "alnico 5", "--format", "csv"]).out;
    assert!(csv.contains("batch 7,alnico,magnet,data sheet,test sheet"), "{csv}");
    assert!(csv.contains("Alnico 5,alnico,straight magnet,user,mine"), "{csv}");
    // It is the library of every command.
    let file = folder.path().join("rod.toml");
    std::fs::write(&file, section("rod.toml").replace("alnico 5\"\nrect", "batch 7\"\nrect"))
        .unwrap();
    let file = file.to_str().unwrap();
    assert_eq!(with(&["check", file]).code, 0);
    assert_eq!(run(&["check", file]).code, 3);
    // Its mistakes are told with their place.
    std::fs::write(&path, OWN.replace("remanence_T = 1.25", "remanence_T = 0.03")).unwrap();
    let Run { out, err, code } = with(&["grades"]);
    assert_eq!((out.as_str(), code), ("", 3));
    assert!(err.contains("grade `batch 7`: the coercivity") && err.contains("own.toml:"), "{err}");
}

#[test]
fn what_is_not_there_is_told_with_a_way_out() {
    let Run { out, err, code } = run(&["grades", "alnico 55"]);
    assert_eq!((out.as_str(), code), ("", 2));
    assert!(err.contains("did you mean `alnico 5`?"), "{err}");
}
