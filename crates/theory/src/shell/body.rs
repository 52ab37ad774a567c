//! A drop of liquid with a gas bubble in its middle: what it is made of, and its natural units.
//!
//! ```text
//! a < r < b liquid;   x = a/b,   s = sigma_a/sigma_b,   t0 = sqrt(rho b^3/sigma_b),   Oh = mu/sqrt(rho sigma_b b)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | a, b | radius of the bubble, of the whole | m |
//! | sigma_a, sigma_b | tension of the inner and the outer surface | N/m |
//! | rho, mu | density and viscosity of the liquid | kg/m^3, Pa s |
//! | rho_i, rho_o | density of the gas inside and outside | kg/m^3 |
//!
//! The tensions differ if a surface bears a film. Source of the units: \[Rayleigh1879\]. Not here: bubbles out of the middle.

use crate::error::{TheoryError, not_negative, positive, required};

/// A liquid shell, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shell {
    /// Radius of the bubble, m.
    pub inner_radius: f64,
    /// Radius of the whole, m.
    pub outer_radius: f64,
    /// Density of the liquid, kg/m^3.
    pub density: f64,
    /// Dynamic viscosity of the liquid, Pa s; may be zero.
    pub viscosity: f64,
    /// Tension of the surface of the bubble, N/m.
    pub inner_tension: f64,
    /// Tension of the outer surface, N/m.
    pub outer_tension: f64,
    /// Density of the gas in the bubble, kg/m^3; may be zero.
    pub inner_gas: f64,
    /// Density of the gas outside, kg/m^3; may be zero.
    pub outer_gas: f64,
}

/// A shell in natural units: outer radius, outer tension and density of the liquid 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnitShell {
    /// x, ratio of the radii.
    pub ratio: f64,
    /// s, inner over outer tension.
    pub tension: f64,
    /// Ohnesorge number, the viscosity here.
    pub viscosity: f64,
    /// Density of the gas in the bubble over that of the liquid.
    pub inner_gas: f64,
    /// Density of the gas outside over that of the liquid.
    pub outer_gas: f64,
}

impl Shell {
    /// The shell in natural units, and t0 in s \[Rayleigh1879\].
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] when a radius, tension or the density is not positive, the bubble is not smaller than the drop, or a viscosity or gas density is negative.
    ///
    /// ```
    /// use tremolet_theory::shell::body::Shell;
    /// let water = Shell { inner_radius: 0.015, outer_radius: 0.030, density: 998.2, viscosity: 1.0016e-3,
    ///                     inner_tension: 0.07274, outer_tension: 0.07274, inner_gas: 1.204, outer_gas: 1.204 };
    /// let (unit, time) = water.natural()?;
    /// assert!(unit.ratio == 0.5 && (time - 0.608_7).abs() < 1e-4);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn natural(&self) -> Result<(UnitShell, f64), TheoryError> {
        let (a, b) = (
            positive("radius of the bubble", self.inner_radius)?,
            positive("radius of the drop", self.outer_radius)?,
        );
        required(
            "radius of the bubble over that of the drop",
            a / b,
            a < b,
            "less than 1; a bubble as large as its drop leaves no liquid",
        )?;
        let density = positive("density", self.density)?;
        let tension = positive("outer tension", self.outer_tension)?;
        let unit = UnitShell {
            ratio: a / b,
            tension: positive("inner tension", self.inner_tension)? / tension,
            viscosity: not_negative("viscosity", self.viscosity)? / (density * tension * b).sqrt(),
            inner_gas: not_negative("density of the gas inside", self.inner_gas)? / density,
            outer_gas: not_negative("density of the gas outside", self.outer_gas)? / density,
        };
        Ok((unit, (density * b.powi(3) / tension).sqrt()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_is_refused() {
        let good = Shell {
            inner_radius: 0.01,
            outer_radius: 0.02,
            density: 1000.0,
            viscosity: 1e-3,
            inner_tension: 0.035,
            outer_tension: 0.07,
            inner_gas: 1.0,
            outer_gas: 2.0,
        };
        let (unit, time) = good.natural().unwrap();
        assert!((time - (1000.0 * 8e-6 / 0.07_f64).sqrt()).abs() < 1e-12);
        assert!((unit.viscosity - 1e-3 / 1.4_f64.sqrt()).abs() < 1e-12 && (unit.tension - 0.5).abs() < 1e-15);
        assert!((unit.inner_gas - 1e-3).abs() < 1e-15 && (unit.outer_gas - 2e-3).abs() < 1e-15);
        for bad in [
            Shell {
                inner_radius: 0.02,
                ..good
            },
            Shell {
                inner_radius: 0.0,
                ..good
            },
            Shell {
                inner_gas: -1.0,
                ..good
            },
            Shell {
                viscosity: f64::NAN,
                ..good
            },
            Shell {
                inner_tension: 0.0,
                ..good
            },
        ] {
            assert!(bad.natural().is_err(), "{bad:?}");
        }
    }
}
