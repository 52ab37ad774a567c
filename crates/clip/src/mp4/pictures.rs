//! Pictures from the embedded decoder: the one door to it.
//!
//! The decoder belongs to somebody else and is fed whatever lies in a file. Where damage makes it fail instead of refusing, that is
//! caught here and told as damage; it is then begun anew, for its state is no longer known. Samples are behind start codes
//! (\[H264\] annex B).

use std::panic::{AssertUnwindSafe, catch_unwind};

use rusty_h264_decoder::{DecodeError, Decoder};

use crate::frame::Plane;

/// Why a sample gives no picture.
#[derive(Debug, PartialEq, Eq)]
pub struct Refusal {
    /// What the decoder said.
    pub problem: String,
    /// Whether it is a form of coding that the decoder does not know, and no damage.
    pub foreign: bool,
}

/// A decoder under way.
#[derive(Default)]
pub struct Pictures {
    decoder: Decoder,
}

impl Pictures {
    /// The luma of the picture that ends with `sample`; `None` where no whole picture does.
    ///
    /// # Errors
    /// [`Refusal`].
    pub fn next(&mut self, sample: &[u8]) -> Result<Option<Plane>, Refusal> {
        let damage = |problem: String| Refusal {
            problem,
            foreign: false,
        };
        let Ok(decoded) = catch_unwind(AssertUnwindSafe(|| self.decoder.decode(sample))) else {
            self.decoder = Decoder::new();
            return Err(damage("the decoder failed on it".into()));
        };
        let picture = match decoded {
            Ok(Some(picture)) => picture,
            Ok(None) => return Ok(None),
            Err(refusal) => {
                let foreign = matches!(refusal, DecodeError::Unsupported(_));
                return Err(Refusal {
                    problem: refusal.to_string(),
                    foreign,
                });
            }
        };
        let (width, height, luma) = (picture.width, picture.height, picture.y);
        if width.checked_mul(height) != Some(luma.len()) || luma.is_empty() {
            return Err(damage("it decodes to a picture of another size".into()));
        }
        Ok(Some(Plane::eight(width, height, luma)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A stream of two slices whose second claims what the decoder has set no memory aside for; found by fuzzing.
    #[test]
    fn a_decoder_that_fails_is_told_as_damage_and_can_go_on() {
        let stream = include_bytes!("../../tests/data/h264-decoder-fails.bin");
        let mut pictures = Pictures::default();
        let mut told = Vec::new();
        for sample in samples(stream) {
            told.extend(pictures.next(sample).err());
        }
        let failed = told
            .iter()
            .find(|refusal| refusal.problem == "the decoder failed on it");
        assert!(failed.is_some_and(|refusal| !refusal.foreign), "{told:?}");
    }

    /// Pieces that end with a slice.
    fn samples(stream: &[u8]) -> Vec<&[u8]> {
        let starts: Vec<usize> = (0..stream.len() - 3)
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
}
