//! The modes of a drop that sits in a bowl of its own curvature, or on the end of a needle: pinned at the rim, free beyond.
//!
//! ```text
//! on the free part x > c:  -[(1 - x^2) z']' - 2 z = W sum_n (z_n / n) P_n + constant,   z(c) = 0,   integral z = 0
//! z_n = (2n+1)/2 integral_c^1 z P_n dx
//! S y = y / W,   S_nm = J_nm sqrt((2n+1)(2m+1) / (4 n m)),   J_nm = I_nm - I_n0 I_0m / I_00,   I_nm = integral_c^1 P_n w_m dx
//! w_m = (P_m(x) - P_m(c) x/c) / N  for m >= 2,   w_0 = -1/2 + x/(2c),   N = (m - 1)(m + 2)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `c` | cosine of the polar angle, at the rim; the support covers the half-angle `a` at the far pole: `c = -cos a` | 1 |
//! | `z`, `z_n` | displacement of the free surface, its Legendre amplitudes over the whole sphere | radii |
//! | `W` | `w^2 rho R^3 / sigma` | 1 |
//! | `w_m` | shape under the pressure `P_m`, zero at the rim | radii |
//!
//! Source: the integral equation is that of \[StraniSabetta1984\] (text not seen), derived here with a Green function in closed form; checked by Ritz's method. Inviscid, in
//! vacuum, small swings round the axis. A needle's flat end is taken as a small bowl. Damping at the rim is not here.

use tremolet_numerics::dense::Matrix;
use tremolet_numerics::legendre::values;
use tremolet_numerics::quadrature::gauss_legendre;
use tremolet_numerics::root::RootError;

use crate::error::{TheoryError, positive, required};
use crate::validity::Validity;

/// Degrees kept; the lowest modes are good to 1e-6 for half-angles from 5 degrees on.
const DEGREES: usize = 160;
/// Where the rim is this close to the equator of the drop, both sides of it are averaged: there `x` itself is zero at the rim.
const EQUATOR: f64 = 1e-4;

/// The lowest `count` squares `W` (at most 20) for a support that covers the half-angle `covered` (rad, 0.05 to 3) as seen from the drop's centre.
///
/// # Errors
/// [`TheoryError::Quantity`] for an angle outside that range or too many modes, [`TheoryError::Root`] if the matrix yields none.
///
/// ```
/// // A needle whose end is half as wide as the drop: 30 degrees.
/// let w = tremolet_theory::held::bowl::squares(std::f64::consts::FRAC_PI_6, 1)?[0];
/// assert!((w - 2.22530).abs() < 1e-4);
/// # Ok::<(), tremolet_theory::error::TheoryError>(())
/// ```
pub fn squares(covered: f64, count: usize) -> Result<Vec<f64>, TheoryError> {
    let inside = (0.05..=3.0).contains(&covered);
    required(
        "half-angle covered by the support",
        covered,
        inside,
        "from 0.05 to 3 rad",
    )?;
    required("number of modes", count as f64, count <= 20, "at most 20")?;
    let rim = -covered.cos();
    if rim.abs() >= EQUATOR {
        return at_rim(rim, count);
    }
    let (above, below) = (at_rim(EQUATOR, count)?, at_rim(-EQUATOR, count)?);
    let share = 0.5 * (1.0 + rim / EQUATOR);
    let mean = |(a, b): (&f64, &f64)| share * a + (1.0 - share) * b;
    Ok(above.iter().zip(&below).map(mean).collect())
}

/// Angular frequencies (rad/s) of the lowest `count` modes of a drop of `radius` (m), `density` (kg/m^3) and `tension` (N/m) on a support of radius `rim` (m) that
/// covers less than half of it.
///
/// # Errors
/// As [`squares`]; [`TheoryError::Quantity`] for anything that is not positive or a rim as wide as the drop.
pub fn frequencies(
    rim: f64,
    radius: f64,
    density: f64,
    tension: f64,
    count: usize,
) -> Result<Vec<f64>, TheoryError> {
    let share = positive("radius of the rim", rim)? / positive("radius", radius)?;
    required("rim over drop radius", share, share < 1.0, "below 1")?;
    let unit = positive("surface tension", tension)? / (positive("density", density)? * radius.powi(3));
    Ok(squares(share.asin(), count)?
        .into_iter()
        .map(|w| (w * unit).sqrt())
        .collect())
}

/// Where the formula holds: `ohnesorge` number up to 0.03, relative `amplitude` up to 0.1.
#[must_use]
pub fn validity(ohnesorge: f64, amplitude: f64) -> Validity {
    Validity::always()
        .with("Ohnesorge number", ohnesorge, 0.0, 0.03)
        .with("relative amplitude", amplitude.abs(), 0.0, 0.1)
}

fn at_rim(rim: f64, count: usize) -> Result<Vec<f64>, TheoryError> {
    let overlap = overlaps(rim);
    let whole = overlap[(0, 0)];
    let symmetric = Matrix::from_fn(DEGREES, DEGREES, |i, j| {
        let (n, m) = (i + 1, j + 1);
        let free = overlap[(n, m)] - overlap[(n, 0)] * overlap[(0, m)] / whole;
        free * ((2.0 + 1.0 / n as f64) * (2.0 + 1.0 / m as f64)).sqrt() / 2.0
    });
    let what = "modes of a drop in a bowl";
    let source = RootError::NotFinite { re: rim, im: 0.0 };
    let (shares, _) = symmetric
        .symmetric_eigen()
        .map_err(|_| TheoryError::Root { what, source })?;
    // The largest 1/W belong to the lowest modes.
    Ok(shares.iter().rev().take(count).map(|share| 1.0 / share).collect())
}

