//! House rules run as a program and as a test.
fn main() {}
