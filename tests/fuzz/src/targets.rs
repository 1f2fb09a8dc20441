//! The ways from bytes to a section file, by name.

use std::io::Write as _;

use crate::drawn::drawn;
use crate::edited::edited;
use crate::holds::{section_holds, text_holds};

/// A way from bytes to a section file that is then tried.
pub struct Target {
    /// Its name: that of its binary and of its folder in `corpus`.
    pub name: &'static str,
    /// The text that bytes stand for.
    pub text: fn(&[u8]) -> String,
    /// What must hold for the text; panics where it does not.
    pub holds: fn(&str),
}

/// All of them.
pub const TARGETS: [Target; 3] = [
    Target {
        name: "text",
        text: |bytes| String::from_utf8_lossy(bytes).into_owned(),
        holds: |text| {
            text_holds(text);
        },
    },
    Target { name: "edited", text: edited, holds: section_holds },
    Target { name: "drawn", text: drawn, holds: section_holds },
];

/// Tries what `bytes` stand for at the target of that name.
pub fn replay(name: &str, bytes: &[u8]) {
    for target in TARGETS.iter().filter(|target| target.name == name) {
        (target.holds)(&(target.text)(bytes));
    }
}

/// Prints and tries what the files named on the command line stand for.
///
/// # Errors
/// A file cannot be read, or standard output not written.
pub fn replay_files(name: &str) -> std::io::Result<()> {
    for path in std::env::args_os().skip(1) {
        let bytes = std::fs::read(path)?;
        for target in TARGETS.iter().filter(|target| target.name == name) {
            let text = (target.text)(&bytes);
            writeln!(std::io::stdout(), "{text}")?;
            (target.holds)(&text);
        }
    }
    Ok(())
}
