//! The `loomwright` command.
fn main() {}
