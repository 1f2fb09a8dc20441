//! How the tool ends: its exit codes, as constants, and as the text of `--help` and the manual.

/// Done; also when the reader of a pipe went away.
pub const DONE: u8 = 0;
/// Something unexpected: a fault of the program.
pub const UNEXPECTED: u8 = 1;
/// The command line was not understood.
pub const USAGE: u8 = 2;
/// The section file has mistakes.
pub const BAD_SECTION: u8 = 3;
/// The section is sound but could not be meshed.
pub const MESHING_FAILED: u8 = 4;
/// The field did not converge.
pub const NOT_CONVERGED: u8 = 5;
/// A file could not be read or written.
pub const CANNOT_READ_OR_WRITE: u8 = 6;
/// A case of `verify` is off its exact solution.
pub const OFF: u8 = 7;
/// Ended by Ctrl-C; what was done has been printed. As shells count it: 128 and the signal's number.
pub const INTERRUPTED: u8 = 130;

/// Every code with its meaning, in order.
pub const CODES: [(u8, &str); 9] = [
    (DONE, "done"),
    (UNEXPECTED, "something unexpected: a fault of the program"),
    (USAGE, "the command line was not understood"),
    (BAD_SECTION, "the section file has mistakes"),
    (MESHING_FAILED, "the section could not be meshed"),
    (NOT_CONVERGED, "the field did not converge"),
    (CANNOT_READ_OR_WRITE, "a file could not be read or written"),
    (OFF, "a case of `verify` is off its exact solution"),
    (INTERRUPTED, "interrupted; what was done has been printed"),
];

/// The codes as a paragraph of help.
pub fn help() -> String {
    let mut text = String::from("Exit codes:");
    for (code, meaning) in CODES {
        text.push_str(&format!("\n  {code}  {meaning}"));
    }
    text
}
