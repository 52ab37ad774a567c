//! How fast a bubble wanders through the liquid: pushed by weight, pulled by a gradient of temperature.
//!
//! ```text
//! weight, slow            U = (2/3) (R^2 g drho / mu) (mu + mu') / (2 mu + 3 mu')      gas, clean: R^2 g rho / (3 mu);   rigid surface: 2/9
//! weight, fast and clean  U = R^2 g rho / (9 mu)
//! gradient                U = 2 |dsigma/dT| G R / [(2 + 3 mu'/mu) (2 + k'/k) mu]        gas: |dsigma/dT| G R / (2 mu)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `U`, `R` | speed against the liquid, radius of the bubble | m/s, m |
//! | `g` | acceleration that the liquid feels as weight | m/s^2 |
//! | `rho`, `drho` | density of the liquid, less that of the gas | kg/m^3 |
//! | `mu`, `k`; `mu'`, `k'` | viscosity, thermal conductivity of the liquid; of the gas | Pa s, W/(m K) |
//! | `dsigma/dT`, `G` | slope of the tension, gradient of temperature | N/(m K), K/m |
//!
//! Sources: \[Hadamard1911\] and \[Rybczynski1911\]; \[Levich1962\] for fast clean bubbles; \[YoungGoldsteinBlock1959\] for the gradient; all from memory, limits checked.
//!
//! A free drop falls with its bubbles: a residual acceleration of the cabin moves both alike and is no weight. Weight is felt only when something
//! holds or pushes the drop: a loop, a needle, the drag of the air (then `g` is the force over the mass of the drop).

use crate::error::{TheoryError, not_negative, positive};
use crate::validity::Validity;

/// A bubble in a liquid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bubble {
    radius: f64,
    density: f64,
    viscosity: f64,
}

impl Bubble {
    /// A bubble of `radius` (m) in a liquid of `density` (kg/m^3) and dynamic `viscosity` (Pa s); gas without mass or viscosity.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for anything that is not positive.
    pub fn new(radius: f64, density: f64, viscosity: f64) -> Result<Self, TheoryError> {
        Ok(Self {
            radius: positive("radius", radius)?,
            density: positive("density", density)?,
            viscosity: positive("viscosity", viscosity)?,
        })
    }

    /// Slow and fast end of the speed under the `weight` (m/s^2) if creeping: with a rigid surface (2/9) and with a clean one (3/9), m/s.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a negative weight.
    pub fn creeping(&self, weight: f64) -> Result<(f64, f64), TheoryError> {
        let scale = self.scale(weight)?;
        Ok((2.0 / 9.0 * scale, scale / 3.0))
    }

    /// Speed of a fast clean bubble that stays round, m/s.
    ///
    /// # Errors
    /// As [`Bubble::creeping`].
    pub fn inertial(&self, weight: f64) -> Result<f64, TheoryError> {
        Ok(self.scale(weight)? / 9.0)
    }

    /// Speed up a `gradient` of temperature (K/m) with the `slope` of the tension (N/(m K), its size), m/s.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a negative slope or gradient.
    pub fn thermocapillary(&self, slope: f64, gradient: f64) -> Result<f64, TheoryError> {
        let pull = not_negative("slope of the tension", slope)? * not_negative("gradient", gradient)?;
        Ok(pull * self.radius / (2.0 * self.viscosity))
    }

    /// Where creeping holds at this `speed`: Reynolds number by the diameter up to 0.5.
    #[must_use]
    pub fn creeping_validity(&self, speed: f64) -> Validity {
        Validity::always().with("Reynolds number by the diameter", self.reynolds(speed), 0.0, 0.5)
    }

    /// Where the fast law holds: Reynolds number from 50, Weber number (by the diameter, `tension` in N/m) up to 0.5.
    #[must_use]
    pub fn inertial_validity(&self, speed: f64, tension: f64) -> Validity {
        let weber = 2.0 * self.density * speed * speed * self.radius / tension;
        Validity::always()
            .with(
                "Reynolds number by the diameter",
                self.reynolds(speed),
                50.0,
                1000.0,
            )
            .with("Weber number by the diameter", weber, 0.0, 0.5)
    }

    /// Where the drift in a gradient holds: Reynolds and Marangoni number (by the thermal `diffusivity` of the liquid, m^2/s) up to 0.5.
    #[must_use]
    pub fn thermocapillary_validity(&self, speed: f64, diffusivity: f64) -> Validity {
        let marangoni = 2.0 * speed * self.radius / diffusivity;
        Validity::always()
            .with("Reynolds number by the diameter", self.reynolds(speed), 0.0, 0.5)
            .with("Marangoni number by the diameter", marangoni, 0.0, 0.5)
    }

