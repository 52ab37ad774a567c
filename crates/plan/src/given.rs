//! The experiment file as the numbers that formulas take: what is stated, what a named liquid or place adds, what is assumed.
//!
//! ```text
//! R = (3 V / 4 pi)^(1/3)        V from diameter, volume or mass, the first that is stated
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | R, V | radius of the sphere of equal volume, volume | m, m^3 |
//!
//! Everything is SI and keeps the identity of its inputs. What is absent and cannot be assumed stays absent. It computes no flow.

use std::f64::consts::PI;

use tremolet_infer::known::{Materials, materials};
use tremolet_matter::gas::VACUUM;
use tremolet_matter::property::Property;
use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_record::experiment::file::Experiment;
use tremolet_record::experiment::material::Place;
use tremolet_theory::drop::FreeDrop;
use tremolet_theory::modes::host::Pair;

use crate::error::PlanError;
use crate::place::{Preset, SOURCE, preset};

/// What a run is made of, SI.
#[derive(Debug, Clone)]
pub struct Given<'a> {
    /// The file.
    pub experiment: &'a Experiment,
    /// Liquid and gas.
    pub materials: Materials,
    /// Radius of the sphere of equal volume, m.
    pub radius: Option<Uncertain>,
    /// Density of the liquid, kg/m^3.
    pub density: Uncertain,
    /// Surface tension, N/m.
    pub tension: Option<Uncertain>,
    /// Dynamic viscosity of the liquid, Pa s.
    pub viscosity: Option<Uncertain>,
    /// Density of the gas around, kg/m^3.
    pub gas_density: Uncertain,
    /// Dynamic viscosity of the gas around, Pa s.
    pub gas_viscosity: Uncertain,
    /// Temperature of the liquid, K.
    pub temperature: Uncertain,
    /// Temperature of the gas, K.
    pub gas_temperature: Uncertain,
    /// Pressure of the gas, Pa.
    pub pressure: Uncertain,
    /// Where.
    pub place: Option<Place>,
    /// Residual acceleration, m/s^2.
    pub acceleration: Option<Uncertain>,
    /// Its swings, m/s^2.
    pub jitter: Option<Uncertain>,
    /// Time of weightlessness, s; absent when unknown or without end.
    pub time: Option<Uncertain>,
    /// What had to be taken for granted.
    pub assumptions: Vec<String>,
}

impl<'a> Given<'a> {
    /// Looks up everything.
    ///
    /// # Errors
    /// [`PlanError::Matter`] for a liquid or gas that is unknown or out of its range.
    pub fn new(experiment: &'a Experiment) -> Result<Self, PlanError> {
        let (materials, thin) = looked_up(experiment)?;
        let mut assumptions = materials.assumptions.clone();
        assumptions.extend(thin);
        let density = materials.liquid.density.value.clone();
        let value = |property: Option<&Property>| property.map(|property| property.value.clone());
        let (tension, viscosity) = (value(materials.tension()), value(materials.viscosity()));
        let stated = experiment.liquid.as_ref();
        let temperature = stated.and_then(|l| l.temperature.clone());
        let temperature =
            temperature.unwrap_or_else(|| assumed(295.15, 3.0, "temperature of the liquid (assumed)", "K"));
        let around = experiment.gas.as_ref();
        let gas_temperature = around
            .and_then(|g| g.temperature.clone())
            .unwrap_or_else(|| temperature.clone());
        let empty = around.is_some_and(|g| g.name.as_deref() == Some(VACUUM));
        let none = empty.then(|| Uncertain::exact(0.0));
        let pressure = around.and_then(|g| g.pressure.clone()).or(none);
        let pressure = pressure.unwrap_or_else(|| assumed(1e5, 5e3, "pressure of the gas (assumed)", "Pa"));
        let surroundings = experiment.surroundings.as_ref();
        let place = surroundings.and_then(|s| s.place);
        let preset = place.map(preset);
        let mut of_place = |stated: Option<Uncertain>, of: fn(&Preset) -> f64, what: &str, unit: &str| {
            stated.or_else(|| {
                let value = preset.as_ref().map(of).filter(|value| value.is_finite())?;
                let name = place.map_or("", Place::name);
                assumptions.push(format!(
                    "{what} is not stated: {value} {unit}, usual for {name} ({SOURCE})"
                ));
                Some(Uncertain::exact(value))
            })
        };
        let acceleration = surroundings.and_then(|s| s.residual_acceleration.clone());
        let acceleration = of_place(
            acceleration,
            |p| p.acceleration,
            "the residual acceleration",
            "m/s^2",
        );
        let jitter = surroundings.and_then(|s| s.jitter.clone());
        let jitter = of_place(jitter, |p| p.jitter, "the jitter of the acceleration", "m/s^2");
        let time = surroundings.and_then(|s| s.available_time.clone());
        let time = of_place(time, |p| p.time, "the available time", "s");
        Ok(Self {
            radius: radius(experiment, Some(&density)),
            gas_density: materials.gas.density.value.clone(),
            gas_viscosity: materials.gas.dynamic_viscosity.value.clone(),
            experiment,
            materials,
            density,
            tension,
            viscosity,
            temperature,
            gas_temperature,
            pressure,
            place,
            acceleration,
            jitter,
            time,
            assumptions,
        })
    }

