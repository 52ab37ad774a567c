//! What the run is made of and where it takes place: `[liquid]`, `[gas]` and `[surroundings]`.
//!
//! A liquid is named, or its properties are stated, or both; a stated property goes before that of the named liquid.
//! Whether a name is known is for the room that looks it up.
//!
//! | key | meaning | unit |
//! |---|---|---|
//! | `mass_fraction` | mass of the solute over that of the solution | 1 |
//! | `density`, `surface_tension`, `viscosity` | of the liquid; the viscosity is the dynamic one | kg/m^3, N/m, Pa s |
//! | `kinematic_viscosity` | of the liquid | m^2/s |
//! | `relative_humidity` | of the gas | 1 |
//!
//! Runs that name the same `batch` were filled from one vessel: composition and stated properties then have one error, and their inputs carry
//! that name in brackets, `liquid.mass_fraction [mix-2]`. The temperature stays that of the run.

use crate::experiment::section::{Bound, Section};
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::uncertain::Uncertain;

/// Keys of `[liquid]`.
pub const LIQUID: &[&str] = &[
    "name",
    "mass_fraction",
    "temperature",
    "density",
    "surface_tension",
    "viscosity",
    "kinematic_viscosity",
    "batch",
];
/// Keys of `[gas]`.
pub const GAS: &[&str] = &["name", "temperature", "pressure", "relative_humidity"];
/// Keys of `[surroundings]`.
pub const SURROUNDINGS: &[&str] = &[
    "place",
    "residual_acceleration",
    "available_time",
    "jitter",
    "draught",
    "wall",
];

/// A fraction from 0 to 1.
const FRACTION: Bound = Bound::Between(0.0, 1.0, "a fraction from 0 to 1 (0 % to 100 %)");

/// The liquid of the body.
#[derive(Debug, Clone, PartialEq)]
pub struct Liquid {
    /// Name, e.g. `glycerol-water`.
    pub name: Option<String>,
    /// Mass fraction of the solute.
    pub mass_fraction: Option<Uncertain>,
    /// Temperature, K.
    pub temperature: Option<Uncertain>,
    /// Density, kg/m^3.
    pub density: Option<Uncertain>,
    /// Surface tension, N/m.
    pub surface_tension: Option<Uncertain>,
    /// Dynamic viscosity, Pa s.
    pub viscosity: Option<Uncertain>,
    /// Kinematic viscosity, m^2/s; never beside the dynamic one.
    pub kinematic_viscosity: Option<Uncertain>,
    /// Name of the vessel that runs were filled from.
    pub batch: Option<String>,
}

impl Liquid {
    /// Reads `[liquid]`.
    pub(super) fn read(mut table: Section<'_, '_>) -> Self {
        if table.has("viscosity") && table.has("kinematic_viscosity") {
            table.fault(
                "kinematic_viscosity",
                "a second viscosity",
                "one of `viscosity` and `kinematic_viscosity`",
            );
        }
        if !table.has("name") && !table.has("density") {
            table.fault_of_table(
                "neither `name` nor `density`",
                "a liquid such as name = \"water\", or its properties",
            );
        }
        let batch = table.text("batch", "mix-2");
        let shared = batch.as_deref();
        let mass_fraction = table.measured("mass_fraction", Dimension::Fraction, FRACTION, shared);
        let temperature = table.measured("temperature", Dimension::Temperature, Bound::Positive, None);
        let mut measured = |key, dimension, bound| table.measured(key, dimension, bound, shared);
        let density = measured("density", Dimension::Density, Bound::Positive);
        let surface_tension = measured("surface_tension", Dimension::SurfaceTension, Bound::Positive);
        let viscosity = measured("viscosity", Dimension::DynamicViscosity, Bound::Positive);
        let kinematic_viscosity = measured(
            "kinematic_viscosity",
            Dimension::KinematicViscosity,
            Bound::Positive,
        );
        let name = table.text("name", "glycerol-water");
        Self {
            name,
            mass_fraction,
            temperature,
            density,
            surface_tension,
            viscosity,
            kinematic_viscosity,
            batch,
        }
    }
}

/// The gas around the body.
#[derive(Debug, Clone, PartialEq)]
pub struct Gas {
    /// Name, e.g. `air`.
    pub name: Option<String>,
    /// Temperature, K.
    pub temperature: Option<Uncertain>,
    /// Pressure, Pa.
    pub pressure: Option<Uncertain>,
    /// Relative humidity, 0 to 1.
    pub relative_humidity: Option<Uncertain>,
}

impl Gas {
    /// Reads `[gas]`.
    pub(super) fn read(mut table: Section<'_, '_>) -> Self {
        Self {
            name: table.text("name", "air"),
            temperature: table.quantity("temperature", Dimension::Temperature, Bound::Positive),
            pressure: table.quantity("pressure", Dimension::Pressure, Bound::Positive),
            relative_humidity: table.quantity("relative_humidity", Dimension::Fraction, FRACTION),
        }
    }
}

/// Where the body floats.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// A cabin in orbit.
    Orbit,
    /// A sounding rocket.
    SoundingRocket,
    /// An aircraft on parabolas.
    ParabolicFlight,
    /// A drop tower or tube.
    DropTower,
    /// A levitator on the ground.
    Levitator,
    /// On the ground without one.
    Ground,
}

const PLACES: &[(&str, Place)] = &[
    ("orbit", Place::Orbit),
    ("sounding-rocket", Place::SoundingRocket),
    ("parabolic-flight", Place::ParabolicFlight),
    ("drop-tower", Place::DropTower),
    ("levitator", Place::Levitator),
    ("ground", Place::Ground),
];

impl Place {
    /// The word in the file.
    pub fn name(self) -> &'static str {
        PLACES
            .iter()
            .find(|(_, place)| *place == self)
            .map_or("", |(name, _)| name)
    }
}

/// The surroundings of the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Surroundings {
    /// Where.
    pub place: Option<Place>,
    /// Size of the residual acceleration, m/s^2.
    pub residual_acceleration: Option<Uncertain>,
    /// Time of weightlessness, s.
    pub available_time: Option<Uncertain>,
    /// Size of the swings of the acceleration (root mean square), m/s^2.
    pub jitter: Option<Uncertain>,
    /// Speed of the air past the body, m/s.
    pub draught: Option<Uncertain>,
    /// From the body to the nearest wall, m.
    pub wall: Option<Uncertain>,
}

impl Surroundings {
    /// Reads `[surroundings]`.
    pub(super) fn read(mut table: Section<'_, '_>) -> Self {
        Self {
            place: table.word("place", PLACES),
            residual_acceleration: table.quantity(
                "residual_acceleration",
                Dimension::Acceleration,
                Bound::NotNegative,
            ),
            available_time: table.quantity("available_time", Dimension::Time, Bound::Positive),
            jitter: table.quantity("jitter", Dimension::Acceleration, Bound::NotNegative),
            draught: table.quantity("draught", Dimension::Speed, Bound::NotNegative),
            wall: table.quantity("wall", Dimension::Length, Bound::Positive),
        }
    }
}
