//! Potential flow with a free surface, weak viscosity added through its boundary layer; one room for each method.

pub mod boundary;
pub mod modal;
#[cfg(test)]
mod release;
