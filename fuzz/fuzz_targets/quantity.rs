//! Any text as a quantity with unit and uncertainty.
#![no_main]

libfuzzer_sys::fuzz_target!(|text: &str| tremolet_fuzz::quantity::read(text));
