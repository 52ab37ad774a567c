//! Any bytes as an H.264 stream for the embedded decoder.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| tremolet_fuzz::stream::decode(bytes));
