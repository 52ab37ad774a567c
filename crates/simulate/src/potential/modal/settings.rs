//! How finely a star-shaped body is followed, and what is refused.
//!
//! Source: definitions; the degrees that shapes need are those of the validation tables.

use crate::liquid::InputError;

/// How finely.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Highest degree. 12 holds an aspect ratio of 1.3 to some 1e-5 of R, 16 one of 1.6 to some 1e-4, 24 to some 1e-6.
    pub highest: usize,
    /// Error of a step, as a share of R: steps add up, a run of 1000 steps at 1e-9 ends within 1e-6.
    pub step_error: f64,
    /// Error of the start shape that is accepted, and of what the highest degrees may hold later, as a share of R.
    pub shape_error: f64,
    /// Steps of equal angle of the meridians in samples; 0 for none.
    pub meridian: usize,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            highest: 16,
            step_error: 1e-9,
            shape_error: 1e-3,
            meridian: 180,
        }
    }
}

/// Refuses what cannot hold a drop.
///
/// # Errors
/// [`InputError::Resolution`].
pub fn fine_enough(settings: &Settings) -> Result<(), InputError> {
    let wrong = |what, found, expected: &str, advice| {
        Err(InputError::Resolution {
            what,
            found,
            expected: expected.into(),
            advice,
        })
    };
    if !(3..=48).contains(&settings.highest) {
        let found = settings.highest as f64;
        return wrong(
            "highest degree",
            found,
            "3 to 48",
            "harmonics beyond lose all digits: use a boundary method",
        );
    }
    if !(1e-13..=1e-3).contains(&settings.step_error) {
        return wrong(
            "error of a step",
            settings.step_error,
            "1e-13 to 1e-3 of the radius",
            "1e-9 suits most",
        );
    }
    Ok(())
}
