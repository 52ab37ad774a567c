//! A stream of H.264 units, cut behind every slice as the samples of a film are; pictures have as many levels as pixels.

use tremolet_clip::mp4::pictures::Pictures;

use crate::clip::check_plane;

/// Decodes `stream` (\[H264\] annex B) until the decoder refuses.
pub fn decode(stream: &[u8]) {
    crate::forgive_the_decoder();
    let mut pictures = Pictures::default();
    for part in samples(stream) {
        match pictures.next(part) {
            Ok(Some(plane)) => check_plane(&plane),
            Ok(None) => {}
            Err(_) => return,
        }
    }
}

/// Pieces that end with a slice.
fn samples(stream: &[u8]) -> Vec<&[u8]> {
    let starts: Vec<usize> = (0..stream.len().saturating_sub(3))
        .filter(|&at| stream[at..at + 3] == [0, 0, 1])
        .collect();
    let (mut parts, mut from) = (Vec::new(), 0);
    for pair in starts.windows(2) {
        if matches!(stream[pair[0] + 3] & 31, 1..=5) {
            parts.push(&stream[from..pair[1]]);
            from = pair[1];
        }
    }
    parts.push(&stream[from..]);
    parts
}
