//! How long the swirl inside a free drop lasts after it was filled or stirred.
//!
//! ```text
//! u(r) ~ j_l(x r / R),   no stress at the surface:  r u' = u,  that is  x j_(l+1)(x) = (l - 1) j_l(x)
//! tau = R^2 / (x^2 nu)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `u` | speed around the axis at the distance `r` from the centre | m/s |
//! | `l` | degree of the swirl: 1 turns about one axis, 2 turns the two halves against each other | 1 |
//! | `x` | first root above zero | 1 |
//! | `R`, `nu` | radius of the drop, kinematic viscosity | m, m^2/s |
//! | `tau` | time in which the swirl falls to 1/e | s |
//!
//! For degree 1 the root is that of swirl that turns in shells; turning as a whole (x = 0) meets no stress and stays. Degree
//! 2 is the slowest that does not stay.
//!
//! Source: torsional decay modes of a sphere \[Chandrasekhar1961\] (the method, from memory), Bessel functions \[DLMF\] 10.51; the
//! condition of no stress is derived here. For a sphere at rest in vacuum or gas, and swirl too weak to deform it.

use tremolet_numerics::bessel::ratio;
use tremolet_numerics::complex::Complex64;
use tremolet_numerics::root::bracketed;

use crate::modes::error::ModeError;

/// First root `x` above zero of `x j_(l+1)(x) = (l - 1) j_l(x)` for the degrees 1 to 12; dimensionless.
///
/// # Errors
/// [`ModeError::Degree`] outside that range, [`ModeError::Root`] if the search fails.
pub fn root(degree: u32) -> Result<f64, ModeError> {
    let (lowest, highest) = (1, 12);
    if !(lowest..=highest).contains(&degree) {
        return Err(ModeError::Degree {
            degree,
            lowest,
            highest,
        });
    }
    let stress = |x: f64| x * ratio(degree, Complex64::new(x, 0.0)).re - f64::from(degree - 1);
    // The ratio rises from zero to its pole, the first zero of j_l, beyond which it starts from below; for degree 1 the root is the first zero of
    // j_2, past that pole. The step is far below the distance between the two.
    let (step, most) = (0.05, 40.0);
    let mut from = step;
    while from < most {
        let (low, high) = (stress(from), stress(from + step));
        if low <= 0.0 && high > 0.0 {
            let found = bracketed(stress, from, from + step, 1e-14);
            return found
                .map(|found| found.root)
                .map_err(|source| ModeError::Root { degree, source });
        }
        from += step;
    }
    let source = tremolet_numerics::root::RootError::NoBracket { from: step, to: most };
    Err(ModeError::Root { degree, source })
}

/// Time in which swirl of `degree` (1 to 12) in a drop of `radius` (m) and `viscosity` (kinematic, m^2/s) falls to 1/e; s.
///
/// # Errors
/// As [`root`]; [`ModeError::Quantity`] for a radius or viscosity that is not positive.
///
/// ```
/// // Water at 20 C, 24 mm across: swirl needs 23 s to fall to 1/e.
/// let tau = tremolet_theory::swirl::decay_time(2, 0.012, 1.0034e-6)?;
/// assert!((tau - 23.0).abs() < 0.5);
/// # Ok::<(), tremolet_theory::modes::error::ModeError>(())
/// ```
pub fn decay_time(degree: u32, radius: f64, viscosity: f64) -> Result<f64, ModeError> {
    for (name, value) in [("radius", radius), ("kinematic viscosity", viscosity)] {
        if !(value.is_finite() && value > 0.0) {
            return Err(ModeError::Quantity {
                name,
                value,
                expected: "a positive number",
            });
        }
    }
    let x = root(degree)?;
    Ok(radius * radius / (x * x * viscosity))
}

#[cfg(test)]
mod tests {
    use super::*;

    // x j_3(x) = j_2(x): 2.501, tau = R^2/(6.26 nu); 23 s at 12 mm and 144 s at 30 mm of water; recomputed independently.
    #[test]
    fn the_slowest_swirl_of_a_water_drop() {
        let x = root(2).unwrap();
        assert!((x - 2.501).abs() < 5e-4 && (x * x - 6.26).abs() < 5e-3, "{x}");
        let (small, large) = (
            decay_time(2, 0.012, 1.0034e-6).unwrap(),
            decay_time(2, 0.030, 1.0034e-6).unwrap(),
        );
        assert!(
            (small - 23.0).abs() < 0.5 && (large - 144.0).abs() < 1.0,
            "{small} {large}"
        );
    }

    // First zero of j_2, DLMF table 10.73 / Abramowitz and Stegun table 10.6 (from memory): 5.763 459.
    #[test]
    fn shells_that_turn_about_one_axis_stop_at_the_first_zero_of_j2() {
        assert!((root(1).unwrap() - 5.763_459_2).abs() < 1e-6);
    }

    /// `j_l` by its power series.
    fn bessel(l: i32, x: f64) -> f64 {
        let odd: f64 = (0..=l).map(|k| f64::from(2 * k + 1)).product();
        let mut term = x.powi(l) / odd;
        let mut sum = 0.0;
        for k in 1..60 {
            sum += term;
            term *= -x * x / (2.0 * f64::from(k) * f64::from(2 * (l + k) + 1));
        }
        sum
    }

    // The stress r u' - u of the power series vanishes at the root, and at none before; roots grow with the degree beyond 2.
    #[test]
    fn at_the_root_the_surface_carries_no_stress() {
        for l in 2..=12_u32 {
            let x = root(l).unwrap();
            let u = |y: f64| bessel(l as i32, y);
            let stress = |y: f64| y * (u(y * (1.0 + 1e-5)) - u(y * (1.0 - 1e-5))) / (y * 2e-5) - u(y);
            let scale = u(x).abs();
            assert!(stress(x).abs() < 1e-6 * scale, "{l}: {}", stress(x) / scale);
            let before = (1..40).map(|k| stress(x * f64::from(k) / 41.0));
            assert!(before.into_iter().all(|s| s > 0.0), "{l}");
            assert!(l == 2 || x > root(l - 1).unwrap());
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(root(0).is_err() && root(13).is_err());
        assert!(decay_time(2, 0.0, 1e-6).is_err() && decay_time(2, 0.01, f64::NAN).is_err());
    }
}
