//! The shape of a free drop against time: its modes, each from its own start, laid over each other.
//!
//! ```text
//! r(theta, t) = R + sum_(n >= 2) a_n(t) P_n(cos theta)
//! n <= 12  exact viscous answer, in vacuum or in a gas        n > 12  a'' + 2 g a' + w_n^2 a = 0
//! g = (n-1)(2n+1) nu/R^2 + (2n+1)^2/(2n+2) sqrt(w_n rho_o mu_o/2)/(rho R)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | a_n | amplitude of P_n | m |
//! | R, rho, nu | radius of the drop, density, kinematic viscosity | m, kg/m^3, m^2/s |
//! | rho_o, mu_o | density and dynamic viscosity of the gas | kg/m^3, Pa s |
//! | w_n, g | frequency without viscosity, decay of the irrotational swing and of the gas's shear layer | rad/s, 1/s |
//! | t | time since the start | s |
//!
//! Sources: \[Prosperetti1980\] (exact answer, [`crate::modes::response`]), \[Lamb1932\] art. 355 (irrotational decay, right for the first instants and for
//! thin liquids; also used for all degrees below an Ohnesorge number of 1e-5). To first order in the amplitudes, middle of mass at rest. The decay by the gas beyond degree 12 is derived here from the shear that the swing
//! leaves in it; cabin air adds a tenth and more to the decay of water drops. Not here: large swings ([`crate::modes::amplitude`]).

use crate::drop::FreeDrop;
use crate::error::{TheoryError, not_negative, required};
use crate::modes::host::Pair;
use crate::modes::inviscid::two_fluids;
use crate::modes::response::Response;
use crate::modes::viscous::{HIGHEST_DEGREE, irrotational_decay};
use crate::validity::Validity;
use tremolet_numerics::legendre::series;

/// Least Ohnesorge number of the exact answer.
const THINNEST: f64 = 1e-5;

/// What surrounds a drop.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Around {
    /// Density, kg/m^3; zero for vacuum.
    pub density: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity: f64,
}

/// How one mode starts.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Beginning {
    /// Amplitude, m.
    pub amplitude: f64,
    /// Its speed, m/s.
    pub speed: f64,
}

/// One mode against time.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Motion {
    Still,
    Exact {
        response: Response,
        unit: f64,
    },
    Quadratic {
        start: Beginning,
        swing: f64,
        decay: f64,
    },
}

/// The modes of a drop against time.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    radius: f64,
    modes: Vec<Motion>,
}

impl Course {
    /// The course of `drop` in vacuum whose modes begin as given, index = degree; degrees 0 and 1 are left out \[Prosperetti1980\].
    ///
    /// # Errors
    /// As [`FreeDrop::time`]; [`TheoryError::Quantity`] for a start that is not a number; [`TheoryError::Mode`] if a mode is not found (no case is known).
    ///
    /// ```
    /// use tremolet_theory::{course::{Beginning, Course}, drop::FreeDrop};
    /// let unit = FreeDrop { radius: 1.0, tension: 1.0, density: 1.0, viscosity: 0.1 };
    /// let course = Course::new(&unit, &[Beginning::default(), Beginning::default(), Beginning { amplitude: 0.1, speed: 0.0 }])?;
    /// assert!((course.amplitude(2, 1.0) + 0.059_301_507_88).abs() < 1e-9);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn new(drop: &FreeDrop, beginnings: &[Beginning]) -> Result<Course, TheoryError> {
        Course::within(drop, &Around::default(), beginnings)
    }

    /// The same in a gas, or any host, at rest \[Prosperetti1980\].
    ///
    /// # Errors
    /// As [`Course::new`]; [`TheoryError::Quantity`] for a density or viscosity below zero.
    pub fn within(drop: &FreeDrop, around: &Around, beginnings: &[Beginning]) -> Result<Course, TheoryError> {
        not_negative("density of the gas", around.density)?;
        not_negative("viscosity of the gas", around.viscosity)?;
        drop.time()?;
        let modes = (0_u32..).zip(beginnings);
        let modes = modes.map(|(n, start)| motion(n, drop, around, *start));
        Ok(Course {
            radius: drop.radius,
            modes: modes.collect::<Result<_, TheoryError>>()?,
        })
    }

    /// Amplitude of a degree at `time` (s), m; zero for degrees that were not started \[Prosperetti1980\].
    #[must_use]
    pub fn amplitude(&self, degree: u32, time: f64) -> f64 {
        match self.modes.get(degree as usize) {
            None | Some(Motion::Still) => 0.0,
            Some(Motion::Exact { response, unit }) => response.at(time / unit),
            Some(Motion::Quadratic { start, swing, decay }) => damped(*start, *swing, *decay, time),
        }
    }

    /// All amplitudes at `time` (s), m; index = degree \[Prosperetti1980\].
    #[must_use]
    pub fn amplitudes(&self, time: f64) -> Vec<f64> {
        (0..self.modes.len() as u32)
            .map(|n| self.amplitude(n, time))
            .collect()
    }

    /// Displacement of the surface outwards, m, at the angle `theta` (rad) from the axis and `time` (s) \[Prosperetti1980\].
    #[must_use]
    pub fn displacement(&self, theta: f64, time: f64) -> f64 {
        series(&self.amplitudes(time), theta.cos())
    }

    /// Radius of the drop at rest, m.
    #[must_use]
    pub fn radius(&self) -> f64 {
        self.radius
    }

    /// Greatest size that the sum of all amplitudes has at `time` (s), over the radius: the measure of how small the swing is \[Prosperetti1980\].
    #[must_use]
    pub fn size(&self, time: f64) -> f64 {
        self.amplitudes(time).iter().map(|a| a.abs()).sum::<f64>() / self.radius
    }

    /// For what the course holds at `time` (s): small swings.
    #[must_use]
    pub fn validity(&self, time: f64) -> Validity {
        Validity::always().with("sum of the amplitudes over radius", self.size(time), 0.0, 0.1)
    }
}

