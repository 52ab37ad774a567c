//! Bodies of revolution of any shape by their surfaces alone: potential flow from boundary integrals, spline elements, re-meshing.
//!
//! [`flow::Boundary`] is the solver for [`crate::run::run`]; [`setup`] says what it may begin with.

pub mod body;
pub mod curve;
pub mod event;
pub mod flow;
pub mod images;
pub mod influence;
pub mod joining;
pub mod kernel;
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
#[cfg(test)]
mod tests;
