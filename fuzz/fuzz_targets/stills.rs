//! Any bytes as a still (PNG, TIFF, JPEG), as a table of times, or as names of stills.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| tremolet_fuzz::stills::read(bytes));