/// The motion of one mode from its start.
fn motion(n: u32, drop: &FreeDrop, around: &Around, start: Beginning) -> Result<Motion, TheoryError> {
    required("amplitude at the start", start.amplitude, true, "a number")?;
    required("speed at the start", start.speed, true, "a number")?;
    if n < 2 || start == Beginning::default() {
        return Ok(Motion::Still);
    }
    if n <= HIGHEST_DEGREE && drop.ohnesorge()? >= THINNEST {
        let pair = Pair {
            radius: drop.radius,
            tension: drop.tension,
            density: drop.density,
            viscosity: drop.viscosity,
            host_density: around.density,
            host_viscosity: around.viscosity,
        };
        let time = (drop.density + around.density) * drop.radius.powi(3) / drop.tension;
        let speed = start.speed * time.sqrt();
        let (response, unit) = Response::in_host(n, &pair, start.amplitude, speed)?;
        return Ok(Motion::Exact { response, unit });
    }
    let swing = two_fluids(n, drop.density, around.density, drop.radius, drop.tension)?;
    let m = f64::from(n);
    let irrotational = irrotational_decay(n, drop.viscosity / (drop.density * drop.radius * drop.radius));
    let layer = (swing * around.density * around.viscosity / 2.0).sqrt() / (drop.density * drop.radius);
    Ok(Motion::Quadratic {
        start,
        swing,
        decay: irrotational + (2.0 * m + 1.0).powi(2) / (2.0 * m + 2.0) * layer,
    })
}