    fn scale(&self, weight: f64) -> Result<f64, TheoryError> {
        Ok(self.radius * self.radius * not_negative("weight", weight)? * self.density / self.viscosity)
    }

    fn reynolds(&self, speed: f64) -> f64 {
        2.0 * self.density * speed * self.radius / self.viscosity
    }
}

/// Factor of `R^2 g drho / mu` for a clean body of `ratio` = its viscosity over the liquid's: 1/3 for gas, 2/9 for a rigid body.
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative ratio.
pub fn creeping_factor(ratio: f64) -> Result<f64, TheoryError> {
    let ratio = not_negative("ratio of viscosities", ratio)?;
    Ok(2.0 / 3.0 * (1.0 + ratio) / (2.0 + 3.0 * ratio))
}

/// Factor of `|dsigma/dT| G R / mu` for `viscosity_ratio` and `conductivity_ratio`, inside over outside: 1/2 for gas.
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative ratio.
pub fn thermocapillary_factor(viscosity_ratio: f64, conductivity_ratio: f64) -> Result<f64, TheoryError> {
    let by_viscosity = 2.0 + 3.0 * not_negative("ratio of viscosities", viscosity_ratio)?;
    Ok(2.0 / (by_viscosity * (2.0 + not_negative("ratio of conductivities", conductivity_ratio)?)))
}

/// Weight that the inside of a free drop feels through a `force` (N) on its surface, such as drag: `force / mass`, m/s^2.
///
/// # Errors
/// [`TheoryError::Quantity`] for a negative force or a `mass` (kg) that is not positive.
pub fn felt_weight(force: f64, mass: f64) -> Result<f64, TheoryError> {
    Ok(not_negative("force", force)? / positive("mass", mass)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Young, Goldstein & Block 1959, recomputed independently: 1.514e-4 N/(m K), 1 K/mm, 1 mm of water: 0.0755791 m/s, far outside its range.
    #[test]
    fn drift_in_a_gradient() {
        let bubble = Bubble::new(1e-3, 998.2, 1.0016e-3).unwrap();
        let speed = bubble.thermocapillary(1.514e-4, 1000.0).unwrap();
        assert!((speed - 0.075_579_1).abs() < 6e-8);
        assert!(!bubble.thermocapillary_validity(speed, 1.43e-7).holds());
        let small = Bubble::new(1e-5, 998.2, 1.0016e-3).unwrap();
        let slow = small.thermocapillary(1.514e-4, 1.0).unwrap();
        assert!(small.thermocapillary_validity(slow, 1.43e-7).holds());
        assert_eq!(thermocapillary_factor(0.0, 0.0).unwrap(), 0.5);
        assert!((thermocapillary_factor(1.0, 2.0).unwrap() - 0.1).abs() < 1e-15);
    }

    // By hand: R = 0.1 mm, rho 1000, mu 1e-3, 0.03 m/s^2: scale 3e-4 m/s.
    #[test]
    fn drift_by_weight() {
        let bubble = Bubble::new(1e-4, 1000.0, 1e-3).unwrap();
        let (rigid, clean) = bubble.creeping(0.03).unwrap();
        assert!((clean - 1e-4).abs() < 1e-16 && (rigid - 2e-4 / 3.0).abs() < 1e-16);
        assert!(bubble.creeping_validity(clean).holds() && !bubble.creeping_validity(0.03).holds());
        assert!((creeping_factor(0.0).unwrap() - 1.0 / 3.0).abs() < 1e-15);
        assert!((creeping_factor(1e12).unwrap() - 2.0 / 9.0).abs() < 1e-12);
        let large = Bubble::new(0.4e-3, 1000.0, 1e-3).unwrap();
        let fast = large.inertial(9.81).unwrap();
        assert!((fast - 0.174_4).abs() < 1e-4);
        assert!(
            large.inertial_validity(fast, 0.072).holds() && !bubble.inertial_validity(clean, 0.072).holds()
        );
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(
            Bubble::new(0.0, 1.0, 1.0).is_err()
                && Bubble::new(1.0, 1.0, 1.0).unwrap().creeping(-1.0).is_err()
        );
        assert!(creeping_factor(-1.0).is_err() && thermocapillary_factor(0.0, -1.0).is_err());
        assert!(felt_weight(1.0, 0.0).is_err() && felt_weight(2.0, 4.0).unwrap() == 0.5);
    }
}
