//! The experiment file (TOML, format 1). So far: the reader of one table, which gathers what is wrong with its place.

pub mod reader;
