//! Any text as an experiment file.
#![no_main]

libfuzzer_sys::fuzz_target!(|text: &str| tremolet_fuzz::experiment::read(text));
