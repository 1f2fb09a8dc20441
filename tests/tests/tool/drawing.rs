//! `draw`: pictures to files, and what is said of a wish that can't be met.

use std::fs;

use super::{Run, repository, tool};

fn draw(arguments: &[&str]) -> (Run, Vec<u8>) {
    let folder = tempfile::tempdir().unwrap();
    let section = repository().join("meshes/rod.toml");
    let mut command = tool();
    command.current_dir(folder.path()).arg("draw").arg(section).args(arguments);
    let run = Run::of(&mut command);
    let written = fs::read_dir(folder.path()).unwrap().next();
    let bytes = written.map(|file| fs::read(file.unwrap().path()).unwrap());
    (run, bytes.unwrap_or_default())
}

#[test]
fn every_kind_goes_to_a_file_as_svg_or_png() {
    for show in ["section", "mesh", "flux", "density", "saturation"] {
        let (run, svg) = draw(&["--show", show, "--out", "a.svg"]);
        assert_eq!((run.out.as_str(), run.err.as_str(), run.code), ("", "", 0), "{show}");
        assert!(svg.starts_with(b"<svg "), "{show}");
    }
    let (run, png) = draw(&["--out", "a.PNG", "--enlarge", "2", "--dark", "--width", "500"]);
    assert_eq!((run.err.as_str(), run.code), ("", 0));
    // Width in the header of the file.
    assert_eq!(&png[16..20], 1000u32.to_be_bytes(), "500 px twice as large");
}

#[test]
fn svg_goes_to_standard_output_too() {
    let (run, file) = draw(&["--out", "-"]);
    assert!(run.out.starts_with("<svg ") && run.out.ends_with("</svg>\n"));
    assert!(file.is_empty());
}

#[test]
fn wishes_that_cannot_be_met_are_explained_and_write_nothing() {
    for (arguments, said) in [
        (&["--out", "a.jpg"][..], "a picture's name ends in .svg or .png"),
        (&["--out", "a.svg", "--zoom", "rood"], "did you mean `rod`?"),
        (&["--out", "a.svg", "--zoom", "1mm,1mm,0mm,0mm"], "no sensible size"),
        (&["--out", "a.svg", "--zoom=-1,1mm,0mm,0mm"], "left of the window has no unit"),
        (&["--out", "a.svg", "--lines", "0"], "0 is not in 1..=400"),
        (&["--out", "a.svg", "--width", "9"], "9 is not in 360..=4000"),
        (&[], "--out <FILE>"),
    ] {
        let (run, file) = draw(arguments);
        assert_eq!(run.code, 2, "{arguments:?}: {}", run.err);
        assert!(run.err.contains(said), "{arguments:?}: {}", run.err);
        assert!(run.out.is_empty() && file.is_empty(), "{arguments:?}");
    }
}