/// a'' + 2 g a' + w^2 a = 0 from its start.
fn damped(start: Beginning, swing: f64, decay: f64, time: f64) -> f64 {
    let Beginning { amplitude, speed } = start;
    let t = time.max(0.0);
    let push = speed + decay * amplitude;
    let under = swing * swing - decay * decay;
    let rate = under.abs().sqrt();
    if under > 0.0 {
        return (-decay * t).exp() * (amplitude * (rate * t).cos() + push / rate * (rate * t).sin());
    }
    if rate * t < 1e-6 {
        return (-decay * t).exp() * (amplitude + push * t);
    }
    // Two exponentials: rates decay -+ rate, the slower one as w^2/(decay + rate).
    let (slow, fast) = (swing * swing / (decay + rate), decay + rate);
    let (half, lean) = (amplitude / 2.0, push / (2.0 * rate));
    (half + lean) * (-slow * t).exp() + (half - lean) * (-fast * t).exp()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(viscosity: f64) -> FreeDrop {
        FreeDrop {
            radius: 1.0,
            tension: 1.0,
            density: 1.0,
            viscosity,
        }
    }

    fn only(degree: usize, amplitude: f64, speed: f64) -> Vec<Beginning> {
        let mut all = vec![Beginning::default(); degree + 1];
        all[degree] = Beginning { amplitude, speed };
        all
    }

    // Prosperetti 1980: degree 2 let go at Oh 0.1, recomputed independently by inversion and by collocation; in metres and seconds.
    #[test]
    fn modes_are_laid_over_each_other() {
        let drop = FreeDrop {
            radius: 0.01,
            tension: 0.05,
            density: 900.0,
            viscosity: 0.1 * (900.0_f64 * 0.05 * 0.01).sqrt(),
        };
        let t0 = drop.time().unwrap();
        let mut starts = only(20, 1e-4, 0.0);
        starts[2].amplitude = 1e-3;
        starts[0].amplitude = 5.0;
        let course = Course::new(&drop, &starts).unwrap();
        for (t, a) in [
            (0.25, 0.777_296_609_5),
            (1.0, -0.593_015_078_8),
            (3.0, -0.080_818_181_9),
        ] {
            assert!((course.amplitude(2, t * t0) / 1e-3 - a).abs() < 1e-8, "{t}");
        }
        let theta = 0.7_f64;
        let sum = series(&course.amplitudes(0.1 * t0), theta.cos());
        assert!(
            (course.displacement(theta, 0.1 * t0) - sum).abs() < 1e-18 && course.amplitude(0, 0.0) == 0.0
        );
        assert!((course.size(0.0) - 0.11).abs() < 1e-9 && !course.validity(0.0).holds());
        assert!(course.validity(5.0 * t0).holds() && course.radius() == 0.01);
    }

    // Rayleigh 1879 without viscosity; the damped quadratic against its own equation by differences, under, at and over its limit.
    #[test]
    fn high_degrees_swing_as_a_damped_mass() {
        let still = Course::new(&unit(0.0), &only(15, 0.1, 2.0)).unwrap();
        let w = (15.0_f64 * 14.0 * 17.0).sqrt();
        let at = 0.1 * (w * 0.3).cos() + 2.0 / w * (w * 0.3).sin();
        assert!((still.amplitude(15, 0.3) - at).abs() < 1e-13);
        for decay in [0.5, 3.0, 3.0 + 1e-13, 9.0] {
            let start = Beginning {
                amplitude: 0.7,
                speed: -0.4,
            };
            let a = |t: f64| damped(start, 3.0, decay, t);
            assert!((a(0.0) - 0.7).abs() < 1e-12);
            let h = 1e-4;
            assert!(
                ((a(h) - a(0.0)) / h + 0.4 + h * (decay * -0.4 + 4.5 * 0.7)).abs() < 1e-6,
                "{decay}"
            );
            for t in [0.3, 1.0] {
                let (first, second) = (
                    (a(t + h) - a(t - h)) / (2.0 * h),
                    (a(t + h) - 2.0 * a(t) + a(t - h)) / (h * h),
                );
                assert!(
                    (second + 2.0 * decay * first + 9.0 * a(t)).abs() < 1e-5,
                    "{decay} {t}"
                );
            }
        }
    }

    // Exact roots with cabin air (Miller & Scriven 1968): 10 mm of water decays at 0.056 153 352 67 instead of 0.049 299 816 1/s, recomputed independently from
    // a 4x4 determinant; beyond degree 12 the layer's share meets the exact one of degree 12 to its own next order.
    #[test]
    fn air_adds_to_the_decay() {
        let water = FreeDrop {
            radius: 0.010,
            tension: 0.07274,
            density: 998.2,
            viscosity: 1.0016e-3,
        };
        let air = Around {
            density: 1.204,
            viscosity: 1.82e-5,
        };
        let course = Course::within(&water, &air, &only(2, 1e-3, 0.0)).unwrap();
        let w = 3.839_998_394 * std::f64::consts::TAU;
        let (early, late) = (std::f64::consts::TAU * 10.0 / w, std::f64::consts::TAU * 60.0 / w);
        let decay = (course.amplitude(2, early) / course.amplitude(2, late)).ln() / (late - early);
        assert!((decay / 0.056_153_352_67 - 1.0).abs() < 2e-5, "{decay}");
        let decay_of = |n: u32, around: &Around| match motion(n, &water, around, only(2, 1.0, 0.0)[2]) {
            Ok(Motion::Quadratic { decay, .. }) => decay,
            other => unreachable!("{other:?}"),
        };
        let none = Around::default();
        // Lamb 1932 art. 355: (n-1)(2n+1) nu/R^2.
        let alone = 12.0 * 27.0 * (1.0016e-3 / 998.2) / 1e-4;
        assert!((decay_of(13, &none) / alone - 1.0).abs() < 1e-12);
        let extra = decay_of(13, &air) - decay_of(13, &none);
        let exact = |pair: &Pair| crate::modes::host::root(12, pair).unwrap().decay;
        let pair = Pair {
            radius: 0.010,
            tension: 0.07274,
            density: 998.2,
            viscosity: 1.0016e-3,
            host_density: 1.204,
            host_viscosity: 1.82e-5,
        };
        let vacuum = Pair {
            host_density: 0.0,
            ..pair
        };
        let ratio = extra / (exact(&pair) - exact(&vacuum));
        // From 12 to 13 the layer's term grows by (27/25)^2 (26/28) (w_13/w_12)^(1/2) = 1.15.
        // The next order is the depth of the layer over a wave, a third here.
        assert!((ratio / 1.15 - 1.0).abs() < 0.25, "{ratio}");
        let bad = Around { density: -1.0, ..air };
        assert!(Course::within(&water, &bad, &only(2, 1e-3, 0.0)).is_err());
    }

    #[test]
    fn starts_are_checked() {
        assert!(Course::new(&unit(0.1), &only(3, f64::NAN, 0.0)).is_err());
        assert!(Course::new(&unit(-0.1), &only(3, 0.1, 0.0)).is_err());
        assert_eq!(
            Course::new(&unit(0.1), &only(3, 0.1, 0.0))
                .unwrap()
                .amplitude(9, 1.0),
            0.0
        );
    }
}
