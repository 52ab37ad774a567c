//! What can be wrong with a question about a camera or about light through a body.

/// Why no answer could be given.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum OpticsError {
    /// A quantity is not a possible value.
    #[error("{name} is {value}; expected {expected}")]
    Quantity {
        /// Name of the quantity.
        name: &'static str,
        /// Value that was given.
        value: f64,
        /// What was expected, in words.
        expected: &'static str,
    },
    /// No line of view reaches the place.
    #[error(
        "what lies at {across} across and {along} along the axis (in radii) is not seen from here; see the blind zone"
    )]
    NotSeen {
        /// Distance from the axis, radii.
        across: f64,
        /// Distance along the axis towards the lens, radii.
        along: f64,
    },
}

/// The value, if it is finite and `possible`.
///
/// # Errors
/// [`OpticsError::Quantity`] with what was `expected`.
pub fn required(
    name: &'static str,
    value: f64,
    possible: bool,
    expected: &'static str,
) -> Result<f64, OpticsError> {
    if possible && value.is_finite() {
        return Ok(value);
    }
    Err(OpticsError::Quantity {
        name,
        value,
        expected,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_is_named_with_its_number() {
        assert_eq!(required("scale", 1.0, true, "a number"), Ok(1.0));
        let fault = required("scale", f64::NAN, true, "a number").unwrap_err();
        assert_eq!(fault.to_string(), "scale is NaN; expected a number");
    }
}
