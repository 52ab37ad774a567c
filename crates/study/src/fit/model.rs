//! The solver of star-shaped drops as the model that a fit adjusts.

use tremolet_infer::fit::{Forward, Trial};
use tremolet_simulate::driver::Drivers;
use tremolet_simulate::liquid::{Gas, Liquid};
use tremolet_simulate::potential::modal::{Modal, Settings};
use tremolet_simulate::run::{Course, begin, run};
use tremolet_simulate::start::Start;

/// A drop in its gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DropModel {
    /// kg/m^3.
    pub density: f64,
    /// kg/m^3.
    pub gas_density: f64,
    /// Pa s.
    pub gas_viscosity: f64,
    /// Scale of the body.
    pub metre_per_px: f64,
    /// Highest degree of the solver.
    pub highest: usize,
}

/// Error of a step, and of start shapes that a search may pass through.
const STEP_ERROR: f64 = 1e-8;
const SHAPE_ERROR: f64 = 5e-3;
/// Limits of the conserved quantities.
const ENERGY_DRIFT: f64 = 5e-3;

impl DropModel {
    fn solver(&self, trial: &Trial) -> Option<Modal> {
        let liquid = Liquid {
            density: 1.0,
            tension: 1.0,
            viscosity: trial.ohnesorge,
        };
        let radius = trial.radius_px * self.metre_per_px;
        let gas = Gas {
            density: self.gas_density / self.density,
            // Over sqrt(rho sigma R) = rho R^2 / t0.
            viscosity: self.gas_viscosity * trial.time / (self.density * radius * radius),
        };
        let start = Start::Star {
            radius: 1.0,
            shape: trial.shape.clone(),
            velocity: trial.velocity.clone(),
        };
        let settings = Settings {
            highest: self.highest,
            step_error: STEP_ERROR,
            shape_error: SHAPE_ERROR,
            meridian: 0,
        };
        Modal::new(&liquid, Some(&gas), &start, &Drivers::default(), settings).ok()
    }
}

impl Forward for DropModel {
    fn shapes(&self, trial: &Trial, times: &[f64]) -> Option<Vec<Vec<f64>>> {
        let mut solver = self.solver(trial)?;
        let from = begin(&mut solver);
        let course = Course {
            energy_drift: ENERGY_DRIFT,
            ..Course::along(times.to_vec())
        };
        let done = run(&mut solver, &from, &course, &mut |_| true)?;
        let whole = done.stop.is_end() && done.samples.len() == times.len();
        whole.then(|| done.samples.into_iter().map(|sample| sample.amplitudes).collect())
    }
}
