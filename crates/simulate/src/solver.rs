//! What a solver must be able to do; [`crate::run::run`] does the rest.
//!
//! A solver holds what does not change (liquid, drivers, resolution) and its working room. What changes in time is its state, a
//! plain list of numbers in units of its own choice, laid out in parts; the clock is in seconds. After every accepted step `settle` may
//! put another state in its place (a new mesh, two bodies for one), also of another length.

use tremolet_numerics::ode::{DORMAND_PRINCE, Pair};

use crate::event::Event;
use crate::sample::{Sample, Watched};
use crate::stop::Stop;

/// A method.
pub trait Solver {
    /// Its name, as in checkpoints.
    fn name(&self) -> &'static str;

    /// The state at the start.
    fn start(&self) -> Vec<f64>;

    /// How many numbers of the state belong to each part.
    fn layout(&self) -> Vec<usize>;

    /// Takes up the layout of a checkpoint; false when it is not of this solver and these settings.
    fn take_up(&mut self, layout: &[usize], state: &[f64]) -> bool;

    /// What has parted and joined so far, in the order of time.
    fn events(&self) -> &[Event];

    /// Takes up what had happened before a checkpoint, in place of what it remembers.
    fn recall(&mut self, events: &[Event]);

    /// The pair of formulas that makes its steps.
    fn pair(&self) -> &'static Pair {
        &DORMAND_PRINCE
    }

    /// A length that no step from `state` may pass, s: that of waves too short to show in the error.
    fn longest_step(&self, _state: &[f64]) -> f64 {
        f64::INFINITY
    }

    /// First step to try, s.
    fn first_step(&self) -> f64;

    /// Error of each component that one step may make.
    fn scales(&self, state: &[f64]) -> Vec<f64>;

    /// d(state)/dt, per second. A trial state that makes no sense is refused, and the step tried shorter.
    ///
    /// # Errors
    /// The reason, which ends the run if the shortest step meets it too.
    fn rates(&mut self, time: f64, state: &[f64], rates: &mut [f64]) -> Result<(), Stop>;

    /// After an accepted step: another state to go on from, or `None` to go on from this one.
    ///
    /// # Errors
    /// The reason to end.
    fn settle(&mut self, time: f64, state: &[f64]) -> Result<Option<Vec<f64>>, Stop>;

    /// The next instant at which something outside begins or ends abruptly; no step runs across it.
    fn next_edge(&self, time: f64) -> Option<f64>;

    /// Quantities that a free body keeps.
    fn watch(&mut self, time: f64, state: &[f64]) -> Watched;

    /// Whether energy must be kept: nothing drives, nothing rubs.
    fn keeps_energy(&self) -> bool;

    /// What there is to be told of an instant. It belongs to the layout in force.
    fn sample(&mut self, time: f64, state: &[f64]) -> Sample;
}
