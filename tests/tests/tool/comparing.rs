//! Grades compared in one section.

#[cfg(unix)]
use std::process::{Command, Stdio};

use super::{Run, run, section, tool};

/// A planar section that solves in a moment, strings through the plane.
const PLANAR: &str = "format = 1
symmetry = \"planar\"
strings_run = \"through\"
mesh_scale = 4
[[part]]
name = \"rod\"
role = \"magnet\"
material = \"ferrite 8\"
rectangle = { width = \"5 mm\", height = \"10 mm\" }
at = [\"0 mm\", \"0 mm\"]
anchor = \"top\"
charge = \"up\"
[[coil]]
name = \"coil\"
turns = 7000
window = { rectangle = { x = [\"3 mm\", \"7 mm\"], y = [\"-8 mm\", \"-2 mm\"] }, mirror = \"0 mm\" }
[[string]]
name = \"G3\"
gauge = \"0.6 mm\"
over = \"rod\"
gap = \"2 mm\"
";

fn json(arguments: &[&str]) -> serde_json::Value {
    let Run { out, err, code } = run(arguments);
    assert_eq!((err.as_str(), code), ("", 0));
    serde_json::from_str(&out).unwrap()
}

fn planar(folder: &tempfile::TempDir) -> String {
    let path = folder.path().join("planar.toml");
    std::fs::write(&path, PLANAR).unwrap();
    path.to_str().unwrap().to_owned()
}

/// A row is what `solve` says of the section with that grade written into it.
#[test]
fn a_row_is_what_its_own_file_gives() {
    let rows = json(&["compare", "meshes/rod.toml", "n42", "alnico 5", "--format", "json"]);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("n42.toml");
    std::fs::write(
        &path,
        section("rod.toml").replace("material = \"alnico 5\"", "material = \"N42\""),
    )
    .unwrap();
    let own = json(&["solve", path.to_str().unwrap(), "--accuracy", "mesh", "--format", "json"]);
    let row = &rows["grades"][0];
    assert_eq!(row["name"], "N42");
    let same = |key: &str, own: &serde_json::Value| {
        let (a, b) = (row[key].as_f64().unwrap(), own[key].as_f64().unwrap());
        // The same equations from another first guess, solved to 1e-10 of the gradient.
        assert!((a / b - 1.0).abs() < 1e-7, "{key}: {a} {b}");
    };
    let of_string = [
        "flux_density_without_up_mT",
        "flux_density_up_T",
        "pull_up_mN",
        "pull_up_change_up_mN_per_mm",
    ];
    of_string.iter().for_each(|key| same(key, &own["strings"][0]));
    same("linkage_change_up_uWb_per_mm", &own["linkage_changes"][0]);
    same("inductance_H", &own["coils"][0]);
    ["working_field_strength_kA_per_m", "margin_to_knee_kA_per_m"]
        .iter()
        .for_each(|key| same(key, &own["parts"][0]));
    assert_eq!(row["temperature_limit_degC"], 80.0);
    // The section's own grade is what levels are told against.
    assert!(rows["grades"][1]["level_dB"].as_f64().unwrap().abs() < 1e-6);
    let ratio = row["linkage_change_up_uWb_per_mm"].as_f64().unwrap()
        / rows["grades"][1]["linkage_change_up_uWb_per_mm"].as_f64().unwrap();
    let level = row["level_dB"].as_f64().unwrap();
    // Ten digits are written.
    assert!((level - 20.0 * ratio.log10()).abs() < 1e-6, "{level} {ratio}");
}

/// Errors are those of the mesh with the section's own grade, as shares: with another that is no better
/// magnetised they are much the same as from a solve of its own.
#[test]
fn errors_are_much_as_those_of_a_solve() {
    let rows = json(&["compare", "meshes/rod.toml", "alnico 2", "--format", "json"]);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("alnico-2.toml");
    std::fs::write(&path, section("rod.toml").replace("\"alnico 5\"", "\"alnico 2\"")).unwrap();
    let own = json(&["solve", path.to_str().unwrap(), "--accuracy", "mesh", "--format", "json"]);
    let row = &rows["grades"][0];
    for (key, own) in [
        ("pull_up_error_mN", &own["strings"][0]),
        ("linkage_change_up_error_uWb_per_mm", &own["linkage_changes"][0]),
        ("inductance_error_H", &own["coils"][0]),
    ] {
        let (a, b) = (row[key].as_f64().unwrap(), own[key].as_f64().unwrap());
        // A factor of three is what estimates from three meshes are good to.
        assert!((1.0 / 3.0..3.0).contains(&(a / b)), "{key}: {a} {b}");
    }
}

#[test]
fn planar_sections_strings_through_them_sorted_and_against_another() {
    let folder = tempfile::tempdir().unwrap();
    let path = planar(&folder);
    let arguments =
        ["compare", &path, "ferrite", "alnico 5", "--against", "alnico 5", "--sort", "level"];
    let text = run(&arguments);
    assert_eq!((text.err.as_str(), text.code), ("", 0));
    insta::assert_snapshot!("compare", text.out);
    let rows = json(&[&arguments[..], &["--descending", "--format", "json"]].concat());
    let levels: Vec<f64> = rows["grades"]
        .as_array()
        .unwrap()
        .iter()
        .map(|row| row["level_dB"].as_f64().unwrap())
        .collect();
    assert_eq!(levels.len(), 6);
    assert!(levels.windows(2).all(|pair| pair[0] >= pair[1]), "{levels:?}");
    let markdown = run(&[&arguments[..], &["--format", "markdown"]].concat()).out;
    assert!(
        markdown.starts_with("Rows are of string G3, coil coil, magnets rod.\n\n"),
        "{markdown}"
    );
    assert!(markdown.contains("| grade | field up, no strings (mT) |"), "{markdown}");
}

/// With `--each` every string and every coil has its row, with the figures that it has when it is
/// asked for by name; in the magnet's table a grade stands once.
#[test]
fn every_string_and_coil_has_its_row() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("two.toml");
    let more = "[[string]]\nname = \"B3\"\ngauge = \"0.33 mm\"\nover = \"rod\"\ngap = \"3 mm\"\n\
                [[coil]]\nname = \"other\"\nturns = 3000\nwindow = { rectangle = { x = [\"8 mm\", \
                \"9 mm\"], y = [\"-8 mm\", \"-2 mm\"] }, mirror = \"0 mm\" }\n";
    std::fs::write(&path, format!("{PLANAR}{more}")).unwrap();
    let path = path.to_str().unwrap();
    let asked = ["compare", path, "ferrite 8", "N42", "--format", "json"];
    let all = json(&[&asked[..], &["--each", "--sort", "pull_up"]].concat());
    assert_eq!((&all["strings"], &all["coils"]), (&"G3, B3".into(), &"coil, other".into()));
    let rows = all["grades"].as_array().unwrap();
    assert_eq!(rows.len(), 2 * 2 * 2);
    let pull = |row: &serde_json::Value| row["pull_up_N_per_m"].as_f64().unwrap();
    assert!(rows.windows(2).all(|pair| pull(&pair[0]) <= pull(&pair[1])), "sorted");
    for (string, coil) in [("G3", "coil"), ("B3", "coil"), ("G3", "other"), ("B3", "other")] {
        let named = json(&[&asked[..], &["--string", string, "--coil", coil]].concat());
        for own in named["grades"].as_array().unwrap() {
            let mut found = rows.iter().filter(|row| {
                (&row["name"], &row["string"], &row["coil"])
                    == (&own["name"], &string.into(), &coil.into())
            });
            let row = found.next().unwrap();
            assert!(found.next().is_none(), "{string} {coil}");
            for (key, value) in own.as_object().unwrap() {
                assert_eq!(&row[key], value, "{string} {coil} {key}");
            }
        }
    }
    let text = run(&["compare", path, "N42", "ferrite 8", "--each"]).out;
    assert!(text.contains("Rows are of strings G3, B3, coils coil, other, magnets rod."), "{text}");
    let (strings, magnets) = text.split_once("In the magnet").unwrap();
    assert_eq!(
        (strings.matches("N42").count(), magnets.matches("  N42").count()),
        (4, 1),
        "{text}"
    );
    let csv = run(&["compare", path, "N42", "--each", "--coil", "other", "--format", "csv"]).out;
    assert_eq!(csv.lines().count(), 1 + 2, "{csv}");
    assert!(csv.starts_with("name,family,sure,string,"), "{csv}");
}

/// A grade whose coefficients do not hold at the section's temperature does not take the others with
/// it.
#[test]
fn a_grade_that_fails_is_a_row_that_says_why() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("hot.toml");
    std::fs::write(&path, PLANAR.replace("format = 1", "format = 1\ntemperature_C = 240")).unwrap();
    let path = path.to_str().unwrap();
    let Run { out, err, code } = run(&["compare", path, "N42", "ferrite 8", "--format", "csv"]);
    assert_eq!((err.as_str(), code), ("", 0));
    let rows: Vec<&str> = out.lines().skip(1).collect();
    assert!(rows[0].contains("is gone altogether"), "{out}");
    assert!(rows[0].starts_with("N42,neodymium,"), "{out}");
    assert!(rows[1].starts_with("ferrite 8,ferrite,"), "{out}");
    let text = run(&["compare", path, "N42", "ferrite 8"]).out;
    assert!(text.contains("not solved because"), "{text}");
}

/// Without strings the first probe stands in for them.
#[test]
fn a_section_without_strings_shows_its_first_probe() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bare.toml");
    let (bare, _) = PLANAR.split_once("[[string]]").unwrap();
    let probe = "[[probe]]\nname = \"over it\"\nat = [\"0 mm\", \"2 mm\"]\n";
    std::fs::write(&path, format!("{bare}{probe}")).unwrap();
    let path = path.to_str().unwrap();
    let rows = json(&["compare", path, "ferrite 8", "--format", "json"]);
    let own = json(&["solve", path, "--accuracy", "mesh", "--format", "json"]);
    let key = "flux_density_without_up_mT";
    let (a, b) =
        (rows["grades"][0][key].as_f64().unwrap(), own["probes"][0][key].as_f64().unwrap());
    // The same equations, solved to 1e-10 of the gradient.
    assert!((a / b - 1.0).abs() < 1e-7, "{a} {b}");
    assert_eq!(rows["probe"], "over it");
}

#[test]
#[ignore = "slow: every shipped grade twice"]
fn the_same_bytes_on_one_thread_and_on_two() {
    let all =
        |threads| run(&["compare", "meshes/rod.toml", "--format", "json", "--threads", threads]);
    let (one, two) = (all("1"), all("2"));
    assert_eq!(one.code, 0);
    assert!(one.out == two.out, "they differ");
    let rows: serde_json::Value = serde_json::from_str(&one.out).unwrap();
    assert!(rows["grades"].as_array().unwrap().len() > 70);
    assert!(!one.out.contains("\"failed\""));
}

/// Ctrl-C after the first grades: those that are done are printed, as they would have been. When the
/// grades begin is not known from outside: what came too early is tried again later.
#[cfg(unix)]
#[test]
#[ignore = "slow: every shipped grade on one thread"]
fn interrupted_it_prints_what_is_done() {
    let arguments = ["compare", "meshes/rod.toml", "--format", "csv", "--threads", "1"];
    let whole = run(&arguments).out;
    for wait in [300, 600, 1200, 2400, 4800] {
        let child = tool()
            .current_dir(super::repository())
            .args(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        std::thread::sleep(std::time::Duration::from_millis(wait));
        let kill = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
        assert!(kill.success());
        let output = child.wait_with_output().unwrap();
        let (out, err) = (String::from_utf8(output.stdout).unwrap(), output.stderr);
        match output.status.code() {
            None => assert_eq!(out, "", "killed before the first grade"),
            Some(code) => {
                let err = String::from_utf8(err).unwrap();
                assert_eq!(code, 130, "{err}");
                assert!(err.contains("are done and stand above"), "{err}");
                let (done, all) = (out.lines().count(), whole.lines().count());
                assert!(done > 1 && done < all, "{done} of {all} lines");
                assert!(whole.starts_with(&out), "{out}");
                return;
            }
        }
    }
    unreachable!("it never came to the grades");
}

#[test]
fn mistakes_are_told_before_anything_is_solved() {
    for (arguments, said) in [
        (&["alnico 55"][..], "did you mean `alnico 5`?"),
        (&["--against", "alnico"], "`alnico` names more than one grade"),
        (&["--magnet", "rods"], "did you mean `rod`?"),
        (&["--string", "G"], "no string is called `G`"),
        (&["--coil", "oil"], "did you mean `coil`?"),
        (&["--sort", "levle"], "did you mean `level`?"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let path = planar(&folder);
        let Run { out, err, code } = run(&[&["compare", &path][..], arguments].concat());
        assert_eq!((out.as_str(), code), ("", 2), "{arguments:?}");
        assert!(err.contains(said), "{arguments:?}: {err}");
    }
}
