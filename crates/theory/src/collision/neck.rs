//! How the neck between two merging drops widens.
//!
//! ```text
//! inertial   r = C (sigma R / rho)^(1/4) t^(1/2),                            C = 1.62 at most
//! viscous    r/R = sqrt2 (1 - m) / sqrt(1 + m^2),   t sigma / (mu R) = (pi sqrt2 / 4) integral_(m^2)^1 dk / (k sqrt(1 + k) K(k))
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `r`, `t` | radius (half width) of the neck, time since the drops touched | m, s |
//! | `R` | radius of the drops (for unequal drops `2 R_1 R_2 / (R_1 + R_2)`) | m |
//! | `rho`, `mu`, `sigma` | density, viscosity, tension of the liquid | kg/m^3, Pa s, N/m |
//! | `m` | parameter, 1 at touch, 0 when one round cylinder is left | 1 |
//! | `K` | complete elliptic integral of the first kind | 1 |
//!
//! Sources: inertial \[Duchemin2003\] with C = 1.62 (from memory; experiments 1.1 to 1.4, from memory; a thin viscous wake slows it further
//! \[BeatyLister2024\], abstract read); viscous \[Hopper1984\], exact for two cylinders in vacuum, its constant of time fixed anew by the late decay of
//! Stokes flow. Early on the neck of two drops is thin against its radius and follows the cylinders \[Eggers1999\].
//! Not here: the gas between the drops.

use std::f64::consts::{PI, SQRT_2};

use tremolet_numerics::elliptic::complete;
use tremolet_numerics::quadrature::gauss_legendre;
use tremolet_numerics::root::bracketed;

use crate::error::{TheoryError, not_negative, positive, required};
use crate::validity::Validity;

/// Factors of the inertial law that were given: least and greatest, from memory.
pub const INERTIAL_FACTORS: [f64; 2] = [1.1, 1.62];

/// Two equal drops of one liquid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Neck {
    radius: f64,
    density: f64,
    viscosity: f64,
    tension: f64,
}

impl Neck {
    /// Drops of `radius` (m) of a liquid of `density` (kg/m^3), dynamic `viscosity` (Pa s) and `tension` (N/m).
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for anything that is not positive.
    pub fn new(radius: f64, density: f64, viscosity: f64, tension: f64) -> Result<Self, TheoryError> {
        Ok(Self {
            radius: positive("radius", radius)?,
            density: positive("density", density)?,
            viscosity: positive("viscosity", viscosity)?,
            tension: positive("surface tension", tension)?,
        })
    }

    /// Radius of the neck by the inertial law after `time` (s), m, with a `factor` from [`INERTIAL_FACTORS`].
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a negative time or a factor that is not positive.
    pub fn inertial(&self, time: f64, factor: f64) -> Result<f64, TheoryError> {
        let speed = (self.tension * self.radius / self.density).powf(0.25);
        Ok(positive("factor", factor)? * speed * not_negative("time", time)?.sqrt())
    }

    /// Half width of the neck of two viscous cylinders after `time` (s), m.
    ///
    /// # Errors
    /// As [`hopper`].
    pub fn viscous(&self, time: f64) -> Result<f64, TheoryError> {
        Ok(self.radius * hopper(time * self.tension / (self.viscosity * self.radius))?)
    }

    /// Where the inertial law holds for a neck of this `width` (half width, m): wider than the neck in which viscosity rules (`Oh R`), narrower
    /// than 0.3 R.
    #[must_use]
    pub fn inertial_validity(&self, width: f64) -> Validity {
        let share = width / self.radius;
        Validity::always()
            .with("neck over drop radius", share, 0.0, 0.3)
            .with(
                "Ohnesorge number over neck share",
                self.ohnesorge() / share,
                0.0,
                1.0,
            )
    }

