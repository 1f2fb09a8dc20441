//! How the tool ends: exit codes, the broken pipe, a fault of its own.

use std::io::Read;
use std::process::{Command, Stdio};

use super::{Run, repository, run, section, tool};

#[test]
fn usage_is_2() {
    for arguments in [
        &[][..],
        &["nonsense"],
        &["check"],
        &["check", "meshes/rod.toml", "--format", "tables"],
        &["check", "meshes/rod.toml", "--threads", "0"],
        &["check", "meshes/rod.toml", "--threads", "many"],
        &["manual", "nonsense"],
        &["completions", "nonsense"],
    ] {
        let Run { out, err, code } = run(arguments);
        assert_eq!((out.as_str(), code), ("", 2), "{arguments:?}");
        assert!(!err.is_empty(), "{arguments:?}");
    }
}

/// A negative number is a value, and told what is wrong with it; an option that follows is not one.
#[test]
fn a_negative_accuracy_is_told_the_way_out() {
    for (arguments, said) in [
        (&["--accuracy", "-1"][..], "between 0.001 % and 10 %"),
        (&["--accuracy", "-0.5", "--threads", "1"], "between 0.001 % and 10 %"),
        (&["--most-unknowns", "-5"], "between 1000 and 2000000"),
        (&["--accuracy", "--threads", "1"], "a value is required for '--accuracy <SHARE>'"),
    ] {
        let Run { out, err, code } = run(&[&["solve", "meshes/rod.toml"][..], arguments].concat());
        assert_eq!((out.as_str(), code), ("", 2), "{arguments:?}");
        assert!(err.contains(said), "{err}");
    }
}

#[test]
fn a_bad_section_is_3() {
    let Run { out, err, code } = run(&["check", "Cargo.toml"]);
    assert_eq!((out.as_str(), code), ("", 3));
    assert!(err.contains("mistakes in Cargo.toml\n"), "{err}");
}

/// Runs the tool with `text` on its standard input.
fn piped(arguments: &[&str], text: &str) -> Run {
    let mut child = tool()
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    std::io::Write::write_all(&mut child.stdin.take().unwrap(), text.as_bytes()).unwrap();
    Run::from(child.wait_with_output().unwrap())
}

/// Two long plates a few micrometres apart, with a mesh ten times as fine as usual.
#[test]
fn a_section_too_fine_to_mesh_is_4() {
    let Run { out, err, code } = piped(
        &["solve", "-"],
        r#"format = 1
title = "plates almost touching"
symmetry = "planar"
mesh_scale = 0.1

[[part]]
name = "upper"
role = "body"
material = "mild steel"
rectangle = { x = ["-150 mm", "150 mm"], y = ["0.005 mm", "10 mm"] }

[[part]]
name = "lower"
role = "body"
material = "mild steel"
rectangle = { x = ["-150 mm", "150 mm"], y = ["-10 mm", "0 mm"] }
"#,
    );
    assert_eq!((out.as_str(), code), ("", 4), "{err}");
    assert!(err.starts_with("error: cannot solve standard input: "), "{err}");
    assert!(err.contains("triangles") && err.contains("mesh scale"), "{err}");
}

/// A material far more permeable than any, up to a sharp bend.
#[test]
fn a_field_that_does_not_converge_is_5() {
    let Run { out, err, code } = piped(
        &["solve", "-"],
        r#"format = 1
title = "a law with a sharp bend"
symmetry = "planar"

[[material]]
name = "sharp"
law = "curve"
field_strength_A_per_m = [0, 0.000001, 1000000]
flux_density_T = [0, 0.9, 3.16]

[[material]]
name = "strong"
law = "straight magnet"
remanence_T = 1.2
recoil_permeability = 1.05

[[part]]
name = "upper"
role = "body"
material = "sharp"
rectangle = { x = ["-15 mm", "15 mm"], y = ["0 mm", "10 mm"] }

[[part]]
name = "lower"
role = "magnet"
material = "strong"
charge = "up"
rectangle = { x = ["-15 mm", "15 mm"], y = ["-10 mm", "0 mm"] }
"#,
    );
    assert_eq!((out.as_str(), code), ("", 5), "{err}");
    for evidence in ["did not converge", "relative residual", "iterations", "`upper`"] {
        assert!(err.contains(evidence), "{err}");
    }
}

#[test]
fn what_cannot_be_read_is_6() {
    let Run { out, err, code } = run(&["check", "no/such/file.toml"]);
    assert_eq!((out.as_str(), code), ("", 6));
    assert_eq!(err, "error: cannot read `no/such/file.toml`: there is no such file or folder\n");
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    for arguments in [&["completions", "bash"][..], &["--help"], &["check", "meshes/rod.toml"]] {
        let mut child = tool()
            .current_dir(repository())
            .args(arguments)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let mut err = String::new();
        child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
        assert_eq!((err.as_str(), child.wait().unwrap().code()), ("", Some(0)), "{arguments:?}");
    }
}

/// A device that is always full stands for a full disk.
#[cfg(target_os = "linux")]
#[test]
fn standard_output_that_is_full_is_6() {
    for arguments in [&["completions", "bash"][..], &["--help"], &["check", "meshes/rod.toml"]] {
        let full = std::fs::File::options().write(true).open("/dev/full").unwrap();
        let Run { err, code, .. } =
            Run::of(tool().current_dir(repository()).args(arguments).stdout(full));
        assert_eq!(code, 6, "{arguments:?}");
        assert_eq!(err, "error: cannot write standard output: no space left\n");
    }
}

#[test]
fn a_fault_says_sorry_in_one_line_and_is_1() {
    let faulty = env!("CARGO_BIN_EXE_lodestring-faulty");
    let Run { out, err, code } = Run::of(Command::new(faulty).env_remove("RUST_BACKTRACE"));
    assert_eq!((out.as_str(), code), ("", 1));
    assert_eq!(err.lines().count(), 1, "{err}");
    for part in ["the answer is forty-two", "faulty.rs", "sorry", "report"] {
        assert!(err.contains(part), "{err}");
    }
    let told_more = Run::of(Command::new(faulty).env("RUST_BACKTRACE", "1"));
    assert!(told_more.err.lines().count() > 3, "{told_more:?}");
    assert_eq!(told_more.code, 1);
}

#[test]
fn standard_input_is_a_section_too() {
    let piped = piped(&["check", "-"], &section("rod.toml"));
    let named = run(&["check", "meshes/rod.toml"]);
    assert_eq!((piped.code, piped.err.as_str()), (0, ""));
    assert_eq!(piped.out, named.out);
}
