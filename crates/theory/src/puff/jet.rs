//! A puff of gas from a round nozzle: speed, Reynolds number, momentum, and what is left of it some way off.
//!
//! ```text
//! U = 4 V/(pi d^2 T),   Re = rho U d/mu,   thrust rho U^2 A,   impulse J = rho U V,   stagnation rho U^2/2
//! far field:  U_c = min(1, 5.8 d/x) U,   half width 0.094 x;      pressure p_0 = rho U_c^2/2 over w = sqrt(thrust/(pi p_0))
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | V, T | volume given off, duration | m^3, s |
//! | d, A | diameter and area of the nozzle | m, m^2 |
//! | rho, mu | density and dynamic viscosity of the gas | kg/m^3, Pa s |
//! | x | distance from the nozzle | m |
//! | U, U_c | speed in the nozzle, on the axis at x | m/s |
//! | p_0, w | pressure on the axis of a body in the way, radius at which it has fallen to 1/e | Pa, m |
//!
//! Sources: even flow in the nozzle, and its momentum; the factors 5.8 and 0.094 of a turbulent round jet at rest surroundings \[HusseinCappGeorge1994\] (from
//! memory; 5.8 to 6.1 in the literature at Reynolds numbers of 10 000 and more; slower jets widen
//! sooner, to 1.35 at 1430 \[AbdelRahman1996\], abstract only: what arrives of them is less than said here). The footprint is a bell whose peak is the stagnation pressure on the axis and whose whole force is the thrust, as
//! when the gas leaves sideways: own closure, so its width is an estimate. Not here: the front of a puff that has just begun, and rings.

use crate::error::{TheoryError, positive};
use crate::validity::Validity;
use std::f64::consts::PI;

/// Speed on the axis times distance over speed times diameter, in the far field.
const DECAY: f64 = 5.8;
/// Half width over distance.
const SPREAD: f64 = 0.094;

/// A puff of gas, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jet {
    /// Volume given off, m^3.
    pub volume: f64,
    /// Duration, s.
    pub duration: f64,
    /// Diameter of the nozzle, m.
    pub nozzle: f64,
    /// Density of the gas, kg/m^3.
    pub gas_density: f64,
    /// Dynamic viscosity of the gas, Pa s.
    pub gas_viscosity: f64,
}

/// What leaves the nozzle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outflow {
    /// Speed, m/s.
    pub speed: f64,
    /// Reynolds number.
    pub reynolds: f64,
    /// Momentum given off in unit time, N.
    pub thrust: f64,
    /// Momentum of the whole puff, N s.
    pub impulse: f64,
    /// Stagnation pressure, Pa.
    pub stagnation: f64,
    /// Length of the gas column given off over the diameter; above some 4 it is a jet, below a ring.
    pub slenderness: f64,
}

/// The jet some way off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plume {
    /// Speed on the axis, m/s.
    pub speed: f64,
    /// Distance from the axis at which the speed is half, m.
    pub half_width: f64,
    /// Stagnation pressure on the axis, Pa.
    pub stagnation: f64,
    /// Radius at which the pressure on a body in the way has fallen to 1/e, m; an estimate.
    pub pressure_width: f64,
}