    /// Where the law of the viscous cylinders holds for drops: liquids of Oh above 1, necks below 0.1 R (then they are no cylinders any more).
    #[must_use]
    pub fn viscous_validity(&self, width: f64) -> Validity {
        Validity::always()
            .with("Ohnesorge number", self.ohnesorge(), 1.0, f64::INFINITY)
            .with("neck over drop radius", width / self.radius, 0.0, 0.1)
    }

    /// Ohnesorge number by the radius.
    #[must_use]
    pub fn ohnesorge(&self) -> f64 {
        self.viscosity / (self.density * self.tension * self.radius).sqrt()
    }
}

/// Half width of the neck of two equal viscous cylinders, in radii, at `time` in units of `mu R / sigma`; from 1e-8 on to 1e-9 of
/// itself, 0 at touch, sqrt 2 when round.
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative time, [`TheoryError::Root`] if the search fails.
///
/// ```
/// let neck = tremolet_theory::collision::neck::hopper(0.710_765_956_189)?;
/// assert!((neck - 0.632_455_532).abs() < 1e-9);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn hopper(time: f64) -> Result<f64, TheoryError> {
    not_negative("time", time)?;
    if time == 0.0 {
        return Ok(0.0);
    }
    let late = |log: f64| hopper_time(log.exp()) - time;
    // From a neck of 1e-10 to the last of the swing back to round.
    let (first, last) = (1e-10_f64.ln(), (1.0 - 1e-9_f64).ln());
    if late(last) < 0.0 {
        return Ok(SQRT_2);
    }
    let what = "width of the neck";
    let found = bracketed(late, first, last, 0.0).map_err(|source| TheoryError::Root { what, source })?;
    Ok(width(found.root.exp()))
}

/// Neck and time of the viscous cylinders for the parameter `m` (above 0, below 1).
///
/// # Errors
/// [`TheoryError::Quantity`] for a parameter outside.
pub fn hopper_at(parameter: f64) -> Result<(f64, f64), TheoryError> {
    required(
        "parameter",
        parameter,
        parameter > 0.0 && parameter < 1.0,
        "a number above 0 and below 1",
    )?;
    let left = 1.0 - parameter;
    Ok((width(left), hopper_time(left)))
}

/// Half width for `left = 1 - m`.
fn width(left: f64) -> f64 {
    SQRT_2 * left / (1.0 + (1.0 - left).powi(2)).sqrt()
}

/// Time for `left = 1 - m`. Up to k = 0.7 in the logarithm of k, beyond in that of k', where 1/K goes to zero without a kink.
fn hopper_time(left: f64) -> f64 {
    let m = 1.0 - left;
    let (split, start) = (0.7_f64, m * m);
    let complement = (left * (2.0 - left) * (1.0 + start)).sqrt();
    let mut sum = 0.0;
    let mut from = -complement.ln();
    if start < split {
        let low = |x: f64| {
            let k = x.exp();
            1.0 / ((1.0 + k).sqrt() * complete((1.0 - k * k).sqrt()))
        };
        sum += panels(start.ln(), split.ln(), low);
        from = -0.5 * (1.0 - split * split).ln();
    }
    let high = |s: f64| {
        let square = (-2.0 * s).exp();
        let k2 = 1.0 - square;
        square / (k2 * (1.0 + k2.sqrt()).sqrt() * complete((-s).exp()))
    };
    PI * SQRT_2 / 4.0 * (sum + panels(from, from + 20.0, high))
}

