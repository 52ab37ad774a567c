//! Exact shape modes of a viscous drop or bubble in a viscous host: the two numbers a ring-down is compared with.
//!
//! The root s of the stress [`Balance`] of both fluids that a swing follows: amplitude ~ e^{st}, s = -decay + i angular frequency.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | R, sigma | radius of the sphere of equal volume, surface tension | m, N/m |
//! | rho, mu | density and dynamic viscosity, inside and outside | kg/m^3, Pa s |
//! | s | rate | 1/s |
//!
//! Sources: \[MillerScriven1968\] (equation), \[Prosperetti1980\] (the root at large viscosity). Degrees 2 to 12 with any pair
//! of fluids whose surface is clean; a massless side is a limit (drop in vacuum, bubble).
//!
//! In a host without bound the root never turns exactly real: the pair stays complex and its frequency fades towards zero (for a
//! drop in air past the limit it is some 1e-4 of the decay). Below [`APERIODIC_SHARE`] of the decay no swing can be seen,
//! the motion is called aperiodic and the frequency zero; [`exact`] keeps the full root. In vacuum the aperiodic motion is
//! the slower of its two real rates.
//!
//! Not here: walls, films, evaporation, large swings.

use crate::modes::balance::Balance;
use crate::modes::error::ModeError;
use crate::modes::viscous::{self, HIGHEST_DEGREE, Motion};
use tremolet_numerics::complex::Complex64;
use tremolet_numerics::root::{Found, RootError, newton};

#[cfg(test)]
mod tests;

/// A body of one fluid in another, SI. Zero host density means vacuum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// Radius of the sphere of equal volume, m.
    pub radius: f64,
    /// Surface tension, N/m.
    pub tension: f64,
    /// Density of the body, kg/m^3.
    pub density: f64,
    /// Dynamic viscosity of the body, Pa s.
    pub viscosity: f64,
    /// Density of the host, kg/m^3.
    pub host_density: f64,
    /// Dynamic viscosity of the host, Pa s.
    pub host_viscosity: f64,
}

/// What a mode does: e^(-decay t) cos(angular_frequency t).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Root {
    /// Decay rate, 1/s; positive.
    pub decay: f64,
    /// Angular frequency, rad/s; zero when aperiodic.
    pub angular_frequency: f64,
}

/// A frequency below this share of the decay rate is no swing: half a turn would shrink it by e^(-3000).
pub const APERIODIC_SHARE: f64 = 1e-3;

/// Decay rate and angular frequency of the mode of `degree` (2 to 12) \[MillerScriven1968\].
///
/// # Errors
/// [`ModeError::Degree`], [`ModeError::Quantity`] for impossible fluids, [`ModeError::Root`] or [`ModeError::Branch`] when the search
/// fails (no case is known).
///
/// ```
/// use tremolet_theory::modes::host::{Pair, root};
/// let water_in_air = Pair { radius: 0.010, tension: 0.07274, density: 998.2, viscosity: 1.0016e-3,
///                           host_density: 1.204, host_viscosity: 1.82e-5 };
/// let root = root(2, &water_in_air)?;
/// assert!((root.decay - 0.056_153_352_67).abs() < 1e-10);
/// # Ok::<(), tremolet_theory::modes::error::ModeError>(())
/// ```
pub fn root(degree: u32, pair: &Pair) -> Result<Root, ModeError> {
    let s = exact(degree, pair)?;
    let swings = s.im > -APERIODIC_SHARE * s.re;
    Ok(Root {
        decay: -s.re,
        angular_frequency: if swings { s.im } else { 0.0 },
    })
}

/// The root itself, s = -decay + i angular frequency in 1/s, however slow its turn \[MillerScriven1968\].
///
/// # Errors
/// As [`root`].
pub fn exact(degree: u32, pair: &Pair) -> Result<Complex64, ModeError> {
    let (balance, time) = natural(degree, pair)?;
    if pair.host_density == 0.0 {
        return Ok(in_vacuum(&balance)? / time);
    }
    let direct = [settled_quadratic(&balance), creeping(&balance)];
    let found = direct
        .into_iter()
        .find_map(|start| accepted(&balance, search(&balance, start)));
    let s = match found {
        Some(s) => s,
        None => continued(&balance)?,
    };
    Ok(s / time)
}

/// The pair in natural units, and the seconds per unit of time. A host of zero density is vacuum, whatever its viscosity.
pub(super) fn natural(degree: u32, pair: &Pair) -> Result<(Balance, f64), ModeError> {
    check(degree, pair)?;
    let sum = pair.density + pair.host_density;
    let time = (sum * pair.radius.powi(3) / pair.tension).sqrt();
    let unit = sum * pair.radius * pair.radius / time;
    let balance = Balance {
        degree,
        density: pair.density / sum,
        viscosity: pair.viscosity / unit,
        host_density: pair.host_density / sum,
        host_viscosity: if pair.host_density == 0.0 {
            0.0
        } else {
            pair.host_viscosity / unit
        },
    };
    Ok((balance, time))
}

