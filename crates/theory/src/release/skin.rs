//! How fast a stretched rubber skin runs off a drop, and whether that counts as an instant.
//!
//! ```text
//! front speed over the body  v = integral_1^L sqrt[(G/rho_s)(1 + 2/l^3)] dl;   small stretch: bar speed sqrt(3 G/rho_s)
//! removal time pi R/v, against the period 2 pi/w_2;   layer of liquid that it drags: sqrt(nu t)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | L | stretch of the skin, length over unstretched length | 1 |
//! | G, rho_s | shear modulus and density of the rubber | Pa, kg/m^3 |
//! | v | speed of the free edge while a simple unloading wave runs ahead of it | m/s |
//! | R | radius of the drop; the edges meet at the far side after half the circumference | m |
//! | nu, t | kinematic viscosity of the liquid, time of contact with the moving skin | m^2/s, s |
//!
//! Sources: neo-Hookean rubber \[Treloar1975\], stress G (l - 1/l^2) on the unstretched section; unloading as a simple wave
//! \[Vermorel2007\] (abstract; the integral is derived here). For a strip that unloads along its length, without drag of the liquid, which slows it: an upper
//! bound of the speed. A skin stretched alike in both directions is stiffer across; real balloons crack. G is 0.3 to 0.5 MPa for latex (from memory). Stretch up to
//! some 4: beyond, rubber stiffens. Measured speeds on water-filled balloons were not found.

use crate::drop::FreeDrop;
use crate::error::{TheoryError, not_negative, positive, required};
use crate::validity::Validity;
use std::f64::consts::PI;
use tremolet_numerics::quadrature::gauss_legendre;

/// Speed of the free edge of a skin stretched by `stretch`, m/s; `modulus` Pa, `density` kg/m^3 \[Treloar1975\], \[Vermorel2007\].
///
/// # Errors
/// [`TheoryError::Quantity`] for a stretch below 1, or a modulus or density that is not positive.
///
/// ```
/// let speed = tremolet_theory::release::skin::edge_speed(3.0, 0.4e6, 940.0)?;
/// assert!((speed - 49.080_604).abs() < 1e-6);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn edge_speed(stretch: f64, modulus: f64, density: f64) -> Result<f64, TheoryError> {
    required("stretch", stretch, stretch >= 1.0, "a number from 1 up")?;
    let wave = (positive("shear modulus", modulus)? / positive("density of the skin", density)?).sqrt();
    let slope = |l: f64| (1.0 + 2.0 / l.powi(3)).sqrt();
    Ok(wave * gauss_legendre(40).integral(1.0, stretch, slope))
}

/// Speed of small waves along an unstretched strip, sqrt(3 G/rho_s), m/s \[Treloar1975\].
///
/// # Errors
/// As [`edge_speed`].
pub fn bar_speed(modulus: f64, density: f64) -> Result<f64, TheoryError> {
    Ok((3.0 * positive("shear modulus", modulus)? / positive("density of the skin", density)?).sqrt())
}

/// A support that runs off a drop from one side to the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Removal {
    /// Time from the first tear until the edges meet, s.
    pub time: f64,
    /// The same over the period of the slowest mode.
    pub share_of_period: f64,
    /// Depth of the liquid that the moving skin drags along, m.
    pub dragged: f64,
}

/// Removal of a support whose edge runs at `speed` (m/s) over `drop` \[Vermorel2007\].
///
/// # Errors
/// As [`FreeDrop::time`]; [`TheoryError::Quantity`] for a speed that is not positive.
pub fn removal(drop: &FreeDrop, speed: f64) -> Result<Removal, TheoryError> {
    let period = 2.0 * PI / drop.angular_frequency(2)?;
    let time = PI * drop.radius / positive("speed of the edge", speed)?;
    Ok(Removal {
        time,
        share_of_period: time / period,
        dragged: (drop.viscosity / drop.density * time).sqrt(),
    })
}

/// Angle, rad, from the tear to the edge a `time` (s) after it; pi once the edges have met \[Vermorel2007\].
///
/// # Errors
/// As [`removal`]; [`TheoryError::Quantity`] for a time before the tear.
pub fn edge_angle(drop: &FreeDrop, speed: f64, time: f64) -> Result<f64, TheoryError> {
    removal(drop, speed)?;
    Ok((speed * not_negative("time since the tear", time)? / drop.radius).min(PI))
}

