//! The modes of a drop that is pinned on a thin ring.
//!
//! ```text
//! 0 = sum_(n>=1) (2n+1) P_n(c)^2 / (N - W/n),      N = (n - 1)(n + 2),   W = w^2 rho R^3 / sigma
//!   = G(c) - 3 c^2 / W + sum_(n>=2) (2n+1) P_n(c)^2 (W/n) / (N (N - W/n)),
//! G(c) = sum_(n>=2) (2n+1) P_n(c)^2 / N = 1/2 + c^2 [2 ln 2 - 7/3 - ln(1 - c^2)]
//! shape  a_n ~ (2n+1) P_n(c) / (N - W/n)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `c` | cosine of the angle of the ring from the axis, seen from the drop's centre; 0 at the equator, near 1 for a needle's tip | 1 |
//! | `w`, `W` | angular frequency, its square in units of the drop | rad/s, 1 |
//! | `R`, `rho`, `sigma` | radius, density, surface tension | m, kg/m^3, N/m |
//! | `a_n` | amplitude of `P_n` | 1 |
//!
//! One mode lies between each two frequencies of the free drop; the lowest, below that of degree 2, swings the whole drop to and fro on the ring. A free mode with a node on the ring
//! stays as it is.
//!
//! Source: own derivation by the response of the free modes to a force on the ring; the same problem in \[BostwickSteen2009\] (not seen). Inviscid, in vacuum, small swings round
//! the axis, a round drop. Damping at the ring is not here: held drops die away faster than free ones.

use tremolet_numerics::legendre::values;
use tremolet_numerics::root::bracketed;

use crate::error::{TheoryError, positive, required};
use crate::validity::Validity;

/// Degrees of the sum; what is left out is some `W / (6 DEGREES^4)`, below 1e-9 for the modes served.
const DEGREES: usize = 640;
/// A free mode whose `P_n(c)^2 (2n+1)` is below this has a node on the ring.
const NODE: f64 = 1e-9;

/// The lowest `count` squares `W` of a drop with its ring at the cosine `c` (-1 to 1, ends left out), ascending; up to 40. At the equator the first is 0: the whole drop
/// slips to one side without any force.
///
/// # Errors
/// [`TheoryError::Quantity`] for a cosine of -1 or 1 or beyond, or more than 40 modes; [`TheoryError::Root`] if a search fails.
///
/// ```
/// let lowest = tremolet_theory::held::ring::squares(0.8, 2)?;
/// assert!((lowest[0] - 2.77506).abs() < 1e-4 && (lowest[1] - 18.1469).abs() < 1e-3);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn squares(cosine: f64, count: usize) -> Result<Vec<f64>, TheoryError> {
    required(
        "cosine of the ring",
        cosine,
        cosine.abs() < 1.0,
        "above -1 and below 1",
    )?;
    required("number of modes", count as f64, count <= 40, "at most 40")?;
    let mut p = vec![0.0; DEGREES + 1];
    values(cosine, &mut p);
    let weights: Vec<f64> = (0..=DEGREES).map(|n| (2 * n + 1) as f64 * p[n] * p[n]).collect();
    let still = statics(cosine);
    let gap = |w: f64| sum(&weights, still, w);
    let (mut found, mut below) = (Vec::new(), None);
    for (n, weight) in weights.iter().enumerate().skip(1) {
        let pole = free(n);
        if *weight < NODE {
            found.push(pole);
            continue;
        }
        if let Some(from) = below {
            found.push(between(gap, from, pole)?);
        }
        below = Some(pole);
        if found.len() > count + 1 {
            break;
        }
    }
    found.sort_by(f64::total_cmp);
    found.truncate(count);
    Ok(found)
}

/// Angular frequencies (rad/s) of the lowest `count` modes of a drop of `radius` (m), `density` (kg/m^3) and `tension` (N/m) on a ring of radius `ring` (m).
///
/// # Errors
/// As [`squares`]; [`TheoryError::Quantity`] for anything that is not positive or a ring wider than the drop.
pub fn frequencies(
    ring: f64,
    radius: f64,
    density: f64,
    tension: f64,
    count: usize,
) -> Result<Vec<f64>, TheoryError> {
    let share = positive("radius of the ring", ring)? / positive("radius", radius)?;
    required(
        "ring over drop radius",
        share,
        share <= 1.0,
        "at most 1; a wider ring holds a lens",
    )?;
    let unit = positive("surface tension", tension)? / (positive("density", density)? * radius.powi(3));
    let all = squares((1.0 - share * share).sqrt(), count)?;
    Ok(all.into_iter().map(|w| (w * unit).sqrt()).collect())
}

/// Where the formula holds: `wire` radius over drop radius up to 0.05, `ohnesorge` number up to 0.03, relative `amplitude` up to 0.1.
#[must_use]
pub fn validity(wire: f64, ohnesorge: f64, amplitude: f64) -> Validity {
    Validity::always()
        .with("radius of the wire over that of the drop", wire, 0.0, 0.05)
        .with("Ohnesorge number", ohnesorge, 0.0, 0.03)
        .with("relative amplitude", amplitude.abs(), 0.0, 0.1)
}

