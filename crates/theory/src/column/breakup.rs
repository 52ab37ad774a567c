//! When a column parts that starts with a wave of known size.
//!
//! ```text
//! from rest   eps(t)/eps_0 = [s_1 e^{s_2 t} - s_2 e^{s_1 t}]/(s_1 - s_2) = a/eps_0,   s_2 = -s_inv^2/s_1
//! growing     t = ln(a/eps_0)/s_1
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | eps_0, a | amplitude of the wave at the start, radius of the column | m |
//! | s_1, s_inv | rate of growth, and that without viscosity | 1/s |
//! | s_2 | rate of the other motion, which dies away | 1/s |
//! | t | time until the wave is as large as the radius | s |
//!
//! Without viscosity a wave at rest grows as cosh(s t), so t = arcosh(a/eps_0)/s. The product s_1 s_2 is exact without viscosity and
//! in the theory of the slender column \[Weber1931\], an estimate otherwise. Linear growth is carried to where the column is parted, as is usual; the last
//! stage is faster than linear in some places and slower in others and moves the time by a fraction of 1/s_1. Not here: several waves at once.

use crate::column::thread::Thread;
use crate::error::{TheoryError, positive, required};
use crate::validity::Validity;
use tremolet_numerics::root::bracketed;

/// Time until a wave of `wavelength` (m) that starts at rest with `amplitude` (m) parts the column, s \[Weber1931\].
///
/// # Errors
/// As [`Thread::growth`]; [`TheoryError::Quantity`] for an amplitude that is not between zero and the radius, or a wave that does not grow.
///
/// ```
/// use tremolet_theory::column::{breakup, thread::Thread};
/// let thin = Thread { radius: 1e-3, tension: 0.07274, density: 998.2, viscosity: 0.0, host_density: 0.0, host_viscosity: 0.0 };
/// let time = breakup::time_from_rest(&thin, 9.014e-3, 2e-5)?;
/// assert!((time / thin.time()? - 50f64.acosh() / 0.343_338_7).abs() < 1e-5);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn time_from_rest(thread: &Thread, wavelength: f64, amplitude: f64) -> Result<f64, TheoryError> {
    let ratio = amplification(thread, amplitude)?;
    let rise = rate(thread, wavelength)?;
    let fall = thread.inviscid_growth(wavelength)?.powi(2) / rise;
    let share = fall / (rise + fall);
    let latest = ((ratio / share).ln() + 1e-6) / rise;
    let excess = |t: f64| share * (rise * t).exp() + (1.0 - share) * (-fall * t).exp() - ratio;
    let what = "the time of break-up";
    bracketed(excess, 0.0, latest, 0.0)
        .map(|found| found.root)
        .map_err(|source| TheoryError::Root { what, source })
}

/// The same for a wave that grows from the start as its fastest motion does, s \[Rayleigh1879\].
///
/// # Errors
/// As [`time_from_rest`].
pub fn time_when_growing(thread: &Thread, wavelength: f64, amplitude: f64) -> Result<f64, TheoryError> {
    Ok(amplification(thread, amplitude)?.ln() / rate(thread, wavelength)?)
}

/// For what both times hold: a start small enough for many e-foldings, on a column of `length` (m).
#[must_use]
pub fn validity(thread: &Thread, wavelength: f64, amplitude: f64, length: f64) -> Validity {
    thread.validity(wavelength, amplitude, length)
}

fn amplification(thread: &Thread, amplitude: f64) -> Result<f64, TheoryError> {
    let ratio = positive("radius of the column", thread.radius)? / positive("amplitude", amplitude)?;
    required(
        "radius over amplitude",
        ratio,
        ratio > 1.0,
        "an amplitude smaller than the radius",
    )
}

fn rate(thread: &Thread, wavelength: f64) -> Result<f64, TheoryError> {
    let rise = thread.growth(wavelength)?;
    if rise > 0.0 {
        return Ok(rise);
    }
    Err(TheoryError::Quantity {
        name: "wavelength",
        value: wavelength,
        expected: "a wave longer than pi diameters of the column; shorter ones do not part it",
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(viscosity: f64) -> Thread {
        Thread {
            radius: 1.0,
            tension: 1.0,
            density: 1.0,
            viscosity,
            host_density: 0.0,
            host_viscosity: 0.0,
        }
    }

    // Rayleigh 1879: from rest cosh(s t), so arcosh(a/eps_0)/s; s of ka = 0.7 is 0.343 326 801 114, recomputed independently.
    #[test]
    fn a_thin_column_starts_as_a_cosine_hyperbolic() {
        let wavelength = std::f64::consts::TAU / 0.7;
        let s = 0.343_326_801_114;
        let from_rest = time_from_rest(&unit(0.0), wavelength, 0.01).unwrap();
        assert!((from_rest * s - 100f64.acosh()).abs() < 1e-9);
        let growing = time_when_growing(&unit(0.0), wavelength, 0.01).unwrap();
        assert!((growing * s - 100f64.ln()).abs() < 1e-9);
    }

    // Weber 1931, creeping: a wave at rest grows from the start with its one rate; nothing is lost in a falling motion.
    #[test]
    fn a_creeping_column_starts_growing_at_once() {
        let (thick, wavelength) = (unit(50.0), 40.0);
        let from_rest = time_from_rest(&thick, wavelength, 0.01).unwrap();
        let growing = time_when_growing(&thick, wavelength, 0.01).unwrap();
        assert!(from_rest > growing && from_rest / growing - 1.0 < 1e-3);
        assert!(time_from_rest(&unit(0.5), wavelength, 0.01).unwrap() < from_rest);
    }

    #[test]
    fn what_cannot_part_is_refused() {
        assert!(time_from_rest(&unit(0.0), 6.0, 0.01).is_err());
        assert!(
            time_from_rest(&unit(0.0), 9.0, 1.0).is_err() && time_when_growing(&unit(0.0), 9.0, 0.0).is_err()
        );
        assert!(
            validity(&unit(0.0), 9.0, 0.05, 90.0).holds() && !validity(&unit(0.0), 9.0, 0.5, 90.0).holds()
        );
    }
}
