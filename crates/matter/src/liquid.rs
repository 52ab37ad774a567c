//! The properties of a liquid at its temperature, each with uncertainty and source.
//!
//! A value that the user states wins over the formula; the formula's value is then kept beside it for comparison.
//! All formulas are fed the same temperature and mass fraction, so the properties stay correlated through them;
//! each formula adds one input of its own, called e.g. `density of water (formula)`.
//!
//! Sources: those of the rooms the liquids are in ([`crate::water`], [`crate::glycerol_water`], [`crate::saline`],
//! [`crate::ethanol`], [`crate::silicone_oil`], [`crate::mercury`]); `own` (or `stated`) is a liquid known only by what the user states.
//! Atmospheric pressure throughout; surface films, dissolved gas and evaporation are not here.

use crate::correlation::Correlation;
use crate::error::MatterError;
use crate::liquid_data::LiquidData;
use crate::names;
use crate::property::Property;
use crate::uncertain::Uncertain;

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Name of the liquid, see [`crate::catalogue`]; capitals, blanks and underscores do not matter.
    pub name: String,
    /// Mass fraction of the solute (0 to 1), for mixtures only.
    pub mass_fraction: Option<Uncertain>,
    /// Temperature of the liquid, K.
    pub temperature: Uncertain,
    /// What the user states.
    pub stated: Stated,
}

/// What the user states of the liquid, in SI units.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stated {
    /// Density, kg/m^3.
    pub density: Option<Uncertain>,
    /// Surface tension, N/m.
    pub surface_tension: Option<Uncertain>,
    /// Dynamic viscosity, Pa s.
    pub dynamic_viscosity: Option<Uncertain>,
}

/// A liquid with its properties, SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct LiquidProperties {
    /// Name as in the catalogue.
    pub name: String,
    /// Whether it is mostly water; false for a liquid of one's own, of which this is not known.
    pub aqueous: bool,
    /// Density, kg/m^3.
    pub density: Property,
    /// Surface tension against air, N/m; `None` only for a liquid of one's own that states none.
    pub surface_tension: Option<Property>,
    /// Dynamic viscosity, Pa s; `None` only for a liquid of one's own that states none.
    pub dynamic_viscosity: Option<Property>,
    /// Surface tension by formula, N/m; `None` where there is none for this liquid or at this temperature.
    pub reference_surface_tension: Option<Property>,
    /// Dynamic viscosity by formula, Pa s; `None` where there is none for this liquid or at this temperature.
    pub reference_dynamic_viscosity: Option<Property>,
    /// Speed of sound, m/s; `None` where not known.
    pub sound_speed: Option<Property>,
    /// Refractive index against air for yellow light (589 nm); `None` where not known.
    pub refractive_index: Option<Property>,
}

/// Names under which a liquid is known only by what the user states.
pub const OWN: [&str; 2] = ["own", "stated"];

/// Looks up the liquid of `request`.
///
/// ```
/// use tremolet_matter::liquid::{properties, Request, Stated};
/// use tremolet_matter::uncertain::Uncertain;
/// let water = properties(&Request {
///     name: "water".into(),
///     mass_fraction: None,
///     temperature: Uncertain::exact(293.15),
///     stated: Stated::default(),
/// })?;
/// assert!((water.density.value.value() - 998.2).abs() < 0.1);
/// # Ok::<(), tremolet_matter::error::MatterError>(())
/// ```
///
/// # Errors
/// An unknown name; a mixture without, or a pure liquid with, a mass fraction; a temperature or mass fraction
/// outside the range of a formula whose value is not stated instead; a stated value that is not above zero; a
/// liquid of one's own without a density.
pub fn properties(request: &Request) -> Result<LiquidProperties, MatterError> {
    let name = names::plain(&request.name);
    if OWN.contains(&name.as_str()) {
        return own(name, &request.stated);
    }
    let all = all();
    let found = all
        .iter()
        .find(|liquid| liquid.name == name || liquid.aliases.contains(&name));
    let liquid = found.ok_or_else(|| unknown(&request.name, &all))?;
    let fraction = mass_fraction(liquid, request)?;
    look_up(liquid, &[&request.temperature, &fraction], &request.stated)
}

