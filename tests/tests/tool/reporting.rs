//! `report`: one page with everything in it, whatever the section file says.

use std::fs;

use super::{Run, repository, run, section, tool};

/// The page of a section with this text, made with these arguments more.
fn page(text: &str, arguments: &[&str]) -> (Run, String) {
    let folder = tempfile::tempdir().unwrap();
    let (file, out) = (folder.path().join("a.toml"), folder.path().join("a.html"));
    fs::write(&file, text).unwrap();
    let mut command = tool();
    command.current_dir(repository()).arg("report").arg(&file).args(arguments);
    let run = Run::of(command.arg("--out").arg(&out));
    (run, fs::read_to_string(&out).unwrap_or_default())
}

/// A rod with this title and name, meshed as coarsely as it may be.
fn rod(title: &str, name: &str) -> String {
    let quoted = |text: &str| serde_json::to_string(text).unwrap();
    format!(
        "format = 1\ntitle = {}\nsymmetry = \"axisymmetric\"\n[[part]]\nname = {}\nrole = \"magnet\"\n\
         material = \"alnico 5\"\nrectangle = {{ width = \"5 mm\", height = \"5 mm\" }}\n\
         at = [\"0 mm\", \"0 mm\"]\nanchor = \"top\"\ncharge = \"up\"\n",
        quoted(title),
        quoted(name)
    )
}

#[test]
fn a_page_has_its_numbers_pictures_curves_and_files() {
    let text = section("rod.toml");
    let (run, html) = page(
        &text,
        &[
            "--instrument",
            "meshes/instruments/medium.toml",
            "--vary",
            "string.G3.gap = 2 mm to 3 mm in 3",
            "--grade",
            "alnico 2",
        ],
    );
    assert_eq!((run.out.as_str(), run.err.as_str(), run.code), ("", "", 0));
    for chapter in [
        "At a glance",
        "Section and field",
        "Numbers",
        "Curves",
        "On the instrument",
        "What is heard",
        "What was varied",
        "Magnet grades",
        "What these numbers cannot tell",
        "Run it again",
    ] {
        assert!(html.contains(&format!(">{chapter}</h2>")), "{chapter}");
    }
    for curve in [
        "Pull against the gap",
        "Flux change against the gap",
        "Aperture: where along the string the coil listens",
        "Demagnetisation curve of alnico 5",
        "Detuning at each fret",
        "Harmonics",
        "Pull up against string.G3.gap",
        "Which grade: pull against level",
    ] {
        assert!(html.contains(&format!("<strong><bdi>{curve}</bdi>")), "{curve}");
    }
    // Section, flux lines and density, each wide and narrow.
    assert_eq!(html.matches("data-px-per-mm").count(), 6);
    // Whoever has the page can make it again: every line of the section file stands in it.
    for line in text.lines().filter(|line| !line.contains(['"', '&', '<'])) {
        assert!(html.contains(&format!("<bdi>{line}</bdi>")), "{line}");
    }
    assert!(html.contains("--vary &#39;string.G3.gap") || html.contains("--vary 'string.G3.gap"));
    // Nothing is asked for from elsewhere.
    let elsewhere = html.replace("http://www.w3.org/2000/svg", "");
    for word in ["http:", "https:", "src=", "@import", "url(h", "<link", "<img"] {
        assert!(!elsewhere.contains(word), "{word}");
    }
}

/// What `solve` tells is what the page shows, and the mesh of the curves agrees with it.
#[test]
fn the_page_shows_what_solve_tells() {
    let (_, html) = page(&section("rod.toml"), &[]);
    let solved = run(&["solve", "meshes/rod.toml", "--format", "json"]);
    let json: serde_json::Value = serde_json::from_str(&solved.out).unwrap();
    let string = &json["strings"][0];
    for key in ["pull_up_mN", "flux_density_without_up_mT", "pull_up_change_up_mN_per_mm"] {
        let value = string[key].as_f64().unwrap();
        assert!(html.contains(&format!("data-v=\"{value}\"")), "{key}: {value}");
    }
    let (_, apart) = html.split_once("the pulls told above within ").unwrap();
    let apart: f64 = apart.split_once(" %").unwrap().0.parse().unwrap();
    // The solve is as good as half a per cent, and the section's own mesh is no worse.
    assert!(apart > 0.0 && apart < 1.0, "{apart}");
}

