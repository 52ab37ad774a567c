//! Where a run stands, to go on from: plain numbers that can be written down.

use serde::{Deserialize, Serialize};

use crate::event::Event;
use crate::sample::Watched;

/// The state of a run; only the solver of the same name and settings can read `state`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Checkpoint {
    /// Name of the solver.
    pub solver: String,
    /// s.
    pub time: f64,
    /// Next step to try, s.
    pub step: f64,
    /// Error of the last step as the step length remembers it; 1e-4 at the start.
    #[serde(default = "fresh")]
    pub pace: f64,
    /// How many numbers of `state` belong to each part (surfaces, modes), as the solver lays them out.
    pub layout: Vec<usize>,
    /// The state, in the units of the solver.
    pub state: Vec<f64>,
    /// What was there at the very start.
    pub first: Watched,
    /// What parted and joined until then, in the order of time.
    #[serde(default)]
    pub events: Vec<Event>,
}

/// The pace of a step length that has made no step yet.
#[must_use]
pub fn fresh() -> f64 {
    tremolet_numerics::ode::FRESH
}
