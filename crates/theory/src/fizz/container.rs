//! What a gas does to the pressure of a closed container: a number for a caution.
//!
//! ```text
//! dp = n / (V_g / (R T) + H V_l)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `dp`, `n` | rise of the pressure, gas set free | Pa, mol |
//! | `V_g`, `V_l` | room for gas, liquid that may take some up | m^3 |
//! | `H` | solubility | mol/(m^3 Pa) |
//! | `T` | temperature | K |
//!
//! Source: ideal gas and Henry's law \[Sander2023\]. At first, before anything dissolves, the rise is that with `H = 0`: plan with it. Not a safety approval:
//! whether a container stands the rise its maker and the vehicle's safety review say.

use crate::error::{TheoryError, not_negative, positive};
use crate::fizz::reagents::GAS_CONSTANT;
use crate::validity::Validity;

/// Rise of the pressure, Pa, by `amount` (mol) of gas in `room` (m^3) over `liquid` (m^3, may be 0) of solubility `henry` (mol/(m^3 Pa), 0 for the first
/// moments) at `temperature` (K).
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative amount, liquid or solubility, a room or temperature that is not positive.
///
/// ```
/// // A gram of bicarbonate in a closed litre: 0.29 bar.
/// let rise = tremolet_theory::fizz::container::pressure_rise(0.011_904, 1e-3, 0.0, 0.0, 293.15)?;
/// assert!((rise - 29_015.0).abs() < 1.0);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn pressure_rise(
    amount: f64,
    room: f64,
    liquid: f64,
    henry: f64,
    temperature: f64,
) -> Result<f64, TheoryError> {
    let thermal = GAS_CONSTANT * positive("temperature", temperature)?;
    let gas = positive("room for gas", room)? / thermal;
    let dissolved = not_negative("solubility", henry)? * not_negative("volume of liquid", liquid)?;
    Ok(not_negative("amount of gas", amount)? / (gas + dissolved))
}

/// Where ideal gas and Henry's law are good to a per cent: `pressure` after the rise up to 5 bar (Pa).
#[must_use]
pub fn validity(pressure: f64) -> Validity {
    Validity::always().with("pressure in Pa", pressure, 0.0, 5e5)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Balance solved by search in validation/theory/fizz.py; without liquid by hand: n R T / V.
    #[test]
    fn a_litre_over_a_decilitre() {
        let rise = pressure_rise(0.01, 1e-3, 1e-4, 3.355_54e-4, 298.15).unwrap();
        assert!((rise - 22_885.868_91).abs() < 1e-4, "{rise}");
        let first = pressure_rise(0.01, 1e-3, 1e-4, 0.0, 298.15).unwrap();
        assert!((first - 0.01 * 8.314_462_618 * 298.15 / 1e-3).abs() < 1e-3);
        assert!(pressure_rise(0.01, 0.0, 0.0, 0.0, 298.15).is_err());
        assert!(
            pressure_rise(-0.01, 1.0, 0.0, 0.0, 298.15).is_err()
                && pressure_rise(0.01, 1.0, 1.0, -1.0, 298.15).is_err()
        );
    }

    #[test]
    fn high_pressures_are_outside() {
        assert!(validity(1.3e5).holds() && !validity(1e6).holds());
    }
}
