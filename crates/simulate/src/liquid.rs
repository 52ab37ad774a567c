//! What a body is made of and what surrounds it.
//!
//! ```text
//! t0 = sqrt(rho R^3 / sigma)          Oh = mu / sqrt(rho sigma R)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | rho, sigma, mu | density, surface tension, dynamic viscosity | kg/m^3, N/m, Pa s |
//! | R, t0, Oh | radius of the sphere of equal volume, capillary time, Ohnesorge number | m, s, - |
//!
//! Source: \[Rayleigh1879\] (the group of t0). Properties do not change during a run.

use serde::{Deserialize, Serialize};

/// Why a simulation is refused.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum InputError {
    /// A property that must be positive, or at least not negative.
    #[error("{name}: found {found} {unit}, expected a {expected} number")]
    Property {
        /// Which.
        name: &'static str,
        /// Its value.
        found: f64,
        /// Its unit.
        unit: &'static str,
        /// `positive` or `not negative`.
        expected: &'static str,
    },
    /// A shape that is no body of revolution with an inside.
    #[error("the start shape {why}: {found:.4}, expected {expected}")]
    Shape {
        /// What is wrong with it.
        why: &'static str,
        /// The number that shows it.
        found: f64,
        /// What it should be.
        expected: &'static str,
    },
    /// A resolution that cannot hold the shape or the accuracy.
    #[error("{what}: found {found:e}, expected {expected}; {advice}")]
    Resolution {
        /// Which setting.
        what: &'static str,
        /// Its value, or the error that it leaves.
        found: f64,
        /// What is needed.
        expected: String,
        /// What to change.
        advice: &'static str,
    },
}

/// Refuses a property that is not a positive number.
///
/// # Errors
/// [`InputError::Property`].
pub fn positive(name: &'static str, found: f64, unit: &'static str) -> Result<(), InputError> {
    let expected = "positive";
    let wrong = InputError::Property {
        name,
        found,
        unit,
        expected,
    };
    if found > 0.0 && found.is_finite() {
        Ok(())
    } else {
        Err(wrong)
    }
}

/// Refuses a property that is negative or not a number.
///
/// # Errors
/// [`InputError::Property`].
pub fn not_negative(name: &'static str, found: f64, unit: &'static str) -> Result<(), InputError> {
    let expected = "not negative";
    let wrong = InputError::Property {
        name,
        found,
        unit,
        expected,
    };
    if found >= 0.0 && found.is_finite() {
        Ok(())
    } else {
        Err(wrong)
    }
}

/// A liquid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Liquid {
    /// kg/m^3.
    pub density: f64,
    /// N/m.
    pub tension: f64,
    /// Dynamic, Pa s; 0 for none.
    pub viscosity: f64,
}

/// The gas around.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Gas {
    /// kg/m^3.
    pub density: f64,
    /// Dynamic, Pa s.
    pub viscosity: f64,
}

impl Liquid {
    /// Refuses what is zero, negative or no number; no viscosity is allowed.
    ///
    /// # Errors
    /// [`InputError::Property`].
    pub fn check(&self) -> Result<(), InputError> {
        positive("density", self.density, "kg/m^3")?;
        positive("surface tension", self.tension, "N/m")?;
        not_negative("viscosity", self.viscosity, "Pa s")
    }

    /// Capillary time of a body of equivalent radius `radius`, s.
    #[must_use]
    pub fn time(&self, radius: f64) -> f64 {
        (self.density * radius.powi(3) / self.tension).sqrt()
    }

    /// Ohnesorge number of a body of equivalent radius `radius`.
    #[must_use]
    pub fn ohnesorge(&self, radius: f64) -> f64 {
        self.viscosity / (self.density * self.tension * radius).sqrt()
    }
}

impl Gas {
    /// Refuses what is negative or no number.
    ///
    /// # Errors
    /// [`InputError::Property`].
    pub fn check(&self) -> Result<(), InputError> {
        not_negative("density of the gas", self.density, "kg/m^3")?;
        not_negative("viscosity of the gas", self.viscosity, "Pa s")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_water_drop_has_its_time_and_its_number() {
        let water = Liquid {
            density: 998.2,
            tension: 0.07274,
            viscosity: 1.0016e-3,
        };
        // sqrt(998.2 * 1e-6 / 0.07274) = 0.117144 s; 1.0016e-3 / sqrt(998.2 * 0.07274 * 0.01) = 1.175436e-3, by hand.
        assert!((water.time(0.01) - 0.117_144).abs() < 1e-6);
        assert!((water.ohnesorge(0.01) - 1.175_436e-3).abs() < 2e-9);
        assert!(water.check().is_ok());
    }

    #[test]
    fn what_is_nothing_or_negative_is_refused_by_name() {
        let water = Liquid {
            density: 998.2,
            tension: 0.07274,
            viscosity: 0.0,
        };
        assert!(water.check().is_ok());
        let told = |liquid: Liquid| liquid.check().expect_err("refused").to_string();
        assert!(
            told(Liquid {
                density: 0.0,
                ..water
            })
            .starts_with("density")
        );
        assert!(
            told(Liquid {
                tension: -0.07,
                ..water
            })
            .starts_with("surface tension")
        );
        assert!(
            told(Liquid {
                viscosity: -1e-3,
                ..water
            })
            .contains("not negative")
        );
        assert!(
            told(Liquid {
                viscosity: f64::NAN,
                ..water
            })
            .starts_with("viscosity")
        );
        assert!(
            Gas {
                density: -1.0,
                viscosity: 0.0
            }
            .check()
            .is_err()
        );
    }
}