/// With a study the section takes the mesh that the study takes: every number has its error as `solve` tells it
/// of that mesh, and what has none is said to be as good.
#[test]
fn the_page_tells_the_errors_that_solve_tells() {
    let (_, html) = page(&section("rod.toml"), &["--vary", "string.G3.gap = 2 mm to 3 mm in 3"]);
    let solved = run(&["solve", "meshes/rod.toml", "--accuracy", "mesh"]).out;
    let row = solved.lines().find(|line| line.trim_start().starts_with("G3")).unwrap();
    let told: Vec<&str> = row.split_whitespace().filter(|cell| cell.contains('(')).collect();
    assert!(told.len() >= 2, "{row}");
    for cell in told {
        let (number, error) = cell.split_once('(').unwrap();
        let number = number.replace('-', "\u{2212}");
        let shown = format!("{number}<span class=\"e\">({error}</span>");
        assert!(html.contains(&shown), "{shown}");
    }
    assert!(html.contains("which may be wrong by: pulls "), "a study has no errors of its own");
}

/// Errors of a mesh made for the section's numbers are not told of a study's.
#[test]
fn a_study_does_not_borrow_the_errors_of_another_mesh() {
    let axis = "string.G3.gap = 2 mm to 3 mm in 3";
    let (_, html) = page(&section("rod.toml"), &["--vary", axis, "--accuracy", "2 %"]);
    assert!(html.contains("whose errors are not theirs"));
    assert!(!html.contains("which may be wrong by"));
}

/// A circuit shows behind the coil, and what made the page stands in it.
#[test]
fn a_circuit_is_drawn_and_told_again() {
    let heard = ["--instrument", "meshes/instruments/medium.toml", "--resistance", "6000"];
    let more = ["--load", "250000", "--accuracy", "5 %", "--coil", "coil"];
    let (run, html) = page(&section("rod.toml"), &[&heard[..], &more].concat());
    assert_eq!((run.err.as_str(), run.code), ("", 0));
    for said in [
        "What the circuit does to each frequency",
        "data-s=\"behind the circuit\"",
        "--resistance 6000",
        "--load 250000",
        "--coil coil",
        ">10k</text>",
    ] {
        assert!(html.contains(said), "{said}");
    }
    assert!(html.contains("--accuracy") && html.contains("5 %"));
}

/// 200 cases fit a page that opens at once.
#[test]
#[ignore = "slow: 200 cases"]
fn a_study_of_200_cases_stays_small() {
    let coarse = section("rod.toml").replacen("format = 1", "format = 1\nmesh_scale = 4", 1);
    let axis = "part.rod.rectangle.height = 14 mm to 20 mm in 200";
    let (run, html) = page(&coarse, &["--vary", axis]);
    assert_eq!((run.err.as_str(), run.code), ("", 0));
    assert!(html.contains("200 cases of part.rod.rectangle.height"));
    assert!(html.len() < 3_000_000, "{} bytes", html.len());
}

#[test]
fn text_of_a_section_stays_text() {
    for nasty in [
        "</title></svg><script>alert(1)</script>",
        "\" onmouseover=\"alert(1)\" x='",
        "--> ]]> &lt;b&gt; <b>",
        "\u{5de}\u{5d2}\u{5e0}\u{5d8} \u{5d7}\u{5d6}\u{5e7} (alnico 5) \u{645}\u{63a}",
        "\u{202e}desrever \u{2066}isolated",
    ] {
        let (run, html) = page(&rod(nasty, nasty), &[]);
        assert_eq!((run.err.as_str(), run.code), ("", 0), "{nasty}");
        assert_eq!(html.matches("<script>").count(), 1, "the page's own: {nasty}");
        assert_eq!(html.matches("<title>").count(), 1, "{nasty}");
        assert!(!html.contains("<b>") && !html.contains(" onmouseover=\""), "{nasty}");
        let turning = |c: char| ('\u{202a}'..='\u{202e}').contains(&c) || c == '\u{2066}';
        assert!(!html.contains(turning), "{nasty}");
    }
}

#[test]
fn the_number_of_threads_leaves_no_trace() {
    let of = |threads: &str| {
        let mut command = tool();
        command.current_dir(repository()).args(["report", "meshes/rod.toml", "--out", "-"]);
        Run::of(command.args(["--threads", threads])).out
    };
    let one = of("1");
    assert!(one.ends_with("</html>"), "{}", one.len());
    assert!(one == of("3"), "the pages differ");
}

#[test]
fn wishes_that_cannot_be_met_write_nothing() {
    for (arguments, said) in [
        (&["--vary", "string.G3.gap = 1 mm to 2 mm in 5000"][..], "5000 cases are too many"),
        (&["--vary", "strin.G3.gap = 1 mm"], "did you mean `string`?"),
        (&["--grade", "alnicko 5"], "alnico 5"),
        (&["--string", "G3"], "--instrument"),
        (&["--resistance", "6000"], "--instrument"),
    ] {
        let (run, html) = page(&section("rod.toml"), arguments);
        assert_eq!(run.code, 2, "{arguments:?}: {}", run.err);
        assert!(run.err.contains(said), "{arguments:?}: {}", run.err);
        assert!(html.is_empty() && run.out.is_empty(), "{arguments:?}");
    }
}
