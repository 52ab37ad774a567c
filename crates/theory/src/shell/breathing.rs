//! Breathing of a gas bubble inside a drop: the whole swells and shrinks, the gas is the spring.
//!
//! ```text
//! w^2 = [3 g p_g/a - 2 sigma_a/a^2 - 2 sigma_b a^2/b^4]/[rho a (1 - a/b)],   p_g = p_0 + 2 sigma_a/a + 2 sigma_b/b
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | w | angular frequency | rad/s |
//! | p_0, p_g | pressure of the gas outside, of the gas inside at rest | Pa |
//! | g | exponent of the gas, p ~ V^-g: 1 (isothermal) to the ratio of the heats (adiabatic) | 1 |
//! | a, b, sigma | radii and tensions, inner and outer | m, N/m |
//! | rho | density of the liquid | kg/m^3 |
//!
//! In an ocean (b infinite) this is \[Minnaert1933\] with tension; the finite drop has less liquid to move and is faster by 1/sqrt(1 - a/b). Derived here from the
//! incompressible flow between the surfaces. Hundreds of hertz where shape modes have a few: a camera for the shapes does not resolve it, and a motion
//! of a thousandth of the radius already takes some 3 per mille of the pressure. For small swings without viscosity, the liquid incompressible.

use crate::error::{TheoryError, positive, required};
use crate::shell::body::Shell;
use crate::validity::Validity;

/// Pressure of the gas in the bubble at rest, Pa, with `pressure` (Pa) outside \[Minnaert1933\].
///
/// # Errors
/// [`TheoryError::Quantity`] for an impossible shell or a pressure that is not positive.
pub fn gas_pressure(shell: &Shell, pressure: f64) -> Result<f64, TheoryError> {
    shell.natural()?;
    let inner = 2.0 * shell.inner_tension / shell.inner_radius;
    let outer = 2.0 * shell.outer_tension / shell.outer_radius;
    Ok(positive("pressure outside", pressure)? + inner + outer)
}

/// Angular frequency of the breathing, rad/s, with `pressure` (Pa) outside and the gas's `exponent` \[Minnaert1933\].
///
/// # Errors
/// As [`gas_pressure`]; [`TheoryError::Quantity`] for an exponent outside 1 to 5/3.
///
/// ```
/// use tremolet_theory::shell::{body::Shell, breathing::angular_frequency};
/// let water = Shell { inner_radius: 0.015, outer_radius: 0.030, density: 998.2, viscosity: 1e-3,
///                     inner_tension: 0.07274, outer_tension: 0.07274, inner_gas: 1.2, outer_gas: 1.2 };
/// assert!((angular_frequency(&water, 101_325.0, 1.4)? / std::f64::consts::TAU - 309.844_618_0).abs() < 1e-6);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn angular_frequency(shell: &Shell, pressure: f64, exponent: f64) -> Result<f64, TheoryError> {
    let inside = gas_pressure(shell, pressure)?;
    required(
        "exponent of the gas",
        exponent,
        (1.0..=5.0 / 3.0).contains(&exponent),
        "a number from 1 to 5/3",
    )?;
    let (a, b) = (shell.inner_radius, shell.outer_radius);
    let spring = 3.0 * exponent * inside / a
        - 2.0 * shell.inner_tension / (a * a)
        - 2.0 * shell.outer_tension * a * a / b.powi(4);
    let square = spring / (shell.density * a * (1.0 - a / b));
    // Positive for every exponent from 1 up, since p_g contains both tensions.
    Ok(square.sqrt())
}

/// For what the frequency holds: liquid that sound (of `speed`, m/s, in the liquid) crosses in a small part of a period.
///
/// # Errors
/// As [`angular_frequency`].
pub fn validity(shell: &Shell, pressure: f64, exponent: f64, speed: f64) -> Result<Validity, TheoryError> {
    let w = angular_frequency(shell, pressure, exponent)?;
    let depth = w * shell.outer_radius / positive("speed of sound in the liquid", speed)?;
    let layer = (shell.viscosity / (shell.density * w)).sqrt() / shell.inner_radius;
    Ok(Validity::always()
        .with(
            "angular frequency times radius over speed of sound",
            depth,
            0.0,
            0.1,
        )
        .with(
            "depth of the shear layer over radius of the bubble",
            layer,
            0.0,
            0.1,
        ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    fn shell(a: f64, b: f64, tension: f64) -> Shell {
        Shell {
            inner_radius: a,
            outer_radius: b,
            density: 998.2,
            viscosity: 1.0016e-3,
            inner_tension: tension,
            outer_tension: tension,
            inner_gas: 1.2,
            outer_gas: 1.2,
        }
    }

    // Air in 60 mm of water at 101 325 Pa, bubble of 30 mm: adiabatic and isothermal, and the static pressure; recomputed independently from the formula.
    #[test]
    fn a_bubble_in_a_water_drop() {
        let drop = shell(0.015, 0.030, 0.07274);
        let hertz = |g| angular_frequency(&drop, 101_325.0, g).unwrap() / TAU;
        assert!((hertz(1.4) - 309.844_618_0).abs() < 1e-6 && (hertz(1.0) - 261.865_229_2).abs() < 1e-6);
        assert!((gas_pressure(&drop, 101_325.0).unwrap() - 101_325.0 - 14.548).abs() < 1e-9);
        assert!(validity(&drop, 101_325.0, 1.4, 1482.0).unwrap().holds());
        let broken = |shell: &Shell, speed| validity(shell, 101_325.0, 1.4, speed).unwrap().broken();
        assert_eq!(
            broken(&drop, 300.0),
            ["angular frequency times radius over speed of sound"]
        );
        let thick = Shell {
            viscosity: 1e4,
            ..drop
        };
        assert_eq!(
            broken(&thick, 1482.0),
            ["depth of the shear layer over radius of the bubble"]
        );
    }

    // Minnaert 1933: in an ocean f a = 3.286 202 338 m/s (no tension), with tension 3287.9993 Hz at 1 mm; in a finite drop faster by 1/sqrt(1 - a/b).
    #[test]
    fn in_an_ocean_it_is_minnaerts() {
        let ocean = angular_frequency(&shell(1e-3, 1e6, 1e-12), 101_325.0, 1.4).unwrap() / TAU;
        assert!((ocean - 3_286.202_338).abs() < 1e-4, "{ocean}");
        let tense = angular_frequency(&shell(1e-3, 1e6, 0.07274), 101_325.0, 1.4).unwrap() / TAU;
        assert!((tense - 3287.9993).abs() < 0.01, "{tense}");
        for (ratio, factor) in [(0.1, 1.054_093), (0.2, 1.118_034), (0.9, 3.162_278)] {
            let drop = angular_frequency(&shell(1e-3, 1e-3 / ratio, 1e-12), 101_325.0, 1.4).unwrap() / TAU;
            assert!((drop / ocean - factor).abs() < 1e-5, "{ratio}");
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let drop = shell(0.015, 0.030, 0.07274);
        assert!(angular_frequency(&drop, 0.0, 1.4).is_err() && angular_frequency(&drop, 1e5, 0.9).is_err());
        let film_of_gas = shell(1e-9, 0.030, 0.07274);
        // In a near vacuum the tensions alone make the spring: 4 sigma/a^2 for isothermal gas.
        let w = angular_frequency(&film_of_gas, 1e-3, 1.0).unwrap();
        let known = (4.0_f64 * 0.07274 / 1e-18 / (998.2 * 1e-9)).sqrt();
        assert!((w / known - 1.0).abs() < 1e-5, "{w} {known}");
    }
}
