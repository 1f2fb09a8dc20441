//! The target `edited`. Built to fuzz it is a fuzzer; else it prints the section files that the files of
//! the command line stand for, and tries them.
#![cfg_attr(fuzzed, no_main)]

#[cfg(fuzzed)]
libfuzzer_sys::fuzz_target!(|bytes: &[u8]| lodestring_fuzz::replay("edited", bytes));

#[cfg(not(fuzzed))]
fn main() -> std::io::Result<()> {
    lodestring_fuzz::replay_files("edited")
}
