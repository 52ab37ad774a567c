//! Any bytes as a file for the mp4 reader.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| tremolet_fuzz::clip::read(bytes, tremolet_clip::mp4::open_mp4));
