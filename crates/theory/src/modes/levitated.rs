//! Drops held up on the ground by a magnetic field: the mean of the five split two-lobed modes, corrected for the field.
//!
//! ```text
//! f_R^2 = (1/5) sum over m of f_{2,m}^2 - f_tr^2 [1.9 + 1.2 (z0/R)^2],    z0 = g / (2 (2 pi f_tr)^2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | f_R | Rayleigh's frequency of the free spherical drop, n = 2 | Hz |
//! | f_{2,m} | measured frequencies, m = -2 to 2 | Hz |
//! | f_tr | translation frequency, f_tr^2 the mean of the squares of the three | Hz |
//! | g, R | gravity, radius of the sphere of equal volume | m/s^2, m |
//!
//! Source: \[CummingsBlackburn1991\], written down from memory, so the factors 1.9 and 1.2 are unchecked; without a trap (f_tr = 0, free fall) the plain
//! mean is exact. Not here: acoustic and electrostatic levitators, which shift the modes otherwise.

use crate::modes::error::ModeError;

/// Rayleigh's frequency from the five measured ones, Hz \[CummingsBlackburn1991\] (from memory). `translation` holds the three translation
/// frequencies in Hz; all zero means no trap, and the plain mean of the squares is used.
///
/// # Errors
/// [`ModeError::Quantity`] when a frequency is negative or not finite, the radius is not positive, or the correction exceeds the mean.
///
/// ```
/// use tremolet_theory::modes::levitated::free_frequency;
/// let free = free_frequency([3.0, 4.0, 5.0, 4.0, 3.0], [0.0; 3], 0.005, 9.81)?;
/// assert!((free - 15f64.sqrt()).abs() < 1e-14);
/// # Ok::<(), tremolet_theory::modes::error::ModeError>(())
/// ```
pub fn free_frequency(
    five: [f64; 5],
    translation: [f64; 3],
    radius: f64,
    gravity: f64,
) -> Result<f64, ModeError> {
    let expected = "zero or a positive number";
    for (name, value) in five
        .iter()
        .map(|f| ("mode frequency", *f))
        .chain(translation.iter().map(|f| ("translation frequency", *f)))
    {
        if !(value >= 0.0 && value.is_finite()) {
            return Err(ModeError::Quantity {
                name,
                value,
                expected,
            });
        }
    }
    if !(radius > 0.0 && radius.is_finite()) {
        return Err(ModeError::Quantity {
            name: "radius",
            value: radius,
            expected: "a positive number",
        });
    }
    let mean = five.iter().map(|f| f * f).sum::<f64>() / 5.0;
    let squared = mean - correction(translation, radius, gravity);
    if squared.is_finite() && squared >= 0.0 {
        return Ok(squared.sqrt());
    }
    let name = "square of the free frequency";
    Err(ModeError::Quantity {
        name,
        value: squared,
        expected: "above zero; the trap is stiffer than the drop",
    })
}

/// f_tr^2 [1.9 + 1.2 (z0/R)^2], zero without a trap.
fn correction(translation: [f64; 3], radius: f64, gravity: f64) -> f64 {
    let trap = translation.iter().map(|f| f * f).sum::<f64>() / 3.0;
    if trap == 0.0 {
        return 0.0;
    }
    let offset = gravity / (2.0 * std::f64::consts::TAU.powi(2) * trap);
    trap * (1.9 + 1.2 * (offset / radius).powi(2))
}

#[cfg(test)]
mod tests {
    use super::free_frequency;

    /// No trap: the plain mean of the squares, whatever gravity and radius.
    #[test]
    fn without_a_trap_the_plain_mean() {
        let five: [f64; 5] = [2.0, 3.0, 4.0, 3.5, 2.5];
        let mean = (five.iter().map(|f| f * f).sum::<f64>() / 5.0).sqrt();
        for gravity in [0.0, 9.81] {
            assert!((free_frequency(five, [0.0; 3], 0.004, gravity).unwrap() - mean).abs() < 1e-15);
        }
    }

    /// Cummings & Blackburn 1991, from memory, one case by hand: f_tr = 6 Hz, R = 5 mm, z0 = 9.81/(8 pi^2 36) = 3.4513 mm,
    /// correction 36 (1.9 + 1.2 x 0.476455) = 88.98.
    #[test]
    fn one_case_by_hand() {
        let free = free_frequency([40.0; 5], [6.0; 3], 0.005, 9.81).unwrap();
        assert!(
            (1600.0 - free * free - 88.98).abs() < 0.01,
            "{}",
            1600.0 - free * free
        );
    }

    #[test]
    fn impossible_inputs_are_refused() {
        assert!(free_frequency([1.0, 1.0, 1.0, 1.0, -1.0], [0.0; 3], 1.0, 9.81).is_err());
        assert!(free_frequency([1.0; 5], [f64::NAN; 3], 1.0, 9.81).is_err());
        assert!(free_frequency([1.0; 5], [0.0; 3], 0.0, 9.81).is_err());
        assert!(free_frequency([1.0; 5], [9.0; 3], 1.0, 9.81).is_err());
    }
}
