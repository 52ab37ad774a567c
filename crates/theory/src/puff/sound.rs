//! Sound in a liquid sphere: its bulk modes, and why a camera does not see them.
//!
//! ```text
//! p ~ j_l(k r) P_l cos(w t),   no pressure at the surface:  j_l(k R) = 0,   w = c k
//! lowest of all: l = 0, k R = pi, f = c/(2 R);   displacement of the surface per pressure in the middle: p/(pi rho c w) for l = 0
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | l | degree; 0 swells and shrinks as a whole | 1 |
//! | k R | root of j_l | 1 |
//! | c, rho | speed of sound and density of the liquid | m/s, kg/m^3 |
//! | R | radius | m |
//! | p | greatest pressure in the middle | Pa |
//!
//! The gas outside bears no pressure worth the name (its impedance is 1/3600 of water's), and tension gives a spring some 1e-9 of the liquid's own. A drop of 20 mm of water rings at
//! 37 kHz and moves by 1e-11 m for 10 Pa: above any capture rate and far below a pixel. Modes of the shape have a few hertz, ten thousand
//! times lower; that is why the liquid is taken as incompressible there.
//!
//! Sources: \[Rayleigh1894\] art. 331 (spherical enclosures, here with a free surface), \[DLMF\] 10.21 (roots). For a sphere of liquid without a
//! skin or bubbles: a bubble turns the lowest mode into its breathing ([`crate::shell::breathing`]). Not here: damping.

use crate::error::{TheoryError, degree_within, positive, required};
use std::f64::consts::PI;
use tremolet_numerics::bessel::ratio;
use tremolet_numerics::complex::Complex64;
use tremolet_numerics::root::bracketed;

/// The `order`-th positive root of j_l \[DLMF\], l = `degree` up to 20, order from 1 to 20; dimensionless.
///
/// # Errors
/// [`TheoryError::Degree`] outside the degrees, [`TheoryError::Quantity`] outside the orders, [`TheoryError::Root`] if the search fails (no case is known).
///
/// ```
/// let root = tremolet_theory::puff::sound::root(1, 1)?;
/// assert!((root - 4.493_409_457_909_064).abs() < 1e-12);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn root(degree: u32, order: u32) -> Result<f64, TheoryError> {
    degree_within(degree, 0, 20)?;
    required(
        "order",
        f64::from(order),
        (1..=20).contains(&order),
        "a whole number from 1 to 20",
    )?;
    if degree == 0 {
        return Ok(PI * f64::from(order));
    }
    // j_l over j_(l-1): between two of its poles it rises through zero at a root of j_l.
    let f = |x: f64| ratio(degree - 1, Complex64::from(x)).re;
    let step = 0.05;
    let (mut x, mut left) = (f64::from(degree), order);
    loop {
        if f(x) <= 0.0 && f(x + step) > 0.0 {
            left -= 1;
            if left == 0 {
                let what = "a bulk mode of a liquid sphere";
                let found = bracketed(f, x, x + step, 0.0);
                return found
                    .map(|found| found.root)
                    .map_err(|source| TheoryError::Root { what, source });
            }
        }
        x += step;
    }
}

/// Frequency of a bulk mode, Hz: `radius` m, speed of sound `speed` m/s \[Rayleigh1894\].
///
/// # Errors
/// As [`root`]; [`TheoryError::Quantity`] unless radius and speed are positive.
pub fn frequency(degree: u32, order: u32, radius: f64, speed: f64) -> Result<f64, TheoryError> {
    let k = root(degree, order)? / positive("radius", radius)?;
    Ok(k * positive("speed of sound", speed)? / (2.0 * PI))
}

/// What a camera would have to resolve to see the lowest bulk mode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unseen {
    /// Frequency of the mode, Hz.
    pub frequency: f64,
    /// Capture rate over twice the frequency; below 1 the swing is not sampled.
    pub sampled: f64,
    /// Displacement of the surface, m.
    pub displacement: f64,
    /// The same in pixels.
    pub displacement_px: f64,
}

/// The lowest bulk mode (l = 0) of a drop with the given `pressure` (Pa) in the middle, as a camera of `rate` (frames/s) and `scale` (m per pixel) would have
/// it \[Rayleigh1894\].
///
/// # Errors
/// [`TheoryError::Quantity`] unless all are positive (pressure may be zero).
pub fn unseen(
    radius: f64,
    density: f64,
    speed: f64,
    pressure: f64,
    rate: f64,
    scale: f64,
) -> Result<Unseen, TheoryError> {
    let frequency = frequency(0, 1, radius, speed)?;
    let stiffness = positive("density", density)? * speed * 2.0 * PI * frequency;
    let displacement = crate::error::not_negative("pressure", pressure)? / (PI * stiffness);
    Ok(Unseen {
        frequency,
        sampled: positive("capture rate", rate)? / (2.0 * frequency),
        displacement,
        displacement_px: displacement / positive("scale", scale)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    // Zeros of spherical Bessel functions, Abramowitz & Stegun table 10.6 (from memory), and validation/theory/puff.py.
    #[test]
    fn roots() {
        for (l, order, known) in [
            (0, 1, PI),
            (0, 3, 3.0 * PI),
            (1, 1, 4.493_409_457_909_064),
            (1, 2, 7.725_251_836_937_707),
            (2, 1, 5.763_459_196_894_55),
            (2, 3, 12.322_940_970_566_58),
            (3, 1, 6.987_932_000_500_52),
            (10, 1, 15.033_469_303_743_4),
            (20, 2, KNOWN_20_2),
        ] {
            let found = root(l, order).unwrap();
            assert!((found - known).abs() < 1e-10, "{l} {order}: {found}");
        }
        assert!(root(21, 1).is_err() && root(1, 0).is_err() && root(1, 21).is_err());
    }

    const KNOWN_20_2: f64 = 30.525_146_695_246_32;

    // 20 mm of water, 1482.34 m/s: c/(2R); displacement by hand, 10/(pi 998.2 1482.34 2 pi 37058.5).
    #[test]
    fn a_water_drop_rings_too_fast_and_too_little() {
        let seen = unseen(0.020, 998.2, 1482.34, 10.0, 1000.0, 5e-5).unwrap();
        assert!((seen.frequency - 37_058.5).abs() < 1e-6, "{seen:?}");
        assert!((seen.displacement / 9.239_1e-12 - 1.0).abs() < 1e-3, "{seen:?}");
        assert!((seen.sampled - 0.013_492).abs() < 1e-5 && seen.displacement_px < 1e-6);
        assert!(unseen(0.02, 998.2, 0.0, 10.0, 1e3, 5e-5).is_err());
        let second = frequency(2, 1, 0.02, 1482.34).unwrap();
        assert!((second / seen.frequency - 5.763_459_196_894_55 / PI).abs() < 1e-11);
    }

    // The displacement from the slope of the pressure at the surface, -p d/dr [sin(kr)/(kr)], over rho w^2.
    #[test]
    fn displacement_follows_from_the_slope_of_the_pressure() {
        let (radius, density, speed, pressure) = (0.013, 900.0, 1300.0, 7.0);
        let seen = unseen(radius, density, speed, pressure, 100.0, 1e-4).unwrap();
        let k = PI / radius;
        let p = |r: f64| pressure * (k * r).sin() / (k * r);
        let slope = (p(radius * (1.0 + 1e-5)) - p(radius * (1.0 - 1e-5))) / (2e-5 * radius);
        let w = 2.0 * PI * seen.frequency;
        assert!((slope.abs() / (density * w * w) / seen.displacement - 1.0).abs() < 1e-8);
    }
}
