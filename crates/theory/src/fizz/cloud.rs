//! Gas that builds up round a body in still air: numbers for a caution.
//!
//! ```text
//! steady source   c = q / (4 pi D r) erfc(r / (2 sqrt(D t)))          in the end q / (4 pi D r)
//! one puff        c = n / (4 pi D t)^(3/2) exp(-r^2 / (4 D t))        at most (3 / (2 pi e))^(3/2) n / r^3, at t = r^2 / (6 D)
//! share by volume x = c R T / p
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `c`, `x` | concentration above that of the room, share by volume | mol/m^3, 1 |
//! | `q`, `n` | rate of the source, amount of the puff | mol/s, mol |
//! | `D` | diffusivity in air | m^2/s |
//! | `r`, `t` | distance, time | m, s |
//!
//! Source: point source in a medium without end \[CarslawJaeger1959\] section 10.4. In weightlessness warm or heavy gas does not rise or sink, so without a fan only this spreads it;
//! any draught makes it less, a small closed room more (then the mean over the room counts). Not a safety approval.

use std::f64::consts::{E, PI, SQRT_2};

use tremolet_numerics::statistics::normal_tail;

use crate::error::{TheoryError, not_negative, positive};
use crate::fizz::reagents::GAS_CONSTANT;
use crate::validity::Validity;

/// Concentration, mol/m^3, at `distance` (m) from a source of `rate` (mol/s) after `time` (s) in a gas of `diffusivity` (m^2/s).
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative rate or time, a distance or diffusivity that is not positive.
pub fn steady(rate: f64, diffusivity: f64, distance: f64, time: f64) -> Result<f64, TheoryError> {
    let spread = (positive("diffusivity", diffusivity)? * not_negative("time", time)?).sqrt();
    let end = not_negative("rate of the source", rate)?
        / (4.0 * PI * diffusivity * positive("distance", distance)?);
    // erfc(x) = 2 Q(x sqrt 2).
    Ok(end * 2.0 * normal_tail(distance / (2.0 * spread) * SQRT_2))
}

/// Greatest concentration, mol/m^3, that a puff of `amount` (mol) makes at `distance` (m), and when after the puff, s.
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative amount, a distance or diffusivity that is not positive.
pub fn puff(amount: f64, diffusivity: f64, distance: f64) -> Result<(f64, f64), TheoryError> {
    let distance = positive("distance", distance)?;
    let most = (1.5 / (PI * E)).powf(1.5) * not_negative("amount of gas", amount)? / distance.powi(3);
    Ok((
        most,
        distance * distance / (6.0 * positive("diffusivity", diffusivity)?),
    ))
}

/// Share by volume of a `concentration` (mol/m^3) at `temperature` (K) and `pressure` (Pa); 1e-6 is one part in a million.
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative concentration, a temperature or pressure that is not positive.
pub fn share(concentration: f64, temperature: f64, pressure: f64) -> Result<f64, TheoryError> {
    let thermal = GAS_CONSTANT * positive("temperature", temperature)?;
    Ok(not_negative("concentration", concentration)? * thermal / positive("pressure", pressure)?)
}

/// Where still air holds at a `distance` (m): `draught` (m/s) times distance over `diffusivity` (m^2/s) up to 0.5, and a `share` by volume up to 0.1.
#[must_use]
pub fn validity(distance: f64, draught: f64, diffusivity: f64, share: f64) -> Validity {
    Validity::always()
        .with(
            "draught over diffusion",
            distance * draught.abs() / diffusivity,
            0.0,
            0.5,
        )
        .with("share by volume", share, 0.0, 0.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    // The source as a sum of puffs, validation/theory/fizz.py: 1e-6 mol/s, D = 1.6e-5.
    #[test]
    fn a_source_is_a_sum_of_puffs() {
        let rows = [
            (0.05, 60.0, 0.025_249_238_324_8),
            (0.2, 60.0, 1.245_967_339_67e-7),
            (0.2, 3600.0, 0.013_818_871_398_3),
        ];
        for (r, t, due) in rows {
            let found = steady(1e-6, 1.6e-5, r, t).unwrap();
            assert!((found / due - 1.0).abs() < 1e-8, "{r} {t}: {found}");
        }
        let end = steady(1e-6, 1.6e-5, 0.05, 1e12).unwrap();
        assert!((end / (1e-6 / (4.0 * PI * 1.6e-5 * 0.05)) - 1.0).abs() < 1e-4);
    }

    // The greatest of the puff by search, validation/theory/fizz.py: 1 mol, 1 m, D = 1.
    #[test]
    fn the_most_of_a_puff() {
        let (most, when) = puff(1.0, 1.0, 1.0).unwrap();
        assert!((most - 0.073_615_684_847_4).abs() < 1e-12 && (when - 1.0 / 6.0).abs() < 1e-12);
        // By hand: 41.57 mol/m^3 is all of the gas at 1 atm and 20 C.
        assert!((share(41.571, 293.15, 101_325.0).unwrap() - 1.0).abs() < 1e-4);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(steady(-1.0, 1.0, 1.0, 1.0).is_err() && steady(1.0, 1.0, 0.0, 1.0).is_err());
        assert!(puff(1.0, 0.0, 1.0).is_err() && share(1.0, 0.0, 1.0).is_err());
        assert_eq!(steady(1.0, 1.0, 1.0, 0.0).unwrap(), 0.0);
    }

    #[test]
    fn a_draught_is_outside() {
        assert!(validity(0.1, 1e-5, 1.6e-5, 0.01).holds());
        assert!(!validity(0.1, 1e-3, 1.6e-5, 0.01).holds() && !validity(0.1, 1e-5, 1.6e-5, 0.5).holds());
    }
}
