//! What moves a bubble inside a drop towards the middle or away: nothing that tension does at rest, and a drag that stops it.
//!
//! ```text
//! surface energy 4 pi (sigma_a a^2 + sigma_b b^2) for any place of the bubble: both surfaces stay spheres, no force
//! set going:   relative way = U a^2/[6 nu (1 + x + x^2)]                     slow (exact, creeping stop)
//!              U' = -g U,  g = 18 (nu/b^2) (x^-5 - 1)/(x^-3 - 1)         fast (dissipation of the potential flow)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | U | speed of the bubble against the drop at the start, from a push that leaves a potential flow | m/s |
//! | a, b, x | radius of the bubble, of the drop, their ratio | m, m, 1 |
//! | nu | kinematic viscosity of the liquid | m^2/s |
//! | g | rate at which the relative speed dies away | 1/s |
//!
//! Degree 1 of the shape modes: without viscosity both frequencies are zero, so being off the middle costs nothing and a bubble at rest stays where it is. The flow of a bubble in
//! the middle that has no momentum as a whole is the potential 1/r^2, with u_b = x^3 u_a. Its time integral against viscosity is rigid motion plus 1/r, which
//! meets both surfaces without stress and gives the way above; in an ocean it is U a^2/(6 nu), added mass over Stokes's drag of a bubble
//! 4 pi mu a. In faster motion the potential flow persists and \[Levich1962\]'s drag 12 pi mu a, here with the finite drop, gives the rate g.
//!
//! Source: derived here; \[Levich1962\] for the fast drag in an ocean. That bubbles go to the middle in flight is known of drops that swing strongly; that is a
//! force of second order in the swing, which is not given here. For displacements small against the gap.

use crate::error::{TheoryError, positive, required};
use crate::shell::body::Shell;
use crate::validity::Validity;

/// Relative way, m, that a bubble coasts after a push that gives it `speed` (m/s, against the drop), if it stops slowly \[Levich1962\] (derived here).
///
/// # Errors
/// [`TheoryError::Quantity`] for an impossible shell, no viscosity, or a speed that is not a number.
///
/// ```
/// use tremolet_theory::shell::{body::Shell, centring::creeping_way};
/// let oil = Shell { inner_radius: 1e-3, outer_radius: 1.0, density: 960.0, viscosity: 0.096, inner_tension: 0.02, outer_tension: 0.02, inner_gas: 0.0, outer_gas: 0.0 };
/// // Nearly an ocean: U a^2/(6 nu).
/// assert!((creeping_way(&oil, 6e-3)? / 1e-5 - 1.0).abs() < 2e-3);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn creeping_way(shell: &Shell, speed: f64) -> Result<f64, TheoryError> {
    let (x, viscosity) = ratio_and_viscosity(shell)?;
    required("speed", speed, true, "a number")?;
    Ok(speed * shell.inner_radius.powi(2) / (6.0 * viscosity * (1.0 + x + x * x)))
}

/// Rate, 1/s, at which the relative speed of a fast bubble dies away \[Levich1962\].
///
/// # Errors
/// As [`creeping_way`].
pub fn fast_decay(shell: &Shell) -> Result<f64, TheoryError> {
    let (x, viscosity) = ratio_and_viscosity(shell)?;
    // (x^-5 - 1)/(x^-3 - 1) times x^2, without cancellation for thin shells.
    let shape = (1.0 + x + x * x + x.powi(3) + x.powi(4)) / (1.0 + x + x * x);
    Ok(18.0 * viscosity * shape / shell.inner_radius.powi(2))
}

/// For what [`creeping_way`] holds at this `speed` (m/s): a way small against the gap, and a motion slow against viscosity.
///
/// # Errors
/// As [`creeping_way`].
pub fn creeping_validity(shell: &Shell, speed: f64) -> Result<Validity, TheoryError> {
    let way = creeping_way(shell, speed)?.abs();
    let gap = shell.outer_radius - shell.inner_radius;
    Ok(Validity::always()
        .with("Reynolds number of the bubble", reynolds(shell, speed), 0.0, 1.0)
        .with("way over gap", way / gap, 0.0, 0.1))
}

