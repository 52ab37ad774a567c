//! Validation: error against truth, coverage of intervals; writes docs/validation.md.
fn main() {}
