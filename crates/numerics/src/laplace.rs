//! Numerical inversion of the Laplace transform by Talbot's deformed path.
//!
//! ```text
//! f(t) = 1/(2 pi i) * integral of F(s) e^{st} ds,     s(a) = r a (cot a + i),  -pi < a < pi,   r = 2M/(5t)
//! f(t) ~ (r/M) { F(r) e^{rt}/2 + sum over a_k = k pi/M of Re[ F(s_k) e^{s_k t} (1 + i d_k) ] },
//!        d_k = a_k + (a_k cot a_k - 1) cot a_k
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | F(s) | transform, real on the real axis: F(conj s) = conj F(s) |
//! | t | time, the reciprocal unit of s; positive |
//! | M | number of points on the upper half of the path |
//!
//! The discretisation error falls like 10^(-0.6 M) and rounding grows like e^(0.4 M), so M = 24 gives some 1e-11 of the
//! largest F involved when every singularity of F lies on the negative real axis. Singularities off the axis must lie
//! inside the path: |Im s| t < 0.6 M at least; take slowly damped oscillations out first, as residues.
//!
//! Source: \[AbateValko2004\] (the fixed path); \[Talbot1979\] (the idea).
//!
//! Not here: transforms with singularities in the right half plane, or times at which f jumps.

use crate::complex::Complex64;

#[cfg(test)]
mod tests;

/// Nodes s_k and weights w_k with `f(t) ~ sum of Re[w_k F(s_k)]`, for time `t` and `points` points.
///
/// # Panics
/// When `t` is not positive and finite or `points` is zero.
#[must_use]
pub fn talbot_nodes(t: f64, points: usize) -> Vec<(Complex64, Complex64)> {
    assert!(
        t > 0.0 && t.is_finite() && points > 0,
        "a positive time and at least one point"
    );
    let r = 0.4 * points as f64 / t;
    let scale = r / points as f64;
    let first = (
        Complex64::new(r, 0.0),
        Complex64::new(0.5 * scale * (r * t).exp(), 0.0),
    );
    let rest = (1..points).map(|k| {
        let a = std::f64::consts::PI * k as f64 / points as f64;
        let cot = a.tan().recip();
        let s = Complex64::new(r * a * cot, r * a);
        let direction = Complex64::new(1.0, a + (a * cot - 1.0) * cot);
        (s, scale * (s * t).exp() * direction)
    });
    std::iter::once(first).chain(rest).collect()
}

/// f(t) from its transform, with `points` points on the upper half of the path (24 is a good choice).
///
/// ```
/// use tremolet_numerics::laplace::talbot;
/// let decay = talbot(|s| 1.0 / (s + 2.0), 1.5, 24);
/// assert!((decay - (-3.0_f64).exp()).abs() < 1e-10);
/// ```
///
/// # Panics
/// As [`talbot_nodes`].
pub fn talbot(transform: impl Fn(Complex64) -> Complex64, t: f64, points: usize) -> f64 {
    talbot_nodes(t, points)
        .iter()
        .map(|(s, weight)| (weight * transform(*s)).re)
        .sum()
}
