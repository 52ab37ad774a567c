//! What is known of one gas: its names and a formula for each property.
//!
//! Every formula takes temperature (K), pressure (Pa) and, for air, relative humidity (1), in that order. Values
//! are looked up by [`crate::gas`].

use crate::correlation::Correlation;

/// A gas of the catalogue.
pub struct GasData {
    /// Its name, lower case, words joined by hyphens.
    pub name: &'static str,
    /// Other names in the same form.
    pub aliases: &'static [&'static str],
    /// Whether its humidity counts.
    pub humid: bool,
    /// Density, kg/m^3.
    pub density: Correlation,
    /// Dynamic viscosity, Pa s.
    pub dynamic_viscosity: Correlation,
    /// Speed of sound, m/s.
    pub sound_speed: Correlation,
}
