//! What can be wrong with a question about shape modes.
//!
//! Not here: results outside a formula's range of validity; each function states its range in its documentation.

use tremolet_numerics::root::RootError;

/// Why a mode could not be given.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum ModeError {
    /// The degree is outside the range of the function.
    #[error("degree {degree} has no such mode here; expected {lowest} to {highest}")]
    Degree {
        /// Degree that was asked for.
        degree: u32,
        /// Lowest degree served.
        lowest: u32,
        /// Highest degree served.
        highest: u32,
    },
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
    /// The root was not found.
    #[error("mode of degree {degree} was not found")]
    Root {
        /// Degree that was asked for.
        degree: u32,
        /// What the search says.
        #[source]
        source: RootError,
    },
    /// A root was found but it is not the shape mode.
    #[error(
        "search for the mode of degree {degree} ended on another branch (s = {re} + {im} i in capillary units)"
    )]
    Branch {
        /// Degree that was asked for.
        degree: u32,
        /// Real part of the root found.
        re: f64,
        /// Imaginary part of the root found.
        im: f64,
    },
}
