//! The complementary error function of complex argument, scaled so that it neither overflows nor vanishes.
//!
//! ```text
//! exp(z^2) erfc(z) = w(i z),   w(u) = (i/pi) integral of e^{-t^2}/(u - t) dt over the real line
//! w(u) ~ (2 i h u/pi) sum_k e^{-t_k^2}/(u^2 - t_k^2)  +  2 e^{-u^2}/(1 +- e^{-2 pi i u/h})
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | z | complex argument, Re z >= 0 |
//! | u = i z | argument of Faddeeva's function w |
//! | h, t_k | step and nodes of the rule: (k + 1/2) h (midpoints) or k h (whole steps), whichever keeps clear of u |
//!
//! Trapezoidal rule with the pole of the integrand taken into account; the last term is left out well above the real axis. With 12
//! nodes the relative error is below 1e-13 (tested against values of 17 digits; within 3e-14 of a library on 100 000 points).
//!
//! Source: \[AlAzah2021\] (the rule and the choice between nodes). Not here: the left half plane, where
//! erfc(z) = 2 - erfc(-z).

use crate::complex::{Complex64, I};
use std::f64::consts::PI;

#[cfg(test)]
mod tests;

/// Last index of the nodes.
const LAST: u32 = 11;

/// exp(z^2) erfc(z) for Re z >= 0.
///
/// ```
/// use tremolet_numerics::{complex::Complex64, faddeeva::scaled_complement};
/// assert!((scaled_complement(Complex64::from(1.0)).re - 0.427_583_576_155_807).abs() < 1e-14);
/// ```
#[must_use]
pub fn scaled_complement(z: Complex64) -> Complex64 {
    let u = I * z;
    let mirrored = u.re < 0.0;
    let folded = Complex64::new(u.re.abs(), u.im);
    let w = first_quadrant(folded);
    if mirrored { w.conj() } else { w }
}

/// w(u) for Re u >= 0 and Im u >= 0.
fn first_quadrant(u: Complex64) -> Complex64 {
    let step = (PI / f64::from(LAST + 1)).sqrt();
    let place = (u.re / step).fract();
    // 1/(1 +- e^{-2 pi i u/h}) written with e^{2 pi i u/h}, which does not overflow above the real axis.
    let turn = (2.0 * PI * I * u / step).exp();
    let pole = || 2.0 * (-u * u).exp() * turn;
    if u.im >= u.re.max(PI / step) {
        sum(u, step, 0.5)
    } else if u.im < u.re && (0.25..=0.75).contains(&place) {
        I * step / (PI * u) + sum(u, step, 1.0) + pole() / (turn - 1.0)
    } else {
        sum(u, step, 0.5) + pole() / (turn + 1.0)
    }
}

/// The sum over the nodes (k + start) step.
fn sum(u: Complex64, step: f64, start: f64) -> Complex64 {
    let term = |k: u32| {
        let t = (f64::from(k) + start) * step;
        (-t * t).exp() / (u * u - t * t)
    };
    2.0 * I * step * u / PI * (0..=LAST).map(term).sum::<Complex64>()
}
