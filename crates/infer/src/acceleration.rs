//! Acceleration of a free body in one direction of the picture, from the path of its centre.
//!
//! ```text
//! x(t) = c0 + c1 P_1(u) + c2 P_2(u) + sum_n e^{-g_n t} (C_n cos w_n t + S_n sin w_n t),     a = 12 c2 / T^2
//! u^2(a) = (144 / T^4) s^2 [(J^T J)^-1]_22 tau,     tau = 1 + 2 sum_k rho_k
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `a` | place, acceleration | m, m/s^2 (or any other length) |
//! | `u`, `T` | time from -1 to 1 over the record, its length | 1, s |
//! | `w_n`, `g_n` | lines of the shape, which a centre may show | rad/s, 1/s |
//! | `s`, `rho_k` | standard deviation of the residuals, their correlation k samples apart | unit of x, 1 |
//!
//! Source: least squares \[GolubVanLoan2013\] section 5.3; `tau`, the factor by which correlated residuals widen the variance of a mean, \[Priestley1981\] section
//! 5.3, from memory. An acceleration that changes evenly is tested for by one more polynomial; where chance does not explain it, half of the
//! change over the record is in the uncertainty as limits. Only what is across the line of sight is seen; a camera that moves counts as a
//! body that does.

use tremolet_numerics::dense::{Matrix, dot};
use tremolet_numerics::statistics::fisher_tail;

/// Fewest samples.
const FEWEST: usize = 24;
/// Probability below which chance does not explain an acceleration that changes.
const CHANCE: f64 = 1e-3;
/// Correlation below which the sum over it ends.
const LEAST_CORRELATION: f64 = 0.05;

/// An acceleration along one direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Acceleration {
    /// Mean over the record, unit of the places per s^2.
    pub value: f64,
    /// Its standard uncertainty, from the scatter of the centre and from what an even change leaves open.
    pub u: f64,
    /// Degrees of freedom of the scatter.
    pub degrees_of_freedom: f64,
    /// How much it changed over the record, where chance does not explain that.
    pub change: Option<f64>,
}

/// The acceleration from `places` at `times` (s, ascending) of a body whose shape rings with `lines`, angular frequency (rad/s)
/// and decay rate (1/s) each; none for fewer than 24 samples or places that do not determine it.
///
/// ```
/// use tremolet_infer::acceleration::acceleration;
/// let times: Vec<f64> = (0..100).map(|i| 0.01 * f64::from(i)).collect();
/// let places: Vec<f64> = times.iter().map(|t| 1.0 + 0.3 * t - 0.5 * 0.02 * t * t).collect();
/// let found = acceleration(&times, &places, &[]).unwrap();
/// assert!((found.value + 0.02).abs() < 1e-9);
/// ```
pub fn acceleration(times: &[f64], places: &[f64], lines: &[[f64; 2]]) -> Option<Acceleration> {
    let count = times.len().min(places.len());
    let span = times.get(count.checked_sub(1)?)? - times[0];
    if count < FEWEST || span.is_nan() || span <= 0.0 {
        return None;
    }
    let columns = |i: usize, j: usize| {
        let (t, u) = (times[i] - times[0], 2.0 * (times[i] - times[0]) / span - 1.0);
        match j {
            0 => 1.0,
            1 => u,
            2 => 0.5 * (3.0 * u * u - 1.0),
            _ => {
                let [w, g] = lines[(j - 3) / 2];
                let (sin, cos) = (w * t).sin_cos();
                (-g * t).exp() * if j % 2 == 1 { cos } else { sin }
            }
        }
    };
    let model = Matrix::from_fn(count, 3 + 2 * lines.len(), columns);
    let freedom = count as f64 - model.columns() as f64;
    if freedom < 10.0 {
        return None;
    }
    let found = model.least_squares(&places[..count]).ok()?;
    let covariance = model.gram().inverse_positive().ok()?;
    let left: Vec<f64> = (0..count)
        .map(|i| places[i] - dot(model.row(i), &found))
        .collect();
    let per_coefficient = 12.0 / (span * span);
    let cubic = |i: usize| {
        let u = columns(i, 1);
        0.5 * u * (5.0 * u * u - 3.0)
    };
    let cubic: Vec<f64> = (0..count).map(cubic).collect();
    let change = even_change(&model, &covariance, &cubic, &left);
    let left = change.as_ref().map_or(left, |(_, rest)| rest.clone());
    let change = change.map(|(third, _)| 120.0 * third / (span * span));
    let widened = correlated(&left);
    let variance = dot(&left, &left) / freedom * widened;
    let scatter = per_coefficient * (variance * covariance[(2, 2)]).sqrt();
    Some(Acceleration {
        value: per_coefficient * found[2],
        u: scatter.hypot(change.unwrap_or(0.0) / 12.0_f64.sqrt()),
        degrees_of_freedom: (freedom / widened).max(1.0),
        change,
    })
}

