//! Pages written by the tool, opened in headless Chromium.
//!
//! Needs Node, Chromium (`CHROMIUM` names it where it is not `/usr/bin/chromium`) and the packages of
//! `tests/browser`, so it is built only with `--features browser`; see DEVELOPERS.md.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::path::Path;
use std::process::Command;

fn tool(root: &Path, command: &str, arguments: &[&str], out: &Path) {
    let tool = Command::new(env!("CARGO_BIN_EXE_lodestring-tool"))
        .current_dir(root)
        .arg(command)
        .args(arguments)
        .arg("--out")
        .arg(out)
        .output()
        .unwrap();
    assert!(tool.status.success(), "{}", String::from_utf8_lossy(&tool.stderr));
}

#[test]
fn a_reader_finds_everything_and_nothing_leaves_the_page() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let folder = tempfile::tempdir().unwrap();
    let nasty = folder.path().join("nasty.toml");
    let text = std::fs::read_to_string(root.join("meshes/rod.toml")).unwrap();
    let title = "title = \"</h1><script>alert(1)</script> \u{5de}\u{5d2}\u{5e0}\u{5d8} \
                 a_title_without_a_single_space_that_goes_on_and_on_and_on_and_on_and_on_and_on\"";
    let renamed: Vec<String> = text
        .lines()
        .map(|line| if line.starts_with("title") { title.to_owned() } else { line.to_owned() })
        .collect();
    assert_ne!(renamed.join("\n"), text.trim_end(), "the title was replaced");
    std::fs::write(&nasty, renamed.join("\n")).unwrap();
    let nasty = nasty.to_string_lossy().into_owned();
    let coarse = folder.path().join("coarse.toml");
    let text = std::fs::read_to_string(root.join("meshes/six-rods.toml")).unwrap();
    let coarser = text.replacen("format = 1", "format = 1\nmesh_scale = 4", 1);
    assert_ne!(coarser, text);
    std::fs::write(&coarse, coarser).unwrap();
    let coarse = coarse.to_string_lossy().into_owned();
    let reports: [&[&str]; 3] = [
        &[&nasty, "--instrument", "meshes/instruments/medium.toml", "--grade", "alnico"],
        &[&coarse, "--vary", "string.G3.gap = 2 mm to 3 mm in 5", "--grade", "ferrite 8"],
        &["meshes/steel-pole-disc.toml"],
    ];
    let mut pages = Vec::new();
    for (i, arguments) in reports.iter().enumerate() {
        let page = folder.path().join(format!("page-{i}.html"));
        tool(&root, "report", arguments, &page);
        pages.push(page);
    }
    // Each picture twice: Chromium draws the SVG as the tool draws the PNG.
    for (i, (file, show)) in
        [(nasty.as_str(), "section"), ("meshes/rod.toml", "flux"), ("meshes/rod.toml", "density")]
            .into_iter()
            .enumerate()
    {
        for ending in ["png", "svg"] {
            let picture = folder.path().join(format!("picture-{i}.{ending}"));
            tool(&root, "draw", &[file, "--show", show], &picture);
            if ending == "svg" {
                pages.push(picture);
            }
        }
    }
    let look = Command::new("node")
        .current_dir(root.join("tests/browser"))
        .arg("look.mjs")
        .args(&pages)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&look.stdout);
    assert!(look.status.success(), "{said}\n{}", String::from_utf8_lossy(&look.stderr));
}
