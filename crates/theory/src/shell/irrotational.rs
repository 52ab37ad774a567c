//! The decay of a shell's modes when the flow is taken as that without viscosity: the estimate for thin liquids.
//!
//! ```text
//! decay = D/(2 T_2),   D = nu [d q/dr at b - x^2 d q/dr at a],   q = (phi')^2 + n(n+1) (phi/r)^2,   T_2 = phi(b) u_b - x^2 phi(a) u_a
//! ```
//!
//! | symbol | meaning | unit here |
//! |---|---|---|
//! | phi, u | potential A r^n + B r^-(n+1) and its slope at the surfaces | outer radius and natural time 1 |
//! | q | mean square of the velocity on a sphere of radius r, times 2n+1 | |
//! | D, T_2 | dissipation, and twice the kinetic energy at its greatest | |
//! | nu | kinematic viscosity mu/rho | m^2/s |
//!
//! Source: the dissipation integral of \[Lamb1932\] arts. 329 and 355, applied to the shell here. An upper estimate of the exact decay
//! ([`crate::shell::viscous`]), 0.8 % above it for x = 0.5 at nu = 1e-4 and 9 % for x = 0.9 at 1e-3. Not here: gas, films.

use crate::error::TheoryError;
use crate::shell::body::Shell;
use crate::shell::inviscid::families;

/// Decay rates of the slow and the fast mode of `degree` (2 to 12), 1/s \[Lamb1932\].
///
/// # Errors
/// As [`families`].
///
/// ```
/// use tremolet_theory::shell::{body::Shell, irrotational::decays};
/// let unit = Shell { inner_radius: 0.5, outer_radius: 1.0, density: 1.0, viscosity: 1e-4, inner_tension: 1.0, outer_tension: 1.0, inner_gas: 0.0, outer_gas: 0.0 };
/// assert!((decays(2, &unit)?[0] - 6.815_375_74e-4).abs() < 1e-12);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn decays(degree: u32, shell: &Shell) -> Result<[f64; 2], TheoryError> {
    let massless = Shell {
        inner_gas: 0.0,
        outer_gas: 0.0,
        ..*shell
    };
    let both = families(degree, &massless)?;
    let (unit, time) = massless.natural()?;
    let decay = |ratio: f64| unit.viscosity * unit_decay(degree, unit.ratio, ratio) / time;
    Ok([
        decay(both.against.inner_over_outer),
        decay(both.together.inner_over_outer),
    ])
}

/// Decay per unit viscosity of the flow with `inner` over outer amplitude, ratio `x` of the radii.
pub(super) fn unit_decay(degree: u32, x: f64, inner: f64) -> f64 {
    let n = f64::from(degree);
    let gap = -((2.0 * n + 1.0) * x.ln()).exp_m1();
    // n A and (n+1) B / x^(n+2), from the velocities 1 and `inner` at the surfaces.
    let rising = (1.0 - x.powi(degree as i32 + 2) * inner) / gap;
    let falling = (x.powi(degree as i32 - 1) - inner) / gap;
    // Potential and velocity of both parts at r, the falling one in powers of x/r.
    let at = |r: f64| {
        let (up, down) = (
            rising * r.powi(degree as i32 - 1),
            falling * (x / r).powi(degree as i32 + 2),
        );
        (up * r / n + down * r / (n + 1.0), up - down)
    };
    // dq/dr = 2 phi' phi'' + 2 n(n+1) (phi/r)(phi/r)'.
    let slope = |r: f64| {
        let (phi, u) = at(r);
        let (up, down) = (
            rising * r.powi(degree as i32 - 1),
            falling * (x / r).powi(degree as i32 + 2),
        );
        let bend = (up * (n - 1.0) + down * (n + 2.0)) / r;
        2.0 * u * bend + 2.0 * n * (n + 1.0) * (phi / r) * (u / r - phi / (r * r))
    };
    let ((outer, u_b), (inside, u_a)) = (at(1.0), at(x));
    (slope(1.0) - x * x * slope(x)) / (2.0 * (outer * u_b - x * x * inside * u_a))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(x: f64, viscosity: f64) -> Shell {
        Shell {
            inner_radius: x,
            outer_radius: 1.0,
            density: 1.0,
            viscosity,
            inner_tension: 1.0,
            outer_tension: 1.0,
            inner_gas: 0.3,
            outer_gas: 0.0,
        }
    }

    // Lamb's dissipation integral for degree 2, recomputed independently with derivatives by finite differences at 30 digits.
    #[test]
    fn dissipation_of_the_potential_flow() {
        for (x, nu, slow, fast) in [
            (0.3, 1e-4, 0.000_526_200_448, 0.022_232_966_6),
            (0.5, 1e-4, 0.000_681_537_574, 0.007_963_623_72),
            (0.8, 1e-3, 0.013_640_608_9, 0.026_721_718_6),
            (0.9, 1e-3, 0.013_919_399_6, 0.020_845_460_9),
        ] {
            let [a, b] = decays(2, &unit(x, nu)).unwrap();
            assert!(
                (a / slow - 1.0).abs() < 1e-8 && (b / fast - 1.0).abs() < 3e-8,
                "{x}: {a} {b}"
            );
        }
    }

    // Lamb 1932 art. 355: without a bubble (n-1)(2n+1) nu; a bubble in an ocean (n+2)(2n+1) nu/a^2.
    #[test]
    fn a_small_bubble_leaves_drop_and_bubble() {
        for n in 2..=6_u32 {
            let [drop, bubble] = decays(n, &unit(1e-3, 1.0)).unwrap();
            let m = f64::from(n);
            assert!(
                (drop / ((m - 1.0) * (2.0 * m + 1.0)) - 1.0).abs() < 1e-6,
                "{n} {drop}"
            );
            assert!(
                (bubble * 1e-6 / ((m + 2.0) * (2.0 * m + 1.0)) - 1.0).abs() < 1e-6,
                "{n} {bubble}"
            );
        }
    }
}
