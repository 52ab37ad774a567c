//! Any bytes as a file for the apng reader.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| tremolet_fuzz::clip::read(bytes, tremolet_clip::apng::open_png));
