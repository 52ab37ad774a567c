//! What the length of the exposure does to what moves.
//!
//! ```text
//! smear = v T,    as wide as a Gaussian of  v T / sqrt(12)
//! an oscillation is seen smaller by  sin(w T / 2) / (w T / 2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `v` | speed across the picture | m/s (or px/s) |
//! | `T` | time of exposure; the frame's time is its middle | s |
//! | `w` | angular frequency | rad/s |
//!
//! Source: mean over the exposure, elementary. For a shutter that opens and shuts at once. Frequencies and decays are not changed by it,
//! amplitudes are.

use crate::error::{OpticsError, required};

/// Way a point with `speed` goes during the `exposure` (s), in the speed's unit of length.
///
/// # Errors
/// [`OpticsError::Quantity`] for a negative exposure or a speed that is not finite.
pub fn smear(speed: f64, exposure: f64) -> Result<f64, OpticsError> {
    required("speed", speed, true, "a finite number")?;
    Ok(speed.abs() * not_negative(exposure)?)
}

/// Standard deviation of the Gaussian that widens an edge as much as a `smear` does.
#[must_use]
pub fn width(smear: f64) -> f64 {
    smear / 12.0_f64.sqrt()
}

/// Factor by which an oscillation of `angular_frequency` (rad/s) is seen smaller through an `exposure` (s); negative when the picture shows
/// it reversed.
///
/// # Errors
/// [`OpticsError::Quantity`] for a negative exposure or a frequency that is not finite.
///
/// ```
/// // Half a period of exposure leaves 2/pi.
/// let left = tremolet_optics::motion::oscillation_left(std::f64::consts::TAU, 0.5)?;
/// assert!((left - 2.0 / std::f64::consts::PI).abs() < 1e-15);
/// # Ok::<(), tremolet_optics::error::OpticsError>(())
/// ```
pub fn oscillation_left(angular_frequency: f64, exposure: f64) -> Result<f64, OpticsError> {
    required("angular frequency", angular_frequency, true, "a finite number")?;
    let half = 0.5 * angular_frequency * not_negative(exposure)?;
    Ok(if half == 0.0 { 1.0 } else { half.sin() / half })
}

fn not_negative(exposure: f64) -> Result<f64, OpticsError> {
    required("exposure", exposure, exposure >= 0.0, "zero or a positive number")
}

#[cfg(test)]
mod tests {
    use super::*;

    // By quadrature: mean of cos(w t) over the exposure around 0, and the spread of an even smear.
    #[test]
    fn means_over_the_exposure() {
        for (w, t) in [(3.0, 0.1), (40.0, 0.1), (100.0, 0.1)] {
            let points = 20_000;
            let at = |k: i32| t * ((f64::from(k) + 0.5) / f64::from(points) - 0.5);
            let mean = (0..points).map(|k| (w * at(k)).cos()).sum::<f64>() / f64::from(points);
            assert!((oscillation_left(w, t).unwrap() - mean).abs() < 1e-7);
            let square = (0..points).map(|k| at(k).powi(2)).sum::<f64>() / f64::from(points);
            assert!((width(smear(1.0, t).unwrap()) - square.sqrt()).abs() < 1e-8);
        }
        assert_eq!(oscillation_left(0.0, 1.0).unwrap(), 1.0);
        assert!((smear(-0.3, 0.01).unwrap() - 0.003).abs() < 1e-18);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(smear(1.0, -1.0).is_err() && smear(f64::NAN, 1.0).is_err());
        assert!(oscillation_left(1.0, f64::INFINITY).is_err());
    }
}
