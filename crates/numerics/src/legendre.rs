//! Legendre polynomials, their derivatives, and series in them.
//!
//! ```text
//! (k+1) P_{k+1}(x) = (2k+1) x P_k(x) - k P_{k-1}(x),        P_0 = 1, P_1 = x
//! P'_{k+1}(x) = P'_{k-1}(x) + (2k+1) P_k(x),   P''_{k+1}(x) = P''_{k-1}(x) + (2k+1) P'_k(x)
//! ```
//!
//! | symbol | meaning | range |
//! |---|---|---|
//! | x | argument, the cosine of the polar angle | -1 to 1 (outside it the values grow as x^k) |
//! | P_k | Legendre polynomial of degree k, P_k(1) = 1 | |
//! | c_k | coefficient of P_k; index is the degree | |
//!
//! The recurrences run upwards, which is stable on [-1, 1]: errors stay at some 1e-15 times the number of degrees.
//! The derivative recurrences hold at the poles x = +-1 too, where the usual quotient by 1 - x^2 fails.
//!
//! Source: \[DLMF\] 14.10.3 (recurrence), 14.10.5 with 18.9.19 (derivatives).
//!
//! Not here: associated functions and spherical harmonics.

use crate::quadrature::Rule;

#[cfg(test)]
mod tests;

/// `P_degree(x)`.
///
/// ```
/// assert_eq!(tremolet_numerics::legendre::value(2, 0.5), -0.125);
/// ```
#[must_use]
pub fn value(degree: usize, x: f64) -> f64 {
    let (mut before, mut now) = (0.0, 1.0);
    for k in 0..degree {
        (before, now) = (now, raised(k, x, now, before));
    }
    now
}

/// Fills `values[k] = P_k(x)` for every degree that `values` has room for.
pub fn values(x: f64, values: &mut [f64]) {
    let (mut before, mut now) = (0.0, 1.0);
    for (k, value) in values.iter_mut().enumerate() {
        *value = now;
        (before, now) = (now, raised(k, x, now, before));
    }
}

/// Polynomials and their first two derivatives at one argument; index = degree.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// `P_k(x)`.
    pub value: Vec<f64>,
    /// `dP_k/dx`.
    pub slope: Vec<f64>,
    /// `d^2P_k/dx^2`.
    pub bend: Vec<f64>,
}

/// `P_k`, `P'_k` and `P''_k` at `x` for k = 0 to `highest`.
#[must_use]
pub fn table(highest: usize, x: f64) -> Table {
    let mut value = vec![0.0; highest + 1];
    values(x, &mut value);
    let slope = integrated_upwards(&value);
    let bend = integrated_upwards(&slope);
    Table { value, slope, bend }
}

/// Sum of `coefficients[k] P_k(x)`, by Clenshaw's backward recurrence.
#[must_use]
pub fn series(coefficients: &[f64], x: f64) -> f64 {
    let (mut next, mut after) = (0.0, 0.0);
    for (k, c) in coefficients.iter().enumerate().rev() {
        let this = c + factors(k).0 * x * next - factors(k + 1).1 * after;
        (next, after) = (this, next);
    }
    next
}

/// Coefficients of the derivative (with respect to x) of the series `coefficients`: one degree shorter.
///
/// From `P'_k = (2k-1) P_{k-1} + (2k-5) P_{k-3} + ...`, so `d_j = (2j+1) (c_{j+1} + c_{j+3} + ...)`.
#[must_use]
pub fn derivative(coefficients: &[f64]) -> Vec<f64> {
    let mut slope = vec![0.0; coefficients.len().saturating_sub(1)];
    let mut sum = [0.0, 0.0];
    for j in (0..slope.len()).rev() {
        sum[j % 2] += coefficients[j + 1];
        slope[j] = (2 * j + 1) as f64 * sum[j % 2];
    }
    slope
}

/// Coefficients c_0 to c_`highest` of a function known at the nodes of a Gauss-Legendre rule:
/// `c_k = (2k+1)/2 * integral of f P_k`.
///
/// `samples[i]` belongs to `rule.nodes[i]`. Exact for a polynomial of degree d when the rule has more than
/// `(d + highest) / 2` points.
///
/// # Panics
/// When `samples` and the rule differ in length.
#[must_use]
pub fn projection(rule: &Rule, samples: &[f64], highest: usize) -> Vec<f64> {
    assert_eq!(samples.len(), rule.nodes.len(), "one sample for each node");
    let mut coefficients = vec![0.0; highest + 1];
    let mut p = vec![0.0; highest + 1];
    for ((x, weight), sample) in rule.nodes.iter().zip(&rule.weights).zip(samples) {
        values(*x, &mut p);
        for (k, (c, p)) in coefficients.iter_mut().zip(&p).enumerate() {
            *c += (k as f64 + 0.5) * weight * sample * p;
        }
    }
    coefficients
}

/// Degrees whose factors of the recurrence are kept: a division takes longer than all else in a step.
const KEPT: usize = 64;
/// `(2k + 1) / (k + 1)` and `k / (k + 1)`.
const FACTORS: [(f64, f64); KEPT] = {
    let mut factors = [(0.0, 0.0); KEPT];
    let mut k = 0;
    while k < KEPT {
        factors[k] = quotients(k);
        k += 1;
    }
    factors
};

const fn quotients(k: usize) -> (f64, f64) {
    let k = k as f64;
    ((2.0 * k + 1.0) / (k + 1.0), k / (k + 1.0))
}

fn factors(k: usize) -> (f64, f64) {
    FACTORS.get(k).copied().unwrap_or_else(|| quotients(k))
}

/// `P_{k+1}` from `P_k` and `P_{k-1}`.
fn raised(k: usize, x: f64, now: f64, before: f64) -> f64 {
    let (up, down) = factors(k);
    up * x * now - down * before
}

/// `D_{k+1} = D_{k-1} + (2k+1) F_k` with `D_0 = 0`: derivatives of the polynomials F.
fn integrated_upwards(f: &[f64]) -> Vec<f64> {
    let mut d = vec![0.0; f.len()];
    for k in 1..f.len() {
        let below = if k >= 2 { d[k - 2] } else { 0.0 };
        d[k] = below + (2 * k - 1) as f64 * f[k - 1];
    }
    d
}
