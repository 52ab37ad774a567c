//! Any bytes as a file for the gif reader.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| tremolet_fuzz::clip::read(bytes, tremolet_clip::gif::open_gif));
