//! Any bytes as a file for the y4m reader.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| tremolet_fuzz::clip::read(bytes, tremolet_clip::y4m::open_y4m));
