//! How long a swing lasts, and from when on linear theory may be believed.
//!
//! ```text
//! time to a share q        t = ln(1/q)/decay,  exact decay with the gas outside
//! small enough from        t = ln(eps/eps_small)/decay
//! phase that linear theory misses   |k_n| w eps^2 [1 - e^(-2 decay t)]/(2 decay)      large swings are slower, w (1 + k_n eps^2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | decay, w | of the mode, exact | 1/s, rad/s |
//! | eps | amplitude at the start as a share of the radius | 1 |
//! | k_n | shift of large swings ([`crate::modes::amplitude`]) | 1 |
//! | q | share of the amplitude that is left | 1 |
//!
//! Sources: \[MillerScriven1968\] (decay with a host), \[TsamopoulosBrown1983\] (shift; computed independently). The envelope is that of the settled mode; in the first tenth of a period
//! a drop let go decays a little faster. A surface film makes any of these times two or three times shorter ([`crate::modes::film`]).

use crate::error::{TheoryError, not_negative, positive, required};
use crate::modes::amplitude::{LARGEST_CHECKED, shift_coefficient};
use crate::modes::host::{Pair, root};
use crate::validity::Validity;

/// Time until `share` (between 0 and 1) of the amplitude of `degree` (2 to 12) is left, s \[MillerScriven1968\].
///
/// # Errors
/// As [`root`]; [`TheoryError::Quantity`] for a share that is not between 0 and 1.
///
/// ```
/// use tremolet_theory::{modes::host::Pair, release::wanes::time_to_share};
/// let water_in_air = Pair { radius: 0.010, tension: 0.07274, density: 998.2, viscosity: 1.0016e-3, host_density: 1.204, host_viscosity: 1.82e-5 };
/// assert!((time_to_share(2, &water_in_air, 0.1)? - 41.005).abs() < 1e-2);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn time_to_share(degree: u32, pair: &Pair, share: f64) -> Result<f64, TheoryError> {
    required(
        "share of the amplitude",
        share,
        share > 0.0 && share < 1.0,
        "a number between 0 and 1",
    )?;
    Ok(-share.ln() / root(degree, pair)?.decay)
}

/// Time from which on the amplitude (a share `eps` of the radius at the start) is below `small`, s; zero if it is from the start \[MillerScriven1968\].
///
/// # Errors
/// As [`root`]; [`TheoryError::Quantity`] unless both are positive.
pub fn small_from(degree: u32, pair: &Pair, eps: f64, small: f64) -> Result<f64, TheoryError> {
    let ratio = positive("size of the amplitude", eps.abs())? / positive("small amplitude", small)?;
    Ok(ratio.ln().max(0.0) / root(degree, pair)?.decay)
}

/// Phase, rad, by which a swing of degree 2 to 4 that starts with the share `eps` of the radius has fallen behind linear theory at `time` (s) \[TsamopoulosBrown1983\].
///
/// # Errors
/// As [`root`] and [`shift_coefficient`]; [`TheoryError::Quantity`] for a time before the start or an amplitude that is not a number.
pub fn phase_behind(degree: u32, pair: &Pair, eps: f64, time: f64) -> Result<f64, TheoryError> {
    required("amplitude", eps, true, "a number")?;
    let t = not_negative("time", time)?;
    let mode = root(degree, pair)?;
    // [1 - e^(-2 g t)]/(2 g), which is t for small g.
    let turns = -(-2.0 * mode.decay * t).exp_m1() / (2.0 * mode.decay);
    Ok(shift_coefficient(degree)?.abs() * mode.angular_frequency * eps * eps * turns)
}

/// For what linear theory holds at `time` (s) after a release with the share `eps`: a phase right to a twentieth of a turn, an amplitude for which the shift is known.
///
/// # Errors
/// As [`phase_behind`].
pub fn validity(degree: u32, pair: &Pair, eps: f64, time: f64) -> Result<Validity, TheoryError> {
    Ok(Validity::always()
        .with(
            "phase behind linear theory, rad",
            phase_behind(degree, pair, eps, time)?,
            0.0,
            0.3,
        )
        .with("amplitude over radius", eps.abs(), 0.0, LARGEST_CHECKED))
}

#[cfg(test)]
mod tests {
    use super::*;

    const WATER_IN_AIR: Pair = Pair {
        radius: 0.010,
        tension: 0.07274,
        density: 998.2,
        viscosity: 1.0016e-3,
        host_density: 1.204,
        host_viscosity: 1.82e-5,
    };

    // Exact decay of 10 mm of water in air, 0.056 153 352 67 1/s, frequency 3.839 998 394 Hz, recomputed independently from the 4x4 determinant.
    #[test]
    fn times() {
        let tenth = time_to_share(2, &WATER_IN_AIR, 0.1).unwrap();
        assert!((tenth - 10f64.ln() / 0.056_153_352_67).abs() < 1e-6);
        let small = small_from(2, &WATER_IN_AIR, -0.2, 0.05).unwrap();
        assert!((small - 4f64.ln() / 0.056_153_352_67).abs() < 1e-6);
        assert_eq!(small_from(2, &WATER_IN_AIR, 0.01, 0.05), Ok(0.0));
        assert!(
            time_to_share(2, &WATER_IN_AIR, 1.0).is_err() && small_from(2, &WATER_IN_AIR, 0.0, 0.1).is_err()
        );
    }

    // k_2 = -34409/58800 (Lindstedt-Poincare to third order, recomputed independently); the phase by summing small steps.
    #[test]
    fn the_phase_of_large_swings() {
        let (eps, until) = (0.12, 20.0);
        let (decay, w) = (0.056_153_352_67, 3.839_998_394 * std::f64::consts::TAU);
        let steps = 20_000;
        let step = until / f64::from(steps);
        let sum: f64 = (0..steps)
            .map(|k| (eps * (-decay * step * (f64::from(k) + 0.5)).exp()).powi(2) * step)
            .sum();
        let known = 34409.0 / 58800.0 * w * sum;
        let found = phase_behind(2, &WATER_IN_AIR, eps, until).unwrap();
        assert!((found / known - 1.0).abs() < 1e-6, "{found} {known}");
        assert!(validity(2, &WATER_IN_AIR, 0.02, 10.0).unwrap().holds());
        assert!(!validity(2, &WATER_IN_AIR, 0.12, 10.0).unwrap().holds());
        assert!(!validity(2, &WATER_IN_AIR, 0.2, 0.0).unwrap().holds());
        assert!(
            phase_behind(5, &WATER_IN_AIR, 0.1, 1.0).is_err()
                && phase_behind(2, &WATER_IN_AIR, 0.1, -1.0).is_err()
        );
    }
}
