//! What is known of a drop before its frequencies speak: the liquid and the gas of the experiment file, looked up, and what had to be
//! taken for granted.
//!
//! What the file states goes before the formula of a named liquid; what it does not state becomes an assumption with an uncertainty
//! (22 °C +- 3 K, 100 kPa +- 5 kPa, air: common practice, no published source) and a sentence for the report. Symbols: those of
//! [`crate::property::routes`]. The formulas live in `matter`; the radius comes from whoever has one.

use tremolet_matter::error::MatterError;
use tremolet_matter::gas::{self, GasProperties};
use tremolet_matter::liquid::{self, LiquidProperties};
use tremolet_matter::property::Property;
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_record::experiment::file::Experiment;

use crate::property::routes::Known;

/// Liquid and gas of the experiment, and what had to be taken for granted.
#[derive(Debug, Clone)]
pub struct Materials {
    /// The liquid.
    pub liquid: LiquidProperties,
    /// The gas around; vacuum where none is stated.
    pub gas: GasProperties,
    /// Sentences for the report.
    pub assumptions: Vec<String>,
}

impl Materials {
    /// Surface tension of the liquid, N/m: as stated, else by formula.
    pub fn tension(&self) -> Option<&Property> {
        let liquid = &self.liquid;
        liquid
            .surface_tension
            .as_ref()
            .or(liquid.reference_surface_tension.as_ref())
    }

    /// Dynamic viscosity of the liquid, Pa s: as stated, else by formula.
    pub fn viscosity(&self) -> Option<&Property> {
        let liquid = &self.liquid;
        liquid
            .dynamic_viscosity
            .as_ref()
            .or(liquid.reference_dynamic_viscosity.as_ref())
    }
}

/// Looks up liquid and gas.
///
/// # Errors
/// An unknown name, a value out of range, a mixture without composition.
pub fn materials(experiment: &Experiment) -> Result<Materials, MatterError> {
    let mut assumptions = Vec::new();
    let stated = experiment.liquid.as_ref();
    let room = Uncertain::of_input(
        295.15,
        3.0,
        input("temperature of the liquid (assumed)", "K", 3.0),
    );
    let temperature = stated.and_then(|l| l.temperature.clone()).unwrap_or_else(|| {
        assumptions
            .push("the liquid's temperature is not stated: 22 °C with a standard uncertainty of 3 K".into());
        room
    });
    let request = liquid::Request {
        name: stated
            .and_then(|l| l.name.clone())
            .unwrap_or_else(|| "own".into()),
        mass_fraction: stated.and_then(|l| l.mass_fraction.clone()),
        temperature: temperature.clone(),
        stated: liquid::Stated {
            density: stated.and_then(|l| l.density.clone()),
            surface_tension: stated.and_then(|l| l.surface_tension.clone()),
            dynamic_viscosity: stated.and_then(|l| l.viscosity.clone()),
        },
    };
    let liquid = liquid::properties(&request)?;
    let gas = gas(experiment, temperature, &mut assumptions)?;
    Ok(Materials {
        liquid,
        gas,
        assumptions,
    })
}

fn gas(
    experiment: &Experiment,
    liquid_temperature: Uncertain,
    assumptions: &mut Vec<String>,
) -> Result<GasProperties, MatterError> {
    let stated = experiment.gas.as_ref();
    let name = stated.and_then(|g| g.name.clone()).unwrap_or_else(|| {
        assumptions.push("the gas around is not stated: air".into());
        "air".into()
    });
    let temperature = stated
        .and_then(|g| g.temperature.clone())
        .unwrap_or(liquid_temperature);
    let pressure = stated.and_then(|g| g.pressure.clone()).unwrap_or_else(|| {
        assumptions
            .push("the gas pressure is not stated: 100 kPa with a standard uncertainty of 5 kPa".into());
        Uncertain::of_input(1e5, 5e3, input("pressure of the gas (assumed)", "Pa", 5e3))
    });
    let relative_humidity = stated.and_then(|g| g.relative_humidity.clone());
    gas::properties(&gas::Request {
        name,
        temperature,
        pressure,
        relative_humidity,
    })
}

/// Everything that property estimation needs besides the lines.
pub fn known(experiment: &Experiment, materials: &Materials, radius: Option<Uncertain>) -> Known {
    let liquid = &materials.liquid;
    let tension = liquid
        .reference_surface_tension
        .as_ref()
        .or(liquid.surface_tension.as_ref());
    let dynamic = liquid
        .reference_dynamic_viscosity
        .as_ref()
        .or(liquid.dynamic_viscosity.as_ref());
    let density = liquid.density.value.clone();
    let kinematic = dynamic.map(|mu| Uncertain::propagate(&[&mu.value, &density], |x| x[0] / x[1]));
    Known {
        radius,
        mass: experiment.body.as_ref().and_then(|body| body.mass.clone()),
        density,
        host_density: materials.gas.density.value.clone(),
        host_viscosity: materials.gas.dynamic_viscosity.value.clone(),
        aqueous: liquid.aqueous,
        reference_tension: tension.map(|p| p.value.clone()),
        reference_viscosity: kinematic,
    }
}

fn input(key: &str, unit: &str, standard_uncertainty: f64) -> Input {
    Input {
        key: key.into(),
        unit: unit.into(),
        standard_uncertainty,
        degrees_of_freedom: f64::INFINITY,
        source: "study".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Materials {
        let text = format!("format = 1\nkind = \"release\"\n{text}\n");
        materials(&Experiment::parse(&text, "test").expect("an experiment")).expect("materials")
    }

    #[test]
    fn what_is_not_stated_is_an_assumption_with_an_uncertainty() {
        let bare = of("[liquid]\nname = \"water\"");
        assert_eq!(bare.assumptions.len(), 3, "{:?}", bare.assumptions);
        let parts = bare.liquid.density.value.parts();
        assert!(
            parts
                .iter()
                .any(|part| part.input.key.contains("temperature of the liquid (assumed)"))
        );
        let stated = of(
            "[liquid]\nname = \"water\"\ntemperature = \"20 degC\"\n[gas]\nname = \"air\"\npressure = \"90 kPa\"",
        );
        assert!(stated.assumptions.is_empty(), "{:?}", stated.assumptions);
        // 998.2 kg/m^3 at 20 C, IAPWS (handbook value, from memory).
        assert!((stated.liquid.density.value.value() - 998.2).abs() < 0.1);
    }

    #[test]
    fn a_stated_mass_and_reference_values_reach_the_routes() {
        let text =
            "format = 1\nkind = \"release\"\n[liquid]\nname = \"water\"\n[body]\nmass = \"3 +- 0.1 g\"\n";
        let experiment = Experiment::parse(text, "test").expect("an experiment");
        let known = known(&experiment, &materials(&experiment).expect("materials"), None);
        assert!(
            known
                .mass
                .is_some_and(|mass| (mass.value() - 0.003).abs() < 1e-15)
        );
        assert!(known.radius.is_none() && known.reference_tension.is_some() && known.aqueous);
    }
}
