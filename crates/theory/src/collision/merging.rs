//! What two drops that merge have afterwards: size, speed, spin, and the energy to lose.
//!
//! ```text
//! R^3 = R_1^3 + R_2^3,     v = (m_1 v_1 + m_2 v_2) / (m_1 + m_2)
//! E_surface = 4 pi sigma (R_1^2 + R_2^2 - R^2),     E_kinetic = m_r U^2 / 2,     m_r = m_1 m_2 / (m_1 + m_2)
//! Omega = m_r U b / (2/5 (m_1 + m_2) R^2)            once it turns as one sphere
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R_1`, `R_2`, `R` | radii before and after | m |
//! | `m`, `v` | masses, velocities | kg, m/s |
//! | `U`, `b` | relative speed, distance of the lines of flight | m/s, m |
//! | `sigma` | surface tension | N/m |
//! | `Omega` | rate of turning | rad/s |
//!
//! Source: conservation of mass, momentum and angular momentum \[Lamb1932\], elementary. All of the freed energy goes into swings, swirl and heat.
//! For drops of one liquid that stay together; a droplet that merges with a large body passes all its momentum on.

use std::f64::consts::PI;

use crate::error::{TheoryError, not_negative, positive, required};
use crate::validity::Validity;

/// Two drops that become one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Merger {
    radii: [f64; 2],
    density: f64,
    tension: f64,
}

impl Merger {
    /// Drops of two `radii` (m) of a liquid of `density` (kg/m^3) and `tension` (N/m).
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for anything that is not positive.
    pub fn new(radii: [f64; 2], density: f64, tension: f64) -> Result<Self, TheoryError> {
        Ok(Self {
            radii: [positive("radius", radii[0])?, positive("radius", radii[1])?],
            density: positive("density", density)?,
            tension: positive("surface tension", tension)?,
        })
    }

    /// Radius of the merged drop, m.
    #[must_use]
    pub fn radius(&self) -> f64 {
        self.radii.iter().map(|r| r.powi(3)).sum::<f64>().cbrt()
    }

    /// Masses before, kg.
    #[must_use]
    pub fn masses(&self) -> [f64; 2] {
        self.radii.map(|r| 4.0 / 3.0 * PI * self.density * r.powi(3))
    }

    /// Surface energy set free, J.
    #[must_use]
    pub fn surface_energy(&self) -> f64 {
        let area = self.radii.iter().map(|r| r * r).sum::<f64>() - self.radius().powi(2);
        4.0 * PI * self.tension * area
    }

    /// Surface energy set free as a share of that before.
    #[must_use]
    pub fn surface_share(&self) -> f64 {
        1.0 - self.radius().powi(2) / self.radii.iter().map(|r| r * r).sum::<f64>()
    }

    /// Kinetic energy of the approach at a relative `speed` (m/s), J: what the common motion does not keep.
    #[must_use]
    pub fn kinetic_energy(&self, speed: f64) -> f64 {
        0.5 * self.reduced_mass() * speed * speed
    }

    /// Speed of the merged drop along one direction, m/s, from the two before.
    #[must_use]
    pub fn speed(&self, speeds: [f64; 2]) -> f64 {
        let [one, two] = self.masses();
        (one * speeds[0] + two * speeds[1]) / (one + two)
    }

    /// Rate at which the merged drop turns, rad/s, after drops with relative `speed` (m/s) met with an `offset` from 0 (head-on) to 1.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a negative speed or an offset outside 0 to 1.
    pub fn spin(&self, speed: f64, offset: f64) -> Result<f64, TheoryError> {
        not_negative("relative speed", speed)?;
        required(
            "offset",
            offset,
            (0.0..=1.0).contains(&offset),
            "a number from 0 to 1",
        )?;
        let arm = offset * (self.radii[0] + self.radii[1]);
        let mass: f64 = self.masses().iter().sum();
        Ok(self.reduced_mass() * speed * arm / (0.4 * mass * self.radius().powi(2)))
    }

    /// Whether a sphere that turns so fast is still nearly round: rate of turning over `sqrt(8 sigma / (rho R^3))`; it parts into two lobes
    /// at 0.559 \[BrownScriven1980\] (from memory).
    #[must_use]
    pub fn validity(&self, spin: f64) -> Validity {
        let natural = (8.0 * self.tension / (self.density * self.radius().powi(3))).sqrt();
        Validity::always().with(
            "rate of turning over that of the mode of degree 2",
            spin / natural,
            0.0,
            0.559,
        )
    }

    fn reduced_mass(&self) -> f64 {
        let [one, two] = self.masses();
        one * two / (one + two)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Equal drops: 2^(1/3) and 1 - 2^(-1/3), by hand.
    #[test]
    fn equal_drops_set_a_fifth_of_their_surface_energy_free() {
        let pair = Merger::new([0.01, 0.01], 998.2, 0.072_74).unwrap();
        assert!((pair.radius() / 0.01 - 1.259_921_050).abs() < 1e-9);
        assert!((pair.surface_share() - 0.206_299_474).abs() < 1e-9);
    }

    // Momenta summed drop by drop in validation/theory/collision.py: water, 2 mm on 2 mm and on 4 mm, 0.4 m/s.
    #[test]
    fn spin_and_energies_of_two_mergers() {
        let rows = [
            (
                [1e-3, 1e-3],
                0.5,
                157.490_131_237,
                1.672_500_152_97e-7,
                3.771_475_380_76e-7,
            ),
            (
                [1e-3, 2e-3],
                0.3,
                20.544_037_758_5,
                2.973_333_605_27e-7,
                6.154_040_561_5e-7,
            ),
        ];
        for (radii, offset, spin, kinetic, surface) in rows {
            let pair = Merger::new(radii, 998.2, 0.072_74).unwrap();
            assert!((pair.spin(0.4, offset).unwrap() / spin - 1.0).abs() < 1e-10);
            assert!((pair.kinetic_energy(0.4) / kinetic - 1.0).abs() < 1e-10);
            assert!((pair.surface_energy() / surface - 1.0).abs() < 1e-10);
            assert!(pair.validity(spin).holds() && !pair.validity(4.0 * 157.5).holds());
        }
    }

    #[test]
    fn momentum_is_kept() {
        let pair = Merger::new([1e-3, 2e-3], 1000.0, 0.07).unwrap();
        assert!((pair.speed([0.9, 0.0]) - 0.1).abs() < 1e-15);
        assert!((pair.masses()[1] / pair.masses()[0] - 8.0).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Merger::new([0.0, 1e-3], 1000.0, 0.07).is_err());
        let pair = Merger::new([1e-3, 1e-3], 1000.0, 0.07).unwrap();
        assert!(pair.spin(-1.0, 0.5).is_err() && pair.spin(1.0, 1.5).is_err());
    }
}
