//! Growth of a bubble from nothing in a strongly oversaturated liquid, its wall's own motion included.
//!
//! ```text
//! R = 2 b sqrt(D t),     Ja = L (f - 1) = 2 b^2 integral_1^inf exp(-b^2 (y^2 - 3 + 2/y)) dy / y^2
//! b -> sqrt(Ja / 2)  for small Ja,   sqrt(3 / pi) Ja  for large
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `R`, `t` | radius, time since it was nothing | m, s |
//! | `D` | diffusivity of the gas in the liquid | m^2/s |
//! | `L`, `f` | concentration dissolved at saturation over that in the gas; concentration far away over that of saturation | 1 |
//! | `Ja` | gas to be had over gas needed | 1 |
//! | `b` | growth constant | 1 |
//!
//! Source: \[Scriven1959\]; re-derived here for gas without mass. For radii far above the critical one, one bubble in liquid without end, still but for
//! the bubble's own push.

use tremolet_numerics::quadrature::gauss_legendre;
use tremolet_numerics::root::bracketed;

use crate::error::{TheoryError, not_negative, positive};
use crate::validity::Validity;

/// Growth constant `b` for `Ja` (1e-6 to 1e4).
///
/// # Errors
/// [`TheoryError::Quantity`] for a number that is not positive, [`TheoryError::Root`] outside the range.
///
/// ```
/// let b = tremolet_theory::fizz::scriven::growth_constant(1.0)?;
/// assert!((b - 1.318_967_9).abs() < 1e-6);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn growth_constant(jakob: f64) -> Result<f64, TheoryError> {
    positive("gas to be had over gas needed", jakob)?;
    let rule = gauss_legendre(24);
    let gap = |log: f64| (gas(log.exp(), &rule) / jakob).ln();
    let what = "growth constant";
    bracketed(gap, 1e-4_f64.ln(), 2e4_f64.ln(), 1e-14)
        .map(|found| found.root.exp())
        .map_err(|source| TheoryError::Root { what, source })
}

/// Radius after `time` (s) for the `diffusivity` (m^2/s) and `Ja`; m.
///
/// # Errors
/// As [`growth_constant`]; a diffusivity that is not positive or a negative time.
pub fn radius(jakob: f64, diffusivity: f64, time: f64) -> Result<f64, TheoryError> {
    let spread = (positive("diffusivity", diffusivity)? * not_negative("time", time)?).sqrt();
    Ok(2.0 * growth_constant(jakob)? * spread)
}

/// `Ja` of a growth constant: in the logarithm of y, over the range where the exponential is above 1e-18.
fn gas(b: f64, rule: &tremolet_numerics::quadrature::Rule) -> f64 {
    let square = b * b;
    let exponent = |y: f64| square * (y * y - 3.0 + 2.0 / y);
    let part = |x: f64| {
        let y = x.exp();
        (-exponent(y)).exp() / y
    };
    // y - 1 is about sqrt(14 / b^2) when b is large, y about sqrt(42) / b when it is small.
    let end = (1.0 + 4.0 / b).ln() + 1.0_f64.min(3.0 / b);
    let panels = 24;
    let step = end / f64::from(panels);
    let panel = |k| rule.integral(step * f64::from(k), step * f64::from(k + 1), part);
    2.0 * square * (0..panels).map(panel).sum::<f64>()
}

/// Where it holds for a bubble of `radius` (m): at least ten times the `critical` one, with liquid out to five radii (`reach`, m, half the way to the next bubble or to the
/// surface).
#[must_use]
pub fn validity(radius: f64, critical: f64, reach: f64) -> Validity {
    Validity::always()
        .with(
            "radius over critical radius",
            radius / critical,
            10.0,
            f64::INFINITY,
        )
        .with("radius over room around the bubble", radius / reach, 0.0, 0.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    // The boundary-value problem solved outward from the wall, validation/theory/fizz.py.
    #[test]
    fn growth_constants_of_the_boundary_value_problem() {
        let rows = [
            (0.01, 0.075_310_031_2),
            (0.1, 0.273_394_634),
            (1.0, 1.318_967_872),
            (5.0, 5.294_762_347),
            (20.0, 19.971_501_44),
        ];
        for (jakob, b) in rows {
            let found = growth_constant(jakob).unwrap();
            assert!((found / b - 1.0).abs() < 2e-8, "{jakob}: {found}");
        }
    }

    // Scriven's limits (from memory; they follow from the integral).
    #[test]
    fn small_and_large() {
        let small = growth_constant(1e-6).unwrap();
        assert!((small / 0.5e-6_f64.sqrt() - 1.0).abs() < 2e-3, "{small}");
        let large = growth_constant(1e4).unwrap();
        assert!((large / (1e4 * (3.0 / std::f64::consts::PI).sqrt()) - 1.0).abs() < 1e-3);
    }

    #[test]
    fn the_square_root_of_time() {
        let at = |t| radius(1.0, 1.9e-9, t).unwrap();
        assert!((at(4.0) / at(1.0) - 2.0).abs() < 1e-12 && at(0.0) == 0.0);
        assert!((at(1.0) - 2.0 * 1.318_967_872 * 1.9e-9_f64.sqrt()).abs() < 1e-11);
        assert!(
            growth_constant(0.0).is_err()
                && radius(1.0, 0.0, 1.0).is_err()
                && radius(1.0, 1.0, -1.0).is_err()
        );
    }

    #[test]
    fn small_and_crowded_bubbles_are_outside() {
        assert!(validity(1e-4, 1e-6, 1e-3).holds());
        assert!(!validity(2e-6, 1e-6, 1e-3).holds() && !validity(1e-3, 1e-6, 1e-3).holds());
    }
}