/// For what the drop may be taken as let go at one instant: a removal short against the period of `degree`, the highest that matters.
///
/// # Errors
/// As [`removal`].
pub fn validity(drop: &FreeDrop, speed: f64, degree: u32) -> Result<Validity, TheoryError> {
    let turn = drop.angular_frequency(degree.max(2))? / (2.0 * PI) * removal(drop, speed)?.time;
    Ok(Validity::always().with("removal time over period of the highest mode", turn, 0.0, 0.1))
}

/// For what [`edge_speed`] holds.
#[must_use]
pub fn edge_validity(stretch: f64) -> Validity {
    Validity::always().with("stretch", stretch, 1.0, 4.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Neo-Hookean strip, G 0.4 MPa, 940 kg/m^3: the integral by adaptive quadrature, recomputed independently.
    #[test]
    fn edges_of_latex() {
        for (stretch, speed) in [
            (1.0, 0.0),
            (2.0, 27.071_282),
            (3.0, 49.080_604),
            (4.0, 70.204_110),
            (5.0, 91.063_267),
        ] {
            let found = edge_speed(stretch, 0.4e6, 940.0).unwrap();
            assert!((found - speed).abs() < 1e-6, "{stretch}: {found}");
        }
        let bar = bar_speed(0.4e6, 940.0).unwrap();
        assert!((bar - 35.729_480).abs() < 1e-6);
        // A small stretch e unloads at e times the bar speed.
        assert!((edge_speed(1.0 + 1e-6, 0.4e6, 940.0).unwrap() / (1e-6 * bar) - 1.0).abs() < 1e-5);
        assert!(edge_speed(0.9, 0.4e6, 940.0).is_err() && bar_speed(0.0, 940.0).is_err());
        assert!(edge_validity(3.0).holds() && !edge_validity(5.0).holds());
    }

    fn water(radius: f64) -> FreeDrop {
        FreeDrop {
            radius,
            tension: 0.07274,
            density: 998.2,
            viscosity: 1.0016e-3,
        }
    }

    // pi R/c and its share of the period of water, 1.352 194 s at 30 mm; recomputed independently.
    #[test]
    fn removal_is_an_instant() {
        for (radius, speed, milliseconds, share) in [
            (0.03, 20.0, 4.712_389, 3.48e-3),
            (0.03, 50.0, 1.884_956, 1.39e-3),
            (0.03, 100.0, 0.942_478, 6.97e-4),
            (0.03, 150.0, 0.628_319, 4.65e-4),
            (0.02, 50.0, 1.256_637, 1.71e-3),
            (0.05, 50.0, PI, 1.08e-3),
        ] {
            let found = removal(&water(radius), speed).unwrap();
            assert!((found.time * 1e3 - milliseconds).abs() < 1e-6, "{found:?}");
            assert!((found.share_of_period / share - 1.0).abs() < 4e-3, "{found:?}");
        }
        // 3 ms: 0.0548 mm.
        let slow = removal(&water(0.03), PI * 0.03 / 3e-3).unwrap();
        assert!((slow.dragged - 0.0549e-3).abs() < 0.0002e-3, "{slow:?}");
        assert!(
            validity(&water(0.03), 50.0, 10).unwrap().holds()
                && !validity(&water(0.03), 0.5, 2).unwrap().holds()
        );
        // 47 ms: a twenty-ninth of the period of degree 2, but three of degree 40.
        assert!(
            validity(&water(0.03), 2.0, 2).unwrap().holds()
                && !validity(&water(0.03), 2.0, 40).unwrap().holds()
        );
        assert!((edge_angle(&water(0.03), 50.0, 0.3e-3).unwrap() - 0.5).abs() < 1e-12);
        assert_eq!(edge_angle(&water(0.03), 50.0, 1.0), Ok(PI));
        assert!(removal(&water(0.03), 0.0).is_err() && edge_angle(&water(0.03), 50.0, -1.0).is_err());
    }
}
