//! A free drop of liquid, and the units in which its motion is written.
//!
//! ```text
//! t0 = sqrt(rho R^3/sigma),   Oh = mu/sqrt(rho sigma R),   m = (4/3) pi rho R^3
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | R | radius of the sphere of equal volume | m |
//! | sigma, rho, mu | surface tension, density, dynamic viscosity | N/m, kg/m^3, Pa s |
//! | t0, Oh, m | capillary time, Ohnesorge number, mass | s, 1, kg |
//!
//! Source: \[Rayleigh1879\]. Not here: the gas outside; [`crate::modes::host`] has it.

use crate::error::{TheoryError, not_negative, positive};
use crate::modes::inviscid::drop_unit;

/// A free drop in vacuum, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FreeDrop {
    /// Radius of the sphere of equal volume, m.
    pub radius: f64,
    /// Surface tension, N/m.
    pub tension: f64,
    /// Density, kg/m^3.
    pub density: f64,
    /// Dynamic viscosity, Pa s; may be zero.
    pub viscosity: f64,
}

impl FreeDrop {
    /// Capillary time t0, s \[Rayleigh1879\].
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] unless radius, tension and density are positive and the viscosity is not negative.
    pub fn time(&self) -> Result<f64, TheoryError> {
        not_negative("viscosity", self.viscosity)?;
        let mass = positive("density", self.density)? * positive("radius", self.radius)?.powi(3);
        Ok((mass / positive("surface tension", self.tension)?).sqrt())
    }

    /// Ohnesorge number \[Rayleigh1879\].
    ///
    /// # Errors
    /// As [`FreeDrop::time`].
    pub fn ohnesorge(&self) -> Result<f64, TheoryError> {
        self.time()?;
        Ok(self.viscosity / (self.density * self.tension * self.radius).sqrt())
    }

    /// Mass, kg \[Rayleigh1879\].
    ///
    /// # Errors
    /// As [`FreeDrop::time`].
    pub fn mass(&self) -> Result<f64, TheoryError> {
        self.time()?;
        Ok(4.0 / 3.0 * std::f64::consts::PI * self.density * self.radius.powi(3))
    }

    /// Angular frequency of the mode of `degree` without viscosity, rad/s; zero for 0 and 1 \[Rayleigh1879\].
    ///
    /// # Errors
    /// As [`FreeDrop::time`].
    ///
    /// ```
    /// let water = tremolet_theory::drop::FreeDrop { radius: 0.010, tension: 0.07274, density: 998.2, viscosity: 1.0016e-3 };
    /// assert!((water.angular_frequency(2)? / std::f64::consts::TAU - 3.842_757_6).abs() < 1e-6);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn angular_frequency(&self, degree: u32) -> Result<f64, TheoryError> {
        Ok(drop_unit(degree) / self.time()?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // 20 mm of water: 33.450 003 1 g; Oh by hand.
    #[test]
    fn a_water_drop() {
        let water = FreeDrop {
            radius: 0.020,
            tension: 0.07274,
            density: 998.2,
            viscosity: 1.0016e-3,
        };
        assert!((water.mass().unwrap() - 0.033_450_003_1).abs() < 1e-10);
        let oh = water.ohnesorge().unwrap();
        assert!((oh - 1.0016e-3 / 1.452_181_36_f64.sqrt()).abs() < 1e-9, "{oh}");
        assert_eq!(water.angular_frequency(1), Ok(0.0));
        let bad = FreeDrop {
            tension: 0.0,
            ..water
        };
        assert!(bad.time().is_err() && bad.mass().is_err() && bad.ohnesorge().is_err());
    }
}
