//! Exit codes, nothing else.
fn main() {}
