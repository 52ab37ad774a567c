//! What happens to surfaces besides moving: parting and joining. Carried along in checkpoints.
//!
//! Source: definitions.

use serde::{Deserialize, Serialize};

/// What happened to the surfaces.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// s.
    pub time: f64,
    /// What.
    pub kind: Kind,
    /// Along the axis from the origin of the frame, m.
    pub height: f64,
    /// Of the neck that was cut or of that which was opened, m.
    pub radius: f64,
}

/// The kinds of events.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// A neck thinner than the finest was cut.
    PinchOff,
    /// Two bodies became one.
    Merger,
}
