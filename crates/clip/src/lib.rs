//! Frames with time and scale, from video files, stills or the synthetic camera; the only door to
//! decoders and encoders. Finds nothing in a frame.

pub mod apng;
pub mod avi;
pub mod canvas;
pub mod cine;
pub mod clock;
pub mod encode;
pub mod error;
pub mod ffmpeg;
pub mod frame;
pub mod gif;
pub mod mp4;
pub mod numbering;
pub mod open;
pub mod painted;
pub mod picture;
pub mod rhythm;
pub mod scale;
pub mod source;
pub mod stills;
pub mod times;
pub mod traced;
pub mod y4m;
