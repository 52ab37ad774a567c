//! Where inside the ball nothing is seen, and where things are seen twice.
//!
//! ```text
//! seen at the depth z:  |x| <= max over b of  (b/n + z sin g) / cos g
//! on the back, from far away:  fold at b = sqrt((4 - n^2) / 3),  2 asin(b/n) - asin b  from the back point
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `z` | across the axis, along it towards the lens, from the centre | radii |
//! | `b`, `g`, `n` | seen distance, turn of the line of view inside, index (see [`crate::refraction::sight`]) | radii, rad, 1 |
//!
//! Between the fold and the edge of the disc the back is seen a second time, mirrored.
//!
//! Source: Snell's law; the fold is that of the primary rainbow \[BornWolf1999\], exact; own derivation.

use std::f64::consts::FRAC_PI_2;

use tremolet_numerics::root::bracketed;

use crate::error::{OpticsError, required};
use crate::refraction::sight::Sight;

impl Sight {
    /// Greatest distance from the axis at the depth `along` that any line of view reaches, radii; up to the ball's own half width there.
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for a depth outside the ball.
    pub fn reach(&self, along: f64) -> Result<f64, OpticsError> {
        required("depth", along, (-1.0..=1.0).contains(&along), "from -1 to 1")?;
        let whole = (1.0 - along * along).sqrt();
        let across = |slant: f64| self.across(slant, along);
        let slope = |slant: f64| across(slant + 1e-6) - across(slant - 1e-6);
        let (steps, end) = (90, FRAC_PI_2 - 2e-6);
        let at = |k: i32| end * f64::from(k) / f64::from(steps);
        let turns = (0..steps).filter_map(|k| bracketed(slope, at(k).max(1e-5), at(k + 1), 1e-12).ok());
        let far = turns
            .map(|turn| across(turn.root))
            .fold(across(FRAC_PI_2), f64::max);
        Ok(far.clamp(0.0, whole))
    }
}

/// Fold of the back surface seen from far away: seen distance (radii) and angle from the back point (rad).
///
/// # Errors
/// [`OpticsError::Quantity`] for an index outside 1 to 2: above 2 there is no fold.
///
/// ```
/// let (seen, angle) = tremolet_optics::refraction::blind::back_fold(1.333)?;
/// assert!((seen - 0.860_835).abs() < 1e-6 && (angle.to_degrees() - 21.039_054).abs() < 1e-6);
/// # Ok::<(), tremolet_optics::error::OpticsError>(())
/// ```
pub fn back_fold(index: f64) -> Result<(f64, f64), OpticsError> {
    required(
        "refractive index",
        index,
        index > 1.0 && index < 2.0,
        "above 1 and below 2",
    )?;
    let seen = ((4.0 - index * index) / 3.0).sqrt();
    Ok((seen, 2.0 * (seen / index).asin() - seen.asin()))
}

#[cfg(test)]
mod tests {
    use super::*;

    // Rays followed evenly in the angle of incidence, validation/theory/refraction.py; -0.5 and -0.8 also recomputed independently in even steps of b
    // (0.559567, 0.408414). At -0.2 it is the ray at the very edge of the disc that reaches farthest.
    #[test]
    fn the_blind_zone_of_water() {
        let water = Sight::far(1.333).unwrap();
        for (z, x) in [
            (-0.2, 0.823_717_386),
            (-0.5, 0.559_567_380),
            (-0.8, 0.408_414_011),
        ] {
            let found = water.reach(z).unwrap();
            assert!((found - x).abs() < 1e-8, "{z}: {found}");
            assert!(water.apparent(x - 1e-4, z).is_ok() && water.apparent(x + 1e-4, z).is_err());
        }
        for z in [0.0, 0.5, 0.9] {
            assert!(
                (water.reach(z).unwrap() - (1.0 - z * z).sqrt()).abs() < 1e-5,
                "{z}"
            );
        }
    }

    // The fold is where the angle on the back is greatest.
    #[test]
    fn the_fold_is_an_extreme() {
        for n in [1.2, 1.333, 1.47, 1.9] {
            let (b, angle) = back_fold(n).unwrap();
            let at = |b: f64| 2.0 * (b / n).asin() - b.asin();
            assert!(at(b - 1e-3) < angle && at(b + 1e-3) < angle);
        }
        assert!(back_fold(2.0).is_err() && back_fold(1.0).is_err());
        assert!(Sight::far(1.333).unwrap().reach(1.5).is_err());
    }
}
