//! The `perpend` program.
fn main() {}
