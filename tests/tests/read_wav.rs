//! A sound written by the tool, read back by the reader of Python's own library.
//!
//! Needs a Python, named by the variable `PYTHON` (`python3` if unset), so it is built only with
//! `--features python`.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::path::Path;
use std::process::Command;

#[test]
fn a_sound_is_read_back() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let folder = tempfile::tempdir().unwrap();
    let (wav, csv) = (folder.path().join("g3.wav"), folder.path().join("g3.csv"));
    let tool = Command::new(env!("CARGO_BIN_EXE_lodestring-tool"))
        .current_dir(&root)
        .args(["signal", "meshes/rod.toml", "--instrument", "meshes/instruments/light-neck.toml"])
        .args(["--duration", "0.2", "--full-scale", "200", "--height", "0.4 mm"])
        .arg("--wav")
        .arg(&wav)
        .arg("--voltage")
        .arg(&csv)
        .output()
        .unwrap();
    assert!(tool.status.success(), "{}", String::from_utf8_lossy(&tool.stderr));
    let python = std::env::var_os("PYTHON").unwrap_or_else(|| "python3".into());
    let read = Command::new(python)
        .arg(root.join("tests/read_wav.py"))
        .arg(&wav)
        .arg(&csv)
        .arg("200")
        .output()
        .unwrap();
    assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
}
