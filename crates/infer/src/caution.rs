//! A blemish that still allows a result, or the reason why there is none: a code for programs and a sentence for people.

/// A caution; it travels with the result into findings and report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Lower_snake code, stable.
    pub code: &'static str,
    /// What was seen, in which numbers, and what it means for the result.
    pub text: String,
    /// First and last frame concerned, where it is about some only.
    pub frames: Option<[u64; 2]>,
}

impl Caution {
    /// A caution from its code and text.
    pub fn new(code: &'static str, text: impl Into<String>) -> Self {
        Self {
            code,
            text: text.into(),
            frames: None,
        }
    }

    /// The same about these frames.
    #[must_use]
    pub fn in_frames(self, frames: [u64; 2]) -> Self {
        Self {
            frames: Some(frames),
            ..self
        }
    }
}
