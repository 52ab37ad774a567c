//! A droplet that flies through still gas: how fast it still is, how far it has come.
//!
//! ```text
//! dRe/dt = -(Re + 0.15 Re^(1 + p)) / tau,   p = 0.687,   tau = rho d^2 / (18 mu_g),   Re = rho_g U d / mu_g
//! Re^-p + 0.15 = (Re_0^-p + 0.15) e^(p t / tau),      way = (tau mu_g / (rho_g d)) integral_Re^Re_0 dy / (1 + 0.15 y^p)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `U`, `d`, `rho` | speed, diameter, density of the droplet | m/s, m, kg/m^3 |
//! | `rho_g`, `mu_g` | density, viscosity of the gas | kg/m^3, Pa s |
//! | `Re`, `Re_0` | Reynolds number now, at the start | 1 |
//! | `tau` | time in which a slow droplet falls to 1/e of its speed | s |
//!
//! Source: drag of a sphere \[SchillerNaumann1933\] (24/Re (1 + 0.15 Re^0.687), Re below 800, from memory); the solution of Newton's law with
//! it is derived here. For a round droplet in gas at rest, far from walls, without weight. What the gas in a
//! bubble does by itself after a shot is not here.

use tremolet_numerics::quadrature::gauss_legendre;
use tremolet_numerics::root::bracketed;

use crate::error::{TheoryError, not_negative, positive};
use crate::validity::Validity;

const FACTOR: f64 = 0.15;
const POWER: f64 = 0.687;

/// A droplet in a gas.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flight {
    diameter: f64,
    density: f64,
    gas_density: f64,
    gas_viscosity: f64,
}

impl Flight {
    /// A droplet of `diameter` (m) and `density` (kg/m^3) in a gas of `gas_density` (kg/m^3) and `gas_viscosity` (dynamic, Pa s).
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for anything that is not positive.
    pub fn new(
        diameter: f64,
        density: f64,
        gas_density: f64,
        gas_viscosity: f64,
    ) -> Result<Self, TheoryError> {
        Ok(Self {
            diameter: positive("diameter", diameter)?,
            density: positive("density", density)?,
            gas_density: positive("density of the gas", gas_density)?,
            gas_viscosity: positive("viscosity of the gas", gas_viscosity)?,
        })
    }

    /// Reynolds number at a `speed` (m/s).
    #[must_use]
    pub fn reynolds(&self, speed: f64) -> f64 {
        self.gas_density * speed * self.diameter / self.gas_viscosity
    }

    /// Time in which a slow droplet falls to 1/e of its speed, s; a fast one is slowed sooner.
    #[must_use]
    pub fn relaxation(&self) -> f64 {
        self.density * self.diameter.powi(2) / (18.0 * self.gas_viscosity)
    }

