//! The body of liquid, `[body]`: its size, stated as diameter, volume or mass; two or more must agree.
//!
//! ```text
//! V = pi d^3 / 6,      V = m / rho,      two statements agree when |V_1 - V_2| <= 3 u(V_1 - V_2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `V`, `d`, `m` | volume, volume-equivalent diameter, mass | m^3, m, kg |
//! | `rho` | density of the liquid | kg/m^3 |
//! | `u` | standard uncertainty of the difference | m^3 |
//!
//! When no uncertainty is stated at all, a hundredth of the volume takes the place of 3 u. Source: \[JCGM100\] 5.1.2.
//! It does not choose among statements that agree.

use crate::experiment::section::{Bound, Section};
use std::f64::consts::PI;
use tremolet_matter::quantity::dimension::Dimension;
use tremolet_matter::uncertain::Uncertain;

/// Keys of `[body]`.
pub const BODY: &[&str] = &["diameter", "volume", "mass"];

/// Size of the body as stated.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Volume-equivalent diameter, m.
    pub diameter: Option<Uncertain>,
    /// Volume, m^3.
    pub volume: Option<Uncertain>,
    /// Mass, kg.
    pub mass: Option<Uncertain>,
}

/// Two statements of the size that cannot both be true.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error(
    "`{first}` gives {:.4} mL and `{second}` gives {:.4} mL, {:.4} mL apart where {:.4} mL (three standard \
     uncertainties, or 1 % without any) are the most",
    first_volume * 1e6, second_volume * 1e6, (first_volume - second_volume).abs() * 1e6, most * 1e6
)]
pub struct Contradiction {
    /// Key of the first.
    pub first: &'static str,
    /// Volume by the first, m^3.
    pub first_volume: f64,
    /// Key of the second.
    pub second: &'static str,
    /// Volume by the second, m^3.
    pub second_volume: f64,
    /// Largest difference that would pass, m^3.
    pub most: f64,
}

impl Body {
    /// Reads `[body]`; `density` (kg/m^3) is that of the liquid if the file states it.
    pub(super) fn read(mut table: Section<'_, '_>, density: Option<&Uncertain>) -> Self {
        let mut measured = |key, dimension| table.measured(key, dimension, Bound::Positive, None);
        let body = Self {
            diameter: measured("diameter", Dimension::Length),
            volume: measured("volume", Dimension::Volume),
            mass: measured("mass", Dimension::Mass),
        };
        if let Some(both) = body.contradiction(density) {
            table.fault(
                both.second,
                &both.to_string(),
                "statements that agree, or only the one you trust",
            );
        }
        body
    }

    /// The volume by each key that states it, m^3, in the order diameter, volume, mass; the mass counts only with a
    /// `density`, kg/m^3.
    pub fn volumes(&self, density: Option<&Uncertain>) -> Vec<(&'static str, Uncertain)> {
        let by_diameter = self.diameter.as_ref().map(|diameter| {
            let d = diameter.value();
            Uncertain::combine(PI * d.powi(3) / 6.0, &[(diameter, PI * d * d / 2.0)])
        });
        let by_mass = self.mass.as_ref().zip(density).map(|(mass, density)| {
            let (m, rho) = (mass.value(), density.value());
            Uncertain::combine(m / rho, &[(mass, 1.0 / rho), (density, -m / (rho * rho))])
        });
        [
            ("diameter", by_diameter),
            ("volume", self.volume.clone()),
            ("mass", by_mass),
        ]
        .into_iter()
        .filter_map(|(key, volume)| Some((key, volume?)))
        .collect()
    }

    /// The first two statements that contradict each other, if any do.
    pub fn contradiction(&self, density: Option<&Uncertain>) -> Option<Contradiction> {
        let volumes = self.volumes(density);
        let pairs = (1..volumes.len()).flat_map(|j| (0..j).map(move |i| (i, j)));
        pairs
            .into_iter()
            .find_map(|(i, j)| contradict(&volumes[i], &volumes[j]))
    }
}

fn contradict(
    first: &(&'static str, Uncertain),
    second: &(&'static str, Uncertain),
) -> Option<Contradiction> {
    let difference = Uncertain::combine(0.0, &[(&first.1, 1.0), (&second.1, -1.0)]);
    let (first_volume, second_volume) = (first.1.value(), second.1.value());
    let most = match difference.standard_uncertainty() {
        0.0 => 0.01 * first_volume.max(second_volume),
        u => 3.0 * u,
    };
    ((first_volume - second_volume).abs() > most).then_some(Contradiction {
        first: first.0,
        first_volume,
        second: second.0,
        second_volume,
        most,
    })
}
