//! Shape modes without viscosity: frequency, energy and natural time.
//!
//! ```text
//! w_n^2 = n (n-1)(n+1)(n+2) sigma / { [ (n+1) rho_i + n rho_o ] R^3 }
//! ```
//! Drop in vacuum (rho_o = 0): w_n^2 = n(n-1)(n+2) sigma/(rho R^3). Bubble (rho_i = 0): w_n^2 = (n-1)(n+1)(n+2) sigma/(rho_o R^3).
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | n | degree of the mode; 0 (volume) and 1 (place) do not swing: w = 0 | - |
//! | w_n | angular frequency | rad/s |
//! | sigma | surface tension | N/m |
//! | rho_i, rho_o | density inside, outside | kg/m^3 |
//! | R | radius of the sphere of equal volume | m |
//!
//! Sources: \[Rayleigh1879\] (drop; cylinder), \[Lamb1932\] arts. 273 to 275 (cylinder, drop, two fluids, bubble; energy).
//!
//! Valid for small amplitudes and viscosity; the exact viscous frequency differs by order Oh^(3/2) in vacuum, Oh^(1/2) with a
//! host of like density. Not here: damping, large swings, rotation.

use crate::modes::error::ModeError;

#[cfg(test)]
mod tests;

/// Natural time sqrt(rho R^3 / sigma), s: density kg/m^3, radius m, tension N/m \[Rayleigh1879\].
///
/// # Errors
/// [`ModeError::Quantity`] when any of them is not positive and finite.
pub fn capillary_time(density: f64, radius: f64, tension: f64) -> Result<f64, ModeError> {
    positive("density", density)?;
    positive("radius", radius)?;
    positive("surface tension", tension)?;
    Ok((density * radius.powi(3) / tension).sqrt())
}

/// Angular frequency of a drop in vacuum, rad/s \[Rayleigh1879\].
///
/// # Errors
/// As [`capillary_time`].
///
/// ```
/// // Water, 10 mm in radius: the two-lobed mode swings at 3.84 Hz.
/// let w = tremolet_theory::modes::inviscid::drop(2, 998.2, 0.010, 0.07274)?;
/// assert!((w / std::f64::consts::TAU - 3.8428).abs() < 1e-4);
/// # Ok::<(), tremolet_theory::modes::error::ModeError>(())
/// ```
pub fn drop(degree: u32, density: f64, radius: f64, tension: f64) -> Result<f64, ModeError> {
    Ok(drop_unit(degree) / capillary_time(density, radius, tension)?)
}

/// Angular frequency of a massless bubble in a liquid of this density, rad/s \[Lamb1932\].
///
/// # Errors
/// As [`capillary_time`].
pub fn bubble(degree: u32, density: f64, radius: f64, tension: f64) -> Result<f64, ModeError> {
    let n = f64::from(degree);
    let squared = (n - 1.0) * (n + 1.0) * (n + 2.0);
    Ok(unless_rigid(degree, squared).sqrt() / capillary_time(density, radius, tension)?)
}

/// Angular frequency of a drop or bubble of density `inside` in a host of density `outside`, rad/s \[Lamb1932\].
/// Either density may be zero, not both.
///
/// # Errors
/// [`ModeError::Quantity`] when radius or tension is not positive, or the densities are negative or both zero.
pub fn two_fluids(
    degree: u32,
    inside: f64,
    outside: f64,
    radius: f64,
    tension: f64,
) -> Result<f64, ModeError> {
    not_negative("inner density", inside)?;
    not_negative("outer density", outside)?;
    let time = capillary_time(inside + outside, radius, tension)?;
    if degree < 2 {
        return Ok(0.0);
    }
    let n = f64::from(degree);
    let share = ((n + 1.0) * inside + n * outside) / (inside + outside);
    Ok((n * (n - 1.0) * (n + 1.0) * (n + 2.0) / share).sqrt() / time)
}

/// Angular frequency of the mode cos(n phi) of a cylinder (motion in the plane only), rad/s \[Rayleigh1879\]:
/// w_n^2 = n(n^2-1) sigma / [(rho_i + rho_o) R^3].
///
/// # Errors
/// As [`two_fluids`].
pub fn cylinder(degree: u32, inside: f64, outside: f64, radius: f64, tension: f64) -> Result<f64, ModeError> {
    not_negative("inner density", inside)?;
    not_negative("outer density", outside)?;
    let n = f64::from(degree);
    let time = capillary_time(inside + outside, radius, tension)?;
    Ok(unless_rigid(degree, n * (n * n - 1.0)).sqrt() / time)
}

/// Surface energy above the sphere's, J, of r = R + a P_n at rest: E = 2 pi sigma a^2 (n-1)(n+2)/(2n+1) \[Lamb1932\];
/// tension N/m, amplitude a in m, to second order in a/R. Of a free swing it is the whole energy when a is the greatest amplitude.
#[must_use]
pub fn energy(degree: u32, tension: f64, amplitude: f64) -> f64 {
    let n = f64::from(degree);
    let shape = unless_rigid(degree, (n - 1.0) * (n + 2.0) / (2.0 * n + 1.0));
    std::f64::consts::TAU * tension * amplitude * amplitude * shape
}

/// Frequency of a drop in vacuum in units of the reciprocal capillary time: sqrt(n(n-1)(n+2)) \[Rayleigh1879\].
#[must_use]
pub fn drop_unit(degree: u32) -> f64 {
    let n = f64::from(degree);
    unless_rigid(degree, n * (n - 1.0) * (n + 2.0)).sqrt()
}

/// Volume (0) and place (1) feel no tension.
fn unless_rigid(degree: u32, value: f64) -> f64 {
    if degree < 2 { 0.0 } else { value }
}

fn positive(name: &'static str, value: f64) -> Result<(), ModeError> {
    if value > 0.0 && value.is_finite() {
        return Ok(());
    }
    Err(ModeError::Quantity {
        name,
        value,
        expected: "a positive number in SI units",
    })
}

fn not_negative(name: &'static str, value: f64) -> Result<(), ModeError> {
    if value >= 0.0 && value.is_finite() {
        return Ok(());
    }
    Err(ModeError::Quantity {
        name,
        value,
        expected: "zero or a positive number in SI units",
    })
}