    /// The inputs of a free drop in its gas, named as in the file, for [`crate::row::Draft::of`]; read back by [`pair`].
    pub fn drop_inputs(&self) -> [(&'static str, Option<&Uncertain>); 6] {
        [
            ("body.diameter, volume or mass", self.radius.as_ref()),
            ("liquid.surface_tension", self.tension.as_ref()),
            ("liquid.density", Some(&self.density)),
            ("liquid.viscosity", self.viscosity.as_ref()),
            ("gas density", Some(&self.gas_density)),
            ("gas viscosity", Some(&self.gas_viscosity)),
        ]
    }

    /// The drop in its gas at the best estimates, if size, tension and viscosity are known.
    pub fn pair(&self) -> Option<Pair> {
        values(&self.drop_inputs()).map(|x| pair(&x))
    }

    /// The drop at the best estimates.
    pub fn drop(&self) -> Option<FreeDrop> {
        self.pair().map(|pair| free(&pair))
    }

    /// Whether the liquid is mostly water.
    pub fn aqueous(&self) -> bool {
        self.materials.liquid.aqueous
    }

    /// Relative humidity, 0 to 1, if stated.
    pub fn humidity(&self) -> Option<&Uncertain> {
        self.experiment.gas.as_ref()?.relative_humidity.as_ref()
    }
}

/// The best estimates of inputs, if all are there.
pub fn values(inputs: &[(&str, Option<&Uncertain>)]) -> Option<Vec<f64>> {
    inputs.iter().map(|(_, x)| x.map(Uncertain::value)).collect()
}

/// The drop in its gas from the values of [`Given::drop_inputs`].
pub fn pair(x: &[f64]) -> Pair {
    Pair {
        radius: x[0],
        tension: x[1],
        density: x[2],
        viscosity: x[3],
        host_density: x[4],
        host_viscosity: x[5],
    }
}

/// The drop without its gas.
pub fn free(pair: &Pair) -> FreeDrop {
    FreeDrop {
        radius: pair.radius,
        tension: pair.tension,
        density: pair.density,
        viscosity: pair.viscosity,
    }
}

/// Liquid and gas; a gas beyond what is known of it counts as vacuum, and that is said.
fn looked_up(experiment: &Experiment) -> Result<(Materials, Option<String>), PlanError> {
    let why = match materials(experiment) {
        Ok(found) => return Ok((found, None)),
        Err(why) => why,
    };
    let mut thin = experiment.clone();
    let Some(gas) = &mut thin.gas else {
        return Err(why.into());
    };
    gas.name = Some(VACUUM.into());
    // When the liquid is to blame, that stands.
    let found = materials(&thin).map_err(|_| why.clone())?;
    Ok((found, Some(format!("the gas is taken as vacuum: {why}"))))
}

/// Radius of the sphere of equal volume as the file states it, m; a mass counts only with a `density`, kg/m^3.
pub fn radius(experiment: &Experiment, density: Option<&Uncertain>) -> Option<Uncertain> {
    let volumes = experiment.body.as_ref()?.volumes(density);
    let (_, volume) = volumes.first()?;
    Some(Uncertain::propagate(&[volume], |x| {
        (3.0 * x[0] / (4.0 * PI)).cbrt()
    }))
}

fn assumed(value: f64, u: f64, key: &str, unit: &str) -> Uncertain {
    let input = Input {
        key: key.into(),
        unit: unit.into(),
        standard_uncertainty: u,
        degrees_of_freedom: f64::INFINITY,
        source: SOURCE.into(),
    };
    Uncertain::of_input(value, u, input)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn experiment(text: &str) -> Experiment {
        Experiment::parse(&format!("format = 1\nkind = \"release\"\n{text}"), "plan.toml").unwrap()
    }

    #[test]
    fn size_and_liquid_become_a_drop() {
        let file = experiment(
            "[liquid]\nname = \"water\"\ntemperature = \"20 degC\"\n[gas]\nname = \"air\"\ntemperature = \"20 degC\"\npressure = \"101.325 kPa\"\nrelative_humidity = \"0 %\"\n[body]\nvolume = \"33.51 +- 0.1 mL\"\n",
        );
        let given = Given::new(&file).unwrap();
        let drop = given.pair().unwrap();
        // 33.51 mL is a sphere of 20 mm radius; handbook values of water and air at 20 C (from memory).
        assert!((drop.radius - 0.020).abs() < 1e-6 && (drop.tension - 0.07274).abs() < 1e-4);
        assert!((drop.host_density - 1.204).abs() < 3e-3 && given.aqueous());
        assert!((given.radius.unwrap().relative() - 0.1 / 33.51 / 3.0).abs() < 1e-6);
    }

    #[test]
    fn a_place_gives_what_is_not_stated_and_says_so() {
        let file = experiment(
            "[liquid]\nname = \"water\"\n[surroundings]\nplace = \"drop-tower\"\navailable_time = \"9.2 s\"\n",
        );
        let given = Given::new(&file).unwrap();
        assert!(
            (given.time.unwrap().value() - 9.2).abs() < 1e-12,
            "a statement goes before the place"
        );
        assert!((given.acceleration.unwrap().value() - 1e-5).abs() < 1e-18);
        assert!(
            given
                .assumptions
                .iter()
                .any(|text| text.contains("no published source")),
            "{:?}",
            given.assumptions
        );
        assert!(given.radius.is_none());
        let orbit = experiment("[liquid]\nname = \"water\"\n[surroundings]\nplace = \"orbit\"\n");
        assert!(Given::new(&orbit).unwrap().time.is_none(), "no end is no number");
    }
}
