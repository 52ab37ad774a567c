//! How fast a still drop evaporates: the law of the squared radius.
//!
//! ```text
//! dm/dt = -4 pi R D dc,     R^2 = R_0^2 - 2 D dc t / rho,     life = rho R_0^2 / (2 D dc),     dc = c_s(T_s) - c_far
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `m`, `R`, `rho` | mass, radius, density of the drop | kg, m, kg/m^3 |
//! | `D` | diffusivity of the vapour in air | m^2/s |
//! | `dc` | density of the vapour at the surface less that far away | kg/m^3 |
//! | `T_s` | temperature of the surface: use that of [`crate::drying::cooling`], not the room's | K |
//!
//! A draught makes it faster by `1 + 0.3 Re^(1/2) Sc^(1/3)`, `Re = 2 R v / nu`, `Sc = nu / D`: twice at some 12 mm/s past a drop of 20 mm.
//!
//! Source: \[Maxwell1877\]; see \[Langmuir1918\]; draught \[RanzMarshall1952\] (from memory). Steady diffusion in air without end: in weightlessness there is no draught by
//! weight, but there are fans. Without the flow of vapour itself (1 % in water at 20 C).

use std::f64::consts::PI;

use crate::error::{TheoryError, not_negative, positive, required};
use crate::validity::Validity;

/// A drop that loses vapour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    density: f64,
    diffusivity: f64,
    excess: f64,
}

impl Loss {
    /// A liquid of `density` (kg/m^3), vapour of `diffusivity` (m^2/s) with `excess` density at the surface over that far away (kg/m^3; negative
    /// for a drop that grows).
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a density or diffusivity that is not positive, an excess that is not finite.
    pub fn new(density: f64, diffusivity: f64, excess: f64) -> Result<Self, TheoryError> {
        Ok(Self {
            density: positive("density", density)?,
            diffusivity: positive("diffusivity of the vapour", diffusivity)?,
            excess: required("excess of vapour", excess, true, "a finite number of kg/m^3")?,
        })
    }

    /// Mass lost in a second at the `radius` (m), kg/s.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a radius that is not positive.
    pub fn rate(&self, radius: f64) -> Result<f64, TheoryError> {
        Ok(4.0 * PI * positive("radius", radius)? * self.diffusivity * self.excess)
    }

    /// Radius after `time` (s) from a start at `radius` (m); 0 once it is gone.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a radius that is not positive, a negative time.
    pub fn radius(&self, radius: f64, time: f64) -> Result<f64, TheoryError> {
        let shrunk = 2.0 * self.diffusivity * self.excess / self.density * not_negative("time", time)?;
        Ok((positive("radius", radius)?.powi(2) - shrunk).max(0.0).sqrt())
    }

    /// Time until the drop of `radius` (m) is gone, s; none if it does not shrink.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a radius that is not positive.
    pub fn life(&self, radius: f64) -> Result<Option<f64>, TheoryError> {
        let square = positive("radius", radius)?.powi(2);
        Ok((self.excess > 0.0).then(|| self.density * square / (2.0 * self.diffusivity * self.excess)))
    }

    /// Share of the volume lost after `time` (s) from a start at `radius` (m).
    ///
    /// # Errors
    /// As [`Loss::radius`].
    pub fn volume_share(&self, radius: f64, time: f64) -> Result<f64, TheoryError> {
        Ok(1.0 - (self.radius(radius, time)? / radius).powi(3))
    }

    /// Where still air holds: `draught` (m/s) past a drop of `radius` (m) slow against the spread of the vapour (`R v / D` up to 0.5), and the vapour thin
    /// in a gas of `gas_density` (kg/m^3): excess up to 5 % of it.
    #[must_use]
    pub fn validity(&self, radius: f64, draught: f64, gas_density: f64) -> Validity {
        Validity::always()
            .with(
                "draught over diffusion",
                radius * draught.abs() / self.diffusivity,
                0.0,
                0.5,
            )
            .with(
                "excess of vapour over gas",
                self.excess.abs() / gas_density,
                0.0,
                0.05,
            )
    }
}

