//! The figures of a report, each from what was recorded: amplitudes, spectra, drift, the fitted simulation, accelerations beside a log, path, budget, deviations.

pub mod amplitude;
pub mod budget;
pub mod deviation;
pub mod drift;
pub mod fitted;
pub mod logged;
pub mod path;
pub mod spectrum;
