//! How finely bodies are followed.
//!
//! Source: definitions.

use crate::liquid::InputError;

/// How finely to follow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resolution {
    /// Elements on a ball of the radius of the whole.
    pub elements: usize,
    /// Error of a step in lengths and potentials of the unit drop.
    pub tolerance: f64,
    /// Least radius of a neck that is followed, and gap over which bodies join, in radii of the whole.
    pub finest: f64,
}

impl Default for Resolution {
    fn default() -> Self {
        Self {
            elements: 64,
            tolerance: 1e-8,
            finest: 2e-3,
        }
    }
}

impl Resolution {
    /// Refuses what cannot hold a surface.
    ///
    /// # Errors
    /// [`InputError::Resolution`].
    pub fn check(&self) -> Result<(), InputError> {
        let wrong = |what, found, expected: &str, advice| {
            Err(InputError::Resolution {
                what,
                found,
                expected: expected.into(),
                advice,
            })
        };
        if !(16..=1024).contains(&self.elements) {
            let advice = "64 suits most";
            return wrong("elements on a ball", self.elements as f64, "16 to 1024", advice);
        }
        if !(1e-13..=1e-4).contains(&self.tolerance) {
            let advice = "1e-8 suits most";
            return wrong(
                "error of a step",
                self.tolerance,
                "1e-13 to 1e-4 of the radius",
                advice,
            );
        }
        if !(1e-6..=0.1).contains(&self.finest) {
            let advice = "2e-3 suits most";
            return wrong("thinnest neck", self.finest, "1e-6 to 0.1 of the radius", advice);
        }
        Ok(())
    }
}
