//! Many equal bubbles that share the gas of the liquid: how large they get, and when it is used up.
//!
//! ```text
//! R_f = (3 J / (4 pi N))^(1/3),     J = L (f - 1)
//! D J t / R_f^2 = 1/6 ln((u^2 + u + 1) / (1 - u)^2) - (atan((2 u + 1) / sqrt 3) - pi/6) / sqrt 3,     u = R / R_f
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R`, `R_f` | radius of each bubble, in the end | m |
//! | `N` | number of bubbles in a unit of liquid | 1/m^3 |
//! | `D` | diffusivity of the gas in the liquid | m^2/s |
//! | `L`, `f`, `J` | dissolved over gaseous concentration at saturation; supersaturation at first; gas to be had, in volumes of gas for one of liquid | 1 |
//! | `t` | time since all were born together, with no size | s |
//!
//! Source: \[Ham1958\] (the law for grains that grow in a solution, from memory), re-derived for bubbles. Steady diffusion to each, no tension, bubbles that stay
//! where they are, no gas lost through the surface of the drop. How many are born is not here.

use std::f64::consts::PI;

use tremolet_numerics::root::bracketed;

use crate::error::{TheoryError, not_negative, positive, required};
use crate::validity::Validity;

/// Equal bubbles in a liquid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crowd {
    number: f64,
    diffusivity: f64,
    gas: f64,
}

impl Crowd {
    /// `number` of bubbles in a unit of liquid (1/m^3), `diffusivity` (m^2/s), `gas` to be had (`L (f - 1)`, volumes for one of liquid).
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for anything that is not positive: without supersaturation nothing grows.
    pub fn new(number: f64, diffusivity: f64, gas: f64) -> Result<Self, TheoryError> {
        Ok(Self {
            number: positive("number of bubbles in a unit of liquid", number)?,
            diffusivity: positive("diffusivity", diffusivity)?,
            gas: positive("gas to be had", gas)?,
        })
    }

    /// Radius in the end, m.
    #[must_use]
    pub fn final_radius(&self) -> f64 {
        (3.0 * self.gas / (4.0 * PI * self.number)).cbrt()
    }

    /// Time (s) until the `share` of the gas to be had (0 to below 1) is in the bubbles.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a share outside.
    ///
    /// ```
    /// use tremolet_theory::fizz::depletion::Crowd;
    /// // A bubble in each cubic millimetre, supersaturation 1.06: half the gas is out after some four minutes.
    /// let half = Crowd::new(1e9, 1.9e-9, 0.05)?.time(0.5)?;
    /// assert!((half - 225.0).abs() < 2.0);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn time(&self, share: f64) -> Result<f64, TheoryError> {
        let inside = (0.0..1.0).contains(&share);
        required("share of the gas", share, inside, "from 0 to below 1")?;
        Ok(self.unit() * course(share.cbrt()))
    }

    /// Radius of each bubble after `time` (s), m.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a negative time, [`TheoryError::Root`] if the search fails.
    pub fn radius(&self, time: f64) -> Result<f64, TheoryError> {
        let scaled = not_negative("time", time)? / self.unit();
        let most = 1.0 - 1e-12;
        if scaled >= course(most) {
            return Ok(self.final_radius());
        }
        let what = "radius of the bubbles";
        bracketed(|u| course(u) - scaled, 0.0, most, 0.0)
            .map(|found| found.root * self.final_radius())
            .map_err(|source| TheoryError::Root { what, source })
    }

    /// Where it holds: gas to be had up to 0.1, so that bubbles stay far apart and grow slowly against diffusion.
    #[must_use]
    pub fn validity(&self) -> Validity {
        Validity::always().with("volumes of gas to be had for one of liquid", self.gas, 0.0, 0.1)
    }

    fn unit(&self) -> f64 {
        self.final_radius().powi(2) / (self.diffusivity * self.gas)
    }
}

/// Integral of `v / (1 - v^3)` from 0 to `u`; by its series where the closed form cancels.
fn course(u: f64) -> f64 {
    if u < 0.05 {
        return u * u * (0.5 + u.powi(3) * (0.2 + u.powi(3) / 8.0));
    }
    let log = ((u * u + u + 1.0) / (1.0 - u).powi(2)).ln();
    log / 6.0 - (((2.0 * u + 1.0) / 3.0_f64.sqrt()).atan() - PI / 6.0) / 3.0_f64.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn crowd() -> Crowd {
        Crowd::new(1e9, 1.9e-9, 0.05).unwrap()
    }

    // Radius and concentration integrated together, validation/theory/fizz.py.
    #[test]
    fn radii_of_an_integrated_crowd() {
        for (time, radius) in [
            (1.0, 1.378_344_396e-5),
            (20.0, 6.140_349_43e-5),
            (100.0, 1.321_363_253e-4),
        ] {
            let found = crowd().radius(time).unwrap();
            assert!((found / radius - 1.0).abs() < 1e-6, "{time}: {found}");
            let share = (found / crowd().final_radius()).powi(3);
            assert!((crowd().time(share).unwrap() / time - 1.0).abs() < 1e-6);
        }
        assert!((crowd().final_radius() - 2.285_390_749e-4).abs() < 1e-13);
        assert_eq!(crowd().radius(1e6).unwrap(), crowd().final_radius());
        assert_eq!(crowd().radius(0.0).unwrap(), 0.0);
    }

    #[test]
    fn both_forms_agree_where_they_meet() {
        assert!((course(0.05 - 1e-9) / course(0.05) - 1.0).abs() < 1e-7);
        // At first as a bubble alone: R^2 = 2 D J t.
        let radius = crowd().radius(1e-3).unwrap();
        assert!((radius * radius / (2.0 * 1.9e-9 * 0.05 * 1e-3) - 1.0).abs() < 1e-3);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Crowd::new(0.0, 1.0, 1.0).is_err() && Crowd::new(1.0, 1.0, 0.0).is_err());
        assert!(crowd().time(1.0).is_err() && crowd().radius(-1.0).is_err());
        assert!(crowd().validity().holds() && !Crowd::new(1e9, 1.9e-9, 1.66).unwrap().validity().holds());
    }
}
