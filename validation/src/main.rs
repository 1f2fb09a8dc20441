//! Runs every case and writes `VALIDATION.md` beside `cases/`.
//!
//! Exit code 0 where every number is within its tolerance, 1 otherwise.

use std::path::Path;
use std::process::ExitCode;

use lodestring_validation::measure::run;
use lodestring_validation::shipped::CASES;
use lodestring_validation::table::document;

fn main() -> ExitCode {
    let ended: Vec<_> = CASES.iter().map(|shipped| (shipped, run(shipped))).collect();
    let text = document(&ended);
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("VALIDATION.md");
    let mut good = true;
    for (shipped, outcome) in &ended {
        match outcome {
            Ok(outcome) => {
                for row in outcome.rows.iter().filter(|row| !row.within()) {
                    good = false;
                    say(&format!("{}: {} off by {:.2e}", shipped.name, row.what, row.deviation));
                }
            }
            Err(error) => {
                good = false;
                say(&format!("{}: {error}", shipped.name));
            }
        }
    }
    if let Err(error) = std::fs::write(&path, text) {
        good = false;
        say(&format!("cannot write {}: {error}", path.display()));
    }
    if good { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

#[expect(clippy::print_stderr, reason = "this is a command-line tool")]
fn say(words: &str) {
    eprintln!("{words}");
}
