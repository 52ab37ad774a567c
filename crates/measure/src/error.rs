//! Why a clip cannot be measured.

use thiserror::Error;
use tremolet_clip::error::ClipError;

/// Why a clip cannot be measured.
#[derive(Debug, Error)]
pub enum MeasureError {
    /// The clip cannot be read.
    #[error(transparent)]
    Clip(#[from] ClipError),
    /// The caller asked to stop.
    #[error("stopped after {frames} frames")]
    Stopped {
        /// Frames measured until then.
        frames: u64,
    },
    /// The empty frame does not fit the clip.
    #[error("empty frame of {width}x{height} px: expected {clip_width}x{clip_height} px like the clip")]
    EmptyFrameSize {
        /// Its width.
        width: usize,
        /// Its height.
        height: usize,
        /// The clip's width.
        clip_width: usize,
        /// The clip's height.
        clip_height: usize,
    },
    /// Outlines could not be put aside or fetched back.
    #[error("outlines cannot be kept outside memory: {why}")]
    Aside {
        /// What went wrong first.
        why: String,
    },
    /// No worker threads.
    #[error("cannot start {threads} worker threads")]
    Threads {
        /// Asked for.
        threads: usize,
    },
}
