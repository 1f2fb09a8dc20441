//! `check`, `solve` and `export` on every shipped section, in every form.

use serde_json::Value;

use super::{Run, repository, run, section, tool};

/// The shipped sections, as typed from the folder of the repository.
fn sections() -> Vec<String> {
    let mut files: Vec<String> = std::fs::read_dir(repository().join("meshes"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.ends_with(".toml"))
        .map(|name| format!("meshes/{name}"))
        .collect();
    files.sort();
    assert!(files.len() >= 7, "{files:?}");
    files
}

/// Runs the tool and gives what it printed; nothing may have gone wrong.
fn printed(arguments: &[&str]) -> String {
    let Run { out, err, code } = run(arguments);
    assert_eq!((err.as_str(), code), ("", 0), "{arguments:?}");
    out
}

/// Endings of keys that are units.
const UNITS: [&str; 24] = [
    "dB",
    "mm",
    "mm2",
    "mT",
    "T",
    "uWb",
    "uWb_per_mm",
    "uWb_per_mm2",
    "mWb",
    "Wb_per_m",
    "mWb_per_mm_per_m",
    "mN",
    "N_per_m",
    "mN_per_mm",
    "N_per_m_per_mm",
    "H",
    "H_per_m",
    "kohm",
    "mJ",
    "J_per_m",
    "kA_per_m",
    "percent",
    "deg",
    "degC",
];

/// Numbers without a unit.
const PURE: [&str; 13] = [
    "pole",
    "mesh_nodes",
    "mesh_triangles",
    "triangles_sharper_than_25_degrees",
    "steepest_grading",
    "turns",
    "unknowns",
    "factorisations",
    "factorisations_with_strings",
    "relative_residual",
    "permeance_coefficient",
    "permeance_coefficient_error",
    "sample",
];

#[test]
fn reports_are_sound_in_every_form() {
    for section in ["meshes/rod.toml", "meshes/blade.toml"] {
        for command in ["check", "solve"] {
            report_is_sound(command, section);
        }
    }
}

#[test]
#[ignore = "slow: solves every section three times"]
fn reports_on_all_sections_are_sound_in_every_form() {
    for section in sections() {
        for command in ["check", "solve"] {
            report_is_sound(command, &section);
        }
    }
}

fn report_is_sound(command: &str, section: &str) {
    let text = printed(&[command, section]);
    for line in text.lines() {
        assert!(line.chars().count() <= 110, "{section}: {line}");
        assert!(!line.contains("not finite"), "{section}: {line}");
        assert_eq!(line, line.trim_end(), "{section}");
    }
    let json = printed(&[command, section, "--format", "json"]);
    keys_are_sound(&serde_json::from_str(&json).unwrap(), section);
    let csv = printed(&[command, section, "--format", "csv"]);
    assert!(csv.starts_with("kind,name,quantity,unit,value,error\n"), "{section}");
    assert!(csv.lines().count() > 20, "{section}");
}

/// Every number's key ends in a unit or is known to have none; no number is missing.
fn keys_are_sound(value: &Value, section: &str) {
    match value {
        Value::Object(map) => {
            for (key, value) in map {
                if value.is_number() {
                    let has_unit = UNITS.iter().any(|unit| key.ends_with(&format!("_{unit}")));
                    assert!(has_unit || PURE.contains(&key.as_str()), "{section}: {key}");
                }
                keys_are_sound(value, section);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| keys_are_sound(item, section)),
        _ => {}
    }
}

/// Whatever the form, the numbers are the same.
#[test]
fn csv_and_json_hold_the_same_numbers() {
    let json: Value =
        serde_json::from_str(&printed(&["solve", "meshes/blade.toml", "--format", "json"]))
            .unwrap();
    let csv = printed(&["solve", "meshes/blade.toml", "--format", "csv"]);
    for string in json["strings"].as_array().unwrap() {
        let name = string["name"].as_str().unwrap();
        let pull = &string["pull_up_mN"];
        assert!(pull.as_f64().unwrap() != 0.0);
        let error = &string["pull_up_error_mN"];
        assert!(error.as_f64().unwrap() > 0.0);
        assert!(csv.contains(&format!("strings,{name},pull_up,mN,{pull},{error}\n")), "{name}");
    }
}

#[test]
fn same_bytes_on_one_thread_and_on_two() {
    let report =
        |n: &str| printed(&["solve", "meshes/rod.toml", "--format", "json", "--threads", n]);
    assert_eq!(report("1"), report("2"));
    let grid = |n: &str| printed(&["export", "meshes/rod.toml", "--out", "-", "--threads", n]);
    assert_eq!(grid("1"), grid("2"));
}

#[test]
#[ignore = "slow: fifty thousand unknowns, solved twice"]
fn same_bytes_of_many_unknowns_on_one_thread_and_on_two() {
    let report =
        |n: &str| printed(&["solve", "meshes/six-rods.toml", "--format", "json", "--threads", n]);
    assert_eq!(report("1"), report("2"));
}

#[test]
fn probes_are_written_whole() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("probes.csv");
    let section = repository().join("meshes/blade.toml");
    let solved = Run::of(tool().arg("solve").arg(section).arg("--probes").arg(&file));
    assert_eq!((solved.err.as_str(), solved.code), ("", 0));
    let csv = std::fs::read_to_string(&file).unwrap();
    let (head, rows) = csv.split_once('\n').unwrap();
    assert!(
        head.starts_with(
            "probe,sample,x_mm,y_mm,flux_density_without_up_mT,flux_density_without_across_mT"
        ),
        "{head}"
    );
    let along: Vec<&str> =
        rows.lines().filter(|row| row.starts_with("along the string,")).collect();
    assert_eq!(along.len(), 101);
    assert!(along[0].starts_with("along the string,1,-25,2.7,"), "{}", along[0]);
    assert!(along[100].starts_with("along the string,101,25,2.7,"), "{}", along[100]);
}

#[test]
fn a_grid_is_smaller_compressed() {
    let whole = |more: &[&str]| {
        let mut arguments = vec!["export", "meshes/rod.toml", "--out", "-"];
        arguments.extend(more);
        printed(&arguments)
    };
    let (packed, plain) = (whole(&[]), whole(&["--uncompressed"]));
    for grid in [&packed, &plain] {
        assert!(grid.starts_with("<VTKFile type=\"UnstructuredGrid\""), "{:.80}", grid);
        assert!(grid.trim_end().ends_with("</VTKFile>"));
    }
    assert!(packed.len() * 10 < plain.len() * 9, "{} of {} bytes", packed.len(), plain.len());
}

/// An alnico rod in the open does not hold its charge and a neodymium one does; the report says so in
/// words.
#[test]
fn magnets_that_lose_charge_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let solved = |material: &str| {
        let path = folder.path().join("rod.toml");
        let text = section("rod.toml").replace("material = \"alnico 5\"", material);
        std::fs::write(&path, text).unwrap();
        run(&["solve", path.to_str().unwrap()]).out
    };
    let alnico = solved("material = \"alnico 5\"");
    assert!(alnico.contains("Magnet rod: does not hold all of its charge here"), "{alnico}");
    assert!(alnico.contains("  not held\n"), "{alnico}");
    let neodymium = solved("material = \"N42\"");
    assert!(neodymium.contains("  held\n") && !neodymium.contains("  ! "), "{neodymium}");
}