/// Factor by which a draught of `speed` (m/s) makes a drop of `radius` (m) dry faster; `viscosity` of the air (kinematic, m^2/s), `diffusivity` of the vapour (m^2/s).
/// Measured for Reynolds numbers by the diameter from 0 to 200; the same factor with the diffusivity of heat is that of the exchange of heat.
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative speed, or anything else that is not positive.
pub fn draught_factor(speed: f64, radius: f64, viscosity: f64, diffusivity: f64) -> Result<f64, TheoryError> {
    let nu = positive("viscosity of the air", viscosity)?;
    let reynolds = 2.0 * positive("radius", radius)? * not_negative("speed of the draught", speed)? / nu;
    Ok(1.0 + 0.3 * reynolds.sqrt() * (nu / positive("diffusivity of the vapour", diffusivity)?).cbrt())
}

/// Where [`draught_factor`] was measured: Reynolds number by the diameter up to 200.
#[must_use]
pub fn draught_validity(speed: f64, radius: f64, viscosity: f64) -> Validity {
    let reynolds = 2.0 * radius * speed.abs() / viscosity;
    Validity::always().with("Reynolds number by the diameter", reynolds, 0.0, 200.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Integrated step by step in validation/theory/drying.py: 1 mm of water for 600 s.
    #[test]
    fn a_drop_of_water_shrinks() {
        let loss = Loss::new(998.2, 2.45e-5, 0.003_834_150_869_19).unwrap();
        assert!((loss.radius(1e-3, 600.0).unwrap() / 0.000_941_845_366_978 - 1.0).abs() < 1e-10);
        let life = loss.life(1e-3).unwrap().unwrap();
        assert!(
            loss.radius(1e-3, 0.999 * life).unwrap() > 0.0 && loss.radius(1e-3, 1.001 * life).unwrap() == 0.0
        );
        // Mass lost is what the radius lost: one second.
        let (before, after) = (1e-3_f64.powi(3), loss.radius(1e-3, 1.0).unwrap().powi(3));
        let mass = 4.0 / 3.0 * PI * 998.2 * (before - after);
        assert!((mass / loss.rate(1e-3).unwrap() - 1.0).abs() < 2e-4);
        assert!(
            (loss.volume_share(1e-3, 1.0).unwrap() / (mass / (4.0 / 3.0 * PI * 998.2e-9)) - 1.0).abs() < 1e-9
        );
    }

    #[test]
    fn in_damp_air_it_grows() {
        let dew = Loss::new(1000.0, 2.5e-5, -1e-3).unwrap();
        assert!(dew.radius(1e-3, 100.0).unwrap() > 1e-3 && dew.life(1e-3).unwrap().is_none());
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Loss::new(0.0, 1.0, 1.0).is_err() && Loss::new(1.0, 1.0, f64::NAN).is_err());
        let loss = Loss::new(1000.0, 2.5e-5, 5e-3).unwrap();
        assert!(loss.radius(1e-3, -1.0).is_err() && loss.rate(0.0).is_err());
        assert!(loss.validity(1e-3, 0.01, 1.2).holds() && !loss.validity(0.012, 0.01, 1.2).holds());
    }

    // By hand: Re = 2 x 0.01 x 0.08 / 1.6e-5 = 100, Sc = 1: 1 + 0.3 x 10; Sc = 8 doubles the second.
    #[test]
    fn a_draught_dries_faster() {
        assert!((draught_factor(0.08, 0.01, 1.6e-5, 1.6e-5).unwrap() - 4.0).abs() < 1e-12);
        assert!((draught_factor(0.08, 0.01, 1.6e-5, 2e-6).unwrap() - 7.0).abs() < 1e-12);
        assert_eq!(draught_factor(0.0, 0.01, 1.6e-5, 2e-5).unwrap(), 1.0);
        assert!((draught_factor(0.012, 0.01, 1.5e-5, 2.5e-5).unwrap() - 2.0).abs() < 0.02);
        assert!(draught_validity(0.08, 0.01, 1.6e-5).holds() && !draught_validity(0.5, 0.01, 1.6e-5).holds());
        assert!(
            draught_factor(-1.0, 0.01, 1.6e-5, 2e-5).is_err()
                && draught_factor(1.0, 0.01, 1.6e-5, 0.0).is_err()
        );
    }
}
