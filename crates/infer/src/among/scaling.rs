//! Modes on the clock of their drop: what theory's scaling leaves of size and liquid.
//!
//! ```text
//! c = sqrt(sigma / (rho R^3)),   2 pi f / c -> sqrt(n (n - 1) (n + 2))
//! v = nu / R^2,                  g / v      -> (n - 1) (2 n + 1)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R`, `rho`, `sigma`, `nu` | radius, density, surface tension, kinematic viscosity | m, kg/m^3, N/m, m^2/s |
//! | `c`, `v` | capillary rate, viscous rate | 1/s |
//! | `f`, `g` | frequency, decay rate of degree n | Hz, 1/s |
//!
//! Source: \[Rayleigh1879\] (inviscid limit), \[Lamb1932\] (decay of a drop of little viscosity); the exact root with viscosity and gas is that of
//! [`tremolet_theory::modes::host`]. Surface tension and viscosity are those expected of the liquid, not those that the modes gave, or
//! nothing would be left to compare.

use std::f64::consts::TAU;

use tremolet_matter::uncertain::Uncertain;
use tremolet_theory::modes::error::ModeError;
use tremolet_theory::modes::host::{Pair, root};
use tremolet_theory::modes::inviscid::drop_unit;

/// A drop as it is expected to be.
#[derive(Debug, Clone)]
pub struct Expected {
    /// Radius at rest, m.
    pub radius: Uncertain,
    /// Surface tension, N/m.
    pub tension: Uncertain,
    /// Density, kg/m^3.
    pub density: Uncertain,
    /// Dynamic viscosity, Pa s; without it only frequencies are scaled.
    pub viscosity: Option<Uncertain>,
    /// Density of the gas around, kg/m^3.
    pub host_density: f64,
    /// Dynamic viscosity of the gas around, Pa s.
    pub host_viscosity: f64,
}

/// A number and its standard uncertainty.
pub type Number = [f64; 2];

/// A mode on the clock of its drop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scaled {
    /// Capillary rate, 1/s.
    pub capillary_rate: Number,
    /// Frequency over it, in radians.
    pub reduced_frequency: Number,
    /// That without viscosity and gas.
    pub inviscid: f64,
    /// That of the exact root, where the viscosity is known.
    pub expected: Option<f64>,
    /// Viscous rate, 1/s.
    pub viscous_rate: Option<Number>,
    /// Decay rate over it.
    pub reduced_decay: Option<Number>,
    /// That of the exact root.
    pub expected_decay: Option<f64>,
}

/// A mode of `degree` with frequency (Hz) and decay rate (1/s), both independent of what is expected of the drop.
///
/// # Errors
/// A degree or a drop that theory does not know.
pub fn scaled(degree: u32, frequency: Number, decay: Number, drop: &Expected) -> Result<Scaled, ModeError> {
    let rate = Uncertain::propagate(&[&drop.tension, &drop.density, &drop.radius], |x| {
        (x[0] / (x[1] * x[2].powi(3))).sqrt()
    });
    let viscous = drop.viscosity.as_ref().map(|viscosity| {
        Uncertain::propagate(&[viscosity, &drop.density, &drop.radius], |x| {
            x[0] / x[1] / x[2].powi(2)
        })
    });
    let exact = match &drop.viscosity {
        Some(viscosity) => Some(root(degree, &pair(drop, viscosity.value()))?),
        None => None,
    };
    Ok(Scaled {
        capillary_rate: [rate.value(), rate.standard_uncertainty()],
        reduced_frequency: over([TAU * frequency[0], TAU * frequency[1]], &rate),
        inviscid: drop_unit(degree),
        expected: exact.map(|root| root.angular_frequency / rate.value()),
        viscous_rate: viscous.as_ref().map(|v| [v.value(), v.standard_uncertainty()]),
        reduced_decay: viscous.as_ref().map(|v| over(decay, v)),
        expected_decay: exact
            .zip(viscous.as_ref())
            .map(|(root, v)| root.decay / v.value()),
    })
}

fn pair(drop: &Expected, viscosity: f64) -> Pair {
    Pair {
        radius: drop.radius.value(),
        tension: drop.tension.value(),
        density: drop.density.value(),
        viscosity,
        host_density: drop.host_density,
        host_viscosity: drop.host_viscosity,
    }
}

/// A number over an uncertain one that it does not depend on.
fn over([value, u]: Number, by: &Uncertain) -> Number {
    let ratio = value / by.value();
    [ratio, ratio.abs() * (u / value).hypot(by.relative())]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drop(radius: f64) -> Expected {
        let input = |key: &str| tremolet_matter::uncertain::Input {
            key: key.into(),
            unit: "m".into(),
            standard_uncertainty: 0.0,
            degrees_of_freedom: f64::INFINITY,
            source: "test".into(),
        };
        Expected {
            radius: Uncertain::of_input(radius, 0.01 * radius, input("scale")),
            tension: Uncertain::exact(0.072_74),
            density: Uncertain::exact(998.2),
            viscosity: Some(Uncertain::exact(1.0016e-3)),
            host_density: 0.0,
            host_viscosity: 0.0,
        }
    }

    // Rayleigh: f_2 = sqrt(8 sigma / rho) / (2 pi R^1.5), 2 pi f / c = sqrt 8 for any size. Decay of Lamb: 5 nu / R^2.
    #[test]
    fn a_mode_as_theory_has_it_lies_on_its_line_at_any_size() {
        for radius in [2e-3, 10e-3, 40e-3_f64] {
            let f = (8.0 * 0.072_74 / 998.2 / radius.powi(3)).sqrt() / TAU;
            let g = 5.0 * 1.0016e-3 / 998.2 / radius.powi(2);
            let found = scaled(2, [f, 0.0], [g, 0.0], &drop(radius)).unwrap();
            assert!((found.reduced_frequency[0] - 8.0_f64.sqrt()).abs() < 1e-12);
            assert!((found.inviscid - 8.0_f64.sqrt()).abs() < 1e-12);
            assert!((found.reduced_decay.unwrap()[0] - 5.0).abs() < 1e-12);
            // 1 % of the radius is 1.5 % of the rate, 2 % of the decay's.
            assert!((found.reduced_frequency[1] / found.reduced_frequency[0] - 0.015).abs() < 1e-4);
            assert!((found.reduced_decay.unwrap()[1] / 5.0 - 0.02).abs() < 1e-4);
            // Viscosity slows a little and damps a little less than Lamb says.
            let (expected, decay) = (found.expected.unwrap(), found.expected_decay.unwrap());
            assert!(
                expected < found.inviscid && expected > 0.99 * found.inviscid,
                "{found:?}"
            );
            assert!(decay < 5.0 && decay > 4.5, "{found:?}");
        }
    }

    #[test]
    fn without_a_viscosity_only_the_frequency_is_scaled() {
        let bare = Expected {
            viscosity: None,
            ..drop(0.01)
        };
        let found = scaled(3, [10.0, 0.1], [1.0, 0.1], &bare).unwrap();
        assert!(found.expected.is_none() && found.reduced_decay.is_none() && found.viscous_rate.is_none());
    }
}
