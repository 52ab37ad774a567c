//! Decoding alone: every frame of a clip by the embedded decoder, and nothing done with it. The speed case times it as a process.

use std::path::Path;

use tremolet_clip::open::{OpenOptions, open};

use crate::case::Failure;

/// Decodes all frames of a clip and gives their number.
///
/// # Errors
/// When the clip cannot be read.
pub fn all(clip: &Path) -> Result<u64, Failure> {
    let refused = |why: &dyn std::fmt::Display| Failure::Refused(why.to_string());
    let mut source = open(clip, &OpenOptions::default()).map_err(|why| refused(&why))?;
    let mut frames = 0;
    while source.next_frame().map_err(|why| refused(&why))?.is_some() {
        frames += 1;
    }
    Ok(frames)
}
