//! The smallest bubble that lives, and why it needs a seed.
//!
//! ```text
//! r_c = 2 sigma / dp,   dp = (S - 1) p
//! W / (k T) = 16 pi sigma^3 f / (3 dp^2 k T),   f = (2 + 3 cos a - cos^3 a) / 4
//! a pocket of gas with a mouth of radius r_m wakes when  S - 1 > 2 sigma / (r_m p)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `S` | supersaturation: concentration over that of saturation at the pressure `p` | 1 |
//! | `p`, `sigma`, `T` | pressure in the liquid, surface tension, temperature | Pa, N/m, K |
//! | `r_c`, `W` | critical radius, work to make a bubble that large | m, J |
//! | `a`, `f` | contact angle in the liquid on a flat wall, share of the work that the wall leaves (1 in the open) | rad, 1 |
//! | `r_m` | radius of the mouth of a crevice that still holds gas | m |
//!
//! Source: classical theory of nucleation \[Debenedetti1996\] (from memory). Without seeds bubbles are born once `W` falls to some 60 to 80 `k T`: in water at 1 bar
//! at supersaturations beyond 1000. What fizzes at 2 to 10 does so at walls, fibres, crystals and old bubbles, and
//! how many of them there are no formula says.

use std::f64::consts::PI;

use crate::error::{TheoryError, positive, required};
use crate::validity::Validity;

/// Boltzmann's constant, J/K, exact.
pub const BOLTZMANN: f64 = 1.380_649e-23;

/// Radius above which a bubble grows and below which it dissolves, m; `supersaturation` above 1.
///
/// # Errors
/// [`TheoryError::Quantity`] for a supersaturation of 1 or less, a pressure or tension that is not positive.
///
/// ```
/// let r = tremolet_theory::fizz::birth::critical_radius(2.0, 101_325.0, 0.071_97)?;
/// assert!((r - 1.420_577e-6).abs() < 1e-12);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn critical_radius(supersaturation: f64, pressure: f64, tension: f64) -> Result<f64, TheoryError> {
    Ok(2.0 * positive("surface tension", tension)? / excess(supersaturation, pressure)?)
}

/// Work to make a critical bubble in the open liquid, in units of `k T`; times [`wall_share`] at a wall.
///
/// # Errors
/// As [`critical_radius`]; a `temperature` (K) that is not positive.
pub fn barrier(
    supersaturation: f64,
    pressure: f64,
    tension: f64,
    temperature: f64,
) -> Result<f64, TheoryError> {
    let work = 16.0 * PI * positive("surface tension", tension)?.powi(3)
        / (3.0 * excess(supersaturation, pressure)?.powi(2));
    Ok(work / (BOLTZMANN * positive("temperature", temperature)?))
}

/// Supersaturation at which the work of [`barrier`] is `barrier` (in `k T`): with 70 the least at which the open liquid gives birth.
///
/// # Errors
/// [`TheoryError::Quantity`] for anything that is not positive.
pub fn threshold(barrier: f64, pressure: f64, tension: f64, temperature: f64) -> Result<f64, TheoryError> {
    let work = positive("barrier", barrier)? * BOLTZMANN * positive("temperature", temperature)?;
    let excess = (16.0 * PI * positive("surface tension", tension)?.powi(3) / (3.0 * work)).sqrt();
    Ok(1.0 + excess / positive("pressure", pressure)?)
}

/// Share of the work that is left at a flat wall with the contact `angle` (rad, in the liquid): 1 where it wets, 0 where it is dry.
///
/// # Errors
/// [`TheoryError::Quantity`] for an angle outside 0 to pi.
pub fn wall_share(angle: f64) -> Result<f64, TheoryError> {
    let inside = (0.0..=PI).contains(&angle);
    let cosine = required("contact angle", angle, inside, "from 0 to pi rad")?.cos();
    Ok((2.0 + 3.0 * cosine - cosine.powi(3)) / 4.0)
}

/// Supersaturation above which a pocket of gas with a `mouth` (radius, m) sends out bubbles.
///
/// # Errors
/// [`TheoryError::Quantity`] for anything that is not positive.
pub fn waking(mouth: f64, pressure: f64, tension: f64) -> Result<f64, TheoryError> {
    let push = 2.0 * positive("surface tension", tension)? / positive("radius of the mouth", mouth)?;
    Ok(1.0 + push / positive("pressure", pressure)?)
}

/// Where birth in the open liquid is possible at all: work between 0 and 80 `k T`.
#[must_use]
pub fn validity(barrier: f64) -> Validity {
    Validity::always().with("work of a critical bubble in k T", barrier, 0.0, 80.0)
}

fn excess(supersaturation: f64, pressure: f64) -> Result<f64, TheoryError> {
    required(
        "supersaturation",
        supersaturation,
        supersaturation > 1.0,
        "a number above 1",
    )?;
    Ok((supersaturation - 1.0) * positive("pressure", pressure)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    const WATER: (f64, f64) = (101_325.0, 0.071_97);

    // Carbon dioxide in water at 25 C and 1 atm, recomputed independently.
    #[test]
    fn critical_radii() {
        for (s, r) in [(2.0, 1.420_577e-6), (5.0, 0.355_144_3e-6), (10.0, 0.157_841_9e-6)] {
            assert!((critical_radius(s, WATER.0, WATER.1).unwrap() / r - 1.0).abs() < 4e-7);
        }
    }

    #[test]
    fn the_open_liquid_gives_no_birth() {
        for (s, w) in [
            (2.0, 1.478e8),
            (10.0, 1.825e6),
            (100.0, 1.508e4),
            (1000.0, 148.1),
            (1380.0, 77.7),
        ] {
            let found = barrier(s, WATER.0, WATER.1, 298.15).unwrap();
            assert!((found / w - 1.0).abs() < 1e-3, "{found}");
            assert!((threshold(found, WATER.0, WATER.1, 298.15).unwrap() / s - 1.0).abs() < 1e-9);
        }
        assert!(!validity(1.8e6).holds() && validity(77.7).holds());
    }

    // By hand: wetted 1, a right angle 1/2, dry 0; a mouth of 1.420577 um wakes at S = 2.
    #[test]
    fn walls_and_pockets() {
        assert_eq!(wall_share(0.0).unwrap(), 1.0);
        assert!((wall_share(PI / 2.0).unwrap() - 0.5).abs() < 1e-15 && wall_share(PI).unwrap().abs() < 1e-15);
        assert!((waking(1.420_577e-6, WATER.0, WATER.1).unwrap() - 2.0).abs() < 1e-6);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(critical_radius(1.0, 1.0, 1.0).is_err() && barrier(2.0, 1.0, 1.0, 0.0).is_err());
        assert!(
            threshold(0.0, 1.0, 1.0, 1.0).is_err()
                && wall_share(4.0).is_err()
                && waking(0.0, 1.0, 1.0).is_err()
        );
    }
}
