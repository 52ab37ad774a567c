//! The properties of the gas round a drop at its temperature and pressure, with uncertainty and source.
//!
//! All formulas are fed the same temperature, pressure and humidity, so the properties stay correlated through
//! them; each formula adds one input of its own, called e.g. `density of air (formula)`. A humidity of air that
//! is not given is taken as anything from 0 to 1 (half, with a standard uncertainty of 1 / sqrt 12).
//!
//! Sources: those of [`crate::air`] and [`crate::pure_gas`]. `vacuum` is a gas without density, viscosity and
//! sound, whatever the temperature and pressure.

use crate::air;
use crate::error::MatterError;
use crate::gas_data::GasData;
use crate::names;
use crate::property::Property;
use crate::pure_gas;
use crate::uncertain::{Input, Uncertain};

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Name of the gas, see [`crate::catalogue`]; capitals, blanks and underscores do not matter.
    pub name: String,
    /// Temperature of the gas, K.
    pub temperature: Uncertain,
    /// Pressure, Pa.
    pub pressure: Uncertain,
    /// Relative humidity, 0 to 1; counts for air only.
    pub relative_humidity: Option<Uncertain>,
}

/// A gas with its properties, SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct GasProperties {
    /// Name as in the catalogue.
    pub name: String,
    /// Density, kg/m^3.
    pub density: Property,
    /// Dynamic viscosity, Pa s.
    pub dynamic_viscosity: Property,
    /// Speed of sound, m/s.
    pub sound_speed: Property,
}

/// Name of the gas that is not there.
pub const VACUUM: &str = "vacuum";

/// Looks up the gas of `request`.
///
/// ```
/// use tremolet_matter::gas::{properties, Request};
/// use tremolet_matter::uncertain::Uncertain;
/// let air = properties(&Request {
///     name: "air".into(),
///     temperature: Uncertain::exact(293.15),
///     pressure: Uncertain::exact(101_325.0),
///     relative_humidity: Some(Uncertain::exact(0.0)),
/// })?;
/// assert!((air.density.value.value() - 1.2046).abs() < 1e-4);
/// # Ok::<(), tremolet_matter::error::MatterError>(())
/// ```
///
/// # Errors
/// An unknown name; a temperature, pressure or humidity outside the range of the formulas.
pub fn properties(request: &Request) -> Result<GasProperties, MatterError> {
    let name = names::plain(&request.name);
    if name == VACUUM {
        return Ok(vacuum());
    }
    let all = all();
    let found = all
        .iter()
        .find(|gas| gas.name == name || gas.aliases.contains(&name.as_str()));
    let gas = found.ok_or_else(|| unknown(&request.name, &all))?;
    let humidity = request.relative_humidity.clone().unwrap_or_else(any_humidity);
    let inputs = [&request.temperature, &request.pressure, &humidity];
    Ok(GasProperties {
        name: gas.name.into(),
        density: gas.density.at(gas.name, &inputs)?,
        dynamic_viscosity: gas.dynamic_viscosity.at(gas.name, &inputs)?,
        sound_speed: gas.sound_speed.at(gas.name, &inputs)?,
    })
}

/// Every gas with formulas.
pub fn all() -> Vec<GasData> {
    let mut all = vec![air::gas()];
    all.extend(pure_gas::gases());
    all
}

fn unknown(name: &str, all: &[GasData]) -> MatterError {
    let known = all
        .iter()
        .flat_map(|gas| std::iter::once(gas.name).chain(gas.aliases.iter().copied()));
    MatterError::UnknownName {
        kind: "gas",
        name: name.into(),
        nearest: names::nearest(name, known.chain([VACUUM])),
    }
}

fn vacuum() -> GasProperties {
    let nothing = || Property {
        value: Uncertain::exact(0.0),
        source: "vacuum".into(),
        stated: false,
    };
    GasProperties {
        name: VACUUM.into(),
        density: nothing(),
        dynamic_viscosity: nothing(),
        sound_speed: nothing(),
    }
}

fn any_humidity() -> Uncertain {
    let u = 1.0 / 12.0_f64.sqrt();
    let input = Input {
        key: "relative humidity (not given)".into(),
        unit: "1".into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: "anything from 0 to 1".into(),
    };
    Uncertain::of_input(0.5, u, input)
}

#[cfg(test)]
mod tests;
