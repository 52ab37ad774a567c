//! The normal distribution, tabulated for speed: the profile of a blurred step.
//!
//! ```text
//! Phi(x) = 1/2 (1 + erf(x / sqrt 2)),    phi(x) = exp(-x^2/2) / sqrt(2 pi)
//! ```
//! Cubic interpolation in a table of spacing 1/64; error below 1e-8. Source: \[AbramowitzStegun1972\] 26.2.10 (series).

use std::sync::LazyLock;

const LIMIT: f64 = 6.0;
const PER_UNIT: usize = 64;
/// Times this is faster than over six.
const SIXTH: f64 = 1.0 / 6.0;
const SIZE: usize = 2 * 6 * PER_UNIT + 1;

static TABLE: LazyLock<Vec<[f64; 2]>> = LazyLock::new(|| {
    let node = |i: usize| i as f64 / PER_UNIT as f64 - LIMIT;
    (0..SIZE).map(|i| [integral(node(i)), density(node(i))]).collect()
});

/// `1/2 + phi(x) (x + x^3/3 + x^5/15 + ...)`
fn integral(x: f64) -> f64 {
    let (mut term, mut sum, mut k) = (x, x, 1.0);
    while term.abs() > 1e-17 * sum.abs() {
        k += 2.0;
        term *= x * x / k;
        sum += term;
    }
    0.5 + density(x) * sum
}

/// `phi(x)`.
#[inline]
pub fn density(x: f64) -> f64 {
    (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt()
}

/// `Phi(x)` and `phi(x)`.
#[inline]
pub fn step(x: f64) -> (f64, f64) {
    if x <= -LIMIT {
        return (0.0, 0.0);
    }
    if x >= LIMIT {
        return (1.0, 0.0);
    }
    let at = ((x + LIMIT) * PER_UNIT as f64 + 0.5) as usize;
    let node = at as f64 / PER_UNIT as f64 - LIMIT;
    let [whole, phi] = TABLE[at];
    let h = x - node;
    // Taylor about the node: phi' = -x phi, phi'' = (x^2 - 1) phi.
    let bend = node * node - 1.0;
    let value = whole + phi * h * (1.0 + h * (-0.5 * node + h * bend * SIXTH));
    (value, phi * (1.0 + h * (-node + h * bend / 2.0)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// \[AbramowitzStegun1972\] table 26.1, from memory: Phi(1), Phi(2), Phi(3).
    #[test]
    fn the_step_has_its_handbook_values() {
        for (x, phi) in [
            (1.0, 0.841344746),
            (2.0, 0.977249868),
            (3.0, 0.998650102),
            (0.0, 0.5),
        ] {
            assert!((step(x).0 - phi).abs() < 1e-9);
            assert!((step(-x).0 + phi - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn between_the_nodes_value_and_slope_hold() {
        for i in -5000..5000 {
            let x = f64::from(i) * 0.00123;
            let (value, slope) = step(x);
            assert!((value - integral(x)).abs() < 2e-8, "{x}");
            assert!((slope - density(x)).abs() < 1e-6, "{x}");
        }
        assert_eq!((step(-7.0), step(9.0)), ((0.0, 0.0), (1.0, 0.0)));
    }
}
