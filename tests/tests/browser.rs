//! Pages written by the tool, opened in headless Chromium.
//!
//! Needs Node, Chromium (`CHROMIUM` names it where it is not `/usr/bin/chromium`) and the packages of
//! `tests/browser`, so it is built only with `--features browser`; see DEVELOPERS.md.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::path::Path;
use std::process::Command;

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
    let reports: [&[&str]; 3] = [
        &[&nasty, "--instrument", "meshes/instruments/medium.toml", "--grade", "alnico"],
        &["meshes/six-rods.toml", "--vary", "part.rod 1.at.y = -1 mm to 1 mm in 5"],
        &["meshes/steel-pole-disc.toml"],
    ];
    let mut pages = Vec::new();
    for (i, arguments) in reports.iter().enumerate() {
        let page = folder.path().join(format!("page-{i}.html"));
        let tool = Command::new(env!("CARGO_BIN_EXE_lodestring-tool"))
            .current_dir(&root)
            .arg("report")
            .args(*arguments)
            .arg("--out")
            .arg(&page)
            .output()
            .unwrap();
        assert!(tool.status.success(), "{}", String::from_utf8_lossy(&tool.stderr));
        pages.push(page);
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