/// `I_nm` for n and m from 0 to [`DEGREES`]; symmetric, so that `w_1`, which has a logarithm, is needed for `I_11` only.
fn overlaps(rim: f64) -> Matrix {
    let rule = gauss_legendre(DEGREES + 2);
    let (middle, half) = (0.5 * (1.0 + rim), 0.5 * (1.0 - rim));
    let mut at_rim = vec![0.0; DEGREES + 1];
    values(rim, &mut at_rim);
    let points: Vec<(f64, Vec<f64>)> = rule
        .nodes
        .iter()
        .zip(&rule.weights)
        .map(|(node, weight)| {
            let mut p = vec![0.0; DEGREES + 1];
            values(middle + half * node, &mut p);
            (half * weight, p)
        })
        .collect();
    let shape = |m: usize, p: &[f64]| {
        if m == 0 {
            return 0.5 * (p[1] / rim - 1.0);
        }
        (p[m] - at_rim[m] * p[1] / rim) / ((m - 1) * (m + 2)) as f64
    };
    let integral = |n: usize, m: usize| points.iter().map(|(w, p)| w * p[n] * shape(m, p)).sum::<f64>();
    Matrix::from_fn(DEGREES + 1, DEGREES + 1, |n, m| match (n, m) {
        (1, 1) => twice_one(rim),
        (n, 1) => integral(1, n),
        (n, m) => integral(n, m),
    })
}

/// `I_11`: `w_1 = (x ln(1 + x) - 1)/3 + g x` with `g` from `w_1(c) = 0`.
fn twice_one(c: f64) -> f64 {
    let slope = (1.0 / c - (1.0 + c).ln()) / 3.0;
    // Of x^2 ln(1 + x), with u = 1 + x.
    let part = |u: f64| {
        let log = u.ln();
        u * u * u / 3.0 * (log - 1.0 / 3.0) - u * u * (log - 0.5) + u * (log - 1.0)
    };
    let cubes = (1.0 - c.powi(3)) / 3.0;
    (part(2.0) - part(1.0 + c)) / 3.0 - (1.0 - c * c) / 6.0 + slope * cubes
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    // Ritz's method with polynomials that vanish at the rim, validation/theory/held.py; at 10 degrees its polynomials are still 1e-3 off (and above).
    #[test]
    fn squares_by_ritz() {
        let rows = [
            (
                30.0,
                [2.225_295_43, 19.838_008_9, 63.127_708_8, 142.496_493],
                1e-6,
            ),
            (60.0, [6.483_335_23, 43.641_743, 131.560_717, 290.538_859], 1e-6),
            (90.0, [19.939_571, 114.093_675, 330.020_581, 715.782_813], 1e-6),
            (120.0, [81.037_907, 417.019_991, 1_168.771_34, 2_498.406_77], 2e-6),
            (
                10.0,
                [0.923_317_835, 12.309_360_5, 41.237_127_7, 94.841_157_8],
                2e-3,
            ),
        ];
        for (degrees, due, digits) in rows {
            let all = squares(f64::to_radians(degrees), 4).unwrap();
            for (found, due) in all.iter().zip(due) {
                assert!((found / due - 1.0).abs() < digits, "{degrees}: {found} {due}");
            }
        }
    }

    // Both sides of the equator and the way across it.
    #[test]
    fn nothing_jumps_at_the_equator() {
        let at = |shift: f64| squares(PI / 2.0 + shift, 1).unwrap()[0];
        let slope = (at(2e-4) - at(-2e-4)) / 4e-4;
        for shift in [-0.9e-4, 0.0, 0.5e-4, 1.1e-4] {
            assert!((at(shift) - at(0.0) - slope * shift).abs() < 1e-5, "{shift}");
        }
    }

    // A small support: the drop swings slowly as a whole, and what is above comes down to the free modes 8, 30, 72.
    #[test]
    fn a_small_support_lets_go() {
        let small = squares(0.05, 4).unwrap();
        assert!(small[0] < 1.0);
        for (found, free) in small[1..].iter().zip([8.0, 30.0, 72.0]) {
            assert!(*found > free && *found < 1.6 * free, "{found} {free}");
        }
        let wide = squares(0.3, 4).unwrap();
        assert!(small.iter().zip(&wide).all(|(a, b)| a < b));
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(squares(0.0, 1).is_err() && squares(3.1, 1).is_err() && squares(1.0, 21).is_err());
        assert!(frequencies(0.01, 0.01, 1.0, 1.0, 1).is_err() && frequencies(0.0, 1.0, 1.0, 1.0, 1).is_err());
        let w = frequencies(0.005, 0.010, 1000.0, 0.1, 1).unwrap()[0];
        assert!((w / (2.225_295_43_f64 * 100.0).sqrt() - 1.0).abs() < 1e-6);
        assert!(validity(0.001, 0.05).holds() && !validity(0.1, 0.05).holds());
    }
}
