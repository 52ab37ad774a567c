//! A frame as bytes and a clip as a few facts, for whoever shows them.

use serde_json::{Value, json};
use tremolet_clip::frame::{Frame, Levels};
use tremolet_clip::source::ClipInfo;

/// The grey levels of a frame, row by row from the top: one byte a pixel, or two with the lower first.
pub fn bytes(frame: &Frame) -> Vec<u8> {
    match &frame.plane.levels {
        Levels::Eight(levels) => levels.clone(),
        Levels::Sixteen(levels) => levels.iter().flat_map(|level| level.to_le_bytes()).collect(),
    }
}

/// What is known of a clip: sizes in px, rates in frames per second; `frames` is null while the end has not been seen.
pub fn info(info: &ClipInfo) -> Value {
    json!({
        "width": info.width, "height": info.height, "bits": info.bits, "frames": info.frame_count,
        "header_rate": info.header_rate_fps, "container": info.container, "codec": info.codec,
        "decoder": info.decoder, "lossy": info.lossy(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_clip::frame::Plane;

    #[test]
    fn sixteen_bits_keep_all_their_levels() {
        let frame = Frame {
            index: 0,
            stamp: None,
            plane: Plane::sixteen(2, 1, vec![0x0102, 0xfffe]),
        };
        assert_eq!(bytes(&frame), [2, 1, 0xfe, 0xff]);
    }
}
