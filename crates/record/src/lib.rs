//! What is kept: the experiment file, the run folder, series, findings and provenance. Interprets nothing.

pub mod series;
