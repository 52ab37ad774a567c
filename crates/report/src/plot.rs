//! The figures of a report, each from what was recorded: amplitudes, spectra, drift, path, budget, deviations.

pub mod amplitude;
pub mod budget;
pub mod deviation;
pub mod drift;
pub mod path;
pub mod spectrum;
