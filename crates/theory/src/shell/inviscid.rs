//! Shape modes of a liquid shell without viscosity: for each degree two, in which the surfaces move against each other or together.
//!
//! ```text
//! phi = (A r^n + B r^-(n+1)) P_n between the surfaces;   W = w^2 t0^2,  N = (n-1)(n+2),  X = x^(2n+1)
//! (K - W m) (zeta_b, zeta_a) = 0,   K = N diag(1, s)
//! m_bb = [1/n + X/(n+1)]/(1-X) + rho_o/(n+1),   m_aa = x^3 {[X/n + 1/(n+1)]/(1-X) + rho_i/n},   m_ab = -x^(n+2) (2n+1)/[n (n+1) (1-X)]
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | zeta_b, zeta_a | amplitude of the outer and of the inner surface, outwards | as each other |
//! | w, t0 | angular frequency, natural time sqrt(rho b^3/sigma_b) | rad/s, s |
//! | x, s | ratio of the radii, of the tensions (inner over outer) | 1 |
//! | rho_o, rho_i | density of the gas outside and inside, over that of the liquid | 1 |
//!
//! The slow family, surfaces out of phase, is the drop's mode as the bubble vanishes: w -> sqrt(n(n-1)(n+2)), less by the share
//! (2n+1)/(n+1) x^(2n+1) of w^2. The fast one, in phase, is the bubble's: x^(3/2) w -> sqrt(s(n-1)(n+1)(n+2)). In a thin shell of thickness d the fast
//! W goes as N(1+s)/d, the slow one as N n(n+1) s d/(1+s).
//!
//! Source: the problem of \[Saffren1982\], whose text was not seen; derived here, and agrees with a determinant in all the potentials. For small swings,
//! bubble in the middle, degrees 2 to 12. Degree 1 costs no energy: see [`crate::shell::centring`].

use crate::error::{TheoryError, degree_within};
use crate::shell::body::{Shell, UnitShell};
use crate::validity::Validity;

/// Highest degree served.
pub const HIGHEST_DEGREE: u32 = 12;

/// One mode of a shell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShellMode {
    /// Angular frequency, rad/s.
    pub angular_frequency: f64,
    /// Amplitude of the inner surface over that of the outer one; negative when they move against each other.
    pub inner_over_outer: f64,
}

/// Both modes of one degree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Families {
    /// The slow one: the surfaces move against each other.
    pub against: ShellMode,
    /// The fast one: the surfaces move together.
    pub together: ShellMode,
}

/// Both modes of `degree` (2 to 12) \[Saffren1982\].
///
/// # Errors
/// [`TheoryError::Degree`]; [`TheoryError::Quantity`] for an impossible shell.
///
/// ```
/// use tremolet_theory::shell::{body::Shell, inviscid::families};
/// let water = Shell { inner_radius: 0.015, outer_radius: 0.030, density: 998.2, viscosity: 0.0,
///                     inner_tension: 0.07274, outer_tension: 0.07274, inner_gas: 0.0, outer_gas: 0.0 };
/// let both = families(2, &water)?;
/// assert!((both.against.angular_frequency / std::f64::consts::TAU - 0.716_408_8).abs() < 1e-6);
/// assert!((both.together.angular_frequency / std::f64::consts::TAU - 2.644_550_8).abs() < 1e-6);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn families(degree: u32, shell: &Shell) -> Result<Families, TheoryError> {
    let (unit, time) = shell.natural()?;
    let scaled = |mode: ShellMode| ShellMode {
        angular_frequency: mode.angular_frequency / time,
        ..mode
    };
    let both = unit_families(degree_within(degree, 2, HIGHEST_DEGREE)?, &unit);
    Ok(Families {
        against: scaled(both.against),
        together: scaled(both.together),
    })
}

/// For what the modes hold: an `amplitude` (m, of the surface that moves more) small against the bubble and the thickness of the liquid, and a thin liquid.
///
/// # Errors
/// As [`families`].
pub fn validity(degree: u32, shell: &Shell, amplitude: f64) -> Result<Validity, TheoryError> {
    let both = families(degree, shell)?;
    let thinnest = (shell.outer_radius - shell.inner_radius).min(shell.inner_radius);
    let layer = |mode: ShellMode| (shell.viscosity / (shell.density * mode.angular_frequency)).sqrt();
    let in_time = layer(both.against) / thinnest;
    Ok(Validity::always()
        .with(
            "amplitude over thickness of the liquid or bubble radius",
            amplitude.abs() / thinnest,
            0.0,
            0.1,
        )
        .with(
            "depth of the shear layer over thickness of the liquid or bubble radius",
            in_time,
            0.0,
            0.1,
        ))
}

/// The same in natural units.
pub(super) fn unit_families(degree: u32, shell: &UnitShell) -> Families {
    let n = f64::from(degree);
    let UnitShell {
        ratio: x,
        tension: s,
        inner_gas,
        outer_gas,
        ..
    } = *shell;
    let power = x.powi(2 * degree as i32 + 1);
    // 1 - x^(2n+1) without cancellation.
    let gap = -((2.0 * n + 1.0) * x.ln()).exp_m1();
    let (outside, inside) = (outer_gas / (n + 1.0), inner_gas * x.powi(3) / n);
    let bare_b = (1.0 / n + power / (n + 1.0)) / gap;
    let bare_a = x.powi(3) * (power / n + 1.0 / (n + 1.0)) / gap;
    let (m_bb, m_aa) = (bare_b + outside, bare_a + inside);
    let m_ab = -x.powi(degree as i32 + 2) * (2.0 * n + 1.0) / (n * (n + 1.0) * gap);
    let spring = (n - 1.0) * (n + 2.0);
    // The bare determinant is x^3/(n(n+1)) exactly.
    let first = x.powi(3) / (n * (n + 1.0)) + bare_b * inside + bare_a * outside + inside * outside;
    let half = spring * (s * m_bb + m_aa) / 2.0;
    // half^2 - first spring^2 s, as a sum of squares.
    let apart = spring * ((s * m_bb - m_aa).powi(2) / 4.0 + s * m_ab * m_ab).sqrt();
    let slow = spring * spring * s / (half + apart);
    let fast = (half + apart) / first;
    Families {
        against: ShellMode {
            angular_frequency: slow.sqrt(),
            inner_over_outer: slow * m_ab / (spring * s - slow * m_aa),
        },
        together: ShellMode {
            angular_frequency: fast.sqrt(),
            inner_over_outer: (spring - fast * m_bb) / (fast * m_ab),
        },
    }
}

#[cfg(test)]
mod tests;
