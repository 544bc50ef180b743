//! The `wideenough` command.
fn main() {}