/// Coefficient of the third polynomial, and what it leaves of the residuals, where chance does not explain it.
fn even_change(model: &Matrix, covariance: &Matrix, cubic: &[f64], left: &[f64]) -> Option<(f64, Vec<f64>)> {
    let right: Vec<f64> = (0..model.columns())
        .map(|j| dot(&model.column(j), cubic))
        .collect();
    let inside = covariance.times(&right);
    let new: Vec<f64> = (0..cubic.len())
        .map(|i| cubic[i] - dot(model.row(i), &inside))
        .collect();
    let square = dot(&new, &new);
    let third = dot(&new, left) / square;
    let rest: Vec<f64> = left.iter().zip(&new).map(|(r, x)| r - third * x).collect();
    let widened = correlated(&rest);
    let freedom = (left.len() - model.columns() - 1) as f64;
    let variance = dot(&rest, &rest) / freedom * widened;
    let chance = fisher_tail(
        third * third * square / variance,
        1.0,
        (freedom / widened).max(1.0),
    );
    (chance < CHANCE).then_some((third, rest))
}

/// `tau` of residuals, at least 1.
fn correlated(left: &[f64]) -> f64 {
    let square = dot(left, left);
    if square == 0.0 {
        return 1.0;
    }
    let correlation = |k: usize| dot(&left[k..], &left[..left.len() - k]) / square;
    let sum: f64 = (1..left.len() / 5)
        .map(correlation)
        .take_while(|rho| *rho > LEAST_CORRELATION)
        .sum();
    1.0 + 2.0 * sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_numerics::random::Generator;

    fn times(count: u32) -> Vec<f64> {
        (0..count).map(|i| 3.0 + 0.01 * f64::from(i)).collect()
    }

    // 200 paths with noise, half of it white and half a first-order process; deviations over the stated uncertainty are about 1.
    #[test]
    fn the_stated_uncertainty_is_that_of_the_scatter() {
        let times = times(300);
        for memory in [0.0, 0.7] {
            let mut squares = 0.0;
            for run in 0..200 {
                let mut g = Generator::stream(9, run);
                let mut slow = 0.0;
                let place = |t: &f64| {
                    slow = memory * slow + 1e-5 * g.normal();
                    0.1 - 0.2 * (t - 3.0) + 0.5 * 0.02 * (t - 3.0).powi(2) + slow + 1e-5 * g.normal()
                };
                let places: Vec<f64> = times.iter().map(place).collect();
                let found = acceleration(&times, &places, &[]).expect("determined");
                squares += ((found.value - 0.02) / found.u).powi(2) / 200.0;
            }
            assert!((0.7..1.45).contains(&squares), "{memory}: {squares}");
        }
    }

    // A centre that swings with a mode: half a swing more at the end of the record looks like an acceleration unless the line is known.
    #[test]
    fn a_swing_of_the_centre_is_no_acceleration() {
        let times = times(100);
        let place = |t: &f64| 1e-4 * (-(t - 3.0)).exp() * (9.0 * (t - 3.0)).cos();
        let places: Vec<f64> = times.iter().map(place).collect();
        let known = acceleration(&times, &places, &[[9.0, 1.0]]).expect("determined");
        let blind = acceleration(&times, &places, &[]).expect("determined");
        assert!(
            known.value.abs() < 1e-9 && blind.value.abs() > 1e-5,
            "{known:?} {blind:?}"
        );
    }

    // From 0 to 0.04 m/s^2 in two seconds: 0.02 on the mean, a change of 0.04, limits of half of that.
    #[test]
    fn an_acceleration_that_changes_is_told_and_widens_the_uncertainty() {
        let times = times(201);
        let mut g = Generator::new(4);
        let place = |t: &f64| 0.02 * (t - 3.0).powi(3) / 6.0 + 1e-6 * g.normal();
        let places: Vec<f64> = times.iter().map(place).collect();
        let found = acceleration(&times, &places, &[]).expect("determined");
        assert!((found.value - 0.02).abs() < 1e-4, "{found:?}");
        assert!((found.change.expect("told") - 0.04).abs() < 4e-4, "{found:?}");
        assert!((found.u - 0.02 / 3.0_f64.sqrt()).abs() < 2e-4, "{found:?}");
    }

    #[test]
    fn few_samples_give_none() {
        let times = times(23);
        assert_eq!(acceleration(&times, &times, &[]), None);
        assert_eq!(acceleration(&[], &[], &[]), None);
    }
}
