//! What solid rotation and a standing oblateness do to the modes of a drop.
//!
//! ```text
//! first order:   w = w_n + m Omega (1 - 1/n)   (laboratory frame),     w - m Omega = w_n - m Omega/n   (frame of the drop)
//! second order, n = 2, m = 0:   w^2 = w_2^2 + (38/21) Omega^2
//! shape at rest in its frame:   r/R = 1 - rho Omega^2 R^3/(12 sigma) P_2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | Omega | angular velocity about the axis theta = 0 | rad/s |
//! | n, m | degree and order, -n to n; pattern e^{i(m phi - w t)}, so m > 0 runs with the rotation when w > 0 | - |
//! | w_n | frequency without rotation | rad/s |
//! | R, rho, sigma | radius of the sphere of equal volume, density, tension | SI |
//!
//! Sources: \[Busse1984\] (frequencies; 19/21 for m = 0 recalled from memory, recomputed independently by a variational reduction and a solution at finite
//! Omega), the Coriolis integral of an irrotational mode for the first order (derived), \[BrownScriven1980\] (bifurcation, from memory).
//!
//! Range: Omega well below w_n; no viscosity, no host. Not here: second order for m other than 0; the size of a splitting by an outside
//! field, which depends on the field.

use crate::modes::error::ModeError;

#[cfg(test)]
mod tests;

/// Omega / sqrt(8 sigma/(rho R^3)) at which a spinning drop turns two-lobed: 0.559, from memory \[BrownScriven1980\]. Flattened
/// (oscillating) drops were seen to do so earlier.
pub const TWO_LOBE_BIFURCATION: f64 = 0.559;

/// Frequency in the laboratory frame to first order in Omega, rad/s \[Busse1984\].
///
/// # Errors
/// [`ModeError::Degree`] below 2; [`ModeError::Quantity`] when |order| exceeds the degree.
///
/// ```
/// use tremolet_theory::modes::rotation::laboratory_frequency;
/// // The two-lobed patterns that run round the axis are split by twice the rotation.
/// let split = laboratory_frequency(2, 2, 10.0, 0.1)? - laboratory_frequency(2, -2, 10.0, 0.1)?;
/// assert!((split - 0.2).abs() < 1e-12);
/// # Ok::<(), tremolet_theory::modes::error::ModeError>(())
/// ```
pub fn laboratory_frequency(
    degree: u32,
    order: i32,
    frequency: f64,
    rotation: f64,
) -> Result<f64, ModeError> {
    Ok(rotating_frequency(degree, order, frequency, rotation)? + f64::from(order) * rotation)
}

/// Frequency seen in the frame that turns with the drop, to first order in Omega, rad/s \[Busse1984\].
///
/// # Errors
/// As [`laboratory_frequency`].
pub fn rotating_frequency(degree: u32, order: i32, frequency: f64, rotation: f64) -> Result<f64, ModeError> {
    check(degree, order)?;
    Ok(frequency - f64::from(order) * rotation / f64::from(degree))
}

/// Frequency of the axisymmetric two-lobed mode (n = 2, m = 0) to second order in Omega, rad/s: w^2 = w_2^2 + (38/21) Omega^2 \[Busse1984\].
#[must_use]
pub fn axisymmetric_two_lobed(frequency: f64, rotation: f64) -> f64 {
    (frequency * frequency + 38.0 / 21.0 * rotation * rotation).sqrt()
}

/// Amplitude a_2 = -rho Omega^2 R^3/(12 sigma) of the shape of a steadily turning drop, as a share of R; first order in Omega^2: the
/// balance of normal stress 4 a_2 = -rho Omega^2 R^3/(3 sigma) \[BrownScriven1980\].
#[must_use]
pub fn static_oblateness(density: f64, radius: f64, tension: f64, rotation: f64) -> f64 {
    -density * rotation * rotation * radius.powi(3) / (12.0 * tension)
}

/// How a standing axisymmetric P_2 disturbance (oblateness held by a field) spreads the orders of one degree: the mean of P_2 over the mode,
/// [n(n+1) - 3m^2]/[(2n-1)(2n+3)]. First-order shifts of frequency go as this number; their common factor depends on the field. For n = 2:
/// 2/7, 1/7, -2/7 at |m| = 0, 1, 2. The mean over all orders is zero \[CummingsBlackburn1991\].
///
/// # Errors
/// As [`laboratory_frequency`].
pub fn oblateness_pattern(degree: u32, order: i32) -> Result<f64, ModeError> {
    check(degree, order)?;
    let (n, m) = (f64::from(degree), f64::from(order));
    Ok((n * (n + 1.0) - 3.0 * m * m) / ((2.0 * n - 1.0) * (2.0 * n + 3.0)))
}

fn check(degree: u32, order: i32) -> Result<(), ModeError> {
    if degree < 2 {
        return Err(ModeError::Degree {
            degree,
            lowest: 2,
            highest: u32::MAX,
        });
    }
    if order.unsigned_abs() > degree {
        let value = f64::from(order);
        return Err(ModeError::Quantity {
            name: "order",
            value,
            expected: "at most the degree in size",
        });
    }
    Ok(())
}
