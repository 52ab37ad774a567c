//! A stream of H.264 units, cut behind every slice as the samples of a film are; pictures have as many levels as pixels.

use rusty_h264_decoder::Decoder;

/// Decodes `stream` (\[H264\] annex B) until the decoder refuses.
pub fn decode(stream: &[u8]) {
    let mut decoder = Decoder::new();
    for part in samples(stream) {
        match decoder.decode(part) {
            Ok(Some(picture)) => assert!(
                picture.y.len() == picture.width * picture.height,
                "{} levels for {}x{}",
                picture.y.len(),
                picture.width,
                picture.height
            ),
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
