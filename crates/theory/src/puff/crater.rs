//! The crater that a puff leaves: how deep, how wide, and when.
//!
//! ```text
//! depth(t) = -sum_(n >= 2) a_n(t)  at theta = 0;   greatest at t_c;   rim where the displacement at t_c first vanishes
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | a_n | amplitude of P_n after the blow | m |
//! | theta | angle from the axis of the puff | rad |
//! | t_c | time from the middle of the push to the greatest depth | s |
//!
//! Source: the modes of \[Rayleigh1879\] with the damping of \[Prosperetti1980\], summed. Depth is measured from the sphere about the middle of the drop, which itself moves off
//! (degree 1). To first order: for craters shallow against their width. Degrees are taken up to where the footprint has nothing left to give.

use crate::course::{Beginning, Course};
use crate::drop::FreeDrop;
use crate::error::TheoryError;
use crate::puff::blow::Blow;
use std::f64::consts::PI;
use tremolet_numerics::summit::golden;

/// Most degrees that are summed.
const MOST_DEGREES: u32 = 240;
/// Looks at the depth between the push and half a period of degree 2, before the closer look.
const LOOKS: u32 = 240;

/// A crater at its deepest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crater {
    /// Depth below the sphere, m.
    pub depth: f64,
    /// Angle from the axis to the rim, rad.
    pub half_angle: f64,
    /// Distance of the rim from the axis, m.
    pub half_width: f64,
    /// Time since the middle of the push, s.
    pub time: f64,
}

/// Degrees that matter for a footprint of this size: eight half waves across it, at least 12, at most 240.
///
/// # Errors
/// As [`Blow::starts`].
pub fn highest_degree(blow: &Blow, drop: &FreeDrop) -> Result<u32, TheoryError> {
    let width = blow.footprint.half_width(drop.radius)?;
    let degree = (8.0 * PI * drop.radius / (2.0 * width)).ceil();
    Ok((degree.min(f64::from(MOST_DEGREES)) as u32).max(12))
}

/// The motion after the blow, from the middle of the push on \[Prosperetti1980\].
///
/// # Errors
/// As [`Blow::starts`] and [`Course::new`].
pub fn course(blow: &Blow, drop: &FreeDrop, highest: u32) -> Result<Course, TheoryError> {
    let starts = blow.starts(drop, highest)?;
    let beginnings = starts.iter().map(|start| Beginning {
        amplitude: 0.0,
        speed: start.speed * start.pulse_factor,
    });
    Course::new(drop, &beginnings.collect::<Vec<_>>())
}

/// The crater at its deepest \[Rayleigh1879\], \[Prosperetti1980\]; for suction, the hill (of negative depth).
///
/// # Errors
/// As [`course`].
///
/// ```
/// use tremolet_theory::{drop::FreeDrop, puff::{blow::Blow, crater::crater, footprint::Footprint}};
/// let water = FreeDrop { radius: 0.02, tension: 0.07274, density: 998.2, viscosity: 1.0016e-3 };
/// let blow = Blow { footprint: Footprint::Cap { pressure: 10.0, half_angle: 30f64.to_radians() }, duration: 0.01 };
/// let found = crater(&blow, &water)?;
/// assert!(found.depth > 0.5e-3 && found.depth < 1.5e-3);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn crater(blow: &Blow, drop: &FreeDrop) -> Result<Crater, TheoryError> {
    let course = course(blow, drop, highest_degree(blow, drop)?)?;
    let end = PI / drop.angular_frequency(2)?;
    let depth = |t: f64| course.displacement(0.0, t).abs();
    let look = |k: u32| end * f64::from(k) / f64::from(LOOKS);
    let best = (1..LOOKS).fold((1, 0.0), |best, k| {
        let here = depth(look(k));
        if here > best.1 { (k, here) } else { best }
    });
    let time = golden(depth, look(best.0 - 1), look(best.0 + 1));
    let at = |theta: f64| course.displacement(theta, time);
    let half_angle = rim(at);
    Ok(Crater {
        depth: -at(0.0),
        half_angle,
        half_width: drop.radius * half_angle.sin(),
        time,
    })
}

/// First angle at which the displacement changes sign; pi if it does not.
fn rim(at: impl Fn(f64) -> f64) -> f64 {
    let sign = at(0.0) > 0.0;
    let step = PI / 720.0;
    let Some(k) = (1..720).find(|k| (at(step * f64::from(*k)) > 0.0) != sign) else {
        return PI;
    };
    let (mut inside, mut outside) = (step * f64::from(k - 1), step * f64::from(k));
    for _ in 0..40 {
        let middle = (inside + outside) / 2.0;
        if (at(middle) > 0.0) == sign {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    outside
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::puff::footprint::Footprint;

    fn water(viscosity: f64) -> FreeDrop {
        FreeDrop {
            radius: 0.020,
            tension: 0.07274,
            density: 998.2,
            viscosity,
        }
    }

    fn blow(footprint: Footprint) -> Blow {
        Blow {
            footprint,
            duration: 0.01,
        }
    }

    const BELL: Footprint = Footprint::Bell {
        pressure: 10.0,
        width: 0.006,
    };

    // The same sum over 160 modes without viscosity, coefficients by adaptive quadrature, greatest depth by a fine search: validation/theory/puff.py.
    #[test]
    fn a_crater_without_viscosity() {
        let found = crater(&blow(BELL), &water(0.0)).unwrap();
        let [depth, time, angle] = KNOWN;
        assert!((found.depth / depth - 1.0).abs() < 1e-5, "{found:?}");
        assert!((found.time / time - 1.0).abs() < 1e-4, "{found:?}");
        assert!((found.half_angle - angle).abs() < 1e-4, "{found:?}");
        assert!((found.half_width - 0.02 * angle.sin()).abs() < 1e-5);
    }

    const KNOWN: [f64; 3] = [0.385_678_666_1e-3, 0.027_933_552_24, 0.441_519_689];

    #[test]
    fn viscosity_makes_it_shallower_and_suction_a_hill() {
        let thin = crater(&blow(BELL), &water(0.0)).unwrap();
        let real = crater(&blow(BELL), &water(1.0016e-3)).unwrap();
        let oil = crater(&blow(BELL), &water(0.1)).unwrap();
        assert!(real.depth < thin.depth && real.depth > 0.9 * thin.depth && oil.depth < 0.9 * real.depth);
        let hill = crater(
            &blow(Footprint::Bell {
                pressure: -10.0,
                width: 0.006,
            }),
            &water(0.0),
        )
        .unwrap();
        assert!((hill.depth / thin.depth + 1.0).abs() < 1e-9);
        let narrow = Footprint::Bell {
            pressure: 10.0,
            width: 1e-4,
        };
        assert_eq!(highest_degree(&blow(narrow), &water(0.0)), Ok(240));
    }
}
