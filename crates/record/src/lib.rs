//! What is kept: the experiment file, the run folder, series, findings and provenance. Interprets nothing.

pub mod experiment;
pub mod findings;
pub mod folder;
pub mod series;
pub mod store;
