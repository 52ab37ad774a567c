//! Formulas of the physics of free liquid bodies, each with its source and its range of validity.
//!
//! Closed forms and exact solutions only: nothing here marches a flow in time, and nothing here has seen a measurement.

pub mod collision;
pub mod column;
pub mod course;
pub mod drift;
pub mod drop;
pub mod drying;
pub mod error;
pub mod fizz;
pub mod held;
pub mod modes;
pub mod puff;
pub mod release;
pub mod shell;
pub mod swirl;
pub mod tilt;
pub mod validity;
pub mod wave;