fn check(degree: u32, pair: &Pair) -> Result<(), ModeError> {
    if !(2..=HIGHEST_DEGREE).contains(&degree) {
        return Err(ModeError::Degree {
            degree,
            lowest: 2,
            highest: HIGHEST_DEGREE,
        });
    }
    let quantities = [
        ("radius", pair.radius, true),
        ("surface tension", pair.tension, true),
        ("density", pair.density, false),
        ("viscosity", pair.viscosity, false),
        ("host density", pair.host_density, false),
        ("host viscosity", pair.host_viscosity, false),
        ("sum of the densities", pair.density + pair.host_density, true),
        (
            "sum of the viscosities that bear on the drop",
            bearing_viscosity(pair),
            true,
        ),
    ];
    for (name, value, above_zero) in quantities {
        let possible = value.is_finite() && if above_zero { value > 0.0 } else { value >= 0.0 };
        if !possible {
            let expected = if above_zero {
                "a positive number"
            } else {
                "zero or a positive number"
            };
            return Err(ModeError::Quantity {
                name,
                value,
                expected,
            });
        }
    }
    Ok(())
}

fn bearing_viscosity(pair: &Pair) -> f64 {
    pair.viscosity
        + if pair.host_density > 0.0 {
            pair.host_viscosity
        } else {
            0.0
        }
}

/// Without host: the unit drop's own equation.
fn in_vacuum(balance: &Balance) -> Result<Complex64, ModeError> {
    // With rho_o = 0 the natural units are those of the unit drop, so the viscosity is its Ohnesorge number.
    Ok(match viscous::motion(balance.degree, balance.viscosity)? {
        Motion::Swinging {
            decay,
            angular_frequency,
        } => Complex64::new(-decay, angular_frequency),
        Motion::Aperiodic { slow, .. } => Complex64::from(-slow),
    })
}

fn search(balance: &Balance, start: Complex64) -> Result<Found<Complex64>, RootError> {
    newton(|s| balance.value(s), start, 1e-14)
}

/// The root if it is the shape mode: decaying, not below the real axis, and where it is all but real, the slower
/// of the two (there f rises with s).
fn accepted(balance: &Balance, found: Result<Found<Complex64>, RootError>) -> Option<Complex64> {
    let s = found.ok()?.root;
    let size = s.norm();
    let decays = s.re < 0.0 && s.im > -1e-9 * size;
    let swings = s.im > 0.03 * size;
    (decays && (swings || balance.value(s).1.re > 0.0)).then_some(s)
}

/// A start for weak damping: m s^2 + X s + (n-1)(n+2) = 0 solved with X from the last s, four times.
fn settled_quadratic(balance: &Balance) -> Complex64 {
    let (m, spring) = (balance.inertia(), balance.stiffness());
    let mut s = Complex64::new(0.0, (spring / m).sqrt());
    for _ in 0..4 {
        let half = balance.resistance(s).0 / (2.0 * m);
        let root = (half * half - spring / m).sqrt();
        let (plus, minus) = (root - half, -root - half);
        s = if plus.im >= minus.im { plus } else { minus };
    }
    s
}

/// A start for strong damping: the creeping rate, where inertia plays no part.
fn creeping(balance: &Balance) -> Complex64 {
    let mut s = -balance.stiffness() / balance.resistance(Complex64::ZERO).0;
    for _ in 0..2 {
        s = -balance.stiffness() / (balance.resistance(s).0 + s * balance.inertia());
    }
    s
}

/// Follows the root from weak viscosity to the true one; slow, for what the direct starts miss.
fn continued(target: &Balance) -> Result<Complex64, ModeError> {
    let degree = target.degree;
    let scaled = |share: f64| Balance {
        viscosity: share * target.viscosity,
        host_viscosity: share * target.host_viscosity,
        ..*target
    };
    let mut share = 1e-4;
    let mut s = settled_quadratic(&scaled(share));
    let mut factor = 1.5;
    loop {
        let balance = scaled(share);
        let found = search(&balance, s).map_err(|source| ModeError::Root { degree, source });
        match accepted(&balance, search(&balance, s)) {
            Some(root) if share >= 1.0 => return Ok(root),
            Some(root) => s = root,
            None if factor < 1.001 => {
                let root = found?.root;
                return Err(ModeError::Branch {
                    degree,
                    re: root.re,
                    im: root.im,
                });
            }
            None => {
                share /= factor;
                factor = factor.sqrt();
            }
        }
        share = (share * factor).min(1.0);
    }
}
