//! What is known of one liquid: its names and a formula for each property.
//!
//! Every formula takes the temperature (K) first and the mass fraction of the solute (1) second; that of a
//! pure liquid takes the temperature only. Values are looked up by [`crate::liquid`].

use crate::correlation::Correlation;

/// A liquid of the catalogue.
pub struct LiquidData {
    /// Its name, lower case, words joined by hyphens.
    pub name: String,
    /// Other names in the same form.
    pub aliases: Vec<String>,
    /// Whether it is mostly water, so that surface films and evaporation matter.
    pub aqueous: bool,
    /// What is dissolved, for a liquid that needs a mass fraction.
    pub solute: Option<&'static str>,
    /// Density, kg/m^3.
    pub density: Correlation,
    /// Surface tension against air, N/m.
    pub surface_tension: Correlation,
    /// Dynamic viscosity, Pa s.
    pub dynamic_viscosity: Correlation,
    /// Speed of sound, m/s, where known.
    pub sound_speed: Option<Correlation>,
    /// Refractive index against air for yellow light (589 nm), where known.
    pub refractive_index: Option<Correlation>,
}

impl LiquidData {
    /// All formulas, the three that every liquid has first.
    pub fn correlations(&self) -> Vec<&Correlation> {
        let mut all = vec![&self.density, &self.surface_tension, &self.dynamic_viscosity];
        all.extend(&self.sound_speed);
        all.extend(&self.refractive_index);
        all
    }
}
