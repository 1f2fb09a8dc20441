//! The command-line tool: what was typed to the library, and its answer to standard output or a
//! file. It computes nothing.
//!
//! Data go to standard output, everything else to standard error. A file is written whole or not
//! at all. Each way to end has its own exit code ([`exit`]).

mod args;
mod balance;
mod check;
mod circuit;
mod columnar;
mod compare;
mod completions;
mod destination;
mod draw;
mod error;
pub mod exit;
mod export;
mod fault;
mod form;
mod grades;
mod instrument_file;
mod interrupt;
mod library;
mod manual;
mod problems;
mod progress;
mod pull;
mod report;
mod row_file;
mod section_file;
mod signal;
mod solve;
mod typed;
mod vary;
mod verify;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::Parser;

use args::{Args, Command};
use error::CliError;
pub use fault::guard;

/// Version of the tool, with the commit it was built from where that is known.
pub const VERSION: &str = env!("LODESTRING_VERSION");

/// Shell completions and manual pages, made by the build script.
mod pages {
    include!(concat!(env!("OUT_DIR"), "/pages.rs"));
}

/// Runs the tool on the arguments of this process.
pub fn main() -> ExitCode {
    guard(|| run(std::env::args_os()))
}

/// Runs the tool on `arguments`, the first being its own name.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let result = match Args::try_parse_from(arguments) {
        Ok(args) => dispatch(&args),
        Err(answer) => destination::print_clap(&answer),
    };
    match result {
        Ok(code) => ExitCode::from(code),
        Err(e) if e.is_broken_pipe() => ExitCode::from(exit::DONE),
        Err(e) => {
            e.report();
            ExitCode::from(e.exit_code())
        }
    }
}

fn dispatch(args: &Args) -> Result<u8, CliError> {
    if let Some(n) = args.threads {
        // Fails only when the pool is already up, as in a test that runs twice in one process.
        let _ = rayon::ThreadPoolBuilder::new().num_threads(usize::from(n)).build_global();
    }
    let library = library::with_files(&args.materials)?;
    let materials = &args.materials;
    match &args.command {
        Command::Check(args) => check::run(args, &library),
        Command::Solve(args) => solve::run(args, &library),
        Command::Draw(args) => draw::run(args, &library),
        Command::Report(args) => report::run(args, &library, materials),
        Command::Export(args) => export::run(args, &library),
        Command::Balance(args) => balance::run(args, &library),
        Command::Compare(args) => compare::run(args, &library),
        Command::Grades(args) => grades::run(args, &library),
        Command::Pull(args) => pull::run(args, &library),
        Command::Signal(args) => signal::run(args, &library),
        Command::Vary(args) => vary::run(args, &library),
        Command::Verify(args) => verify::run(args, materials),
        Command::Completions(args) => completions::run(args),
        Command::Manual(args) => manual::run(args),
    }?;
    Ok(exit::DONE)
}
