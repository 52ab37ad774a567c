//! The experiment file (TOML, format 1): read as a whole, every fault with its place, nothing skipped in silence.

pub mod body;
pub mod camera;
pub mod clip;
pub mod faults;
pub mod file;
pub mod form;
pub mod hand;
pub mod kinds;
pub mod lens;
pub mod log;
pub mod material;
mod numbers;
pub mod reader;
pub mod readings;
pub mod reference;
mod relocated;
mod section;
pub mod simulation;
pub mod template;
pub mod vary;
pub mod wanted;
