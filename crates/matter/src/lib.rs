//! What things are made of and how well it is known: quantities with units, uncertain values with the
//! identity of their inputs, liquids and gases with their sources. Computes no flow.

pub mod glycerol_water;
pub mod groups;
pub mod quantity;
pub mod uncertain;
pub mod water;