/// Across the plane the wrap of a wound string is a ring, and the report says so; one that is not magnetic is
/// left out without a word, and the string has the pull of its core.
#[test]
fn wraps_that_are_a_ring_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let solved = |wrap: &str| {
        let path = folder.path().join("coarse.toml");
        let coarse = section("six-rods.toml")
            .replacen("format = 1", "format = 1\nmesh_scale = 4", 1)
            .replace("nickel wrap", wrap)
            + "\n[[material]]\nname = \"bronze wrap\"\nlaw = \"linear\"\npermeability = 1\n";
        std::fs::write(&path, coarse).unwrap();
        let Run { out, err, code } = run(&["solve", path.to_str().unwrap(), "--format", "json"]);
        assert_eq!((err.as_str(), code), ("", 0));
        out
    };
    let pull = |out: &str| -> f64 {
        let told: Value = serde_json::from_str(out).unwrap();
        told["strings"][0]["pull_up_N_per_m"].as_f64().unwrap().abs()
    };
    let (nickel, bronze) = (solved("nickel wrap"), solved("bronze wrap"));
    assert!(nickel.contains("The wrap of E2, A2, D3 is a smooth ring"), "{nickel}");
    assert!(!bronze.contains("is a smooth ring"), "{bronze}");
    // 0.195 and, for the core alone, some 0.03 N/m.
    assert!(pull(&nickel) > 4.0 * pull(&bronze), "{} {}", pull(&nickel), pull(&bronze));
    let coupled = run(&["solve", "meshes/blade-six-strings.toml", "--format", "json"]).out;
    assert!(coupled.contains("\"E2\"") && !coupled.contains("is a smooth ring"));
}
