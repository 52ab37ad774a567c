//! What can be wrong with a question about a free liquid body: input that cannot be, or a root that was not found.
//!
//! Not here: input that can be but lies outside the range of a formula; that is [`crate::validity`].

use crate::modes::error::ModeError;
use tremolet_numerics::root::RootError;

/// Why no answer could be given.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum TheoryError {
    /// A quantity is not a possible value.
    #[error("{name} is {value}; expected {expected}")]
    Quantity {
        /// Name of the quantity.
        name: &'static str,
        /// Value that was given, SI or dimensionless as the name says.
        value: f64,
        /// What was expected, in words.
        expected: &'static str,
    },
    /// The degree is outside the range of the function.
    #[error("degree {degree} is not served here; expected {lowest} to {highest}")]
    Degree {
        /// Degree that was asked for.
        degree: u32,
        /// Lowest degree served.
        lowest: u32,
        /// Highest degree served.
        highest: u32,
    },
    /// A root was not found.
    #[error("{what} was not found")]
    Root {
        /// What was looked for.
        what: &'static str,
        /// What the search says.
        #[source]
        source: RootError,
    },
    /// The search ended on another motion than the one looked for.
    #[error("search for {what} ended on another branch (s = {re} + {im} i in natural units)")]
    Branch {
        /// What was looked for.
        what: &'static str,
        /// Real part of the root found.
        re: f64,
        /// Imaginary part of the root found.
        im: f64,
    },
    /// A shape mode could not be given.
    #[error(transparent)]
    Mode(#[from] ModeError),
}

/// The value, if it is positive and finite.
///
/// Otherwise [`TheoryError::Quantity`].
pub(crate) fn positive(name: &'static str, value: f64) -> Result<f64, TheoryError> {
    required(name, value, value > 0.0, "a positive number in SI units")
}

/// The value, if it is zero or positive, and finite.
///
/// Otherwise [`TheoryError::Quantity`].
pub(crate) fn not_negative(name: &'static str, value: f64) -> Result<f64, TheoryError> {
    required(name, value, value >= 0.0, "zero or a positive number in SI units")
}

/// The value, if it is finite and `possible`.
///
/// Otherwise [`TheoryError::Quantity`] with what was `expected`.
pub(crate) fn required(
    name: &'static str,
    value: f64,
    possible: bool,
    expected: &'static str,
) -> Result<f64, TheoryError> {
    if possible && value.is_finite() {
        return Ok(value);
    }
    Err(TheoryError::Quantity {
        name,
        value,
        expected,
    })
}

/// The degree, if it lies from `lowest` to `highest`.
///
/// Otherwise [`TheoryError::Degree`].
pub(crate) fn degree_within(degree: u32, lowest: u32, highest: u32) -> Result<u32, TheoryError> {
    if (lowest..=highest).contains(&degree) {
        return Ok(degree);
    }
    Err(TheoryError::Degree {
        degree,
        lowest,
        highest,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_is_named_with_its_number() {
        assert_eq!(positive("radius", 0.01), Ok(0.01));
        assert!(positive("radius", 0.0).is_err() && positive("radius", f64::INFINITY).is_err());
        assert!(not_negative("density", 0.0).is_ok() && not_negative("density", f64::NAN).is_err());
        let text = positive("radius", -1.0).unwrap_err().to_string();
        assert_eq!(text, "radius is -1; expected a positive number in SI units");
        assert!(degree_within(2, 2, 12).is_ok() && degree_within(13, 2, 12).is_err());
    }
}