    /// Speed after `time` (s) of a droplet that starts with `speed` (m/s).
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a negative speed or time.
    ///
    /// ```
    /// use tremolet_theory::collision::flight::Flight;
    /// // A millimetre of water at half a metre a second loses 4 % in 50 ms.
    /// let droplet = Flight::new(1e-3, 998.2, 1.204, 1.82e-5)?;
    /// assert!((droplet.speed_after(0.5, 0.05)? - 0.479).abs() < 1e-3);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn speed_after(&self, speed: f64, time: f64) -> Result<f64, TheoryError> {
        not_negative("speed", speed)?;
        not_negative("time", time)?;
        if speed == 0.0 {
            return Ok(0.0);
        }
        let start = self.reynolds(speed).powf(-POWER);
        let grown = (start + FACTOR) * (POWER * time / self.relaxation()).exp() - FACTOR;
        Ok(speed * (grown / start).powf(-1.0 / POWER))
    }

    /// Way gone after `time` (s), m.
    ///
    /// # Errors
    /// As [`Flight::speed_after`].
    pub fn way_after(&self, speed: f64, time: f64) -> Result<f64, TheoryError> {
        Ok(self.way_between(speed, self.speed_after(speed, time)?))
    }

    /// Way on which the droplet comes to rest, m.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a negative speed.
    pub fn stopping_way(&self, speed: f64) -> Result<f64, TheoryError> {
        Ok(self.way_between(not_negative("speed", speed)?, 0.0))
    }

    /// Time to go a `way` (m); none if the droplet stops before.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a negative speed or way, [`TheoryError::Root`] if the search fails.
    pub fn time_to(&self, speed: f64, way: f64) -> Result<Option<f64>, TheoryError> {
        not_negative("way", way)?;
        if way >= self.stopping_way(speed)? {
            return Ok(None);
        }
        let short = |time: f64| self.way_after(speed, time).map_or(f64::NAN, |gone| gone - way);
        // Never sooner than without drag; the end doubles until it is late enough.
        let (from, mut to) = (way / speed, 2.0 * way / speed + self.relaxation());
        while short(to) < 0.0 {
            to *= 2.0;
        }
        let what = "time of flight";
        let found = bracketed(short, 0.999 * from, to, 0.0);
        found
            .map(|found| Some(found.root))
            .map_err(|source| TheoryError::Root { what, source })
    }

    /// Where the drag law and the round droplet hold; `tension` of the droplet in N/m.
    #[must_use]
    pub fn validity(&self, speed: f64, tension: f64) -> Validity {
        let pull = self.gas_density * speed * speed * self.diameter / tension;
        Validity::always()
            .with("Reynolds number in the gas", self.reynolds(speed), 0.0, 800.0)
            .with("Weber number in the gas", pull, 0.0, 1.0)
            .with(
                "density of gas over liquid",
                self.gas_density / self.density,
                0.0,
                0.01,
            )
            .with("diameter in m", self.diameter, 1e-5, f64::INFINITY)
    }

    fn way_between(&self, fast: f64, slow: f64) -> f64 {
        // y = w^10 makes y^p smooth at rest.
        let (from, to) = (self.reynolds(slow).powf(0.1), self.reynolds(fast).powf(0.1));
        let part = |w: f64| 10.0 * w.powi(9) / (1.0 + FACTOR * w.powf(10.0 * POWER));
        self.relaxation() * self.gas_viscosity / (self.gas_density * self.diameter)
            * gauss_legendre(48).integral(from, to, part)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn water(diameter: f64) -> Flight {
        Flight::new(diameter, 998.2, 1.204, 1.82e-5).unwrap()
    }

    // Newton's law integrated step by step in validation/theory/collision.py.
    #[test]
    fn speed_and_way_of_an_integrated_flight() {
        let rows = [
            (1e-3, 0.5, 0.05, 0.478_840_209_147, 0.024_465_567_846_4),
            (2e-3, 0.8, 0.1, 0.770_102_958_717, 0.078_490_544_440_5),
            (0.2e-3, 0.3, 0.05, 0.174_420_333_815, 0.011_530_885_615_6),
            (1e-3, 0.01, 1.0, 0.006_969_790_595_39, 0.008_388_252_924_8),
        ];
        for (d, u, t, speed, way) in rows {
            let droplet = water(d);
            assert!((droplet.speed_after(u, t).unwrap() / speed - 1.0).abs() < 1e-10);
            let gone = droplet.way_after(u, t).unwrap();
            assert!((gone / way - 1.0).abs() < 1e-9, "{gone}");
            assert!((droplet.time_to(u, gone).unwrap().unwrap() / t - 1.0).abs() < 1e-9);
        }
    }

    // Stokes: a slow droplet stops after tau U.
    #[test]
    fn a_slow_droplet_stops_after_its_relaxation_way() {
        let droplet = water(50e-6);
        let way = droplet.stopping_way(1e-6).unwrap();
        assert!((way / (droplet.relaxation() * 1e-6) - 1.0).abs() < 1e-3);
        assert!(droplet.time_to(1e-6, 2.0 * way).unwrap().is_none());
        assert_eq!(droplet.speed_after(0.0, 1.0).unwrap(), 0.0);
    }

    #[test]
    fn what_cannot_be_is_refused_and_what_is_too_fast_is_said() {
        assert!(Flight::new(0.0, 1.0, 1.0, 1.0).is_err() && Flight::new(1.0, 1.0, 1.0, f64::NAN).is_err());
        assert!(water(1e-3).speed_after(-1.0, 1.0).is_err() && water(1e-3).way_after(1.0, -1.0).is_err());
        assert!(water(1e-3).validity(0.5, 0.07).holds());
        let fast = water(4e-3).validity(5.0, 0.07);
        assert!(!fast.holds() && fast.conditions().iter().filter(|c| !c.holds()).count() == 2);
    }
}