/// Square of the free mode of degree n.
fn free(n: usize) -> f64 {
    (n * (n - 1) * (n + 2)) as f64
}

/// Response at the ring to a steady force on it, free of degree 0 and 1.
fn statics(c: f64) -> f64 {
    0.5 + c * c * (2.0 * std::f64::consts::LN_2 - 7.0 / 3.0 - (1.0 - c * c).ln())
}

fn sum(weights: &[f64], still: f64, w: f64) -> f64 {
    let term = |n: usize| {
        let (stiff, slow) = (((n - 1) * (n + 2)) as f64, w / n as f64);
        weights[n] * slow / (stiff * (stiff - slow))
    };
    still - weights[1] / w + (2..weights.len()).map(term).sum::<f64>()
}

/// The root between two poles, where the sum rises from minus to plus infinity; a root closer to a pole than 1e-12 of the way is the pole.
fn between(gap: impl Fn(f64) -> f64, from: f64, to: f64) -> Result<f64, TheoryError> {
    let margin = 1e-12 * (to - from);
    let (low, high) = (from + margin, to - margin);
    if gap(low) >= 0.0 {
        return Ok(from);
    }
    if gap(high) <= 0.0 {
        return Ok(to);
    }
    let what = "mode of a drop on a ring";
    bracketed(gap, low, high, 0.0)
        .map(|found| found.root)
        .map_err(|source| TheoryError::Root { what, source })
}

#[cfg(test)]
mod tests {
    use super::*;

    // Ritz's method with shapes that vanish on the ring, validation/theory/held.py; the last row is where its polynomials are still 1e-4 off.
    #[test]
    fn squares_by_ritz() {
        let rows = [
            (
                0.3,
                [0.614_277_175, 12.270_120_8, 49.826_242, 73.611_906, 192.661_737],
                1e-8,
            ),
            (
                0.5,
                [
                    2.117_754_47,
                    8.540_866_92,
                    46.126_223_1,
                    98.711_740_5,
                    143.732_341,
                ],
                1e-8,
            ),
            (
                0.8,
                [2.775_060_16, 18.146_861_3, 30.782_775_7, 78.380_133, 170.437_946],
                1e-8,
            ),
            (
                0.95,
                [1.382_887_92, 14.888_650_8, 48.396_334_7, 108.923_642, 196.348_985],
                3e-4,
            ),
        ];
        for (c, due, digits) in rows {
            for (found, due) in squares(c, 5).unwrap().iter().zip(due) {
                assert!((found / due - 1.0).abs() < digits, "{c}: {found} {due}");
                // Ritz never lies below.
                assert!(*found < due * (1.0 + 1e-8));
            }
        }
    }

    // At the equator the odd free modes and the shift stay, the even ones rise.
    #[test]
    fn at_the_equator() {
        let found = squares(0.0, 5).unwrap();
        for (found, due) in found.iter().zip([0.0, 19.495_811_5, 30.0, 111.656_871, 140.0]) {
            assert!((found - due).abs() < 1e-6 * (1.0 + due) / 10.0, "{found} {due}");
        }
    }

    // Sums of 400 000 terms, validation/theory/held.py.
    #[test]
    fn the_static_response() {
        for (c, due) in [(0.0, 0.5), (0.5, 0.335_160_775), (0.9, 1.078_090_710)] {
            assert!((statics(c) - due).abs() < 1e-9);
        }
    }

    // The first mode is below that of degree 2 and between each two of the free drop lies one.
    #[test]
    fn modes_lie_between_those_of_the_free_drop() {
        for c in [0.1, 0.3, 0.62, 0.9, 0.999] {
            for (k, w) in squares(c, 12).unwrap().into_iter().enumerate() {
                assert!(free(k + 1) <= w && w <= free(k + 2), "{c} {k}: {w}");
            }
        }
        // A vanishing ring lets go.
        let tip = squares(1.0 - 1e-9, 3).unwrap();
        assert!(tip[0] < 0.2 && (tip[1] / 8.0 - 1.0).abs() < 0.2);
    }

    #[test]
    fn frequencies_in_hertz_scale() {
        let w = frequencies(0.006, 0.010, 1000.0, 0.1, 2).unwrap();
        assert!((w[0] - (2.775_060_16_f64 * 100.0).sqrt()).abs() < 1e-6);
        assert!(
            frequencies(0.02, 0.01, 1000.0, 0.1, 2).is_err()
                && frequencies(0.0, 0.01, 1000.0, 0.1, 2).is_err()
        );
        assert!(squares(1.0, 2).is_err() && squares(0.5, 41).is_err());
        assert!(validity(0.01, 0.001, 0.05).holds() && !validity(0.2, 0.001, 0.05).holds());
    }
}
