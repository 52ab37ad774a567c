//! What is kept: the experiment file, the run folder, series, findings and provenance. Interprets nothing.

pub mod bundle;
pub mod catalogue;
pub mod clock;
pub mod comparison;
pub mod crate_metadata;
pub mod experiment;
pub mod findings;
pub mod folder;
pub mod log;
pub mod mode_table;
pub mod parquet;
pub mod provenance;
pub mod series;
pub mod sheet;
pub mod store;
pub mod table;
