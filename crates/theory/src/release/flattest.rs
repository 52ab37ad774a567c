//! When a released drop is flattest and longest, and how much.
//!
//! ```text
//! aspect(t) = [r(0, t) + r(pi, t)]/[2 r(pi/2, t)];   flattest: least, longest: greatest, over one period of degree 2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | r(theta, t) | radius of the drop at the angle theta from its axis | m |
//! | aspect | length along the axis over diameter across | 1 |
//!
//! Source: the modes of \[Rayleigh1879\] laid over each other ([`crate::course`]). To first order; a strongly deformed drop overshoots otherwise: long phases last longer and
//! flat ones are less flat than a cosine \[TsamopoulosBrown1983\].

use crate::course::Course;
use crate::drop::FreeDrop;
use crate::error::{TheoryError, required};
use std::f64::consts::PI;
use tremolet_numerics::summit::golden;

/// Looks in the time that is searched.
const LOOKS: u32 = 200;

/// Shape at an instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Instant {
    /// Time since the release, s.
    pub time: f64,
    /// Length along the axis over diameter across.
    pub aspect: f64,
}

/// The instants of the first swing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FirstSwing {
    /// Where the aspect is least.
    pub flattest: Instant,
    /// Where it is greatest.
    pub longest: Instant,
}

/// Length over diameter at `time` (s) \[Rayleigh1879\].
#[must_use]
pub fn aspect(course: &Course, time: f64) -> f64 {
    let radius = |theta: f64| course.radius() + course.displacement(theta, time);
    (radius(0.0) + radius(PI)) / (2.0 * radius(PI / 2.0))
}

/// Flattest and longest instant within the first period of degree 2 \[Rayleigh1879\]; the release itself counts.
///
/// # Errors
/// As [`FreeDrop::time`]; [`TheoryError::Quantity`] when the first-order drop would close at its middle or its poles, where the sum says nothing.
///
/// ```
/// use tremolet_theory::{course::Course, drop::FreeDrop, release::{flattest::first_swing, start::StartShape}};
/// let thin = FreeDrop { radius: 0.02, tension: 0.07274, density: 998.2, viscosity: 0.0 };
/// let start = StartShape::Series(vec![0.02, 0.0, 0.001]).modes(4)?;
/// let swing = first_swing(&thin, &Course::new(&FreeDrop { radius: start.radius, ..thin }, &start.beginnings())?)?;
/// assert!((swing.flattest.aspect - 0.95 / 1.025).abs() < 1e-3 && swing.longest.time == 0.0);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn first_swing(drop: &FreeDrop, course: &Course) -> Result<FirstSwing, TheoryError> {
    let end = 2.0 * PI / drop.angular_frequency(2)?;
    let look = |k: u32| end * f64::from(k) / f64::from(LOOKS);
    let values: Vec<f64> = (0..=LOOKS).map(|k| aspect(course, look(k))).collect();
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    required(
        "least aspect to first order",
        least,
        least > 0.0,
        "a positive number; the drop swings too far for linear theory",
    )?;
    let extreme = |sign: f64| {
        // The first of equals: a swing of two modes may come back to the same.
        let k = (0..=LOOKS).fold(0, |best, k| {
            let better = sign * (values[k as usize] - values[best as usize]) > 1e-12;
            if better { k } else { best }
        });
        let time = if k == 0 || k == LOOKS {
            look(k)
        } else {
            golden(|t| sign * aspect(course, t), look(k - 1), look(k + 1))
        };
        Instant {
            time,
            aspect: aspect(course, time),
        }
    };
    Ok(FirstSwing {
        flattest: extreme(-1.0),
        longest: extreme(1.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::course::Beginning;

    fn unit(viscosity: f64) -> FreeDrop {
        FreeDrop {
            radius: 1.0,
            tension: 1.0,
            density: 1.0,
            viscosity,
        }
    }

    fn released(viscosity: f64, amplitudes: &[f64]) -> FirstSwing {
        let starts: Vec<Beginning> = amplitudes
            .iter()
            .map(|a| Beginning {
                amplitude: *a,
                speed: 0.0,
            })
            .collect();
        let drop = unit(viscosity);
        first_swing(&drop, &Course::new(&drop, &starts).unwrap()).unwrap()
    }

    // One mode without viscosity: (1 - a)/(1 + a/2) after half a period, by hand.
    #[test]
    fn one_mode_overshoots_as_far_as_it_began() {
        let swing = released(0.0, &[0.0, 0.0, 0.1]);
        assert!((swing.flattest.aspect - 0.9 / 1.05).abs() < 1e-9);
        assert!((swing.flattest.time - PI / 8f64.sqrt()).abs() < 1e-5);
        assert!((swing.longest.aspect - 1.1 / 0.95).abs() < 1e-12 && swing.longest.time == 0.0);
    }

    // Degrees 2 and 4 together: P_4(1) = 1, P_4(0) = 3/8; a fine search of the closed sum of two cosines, validation/theory/release.py.
    #[test]
    fn two_modes_and_viscosity() {
        let swing = released(0.0, &[0.0, 0.0, -0.08, 0.0, 0.05]);
        let [longest_time, longest, flattest_time, flattest] = KNOWN;
        assert!(
            (swing.longest.aspect - longest).abs() < 1e-8 && (swing.longest.time - longest_time).abs() < 1e-5,
            "{swing:?}"
        );
        assert!(
            (swing.flattest.aspect - flattest).abs() < 1e-8
                && (swing.flattest.time - flattest_time).abs() < 1e-5,
            "{swing:?}"
        );
        let damped = released(0.1, &[0.0, 0.0, 0.1]);
        assert!(damped.flattest.aspect > 0.9 / 1.05 && damped.flattest.aspect < 1.0);
    }

    const KNOWN: [f64; 4] = [0.870_496_189, 1.109_926_302_2, 0.263_401_347, 0.894_410_235_2];

    #[test]
    fn too_far_is_refused() {
        let drop = unit(0.0);
        let far = [
            Beginning::default(),
            Beginning::default(),
            Beginning {
                amplitude: 1.2,
                speed: 0.0,
            },
        ];
        assert!(first_swing(&drop, &Course::new(&drop, &far).unwrap()).is_err());
    }
}
