//! How finely a camera samples an oscillation in time and a shape along its outline.
//!
//! ```text
//! frames in a period = F / f,     seen at  |f - F round(f / F)|,  right only for f < F / 2
//! pixels in a wave of degree n = 2 pi R / (n s),     pixels of amplitude = a R / s
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `F`, `f` | capture rate, frequency | 1/s, Hz |
//! | `R`, `a`, `n` | radius of the body, relative amplitude, degree | m, 1, 1 |
//! | `s` | scale: length in the scene of one pixel | m |
//!
//! Source: the sampling theorem \[Shannon1949\]; along the outline elementary. How well an amplitude can be known from so many samples is in
//! `numerics::bounds`.

use std::f64::consts::TAU;

use crate::error::{OpticsError, required};

/// Frames in one period of `frequency` (Hz) at the capture `rate` (1/s); below 2 the frequency is seen as another.
///
/// # Errors
/// [`OpticsError::Quantity`] for anything that is not positive.
pub fn frames_in_period(rate: f64, frequency: f64) -> Result<f64, OpticsError> {
    Ok(positive("capture rate", rate)? / positive("frequency", frequency)?)
}

/// Frequency (Hz) at which an oscillation of `frequency` is seen at the capture `rate`: its own below half the rate, else an alias.
///
/// # Errors
/// [`OpticsError::Quantity`] for a rate that is not positive or a negative frequency.
///
/// ```
/// // Taken 25 times a second, 24 Hz looks like 1 Hz.
/// assert!((tremolet_optics::sampling::seen_frequency(25.0, 24.0)? - 1.0).abs() < 1e-12);
/// # Ok::<(), tremolet_optics::error::OpticsError>(())
/// ```
pub fn seen_frequency(rate: f64, frequency: f64) -> Result<f64, OpticsError> {
    positive("capture rate", rate)?;
    required(
        "frequency",
        frequency,
        frequency >= 0.0,
        "zero or a positive number",
    )?;
    Ok((frequency - rate * (frequency / rate).round()).abs())
}

/// Pixels along the outline in one wave of the `degree` (1 and up), for a `radius` (m) and `scale` (m for one pixel); below 2 it cannot be told.
///
/// # Errors
/// [`OpticsError::Quantity`] for anything that is not positive.
pub fn pixels_in_wave(degree: u32, radius: f64, scale: f64) -> Result<f64, OpticsError> {
    let waves = positive("degree", f64::from(degree))?;
    Ok(TAU * positive("radius", radius)? / (waves * positive("scale", scale)?))
}

/// Pixels by which the outline moves for a relative `amplitude`.
///
/// # Errors
/// [`OpticsError::Quantity`] for a radius or scale that is not positive.
pub fn pixels_of_amplitude(amplitude: f64, radius: f64, scale: f64) -> Result<f64, OpticsError> {
    Ok(amplitude.abs() * positive("radius", radius)? / positive("scale", scale)?)
}

fn positive(name: &'static str, value: f64) -> Result<f64, OpticsError> {
    required(name, value, value > 0.0, "a positive number")
}

#[cfg(test)]
mod tests {
    use super::*;

    // Samples of the two cosines are the same numbers.
    #[test]
    fn an_alias_has_the_same_samples() {
        for (rate, frequency) in [(25.0, 24.0), (25.0, 13.0), (30.0, 100.0), (240.0, 17.0)] {
            let seen = seen_frequency(rate, frequency).unwrap();
            assert!(seen <= rate / 2.0 + 1e-12);
            for k in 0..20 {
                let t = TAU * f64::from(k) / rate;
                assert!(((frequency * t).cos() - (seen * t).cos()).abs() < 1e-9);
            }
        }
        assert_eq!(frames_in_period(240.0, 12.0).unwrap(), 20.0);
    }

    // By hand: R = 12 mm at 0.05 mm/px is 240 px; degree 8: 2 pi 240 / 8; amplitude 1 %: 2.4 px.
    #[test]
    fn pixels_by_hand() {
        assert!((pixels_in_wave(8, 0.012, 5e-5).unwrap() - 188.495_559).abs() < 1e-5);
        assert!((pixels_of_amplitude(-0.01, 0.012, 5e-5).unwrap() - 2.4).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(frames_in_period(0.0, 1.0).is_err() && seen_frequency(1.0, -1.0).is_err());
        assert!(pixels_in_wave(0, 1.0, 1.0).is_err() && pixels_of_amplitude(0.1, 1.0, 0.0).is_err());
    }
}