/// Every liquid with formulas.
pub fn all() -> Vec<LiquidData> {
    let mut all = vec![
        crate::water::liquid(),
        crate::glycerol_water::liquid(),
        crate::saline::liquid(),
        crate::ethanol::liquid(),
    ];
    all.extend(crate::silicone_oil::liquids());
    all.push(crate::mercury::liquid());
    all
}

fn unknown(name: &str, all: &[LiquidData]) -> MatterError {
    let known = all
        .iter()
        .flat_map(|liquid| std::iter::once(&liquid.name).chain(&liquid.aliases));
    MatterError::UnknownName {
        kind: "liquid",
        name: name.into(),
        nearest: names::nearest(name, known.map(String::as_str).chain(OWN)),
    }
}

fn own(name: String, stated: &Stated) -> Result<LiquidProperties, MatterError> {
    let density = stated.density.as_ref().ok_or(MatterError::MissingDensity)?;
    let optional = |value: &Option<Uncertain>, quantity, unit| {
        let property = value.as_ref().map(|value| positive(value, quantity, unit));
        property.transpose()
    };
    Ok(LiquidProperties {
        name,
        aqueous: false,
        density: positive(density, "density", "kg/m^3")?,
        surface_tension: optional(&stated.surface_tension, "surface tension", "N/m")?,
        dynamic_viscosity: optional(&stated.dynamic_viscosity, "dynamic viscosity", "Pa s")?,
        reference_surface_tension: None,
        reference_dynamic_viscosity: None,
        sound_speed: None,
        refractive_index: None,
    })
}

fn positive(value: &Uncertain, quantity: &'static str, unit: &'static str) -> Result<Property, MatterError> {
    let found = value.value();
    if found > 0.0 && found.is_finite() {
        Ok(Property::stated(value))
    } else {
        Err(MatterError::NotPositive {
            quantity,
            found,
            unit,
        })
    }
}

fn mass_fraction(liquid: &LiquidData, request: &Request) -> Result<Uncertain, MatterError> {
    let name = liquid.name.clone();
    match (liquid.solute, &request.mass_fraction) {
        (Some(_), Some(fraction)) => Ok(fraction.clone()),
        (Some(solute), None) => Err(MatterError::MissingMassFraction { name, solute }),
        (None, Some(_)) => Err(MatterError::NeedlessMassFraction { name }),
        (None, None) => Ok(Uncertain::exact(0.0)),
    }
}

fn look_up(
    liquid: &LiquidData,
    inputs: &[&Uncertain],
    stated: &Stated,
) -> Result<LiquidProperties, MatterError> {
    let at = |correlation: &Correlation| correlation.at(&liquid.name, inputs);
    let chosen = |stated: &Option<Uncertain>, correlation: &Correlation| match stated {
        Some(value) => positive(value, correlation.quantity(), correlation.unit()),
        None => at(correlation),
    };
    let known = |correlation: &Option<Correlation>| correlation.as_ref().and_then(|c| at(c).ok());
    Ok(LiquidProperties {
        name: liquid.name.clone(),
        aqueous: liquid.aqueous,
        density: chosen(&stated.density, &liquid.density)?,
        surface_tension: Some(chosen(&stated.surface_tension, &liquid.surface_tension)?),
        dynamic_viscosity: Some(chosen(&stated.dynamic_viscosity, &liquid.dynamic_viscosity)?),
        reference_surface_tension: at(&liquid.surface_tension).ok(),
        reference_dynamic_viscosity: at(&liquid.dynamic_viscosity).ok(),
        sound_speed: known(&liquid.sound_speed),
        refractive_index: known(&liquid.refractive_index),
    })
}

#[cfg(test)]
mod tests;
