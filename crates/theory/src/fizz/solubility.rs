//! How much of the gas stays dissolved, and what that leaves for bubbles.
//!
//! ```text
//! c_s = H p,     S = c / c_s,     L = H R T
//! one bubble at the pressure p in a liquid at rest with it:   n = p V_g / (R T) + H p V_l
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `H` | solubility (Henry's law) of the gas in the liquid | mol/(m^3 Pa) |
//! | `c`, `c_s`, `S` | concentration, that of saturation at the pressure `p`, supersaturation | mol/m^3, mol/m^3, 1 |
//! | `L` | concentration dissolved over that in the gas | 1 |
//! | `n` | all of the gas | mol |
//! | `V_l`, `V_g` | volume of the liquid, of the gas | m^3 |
//!
//! Source: Henry's law \[Sander2023\]. For pure gas in the bubble (water vapour, 2 % at 20 C and 1 bar, is left out), pressures to a few bar, and a pH below
//! about 5: above it part of the carbon dioxide is bicarbonate and does not count as dissolved gas.

use std::f64::consts::PI;

use crate::error::{TheoryError, not_negative, positive};
use crate::fizz::reagents::GAS_CONSTANT;
use crate::validity::Validity;

/// A gas over or in a liquid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gas {
    henry: f64,
    temperature: f64,
    pressure: f64,
}

/// Where the gas is once all is at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// Dissolved, mol.
    pub dissolved: f64,
    /// As gas, mol.
    pub free: f64,
    /// Volume of what is free, m^3.
    pub volume: f64,
}

impl Gas {
    /// A gas of solubility `henry` (mol/(m^3 Pa)) at `temperature` (K) and `pressure` (Pa).
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for anything that is not positive.
    pub fn new(henry: f64, temperature: f64, pressure: f64) -> Result<Self, TheoryError> {
        Ok(Self {
            henry: positive("solubility", henry)?,
            temperature: positive("temperature", temperature)?,
            pressure: positive("pressure", pressure)?,
        })
    }

    /// Concentration at saturation, mol/m^3.
    #[must_use]
    pub fn saturation(&self) -> f64 {
        self.henry * self.pressure
    }

    /// Concentration of the gas itself, mol/m^3.
    #[must_use]
    pub fn density(&self) -> f64 {
        self.pressure / (GAS_CONSTANT * self.temperature)
    }

    /// Concentration dissolved at saturation over that in the gas.
    #[must_use]
    pub fn partition(&self) -> f64 {
        self.saturation() / self.density()
    }

    /// Supersaturation if `amount` (mol) were all dissolved in `liquid` (m^3); at 1 and below no bubble can live.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a negative amount or a volume that is not positive.
    pub fn supersaturation(&self, amount: f64, liquid: f64) -> Result<f64, TheoryError> {
        let concentration = not_negative("amount of gas", amount)? / positive("volume of liquid", liquid)?;
        Ok(concentration / self.saturation())
    }

    /// Dissolved and free shares of `amount` (mol) in `liquid` (m^3) at rest, nothing lost through the surface.
    ///
    /// # Errors
    /// As [`Gas::supersaturation`].
    pub fn shares(&self, amount: f64, liquid: f64) -> Result<Shares, TheoryError> {
        let room = self.saturation() * positive("volume of liquid", liquid)?;
        let dissolved = not_negative("amount of gas", amount)?.min(room);
        let free = amount - dissolved;
        Ok(Shares {
            dissolved,
            free,
            volume: free / self.density(),
        })
    }

    /// Where ideal gas and Henry's law are good to about a per cent: pressure below 5 bar.
    #[must_use]
    pub fn validity(&self) -> Validity {
        Validity::always().with("pressure in Pa", self.pressure, 0.0, 5e5)
    }
}

/// Radius of a drop of `liquid` (m^3) that holds `free` gas (m^3) inside; m.
///
/// # Errors
/// [`TheoryError::Quantity`] for a liquid that is not positive or a negative gas volume.
pub fn swollen_radius(liquid: f64, free: f64) -> Result<f64, TheoryError> {
    let volume = positive("volume of liquid", liquid)? + not_negative("volume of gas", free)?;
    Ok((3.0 * volume / (4.0 * PI)).cbrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    // Henry's law with 0.034 mol/(L atm), recomputed independently: 25 C and 20 C.
    #[test]
    fn carbon_dioxide_in_water() {
        let warm = Gas::new(3.355_54e-4, 298.15, 101_325.0).unwrap();
        assert!((warm.partition() - 0.831_824).abs() < 2e-6);
        assert!((warm.saturation() * 0.044_009 - 1.496_3).abs() < 1e-4);
        let cool = Gas::new(3.849_36e-4, 293.15, 101_325.0).unwrap();
        assert!((cool.partition() - 0.938_239).abs() < 2e-6);
        assert!((cool.saturation() * 0.044_009 - 1.716_5).abs() < 1e-4);
    }

    // By hand: H p = 0.5 mol/m^3 x 1 m^3 holds a half of 1 mol; the other half fills 0.5 R T / p.
    #[test]
    fn what_the_liquid_cannot_hold_is_free() {
        let gas = Gas::new(0.5e-3, 300.0, 1000.0).unwrap();
        let half = gas.shares(1.0, 1.0).unwrap();
        assert!((half.dissolved - 0.5).abs() < 1e-15 && (half.free - 0.5).abs() < 1e-15);
        assert!((half.volume - 0.5 * 8.314_462_618 * 300.0 / 1000.0).abs() < 1e-9);
        assert!((gas.supersaturation(1.0, 1.0).unwrap() - 2.0).abs() < 1e-14);
        let all = gas.shares(0.4, 1.0).unwrap();
        assert!(all.free == 0.0 && all.volume == 0.0);
        assert!(gas.validity().holds() && !Gas::new(1.0, 300.0, 1e6).unwrap().validity().holds());
    }

    #[test]
    fn gas_makes_the_drop_larger() {
        let liquid = 4.0 / 3.0 * PI;
        assert!((swollen_radius(liquid, 7.0 * liquid).unwrap() - 2.0).abs() < 1e-14);
        assert!(swollen_radius(0.0, 1.0).is_err() && swollen_radius(1.0, -1.0).is_err());
        assert!(Gas::new(0.0, 1.0, 1.0).is_err());
        assert!(Gas::new(1.0, 1.0, 1.0).unwrap().shares(-1.0, 1.0).is_err());
    }
}
