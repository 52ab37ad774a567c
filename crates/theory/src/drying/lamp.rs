//! What a lamp does to the temperature of a drop.
//!
//! ```text
//! P = a E pi R^2,     dT/dt = 3 a E / (4 rho c R) at first,     rise = a E R / (4 k_x) in the end
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `P`, `E` | power taken up, irradiance at the drop | W, W/m^2 |
//! | `a` | share of the light that falls on the drop and is absorbed in it | 1 |
//! | `R`, `rho`, `c` | radius, density, specific heat | m, kg/m^3, J/(kg K) |
//! | `k_x` | exchange of heat with the room over `4 pi R`, see [`crate::drying::cooling::Room::exchange`] | W/(m K) |
//!
//! Source: balance of energy, elementary; cross-section of a ball \[BornWolf1999\]. The share `a` is to be measured or bounded: clear water absorbs less than a per cent
//! of visible light in centimetres but most of the infrared of a hot lamp, dyed liquid nearly all.

use std::f64::consts::PI;

use crate::error::{TheoryError, not_negative, positive, required};
use crate::validity::Validity;

/// Power (W) that a drop of `radius` (m) takes up from an `irradiance` (W/m^2) of which it absorbs the `share` (0 to 1).
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative irradiance, a share outside 0 to 1, a radius that is not positive.
pub fn power(irradiance: f64, share: f64, radius: f64) -> Result<f64, TheoryError> {
    required(
        "share absorbed",
        share,
        (0.0..=1.0).contains(&share),
        "from 0 to 1",
    )?;
    Ok(share * not_negative("irradiance", irradiance)? * PI * positive("radius", radius)?.powi(2))
}

/// Rise of the temperature at first, K/s; `density` (kg/m^3) and `specific_heat` (J/(kg K)) of the liquid.
///
/// # Errors
/// As [`power`]; a density or specific heat that is not positive.
///
/// ```
/// // A tenth of 1 kW/m^2 in 24 mm of water: 1.5 mK/s.
/// let rate = tremolet_theory::drying::lamp::rate(1000.0, 0.1, 0.012, 998.2, 4184.0)?;
/// assert!((rate - 1.4965e-3).abs() < 1e-7);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn rate(
    irradiance: f64,
    share: f64,
    radius: f64,
    density: f64,
    specific_heat: f64,
) -> Result<f64, TheoryError> {
    let mass = 4.0 / 3.0 * PI * positive("density", density)? * positive("radius", radius)?.powi(3);
    Ok(power(irradiance, share, radius)? / (mass * positive("specific heat", specific_heat)?))
}

/// Rise of the temperature in the end, K, small against the room's; `exchange` in W/(m K).
///
/// # Errors
/// As [`power`]; an exchange that is not positive.
pub fn rise(irradiance: f64, share: f64, radius: f64, exchange: f64) -> Result<f64, TheoryError> {
    Ok(power(irradiance, share, radius)? / (4.0 * PI * radius * positive("exchange of heat", exchange)?))
}

/// Where the balance is straight: `rise` up to 5 K.
#[must_use]
pub fn validity(rise: f64) -> Validity {
    Validity::always().with("rise of the temperature in K", rise, 0.0, 5.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    // By hand: 1000 x 0.1 x 3.14159 x 1e-4 = 31.4159 mW; 3 x 100 / (4 x 1000 x 4000 x 0.01); 100 x 0.01 / (4 x 0.1).
    #[test]
    fn a_lamp_by_hand() {
        assert!((power(1000.0, 0.1, 0.01).unwrap() - 0.031_415_926_5).abs() < 1e-10);
        assert!((rate(1000.0, 0.1, 0.01, 1000.0, 4000.0).unwrap() - 1.875e-3).abs() < 1e-15);
        assert!((rise(1000.0, 0.1, 0.01, 0.1).unwrap() - 2.5).abs() < 1e-13);
    }

    // The rise in the end is the rate at first times the time of the balance, rho c R^2 / (3 k_x).
    #[test]
    fn rate_times_time_is_the_rise() {
        let time = 1000.0 * 4000.0 * 1e-4 / (3.0 * 0.1);
        let product = rate(500.0, 0.2, 0.01, 1000.0, 4000.0).unwrap() * time;
        assert!((product / rise(500.0, 0.2, 0.01, 0.1).unwrap() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(power(-1.0, 0.1, 1.0).is_err() && power(1.0, 1.1, 1.0).is_err());
        assert!(rate(1.0, 0.1, 1.0, 0.0, 1.0).is_err() && rise(1.0, 0.1, 1.0, 0.0).is_err());
    }

    #[test]
    fn a_hot_drop_is_outside() {
        assert!(validity(2.5).holds() && !validity(20.0).holds());
    }
}
