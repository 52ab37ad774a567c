//! What can go wrong between a path and its frames: found, where, what to do.
//!
//! Messages are lower-case fragments that name the file. Does not hold blemishes that still allow a result;
//! those are cautions of the reader.

use std::path::PathBuf;

/// Why a clip gives no frames.
#[derive(Debug, thiserror::Error)]
pub enum ClipError {
    /// Nothing lies at the path.
    #[error("no clip at {}; check the path in [clip]", path.display())]
    Absent {
        /// The path asked for.
        path: PathBuf,
    },
    /// Frames of one clip differ in size or depth.
    #[error(
        "frame {index} of {name} is {width}x{height} of {bits} bit, the first is {first_width}x{first_height} of {first_bits} bit; give stills of one size and depth"
    )]
    Mixed {
        /// Name of the clip.
        name: String,
        /// Frame that differs, from 0.
        index: u64,
        /// Its pixels in a row.
        width: usize,
        /// Its rows.
        height: usize,
        /// Its bits.
        bits: u32,
        /// Pixels in a row of the first frame.
        first_width: usize,
        /// Rows of the first frame.
        first_height: usize,
        /// Bits of the first frame.
        first_bits: u32,
    },
    /// A clip without frames.
    #[error("{name} holds no frame; record or export it again")]
    Empty {
        /// Name of the clip.
        name: String,
    },
}
