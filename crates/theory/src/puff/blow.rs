//! What a short push of pressure on its surface gives to a drop: a speed to the whole and a start to each mode.
//!
//! ```text
//! da_n/dt(0+) = -n p_n T/(rho R)                   phi = -P/rho on the surface, P the impulse of pressure
//! a_n(t) = (da_n/dt)/w_n sin(w_n t) f_n,   f_n = sin(w_n T/2)/(w_n T/2)      n = 1: speed of the whole = -(impulse)/(mass)
//! energy_n = 2 pi rho R^3/[n (2n+1)] (da_n/dt)^2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | a_n | amplitude of P_n, outwards | m |
//! | p_n | coefficient of the pressure | Pa |
//! | T | duration of the push, even in time; t counts from its middle | s |
//! | w_n | frequency of the mode without viscosity | rad/s |
//! | f_n | pulse factor: what is left of the start when the push is not short against the period | 1 |
//! | rho, R | density and radius of the drop | kg/m^3, m |
//!
//! Source: impulsive motion \[Lamb1932\] art. 11, modes \[Rayleigh1879\]; the balance of n = 1 with the total impulse is a test. For small
//! displacements; viscosity plays no part during the push. Not here: the push of a moving or tilted footprint.

use crate::drop::FreeDrop;
use crate::error::{TheoryError, positive};
use crate::puff::footprint::Footprint;
use crate::validity::Validity;
use std::f64::consts::PI;

/// A push on one side of a drop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blow {
    /// Where and how strong.
    pub footprint: Footprint,
    /// How long, s.
    pub duration: f64,
}

/// What one mode gets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// Degree.
    pub degree: u32,
    /// Speed of the amplitude after a push without duration, m/s; negative inwards where the push was.
    pub speed: f64,
    /// Greatest amplitude of the free swing that follows, without viscosity, m; zero for degrees 0 and 1.
    pub amplitude: f64,
    /// Pulse factor by which the duration lessens the amplitude (contained in it).
    pub pulse_factor: f64,
}

impl Blow {
    /// What the modes 0 to `highest` get \[Rayleigh1879\]; index = degree.
    ///
    /// # Errors
    /// As [`Footprint::coefficients`] and [`FreeDrop::time`]; [`TheoryError::Quantity`] for a duration that is not positive.
    pub fn starts(&self, drop: &FreeDrop, highest: u32) -> Result<Vec<Start>, TheoryError> {
        let duration = positive("duration of the push", self.duration)?;
        let time = drop.time()?;
        let pressures = self.footprint.coefficients(drop.radius, highest)?;
        let start = |(n, pressure): (u32, &f64)| {
            let speed = -f64::from(n) * pressure * duration / (drop.density * drop.radius);
            let w = crate::modes::inviscid::drop_unit(n) / time;
            let pulse_factor = pulse(w * duration / 2.0);
            Start {
                degree: n,
                speed,
                amplitude: if n < 2 {
                    0.0
                } else {
                    speed.abs() / w * pulse_factor.abs()
                },
                pulse_factor,
            }
        };
        Ok((0..=highest).zip(&pressures).map(start).collect())
    }

    /// Speed given to the drop as a whole, m/s, away from the puff: impulse over mass \[Lamb1932\].
    ///
    /// # Errors
    /// As [`Blow::starts`].
    ///
    /// ```
    /// use tremolet_theory::{drop::FreeDrop, puff::{blow::Blow, footprint::Footprint}};
    /// let water = FreeDrop { radius: 0.02, tension: 0.07274, density: 998.2, viscosity: 1.0016e-3 };
    /// let blow = Blow { footprint: Footprint::Cap { pressure: 10.0, half_angle: 30f64.to_radians() }, duration: 0.01 };
    /// assert!((blow.speed_of_the_whole(&water)? - 0.939_190_542_977_4e-3).abs() < 1e-15);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn speed_of_the_whole(&self, drop: &FreeDrop) -> Result<f64, TheoryError> {
        Ok(-self.starts(drop, 1)?[1].speed)
    }

    /// Energy given to the modes 2 to `highest`, J \[Lamb1932\]; with the pulse factors, so what the free swings hold.
    ///
    /// # Errors
    /// As [`Blow::starts`].
    pub fn energy(&self, drop: &FreeDrop, highest: u32) -> Result<f64, TheoryError> {
        let starts = self.starts(drop, highest)?;
        let of = |start: &Start| {
            let n = f64::from(start.degree);
            let speed = start.speed * start.pulse_factor;
            2.0 * PI * drop.density * drop.radius.powi(3) / (n * (2.0 * n + 1.0)) * speed * speed
        };
        Ok(starts.iter().skip(2).map(of).sum())
    }

    /// For what the starts hold: a push short against the swing of the footprint's own size, whose crater stays shallow against the
    /// footprint. `depth` is the depth of the crater, m.
    ///
    /// # Errors
    /// As [`Blow::starts`].
    pub fn validity(&self, drop: &FreeDrop, depth: f64) -> Result<Validity, TheoryError> {
        let width = self.footprint.half_width(drop.radius)?;
        // Degree whose half wave is as wide as the footprint.
        let degree = (PI * drop.radius / (2.0 * width)).max(2.0);
        let w = (degree * (degree - 1.0) * (degree + 2.0)).sqrt() / drop.time()?;
        Ok(Validity::always()
            .with(
                "duration over period of the footprint",
                w * self.duration / (2.0 * PI),
                0.0,
                0.5,
            )
            .with(
                "depth of the crater over half width of the footprint",
                depth.abs() / width,
                0.0,
                0.3,
            )
            .with(
                "depth of the crater over radius",
                depth.abs() / drop.radius,
                0.0,
                0.2,
            ))
    }
}

