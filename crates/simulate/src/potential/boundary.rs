//! Bodies of revolution of any shape by their surfaces alone: potential flow from boundary integrals, spline elements, re-meshing.
//!
//! [`flow::Boundary`] is the solver for [`crate::run::run`]; [`setup`] says what it may begin with.

pub mod body;
pub mod curve;
pub mod flow;
pub mod images;
pub mod influence;
pub mod joining;
pub mod kernel;
pub mod known;
pub mod layer;
pub mod mesh;
pub mod necks;
pub mod parting;
pub mod points;
pub mod pressure;
pub mod rates;
pub mod resolution;
pub mod setup;
pub mod shape;
pub mod state;
pub mod sums;
pub mod telling;
#[cfg(test)]
mod tests;
pub mod ties;
