//! Large swings of an inviscid drop in vacuum: slower than small ones, and not of one Legendre mode alone.
//!
//! ```text
//! r/R = 1 + eps cos(tau) P_n + eps^2 sum over j of (steady_j + double_j cos 2 tau) P_j + O(eps^3),   tau = w t
//! w = w_n (1 + k_n eps^2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | eps | amplitude of P_n as a share of R | - |
//! | R | radius of the sphere of equal volume | m |
//! | w_n | frequency of small swings | rad/s |
//! | k_n | shift, negative: large swings are slower | - |
//!
//! Source: the problem of \[TsamopoulosBrown1983\], whose printed coefficients were not seen; the numbers here were computed
//! independently by a strained expansion to third order (Lindstedt-Poincare) and agree with a fully nonlinear spectral integration in
//! time; a test carries the expansion out again. Outside check: \[ZrnicBrenn2021\], 5 % at aspect ratio 1.5 of the two-lobed mode (formula 4.8 %).
//!
//! Range: held against the nonlinear integration up to eps = 0.15 ([`LARGEST_CHECKED`]), where the shift itself is good to 1.5 %
//! for n = 3 and 0.3 % for n = 2; beyond, an orientation. For n = 2 the fourth mode is in exact resonance, w_4 = 3 w_2, so
//! the motion is not strictly periodic and a scatter of order eps remains.
//!
//! Not here: viscosity, a host, several large modes at once, bubbles.

use crate::modes::error::ModeError;

#[cfg(test)]
mod tests;

/// Largest eps at which the shifts were held against a fully nonlinear computation.
pub const LARGEST_CHECKED: f64 = 0.15;

/// One Legendre part of the second-order shape; multiply by eps^2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecondOrder {
    /// Degree j of the part.
    pub degree: u32,
    /// Constant in time.
    pub steady: f64,
    /// Factor of cos(2 tau).
    pub double: f64,
}

const fn part(degree: u32, steady: f64, double: f64) -> SecondOrder {
    SecondOrder {
        degree,
        steady,
        double,
    }
}

const TWO: [SecondOrder; 3] = [
    part(0, -1.0 / 10.0, -1.0 / 10.0),
    part(2, 11.0 / 28.0, -29.0 / 84.0),
    part(4, 9.0 / 35.0, 27.0 / 175.0),
];

const THREE: [SecondOrder; 4] = [
    part(0, -1.0 / 14.0, -1.0 / 14.0),
    part(2, 11.0 / 21.0, -4.0 / 21.0),
    part(4, 101.0 / 462.0, -151.0 / 308.0),
    part(6, 65.0 / 231.0, 5.0 / 231.0),
];

const FOUR: [SecondOrder; 5] = [
    part(0, -1.0 / 18.0, -1.0 / 18.0),
    part(2, 325.0 / 504.0, -5485.0 / 38808.0),
    part(4, 927.0 / 4004.0, -129.0 / 572.0),
    part(6, 305.0 / 1584.0, -1315.0 / 1584.0),
    part(8, 35.0 / 117.0, -1960.0 / 21879.0),
];

/// k_n of w = w_n (1 + k_n eps^2), for n = 2, 3, 4 \[TsamopoulosBrown1983\] (computed independently; see the head of this file).
///
/// # Errors
/// [`ModeError::Degree`].
pub fn shift_coefficient(degree: u32) -> Result<f64, ModeError> {
    match degree {
        2 => Ok(-34409.0 / 58800.0),
        3 => Ok(-0.988_782_681_965),
        4 => Ok(-1.398_515_836_934),
        _ => Err(ModeError::Degree {
            degree,
            lowest: 2,
            highest: 4,
        }),
    }
}

/// w / w_n at amplitude eps \[TsamopoulosBrown1983\]; meant for |eps| up to [`LARGEST_CHECKED`].
///
/// # Errors
/// [`ModeError::Degree`]; [`ModeError::Quantity`] when |eps| is 0.5 or more or not a number, where no expansion serves.
///
/// ```
/// let slower = tremolet_theory::modes::amplitude::frequency_factor(2, 0.1)?;
/// assert!((slower - 0.994_148).abs() < 1e-6);
/// # Ok::<(), tremolet_theory::modes::error::ModeError>(())
/// ```
pub fn frequency_factor(degree: u32, eps: f64) -> Result<f64, ModeError> {
    let k = shift_coefficient(degree)?;
    if eps.abs() < 0.5 {
        return Ok(1.0 + k * eps * eps);
    }
    Err(ModeError::Quantity {
        name: "relative amplitude",
        value: eps,
        expected: "less than 0.5 in size",
    })
}

/// The second-order parts that accompany a swing of degree 2, 3 or 4 \[TsamopoulosBrown1983\] (computed independently).
///
/// # Errors
/// [`ModeError::Degree`].
pub fn second_order(degree: u32) -> Result<&'static [SecondOrder], ModeError> {
    match degree {
        2 => Ok(&TWO),
        3 => Ok(&THREE),
        4 => Ok(&FOUR),
        _ => Err(ModeError::Degree {
            degree,
            lowest: 2,
            highest: 4,
        }),
    }
}

/// Legendre coefficients c_0 to c_2n of r/R at phase tau to second order in eps \[TsamopoulosBrown1983\]; index = degree.
///
/// # Errors
/// [`ModeError::Degree`].
pub fn shape(degree: u32, eps: f64, phase: f64) -> Result<Vec<f64>, ModeError> {
    let parts = second_order(degree)?;
    let mut coefficients = vec![0.0; 2 * degree as usize + 1];
    coefficients[0] = 1.0;
    coefficients[degree as usize] = eps * phase.cos();
    for part in parts {
        coefficients[part.degree as usize] += eps * eps * (part.steady + part.double * (2.0 * phase).cos());
    }
    Ok(coefficients)
}