/// sin(x)/x.
fn pulse(x: f64) -> f64 {
    if x == 0.0 { 1.0 } else { x.sin() / x }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WATER: FreeDrop = FreeDrop {
        radius: 0.020,
        tension: 0.07274,
        density: 998.2,
        viscosity: 1.0016e-3,
    };

    fn cap() -> Blow {
        Blow {
            footprint: Footprint::Cap {
                pressure: 10.0,
                half_angle: PI / 6.0,
            },
            duration: 0.01,
        }
    }

    // 10 Pa for 10 ms on a cap of 30 degrees of a water drop of 20 mm: speed mm/s, amplitude mm (without the pulse factor), pulse factor; recomputed independently.
    #[test]
    fn what_each_mode_gets() {
        let rows = [
            (2, -2.711_209_564, 0.317_603_458_0, 0.999_696_397_8),
            (3, -4.519_854_488, 0.273_420_424_9, 0.998_861_776_9),
            (4, -5.490_199_367, 0.214_382_334_1, 0.997_269_570_6),
            (5, -4.977_220_716, 0.139_376_646_3, 0.994_694_941_0),
            (6, -2.808_643_658, 0.060_070_071_6, 0.990_915_963_2),
        ];
        let starts = cap().starts(&WATER, 6).unwrap();
        for (n, speed, amplitude, factor) in rows {
            let start = starts[n];
            assert!((start.speed * 1e3 - speed).abs() < 1e-8, "{start:?}");
            assert!(
                (start.amplitude * 1e3 - amplitude * factor).abs() < 1e-9,
                "{start:?}"
            );
            assert!((start.pulse_factor - factor).abs() < 1e-9, "{start:?}");
        }
        assert_eq!((starts[0].speed, starts[0].amplitude), (0.0, 0.0));
    }

    // Force times duration over mass, by another way than the first mode: the pressure on the area across the axis.
    #[test]
    fn the_whole_gets_impulse_over_mass() {
        let impulse = 10.0 * PI * 0.01_f64.powi(2) * 0.01;
        let speed = cap().speed_of_the_whole(&WATER).unwrap();
        assert!((speed / (impulse / WATER.mass().unwrap()) - 1.0).abs() < 1e-12);
        assert!((speed * 1e3 - 0.939_190_542_977_4).abs() < 1e-12);
    }

    // Energy of a swing is that of its greatest amplitude at rest, 2 pi sigma a^2 (n-1)(n+2)/(2n+1) (Lamb 1932 art. 275).
    #[test]
    fn energy_is_that_of_the_amplitudes() {
        let starts = cap().starts(&WATER, 40).unwrap();
        let known: f64 = starts
            .iter()
            .map(|s| crate::modes::inviscid::energy(s.degree, WATER.tension, s.amplitude))
            .sum();
        let found = cap().energy(&WATER, 40).unwrap();
        assert!((found / known - 1.0).abs() < 1e-12, "{found} {known}");
    }

    #[test]
    fn its_range() {
        assert!(cap().validity(&WATER, 1e-3).unwrap().holds());
        let broken = |blow: Blow, depth| blow.validity(&WATER, depth).unwrap().broken();
        let wide = Blow {
            footprint: Footprint::Bell {
                pressure: 1.0,
                width: 0.019,
            },
            ..cap()
        };
        assert_eq!(
            broken(cap(), 3.5e-3),
            ["depth of the crater over half width of the footprint"]
        );
        assert_eq!(broken(wide, -5e-3), ["depth of the crater over radius"]);
        let long = Blow {
            duration: 1.0,
            ..cap()
        };
        assert_eq!(broken(long, 1e-3), ["duration over period of the footprint"]);
        let none = Blow {
            duration: 0.0,
            ..cap()
        };
        assert!(none.starts(&WATER, 3).is_err());
    }
}
