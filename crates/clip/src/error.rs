//! What can go wrong between a path and its frames: found, where, what to do.
//!
//! Messages are lower-case fragments that name the file. Does not hold blemishes that still allow a result;
//! those are cautions of the reader.

use std::path::PathBuf;

use crate::traced::error::TraceError;

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
    /// A capture rate that cannot be.
    #[error("capture rate of {name} is {rate_fps} fps; it must be a positive number")]
    BadRate {
        /// Name of the clip.
        name: String,
        /// The rate as stated.
        rate_fps: f64,
    },
    /// Times of frames that cannot be.
    #[error("times of {name}: {problem} at frame {index}; give one rising time in seconds for each frame")]
    BadTimes {
        /// Name of the clip.
        name: String,
        /// Frame at which it shows, from 0.
        index: u64,
        /// What is wrong.
        problem: &'static str,
    },
    /// Nothing says how fast the clip was taken.
    #[error(
        "nothing says how fast {name} was filmed; give capture_rate in [camera], or times.csv beside the stills"
    )]
    NoTime {
        /// Name of the clip.
        name: String,
    },
    /// A scale that cannot be.
    #[error("{what} is {value} {unit}; it must be positive")]
    BadScale {
        /// The quantity.
        what: &'static str,
        /// Its value.
        value: f64,
        /// Its unit.
        unit: &'static str,
    },
    /// The operating system refused.
    #[error("{name} cannot be read: {source}; check the path, the permissions and the disk")]
    Unreadable {
        /// Name of the clip.
        name: String,
        /// Why.
        source: std::io::Error,
    },
    /// The bytes are not what the container or the coding promises.
    #[error("{name} is damaged: {problem}; copy it again from the camera")]
    Damaged {
        /// Name of the clip.
        name: String,
        /// Where and what.
        problem: String,
    },
    /// A form of clip that is not read here.
    #[error("{name} is {found}, which is not read; {advice}")]
    NotSupported {
        /// Name of the clip.
        name: String,
        /// What it is.
        found: String,
        /// What to do.
        advice: &'static str,
    },
    /// A clip that only the outside decoder reads, and it is not installed.
    #[error(
        "{name} is {found}, which needs ffmpeg and ffprobe; install them (Debian: apt-get install ffmpeg) or convert the clip to 8-bit progressive H.264 in MP4, or to PNG stills"
    )]
    NeedsFfmpeg {
        /// Name of the clip.
        name: String,
        /// What it is.
        found: String,
    },
    /// A file with sound only.
    #[error("{name} has no video track; give the file with the pictures")]
    NoVideo {
        /// Name of the clip.
        name: String,
    },
    /// Frames asked for that the clip does not have.
    #[error("frames {first} to {last} of {name} were asked for, it has {count}; correct frames in [clip]")]
    NoSuchFrames {
        /// Name of the clip.
        name: String,
        /// First frame asked for.
        first: u64,
        /// One past the last frame asked for.
        last: u64,
        /// Frames there are.
        count: u64,
    },
    /// A scene that the synthetic camera cannot look at.
    #[error("the scene cannot be traced: {0}")]
    Traced(#[from] TraceError),
    /// An annotated clip or image that could not be written.
    #[error("{what} cannot be written: {problem}; check that its disk has space and may be written to")]
    NotWritten {
        /// What was to be written.
        what: String,
        /// Why.
        problem: String,
    },
}
