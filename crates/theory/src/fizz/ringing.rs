//! The frequency at which a gas bubble breathes, alone or in the middle of a free drop.
//!
//! ```text
//! w^2 = [3 g (p + 2 sigma / a) - 2 sigma / a] / (rho a^2)                 far from everything
//! w^2 of a bubble in a drop = that / (1 - a/b)                            p as large as many tensions
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `w`, `f = w / (2 pi)` | angular frequency, frequency | rad/s, Hz |
//! | `a`, `b` | radius of the bubble, of the drop around it | m |
//! | `p`, `rho`, `sigma` | pressure, density, surface tension of the liquid | Pa, kg/m^3, N/m |
//! | `g` | exponent of the gas: its ratio of heats for large bubbles, 1 for small ones | 1 |
//!
//! Source: \[Minnaert1933\]; the drop's factor is derived from the kinetic energy `2 pi rho a^4 v^2 (1/a - 1/b)` of the liquid. With the drop's own tension
//! as well see the breathing mode of a shell. Damping is not here.

use std::f64::consts::TAU;

use crate::error::{TheoryError, not_negative, positive, required};
use crate::validity::Validity;

/// Frequency of a bubble of `radius` (m), Hz, in a liquid of `density` (kg/m^3), `pressure` (Pa) and `tension` (N/m, 0 to leave it out); `exponent` of
/// the gas from 1 to its ratio of heats.
///
/// # Errors
/// [`TheoryError::Quantity`] for anything that is not positive but the tension; an exponent outside 1 to 1.67.
///
/// ```
/// let f = tremolet_theory::fizz::ringing::frequency(1e-3, 998.2, 101_325.0, 0.0, 1.4)?;
/// assert!((f - 3286.202).abs() < 1e-3);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn frequency(
    radius: f64,
    density: f64,
    pressure: f64,
    tension: f64,
    exponent: f64,
) -> Result<f64, TheoryError> {
    let inside = (1.0..=5.0 / 3.0).contains(&exponent);
    required("exponent of the gas", exponent, inside, "from 1 to 5/3")?;
    let pull = 2.0 * not_negative("surface tension", tension)? / positive("radius", radius)?;
    let stiffness = 3.0 * exponent * (positive("pressure", pressure)? + pull) - pull;
    Ok((stiffness / positive("density", density)?).sqrt() / (TAU * radius))
}

/// Factor by which a bubble in the middle of a drop is faster; `share` is its radius over the drop's, 0 to below 1.
///
/// # Errors
/// [`TheoryError::Quantity`] for a share outside.
pub fn drop_factor(share: f64) -> Result<f64, TheoryError> {
    let inside = (0.0..1.0).contains(&share);
    required("radius of bubble over drop", share, inside, "from 0 to below 1")?;
    Ok((1.0 - share).powf(-0.5))
}

/// Where the gas follows its ratio of heats (`adiabatic`) or stays at its temperature (not `adiabatic`, exponent 1): `2 pi f a^2` over the gas's thermal `diffusivity`
/// (m^2/s) above 1000, or below 1; in between the exponent lies between, and the bubble is damped.
#[must_use]
pub fn validity(radius: f64, frequency: f64, diffusivity: f64, adiabatic: bool) -> Validity {
    let heat = TAU * frequency * radius * radius / diffusivity;
    let (least, most) = if adiabatic {
        (1000.0, f64::INFINITY)
    } else {
        (0.0, 1.0)
    };
    Validity::always().with("swing of the gas over spread of its heat", heat, least, most)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Minnaert 1933, recomputed independently: f R = 3.286202338 m/s for air in water at 1 atm; with tension at 1 mm 3287.9993 Hz.
    #[test]
    fn air_in_water() {
        for r in [1e-3, 1e-2] {
            assert!((frequency(r, 998.2, 101_325.0, 0.0, 1.4).unwrap() * r - 3.286_202_338).abs() < 1e-9);
        }
        assert!((frequency(1e-3, 998.2, 101_325.0, 0.072_74, 1.4).unwrap() - 3287.9993).abs() < 1e-4);
    }

    #[test]
    fn in_a_drop_it_is_faster() {
        for (share, factor) in [
            (0.0, 1.0),
            (0.1, 1.054_093),
            (0.5, std::f64::consts::SQRT_2),
            (0.9, 3.162_278),
        ] {
            assert!((drop_factor(share).unwrap() - factor).abs() < 6e-7);
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(frequency(0.0, 1.0, 1.0, 0.0, 1.4).is_err() && frequency(1.0, 1.0, 1.0, 0.0, 0.9).is_err());
        assert!(frequency(1.0, 1.0, 1.0, -1.0, 1.4).is_err() && drop_factor(1.0).is_err());
    }

    #[test]
    fn large_bubbles_swing_without_heat_and_small_ones_with() {
        assert!(validity(1e-2, 328.6, 2.1e-5, true).holds() && !validity(1e-2, 328.6, 2.1e-5, false).holds());
        assert!(validity(5e-7, 6.6e6, 2.1e-5, false).holds() && !validity(1e-5, 3.3e5, 2.1e-5, true).holds());
    }
}
