//! How much gas bicarbonate and citric acid give.
//!
//! ```text
//! 3 NaHCO3 + C6H8O7 -> Na3C6H5O7 + 3 H2O + 3 CO2          n(CO2) = min(n(NaHCO3), 3 n(citric acid))
//! V = n R T / p
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `n` | amount of substance | mol |
//! | `V`, `T`, `p` | volume, temperature, pressure of the gas if none is dissolved | m^3, K, Pa |
//!
//! Source: standard atomic weights \[IUPAC2021\], gas constant \[SIBrochure9\]. For reagents that dissolve and react to the end; how fast is not here, and how much stays
//! dissolved is in [`crate::fizz::solubility`]. Ideal gas: carbon dioxide at 1 bar is 0.5 % denser.

use crate::error::{TheoryError, not_negative, positive};
use crate::validity::Validity;

/// Molar gas constant, J/(mol K), exact.
pub const GAS_CONSTANT: f64 = 8.314_462_618_153_24;
/// Molar mass of sodium bicarbonate, kg/mol.
pub const BICARBONATE: f64 = 0.084_005_769_28;
/// Molar mass of carbon dioxide, kg/mol.
pub const CARBON_DIOXIDE: f64 = 0.044_009;

/// Citric acid as it is bought.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Acid {
    /// C6H8O7.
    CitricAnhydrous,
    /// C6H8O7 H2O.
    CitricMonohydrate,
}

impl Acid {
    /// Molar mass, kg/mol.
    #[must_use]
    pub fn molar_mass(self) -> f64 {
        match self {
            Acid::CitricAnhydrous => 0.192_123,
            Acid::CitricMonohydrate => 0.210_138,
        }
    }

    /// Mass of bicarbonate that one mass of the acid uses up.
    #[must_use]
    pub fn bicarbonate_ratio(self) -> f64 {
        3.0 * BICARBONATE / self.molar_mass()
    }
}

/// What the reagents give and leave.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Yield {
    /// Carbon dioxide, mol.
    pub gas: f64,
    /// Bicarbonate left over, kg.
    pub bicarbonate_left: f64,
    /// Acid left over, kg.
    pub acid_left: f64,
}

/// Gas from `bicarbonate` and `acid` (kg).
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative mass.
///
/// ```
/// use tremolet_theory::fizz::reagents::{Acid, gas, volume};
/// let given = gas(1e-3, 1e-3, Acid::CitricAnhydrous)?;
/// assert!((volume(given.gas, 293.15, 101_325.0)? - 286.35e-6).abs() < 1e-8);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn gas(bicarbonate: f64, acid: f64, kind: Acid) -> Result<Yield, TheoryError> {
    let base = not_negative("mass of bicarbonate", bicarbonate)? / BICARBONATE;
    let sour = not_negative("mass of citric acid", acid)? / kind.molar_mass();
    let gas = base.min(3.0 * sour);
    Ok(Yield {
        gas,
        bicarbonate_left: (base - gas) * BICARBONATE,
        acid_left: (sour - gas / 3.0) * kind.molar_mass(),
    })
}

/// Volume of `amount` (mol) of gas at `temperature` (K) and `pressure` (Pa), m^3.
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative amount, or a temperature or pressure that is not positive.
pub fn volume(amount: f64, temperature: f64, pressure: f64) -> Result<f64, TheoryError> {
    let thermal = GAS_CONSTANT * positive("temperature", temperature)?;
    Ok(not_negative("amount of gas", amount)? * thermal / positive("pressure", pressure)?)
}

/// Where the ideal gas is good to a per cent: `pressure` up to 1.5 bar (Pa) at the temperatures of a cabin.
#[must_use]
pub fn validity(pressure: f64) -> Validity {
    Validity::always().with("pressure in Pa", pressure, 0.0, 1.5e5)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Recomputed independently from the atomic weights.
    #[test]
    fn a_gram_of_bicarbonate() {
        let full = gas(1e-3, 1.0, Acid::CitricAnhydrous).unwrap();
        assert!((full.gas - 0.011_903_94).abs() < 6e-9);
        assert!((full.gas * CARBON_DIOXIDE - 0.523_881e-3).abs() < 6e-10);
        assert!((volume(full.gas, 293.15, 101_325.0).unwrap() - 286.350_8e-6).abs() < 1e-10);
        assert!((volume(full.gas, 298.15, 101_325.0).unwrap() - 291.234_8e-6).abs() < 1e-10);
        assert!((Acid::CitricAnhydrous.bicarbonate_ratio() - 1.311_750).abs() < 1e-6);
        assert!((Acid::CitricMonohydrate.bicarbonate_ratio() - 1.199_294).abs() < 1e-6);
    }

    #[test]
    fn what_is_short_decides_and_the_rest_is_left() {
        let sour = gas(1e-3, 1e-3, Acid::CitricMonohydrate).unwrap();
        assert!(
            sour.bicarbonate_left.abs() < 1e-18 && (sour.acid_left - (1e-3 - 1e-3 / 1.199_294)).abs() < 1e-9
        );
        let base = gas(2e-3, 1e-3, Acid::CitricMonohydrate).unwrap();
        assert!(base.acid_left.abs() < 1e-18 && (base.gas - 3e-3 / 0.210_138).abs() < 1e-12);
        // Mass is kept: what is used is salt, water and gas.
        assert!((base.bicarbonate_left - (2e-3 - 1.199_294e-3)).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(
            gas(-1.0, 1.0, Acid::CitricAnhydrous).is_err()
                && gas(1.0, f64::NAN, Acid::CitricAnhydrous).is_err()
        );
        assert!(volume(1.0, 0.0, 1.0).is_err() && volume(1.0, 1.0, 0.0).is_err());
    }

    #[test]
    fn high_pressures_are_outside() {
        assert!(validity(101_325.0).holds() && !validity(3e5).holds());
    }
}
