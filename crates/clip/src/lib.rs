//! Frames with time and scale, from video files, stills or the synthetic camera; the only door to
//! decoders and encoders. Finds nothing in a frame.

pub mod clock;
pub mod error;
pub mod frame;
pub mod painted;
pub mod scale;
pub mod source;
