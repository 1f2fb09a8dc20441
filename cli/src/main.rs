//! The `lodestring` binary.

fn main() -> std::process::ExitCode {
    lodestring_cli::main()
}
