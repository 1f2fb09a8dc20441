//! The `lodestring` binary.
fn main() {}
