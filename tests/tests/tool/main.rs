//! The tool as a person meets it: what it prints, where, and how it ends.
//!
//! The binary is the shim of this crate, which has the same `main` as the real one.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod balancing;
mod comparing;
mod drawing;
mod ending;
mod exporting;
mod files;
mod grading;
mod help;
mod mistakes;
mod plucking;
mod readme;
mod reporting;
mod solving;
mod varying;
mod verifying;

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

/// A run of the tool that is to come, free of the caller's terminal settings.
fn tool() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_lodestring-tool"));
    for name in ["COLUMNS", "NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "RUST_BACKTRACE"] {
        command.env_remove(name);
    }
    command.stdin(Stdio::null());
    command
}

/// Runs the tool with `arguments` in the folder of the repository.
fn run(arguments: &[&str]) -> Run {
    Run::of(tool().current_dir(repository()).args(arguments))
}

/// What a run printed and how it ended.
#[derive(Debug)]
struct Run {
    out: String,
    err: String,
    code: i32,
}

impl Run {
    fn of(command: &mut Command) -> Self {
        Self::from(command.output().unwrap())
    }
}

impl From<Output> for Run {
    fn from(output: Output) -> Self {
        Self {
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
            code: output.status.code().expect("ended by a signal"),
        }
    }
}

fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// A section that ships with the tool.
fn section(name: &str) -> String {
    std::fs::read_to_string(repository().join("meshes").join(name)).unwrap()
}
