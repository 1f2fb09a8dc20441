//! Rows of a study written by the tool as Parquet, read back by the reader of the format's makers.
//!
//! Needs a Python with `pyarrow`, named by the variable `PYTHON` (`python3` if unset), so it is built
//! only with `--features python`.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

use std::path::Path;
use std::process::Command;

#[test]
fn rows_are_read_back() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
    let folder = tempfile::tempdir().unwrap();
    let rows = folder.path().join("rows.parquet");
    let tool = Command::new(env!("CARGO_BIN_EXE_lodestring-tool"))
        .current_dir(&root)
        .args(["vary", "meshes/rod.toml", "string.G3.gap = 1 mm, 2 mm, -1 mm"])
        .args(["temperature_C = 20, 30", "--out"])
        .arg(&rows)
        .output()
        .unwrap();
    assert!(tool.status.success(), "{}", String::from_utf8_lossy(&tool.stderr));
    let python = std::env::var_os("PYTHON").unwrap_or_else(|| "python3".into());
    let read = Command::new(python)
        .arg(root.join("tests/read_parquet.py"))
        .arg(&rows)
        .arg(folder.path().join("rows.parquet.rows.csv"))
        .arg("2")
        .output()
        .unwrap();
    assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
}