impl Jet {
    /// What leaves the nozzle \[HusseinCappGeorge1994\] (even flow).
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] unless all is positive.
    ///
    /// ```
    /// use tremolet_theory::puff::jet::Jet;
    /// let syringe = Jet { volume: 6e-6, duration: 0.05, nozzle: 2.5e-3, gas_density: 1.204, gas_viscosity: 1.82e-5 };
    /// assert!((syringe.outflow()?.impulse - 1.765_993_434e-4).abs() < 1e-12);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn outflow(&self) -> Result<Outflow, TheoryError> {
        let volume = positive("volume of gas", self.volume)?;
        let diameter = positive("diameter of the nozzle", self.nozzle)?;
        let density = positive("density of the gas", self.gas_density)?;
        let area = PI * diameter * diameter / 4.0;
        let speed = volume / positive("duration", self.duration)? / area;
        Ok(Outflow {
            speed,
            reynolds: density * speed * diameter / positive("viscosity of the gas", self.gas_viscosity)?,
            thrust: density * speed * speed * area,
            impulse: density * speed * volume,
            stagnation: density * speed * speed / 2.0,
            slenderness: volume / area / diameter,
        })
    }

    /// The jet at `distance` (m) from the nozzle \[HusseinCappGeorge1994\] (factors from memory).
    ///
    /// # Errors
    /// As [`Jet::outflow`].
    pub fn plume(&self, distance: f64) -> Result<Plume, TheoryError> {
        let outflow = self.outflow()?;
        let distance = positive("distance from the nozzle", distance)?;
        let speed = outflow.speed * (DECAY * self.nozzle / distance).min(1.0);
        let stagnation = self.gas_density * speed * speed / 2.0;
        Ok(Plume {
            speed,
            half_width: (SPREAD * distance).max(self.nozzle / 2.0),
            stagnation,
            pressure_width: (outflow.thrust / (PI * stagnation)).sqrt(),
        })
    }

    /// For what [`Jet::plume`] holds at `distance` (m): a jet turbulent enough, that has had time to arrive, slow against sound (of `sound`, m/s, in the gas).
    ///
    /// # Errors
    /// As [`Jet::outflow`].
    pub fn validity(&self, distance: f64, sound: f64) -> Result<Validity, TheoryError> {
        let outflow = self.outflow()?;
        // The front of the far field, x dx/dt = 5.8 U d at half the speed of the axis: t = x^2/(5.8 U d).
        let arrival =
            (distance * distance / (DECAY * outflow.speed * self.nozzle)).max(distance / outflow.speed);
        Ok(Validity::always()
            .with("Reynolds number of the jet", outflow.reynolds, 1e4, f64::INFINITY)
            .with(
                "length of the gas column over diameter",
                outflow.slenderness,
                4.0,
                f64::INFINITY,
            )
            .with("Mach number", outflow.speed / sound, 0.0, 0.3)
            .with("distance over diameter", distance / self.nozzle, 2.0, 100.0)
            .with(
                "duration over time of arrival",
                self.duration / arrival,
                1.0,
                f64::INFINITY,
            ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SYRINGE: Jet = Jet {
        volume: 6e-6,
        duration: 0.05,
        nozzle: 2.5e-3,
        gas_density: 1.204,
        gas_viscosity: 1.82e-5,
    };

    // 6 mL in 0.05 s from 2.5 mm: even flow and its momentum, recomputed independently.
    #[test]
    fn what_leaves_the_nozzle() {
        let out = SYRINGE.outflow().unwrap();
        for (found, known) in [
            (out.speed, 24.446_199_259),
            (out.thrust, 3.531_986_869e-3),
            (out.impulse, 1.765_993_434e-4),
            (out.stagnation, 359.765_228),
        ] {
            assert!((found / known - 1.0).abs() < 1e-9, "{found} {known}");
        }
        assert!((out.impulse - out.thrust * SYRINGE.duration).abs() < 1e-18);
        assert!(
            (out.reynolds - 4047.0).abs() < 6.0 && (out.slenderness - 489.0).abs() < 0.5,
            "{out:?}"
        );
    }

    // Hussein, Capp & George 1994 (factor 5.8 from memory): speed and stagnation pressure at 20, 50, 100 mm, recomputed from the formula.
    #[test]
    fn what_arrives() {
        for (x, speed, pressure) in [(0.02, 17.723, 189.1), (0.05, 7.089, 30.3), (0.1, 3.545, 7.56)] {
            let plume = SYRINGE.plume(x).unwrap();
            assert!((plume.speed - speed).abs() < 6e-4, "{plume:?}");
            assert!((plume.stagnation / pressure - 1.0).abs() < 2e-3, "{plume:?}");
            assert!((plume.half_width - 0.094 * x).abs() < 1e-15);
            // The bell carries the thrust: p_0 pi w^2.
            let force = plume.stagnation * PI * plume.pressure_width.powi(2);
            assert!((force / 3.531_986_869e-3 - 1.0).abs() < 1e-9);
        }
        let near = SYRINGE.plume(0.005).unwrap();
        assert!((near.speed - 24.446_199_259).abs() < 1e-8 && near.half_width == 1.25e-3);
    }

    #[test]
    fn its_range() {
        let hose = Jet {
            volume: 2e-4,
            duration: 0.1,
            nozzle: 0.010,
            ..SYRINGE
        };
        assert!(hose.validity(0.05, 343.0).unwrap().holds());
        assert_eq!(
            SYRINGE.validity(0.05, 343.0).unwrap().broken(),
            ["Reynolds number of the jet"]
        );
        let ring = Jet {
            volume: 2e-6,
            duration: 1e-3,
            gas_viscosity: 1e-7,
            ..hose
        };
        assert!(
            ring.validity(0.021, 343.0)
                .unwrap()
                .broken()
                .contains(&"length of the gas column over diameter")
        );
        let short = Jet {
            volume: 4e-6,
            duration: 2e-3,
            ..hose
        };
        assert_eq!(
            short.validity(0.08, 343.0).unwrap().broken(),
            ["duration over time of arrival"]
        );
        assert_eq!(hose.validity(0.05, 30.0).unwrap().broken(), ["Mach number"]);
        assert_eq!(
            hose.validity(0.015, 343.0).unwrap().broken(),
            ["distance over diameter"]
        );
        let none = Jet {
            volume: 0.0,
            ..SYRINGE
        };
        assert!(none.outflow().is_err() && SYRINGE.plume(-1.0).is_err());
    }
}
