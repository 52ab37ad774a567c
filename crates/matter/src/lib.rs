//! What things are made of and how well it is known: quantities with units, uncertain values with the
//! identity of their inputs, liquids and gases with their sources. Computes no flow.

pub mod air;
pub mod carbon_dioxide;
pub mod catalogue;
pub mod correlation;
pub mod error;
pub mod ethanol;
pub mod gas;
pub mod gas_data;
pub mod glycerol_water;
pub mod groups;
pub mod liquid;
pub mod liquid_data;
pub mod mercury;
pub mod names;
pub mod property;
pub mod pure_gas;
pub mod quantity;
pub mod saline;
pub mod silicone_oil;
pub mod sutherland;
pub mod uncertain;
pub mod vapour;
pub mod water;