/// Integral over panels of at most 2.
fn panels(from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    let rule = gauss_legendre(20);
    let count = ((to - from) / 2.0).ceil().max(1.0);
    let step = (to - from) / count;
    (0..count as usize)
        .map(|i| rule.integral(from + step * i as f64, from + step * (i + 1) as f64, &f))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    // Hopper 1984, recomputed independently with the constant fixed by the late decay 1/sqrt 2 of Stokes flow (its quadrature is good to 1.2e-11).
    #[test]
    fn the_neck_of_two_viscous_cylinders() {
        let rows = [
            (0.99, 0.010_050_124_365, 0.004_583_591_007),
            (0.9, 0.105_117_666_246, 0.071_896_306_721),
            (0.7, 0.347_570_667_818, 0.315_887_731_226),
            (0.5, 0.632_455_532_034, 0.710_765_956_189),
            (0.3, 0.948_199_646_070, 1.378_412_932_463),
            (0.1, 1.266_475_580_515, 2.904_123_514_650),
            // validation/theory/collision.py, 16 digits
            (1e-3, 1.412_798_642_41, 9.413_286_843_751_99),
            (0.9999, 1.000_050_001_25e-4, 2.726_770_458_053_69e-5),
        ];
        for (m, neck, time) in rows {
            let (r, t) = hopper_at(m).unwrap();
            assert!((r - neck).abs() < 1e-12 * (1.0 + 1e3 * neck), "{m}: {r}");
            assert!((t - time).abs() < 1e-10 * time.min(0.13), "{m}: {t}");
        }
    }

    // The same solved for the neck at a time, validation/theory/collision.py.
    #[test]
    fn the_neck_at_a_time() {
        let rows = [
            (0.001, 0.002_621_547_094_14),
            (0.1, 0.138_023_373_492),
            (1.0, 0.789_931_996_715),
            (3.0, 1.276_546_283_11),
        ];
        for (time, neck) in rows {
            assert!((hopper(time).unwrap() / neck - 1.0).abs() < 1e-9);
        }
        assert_eq!(hopper(0.0).unwrap(), 0.0);
        assert_eq!(hopper(1e3).unwrap(), SQRT_2);
    }

    // Early: r = (t / pi) ln(4 / r) (Eggers, Lister and Stone 1999, from memory); the exact law gives the next term as (t / pi) (1 + small).
    #[test]
    fn early_on_the_neck_widens_with_a_logarithm() {
        for (time, most) in [(1e-6, 0.08), (1e-3, 0.16)] {
            let r = hopper(time).unwrap();
            let beyond = r * PI / time - (4.0 / r).ln();
            assert!((beyond - 1.0).abs() < most, "{beyond}");
        }
    }

    // Water, 10 mm, 1 ms; recomputed independently: 1.49677 mm with 1.62, 0.923930 mm with 1.
    #[test]
    fn the_inertial_neck_of_water() {
        let water = Neck::new(0.01, 998.2, 1.0016e-3, 0.072_74).unwrap();
        assert!((water.inertial(1e-3, 1.62).unwrap() - 1.496_77e-3).abs() < 6e-9);
        assert!((water.inertial(1e-3, 1.0).unwrap() - 0.923_930e-3).abs() < 6e-10);
        assert!(water.inertial_validity(1.5e-3).holds() && !water.inertial_validity(4e-3).holds());
        // Oh = 0.00118: below 12 um the neck is viscous.
        assert!(!water.inertial_validity(1e-5).holds() && !water.viscous_validity(1e-5).holds());
    }

    #[test]
    fn a_viscous_liquid_takes_viscous_time() {
        let syrup = Neck::new(0.01, 1260.0, 10.0, 0.063).unwrap();
        let time = 10.0 * 0.01 / 0.063;
        assert!((syrup.viscous(time).unwrap() / 0.01 - 0.789_931_996_715).abs() < 1e-9);
        assert!(syrup.viscous_validity(5e-4).holds() && !syrup.viscous_validity(5e-3).holds());
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(hopper(-1.0).is_err() && hopper_at(1.0).is_err() && hopper_at(0.0).is_err());
        assert!(Neck::new(0.01, 0.0, 1.0, 1.0).is_err());
        let water = Neck::new(0.01, 998.2, 1.0016e-3, 0.072_74).unwrap();
        assert!(water.inertial(-1.0, 1.0).is_err() && water.inertial(1.0, 0.0).is_err());
    }
}
