//! The tool's three-line `main` again: cargo names a binary's path only to tests of its own
//! package.

fn main() -> std::process::ExitCode {
    lodestring_cli::main()
}