/// For what [`fast_decay`] holds at this `speed` (m/s): a bubble much faster than viscosity spreads, and a way small against the gap.
///
/// # Errors
/// As [`fast_decay`].
pub fn fast_validity(shell: &Shell, speed: f64) -> Result<Validity, TheoryError> {
    let way = speed.abs() / fast_decay(shell)?;
    let gap = shell.outer_radius - shell.inner_radius;
    Ok(Validity::always()
        .with(
            "Reynolds number of the bubble",
            reynolds(shell, speed),
            50.0,
            f64::INFINITY,
        )
        .with("way over gap", way / gap, 0.0, 0.3))
}

fn reynolds(shell: &Shell, speed: f64) -> f64 {
    2.0 * shell.inner_radius * speed.abs() * shell.density / shell.viscosity
}

fn ratio_and_viscosity(shell: &Shell) -> Result<(f64, f64), TheoryError> {
    let (unit, _) = shell.natural()?;
    Ok((
        unit.ratio,
        positive("viscosity", shell.viscosity)? / shell.density,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(x: f64) -> Shell {
        Shell {
            inner_radius: x,
            outer_radius: 1.0,
            density: 1.0,
            viscosity: 1.0,
            inner_tension: 1.0,
            outer_tension: 1.0,
            inner_gas: 0.0,
            outer_gas: 0.0,
        }
    }

    // The Laplace transform of the degree-1 flow at vanishing rate, from a 4x4 system of potentials and Bessel functions, validation/theory/shell.py.
    #[test]
    fn the_way_of_a_slow_stop() {
        for (x, way) in COASTING {
            let found = creeping_way(&unit(x), 1.0).unwrap() / (x * x);
            assert!((found / way - 1.0).abs() < 1e-6, "{x}: {found}");
        }
    }

    const COASTING: [(f64, f64); 3] = [
        (0.1, 0.150_150_150_1),
        (0.5, 0.095_238_095_23),
        (0.9, 0.061_500_615_0),
    ];

    // Levich 1962: drag 12 pi mu a on the added mass (2/3) pi a^3 rho gives 18 nu/a^2 in an ocean; the integral of dissipation
    // written out with q = 6/r^6 for the rest.
    #[test]
    fn the_rate_of_a_fast_stop() {
        assert!((fast_decay(&unit(1e-3)).unwrap() * 1e-6 / 18.0 - 1.0).abs() < 1e-6);
        for x in [0.2_f64, 0.6, 0.95] {
            let dissipation = 36.0 * (x.powi(-5) - 1.0);
            let energy = x.powi(-3) - 1.0;
            let rate = dissipation / (2.0 * energy);
            assert!((fast_decay(&unit(x)).unwrap() / rate - 1.0).abs() < 1e-12, "{x}");
        }
    }

    #[test]
    fn each_has_its_range() {
        let water = Shell {
            inner_radius: 1e-3,
            outer_radius: 0.02,
            density: 998.2,
            viscosity: 1.0016e-3,
            inner_tension: 0.07274,
            outer_tension: 0.07274,
            inner_gas: 1.2,
            outer_gas: 1.2,
        };
        assert!(
            creeping_validity(&water, 1e-4).unwrap().holds()
                && !creeping_validity(&water, 0.05).unwrap().holds()
        );
        assert!(
            fast_validity(&water, 0.05).unwrap().holds() && !fast_validity(&water, 1e-4).unwrap().holds()
        );
        let reynolds = ["Reynolds number of the bubble"];
        assert_eq!(creeping_validity(&water, 0.05).unwrap().broken()[0], reynolds[0]);
        assert_eq!(fast_validity(&water, 1e-4).unwrap().broken(), reynolds);
        assert_eq!(fast_validity(&water, 5.0).unwrap().broken(), ["way over gap"]);
        let narrow = Shell {
            inner_radius: 0.019_999,
            ..water
        };
        assert_eq!(
            creeping_validity(&narrow, 1e-5).unwrap().broken(),
            ["way over gap"]
        );
        let dry = Shell {
            viscosity: 0.0,
            ..water
        };
        assert!(fast_decay(&dry).is_err() && creeping_way(&water, f64::NAN).is_err());
    }
}
