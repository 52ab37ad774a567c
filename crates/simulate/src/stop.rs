//! Why a run ended. What was found up to then is kept in every case.

use serde::{Deserialize, Serialize};

/// The reason.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, thiserror::Error)]
pub enum Stop {
    /// It reached the time that was asked for.
    #[error("reached the end")]
    End,
    /// A neck became thinner than the method resolves.
    #[error(
        "met a pinch-off that it cannot follow at {time:.6} s: the neck is {neck:.3e} m wide, the resolution {resolution:.3e} m, and one side is too small"
    )]
    PinchOff {
        /// s.
        time: f64,
        /// Radius of the neck, m.
        neck: f64,
        /// Least radius that is resolved, m.
        resolution: f64,
    },
    /// The shape left the family that the method can follow.
    #[error(
        "left the range of the method at {time:.6} s: {what} is {found:.4}, the method holds to {allowed:.4}"
    )]
    OutOfRange {
        /// s.
        time: f64,
        /// Which quantity.
        what: String,
        /// Its value.
        found: f64,
        /// Where the method ends.
        allowed: f64,
    },
    /// A quantity that must not change did, or the stated error could not be held.
    #[error("lost accuracy at {time:.6} s: {what} is {found:e}, allowed is {allowed:e}")]
    LostAccuracy {
        /// s.
        time: f64,
        /// Which quantity.
        what: String,
        /// Its value.
        found: f64,
        /// What was allowed.
        allowed: f64,
    },
    /// Somebody asked for it.
    #[error("stopped on request at {time:.6} s")]
    Cancelled {
        /// s.
        time: f64,
    },
}

impl Stop {
    /// Whether the run did what it was asked for.
    #[must_use]
    pub fn is_end(&self) -> bool {
        matches!(self, Self::End)
    }
}
