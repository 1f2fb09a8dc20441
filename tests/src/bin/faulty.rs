//! A tool with a fault, to see what a person is told.

fn main() -> std::process::ExitCode {
    lodestring_cli::guard(|| panic!("the answer is\nforty-two"))
}
