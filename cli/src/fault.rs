//! What happens when the program itself is at fault: one line that says so and how to report it.

use std::io::Write;
use std::panic::{self, AssertUnwindSafe, PanicHookInfo};
use std::process::ExitCode;

use crate::exit;

/// Runs `work`; should it panic, prints one line on standard error and ends with
/// [`exit::UNEXPECTED`]. With `RUST_BACKTRACE` set the usual panic message comes first.
pub fn guard(work: impl FnOnce() -> ExitCode) -> ExitCode {
    let usual = panic::take_hook();
    panic::set_hook(Box::new(move |info| {
        if std::env::var_os("RUST_BACKTRACE").is_some_and(|v| v != "0") {
            usual(info);
        }
        let _ = writeln!(anstream::stderr(), "{}", apology(info));
    }));
    // The program ends here, so nothing that was left half-changed is looked at again.
    panic::catch_unwind(AssertUnwindSafe(work)).unwrap_or(ExitCode::from(exit::UNEXPECTED))
}

fn apology(info: &PanicHookInfo<'_>) -> String {
    let what = info.payload_as_str().unwrap_or("no message").replace(['\n', '\r'], " ");
    let place = info.location().map(|l| format!(" at {}:{}", l.file(), l.line()));
    format!(
        "lodestring {} has a fault, sorry: {what}{}. Please report this line together with the \
         command and the section file (RUST_BACKTRACE=1 tells more).",
        crate::VERSION,
        place.unwrap_or_default(),
    )
}
