//! The 95 % interval of an estimate: by the law of propagation where trials confirm it, else by the trials.
//!
//! ```text
//! d_low = |y - U - y_low|,  d_high = |y + U - y_high|;    linear where both are at most delta = u / 20
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `y`, `u`, `U` | estimate, standard uncertainty, half of the linear interval | unit of y |
//! | `y_low`, `y_high` | ends of the interval of trials, equal tails | unit of y |
//! | `delta` | numerical tolerance | unit of y |
//!
//! Source: \[JCGM101\] section 8 (comparison with trials), from memory; its tolerance of one significant digit of u is u/20 to u/2 as the
//! digits fall, here always the strictest of these. Trials go on until the comparison is plain by two of its own standard deviations, or
//! the ends are known to delta/5. The estimate, its standard uncertainty and its budget stay those of the law of propagation.

use tremolet_matter::uncertain::Uncertain;
use tremolet_numerics::monte_carlo::{Plan, Spread, propagate};

use crate::budget::{budget, interval_95};
use crate::trial::Inputs;

/// Numerical tolerance over the standard uncertainty.
const TOLERANCE: f64 = 0.05;
/// The one plan: same seed, same result.
const PLAN: Plan = Plan {
    seed: 0x7265_6d6f,
    coverage: 0.95,
    most_blocks: 60,
};

/// What trials said about an interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trials {
    /// How many.
    pub count: usize,
    /// Mean of the results.
    pub mean: f64,
    /// Their standard deviation.
    pub standard_deviation: f64,
    /// Their interval of 95 %.
    pub interval_95: [f64; 2],
    /// Largest difference of the ends at which the linear interval stands.
    pub tolerance: f64,
    /// Whether the ends are known to a fifth of the tolerance, or the comparison was plain before.
    pub settled: bool,
}

impl Trials {
    fn of(spread: &Spread, tolerance: f64) -> Self {
        Self {
            count: spread.trials,
            mean: spread.mean,
            standard_deviation: spread.standard_deviation,
            interval_95: spread.interval,
            tolerance,
            settled: spread.u_interval.iter().all(|s| 2.0 * s <= 0.2 * tolerance),
        }
    }

    /// Whether they confirm a linear interval.
    pub fn confirm(&self, linear: [f64; 2]) -> bool {
        (0..2).all(|i| (linear[i] - self.interval_95[i]).abs() <= self.tolerance)
    }
}

/// Trials for `values`, whose results `model` fills in for a drawing of `inputs`; none where an input cannot be drawn, a value is
/// exact, or a trial gives no number.
pub fn trials(
    values: &[&Uncertain],
    mut inputs: Inputs,
    mut model: impl FnMut(&Inputs, &mut [f64]),
) -> Vec<Option<Trials>> {
    let tolerances: Vec<f64> = values
        .iter()
        .map(|y| TOLERANCE * y.standard_uncertainty())
        .collect();
    if !inputs.can_be_drawn() || tolerances.iter().any(|t| !t.is_finite() || *t <= 0.0) {
        return vec![None; values.len()];
    }
    let linear: Vec<[f64; 2]> = values.iter().map(|y| interval_95(y, &budget(y))).collect();
    let plain = |i: usize, ends: &[f64; 2], s: &[f64; 2]| {
        (0..2).all(|k| (linear[i][k] - ends[k]).abs() + 2.0 * s[k] <= tolerances[i])
    };
    let enough = |seen: &[([f64; 2], [f64; 2])]| {
        let done = |(i, (ends, s)): (usize, &([f64; 2], [f64; 2]))| {
            plain(i, ends, s) || s.iter().all(|s| 2.0 * s <= 0.2 * tolerances[i])
        };
        seen.iter().enumerate().all(done)
    };
    let fifth: Vec<f64> = tolerances.iter().map(|t| 0.2 * t).collect();
    let spreads = propagate(&PLAN, &fifth, enough, |generator, out| {
        inputs.draw(generator);
        model(&inputs, out);
    });
    let told = spreads.iter().zip(&tolerances);
    told.map(|(spread, t)| Some(Trials::of(spread, *t)).filter(|found| found.mean.is_finite()))
        .collect()
}

/// Trials of one value that is a function of others.
pub fn trials_of(
    value: &Uncertain,
    inputs: &[&Uncertain],
    function: impl Fn(&[f64]) -> f64,
) -> Option<Trials> {
    let drawn = Inputs::of(inputs.iter().copied());
    let sums: Vec<_> = inputs.iter().map(|x| drawn.sum(x)).collect();
    let mut point = vec![0.0; inputs.len()];
    let found = trials(&[value], drawn, |drawn, out| {
        point
            .iter_mut()
            .zip(&sums)
            .for_each(|(x, sum)| *x = drawn.at(sum));
        out[0] = function(&point);
    });
    found[0]
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_matter::uncertain::Input;
    use tremolet_numerics::statistics::student_quantile;

    fn input(key: &str, degrees_of_freedom: f64) -> Input {
        Input {
            key: key.into(),
            unit: "m".into(),
            standard_uncertainty: 1.0,
            degrees_of_freedom,
            source: "test".into(),
        }
    }

    fn cube(relative: f64) -> (Trials, [f64; 2]) {
        let length = Uncertain::of_input(1.0, relative, input("length", f64::INFINITY));
        let volume = Uncertain::propagate(&[&length], |x| x[0].powi(3));
        let found = trials_of(&volume, &[&length], |x| x[0].powi(3)).expect("drawn");
        (found, interval_95(&volume, &budget(&volume)))
    }

    // The cube rises with its edge, so the ends of its interval are the cubes of the ends 1 -+ 1.96 u of the edge: 0.519 and 1.711 for 10 %,
    // where the linear interval ends at 1 -+ 0.588.
    #[test]
    fn a_cube_known_to_ten_per_cent_has_an_interval_that_is_not_symmetric() {
        let (found, linear) = cube(0.1);
        let due = [-1.0, 1.0].map(|sign| (1.0_f64 + sign * 0.195_996_398).powi(3));
        for (end, due) in found.interval_95.iter().zip(due) {
            // Four times what a quantile of so many values is uncertain by at the wider end.
            assert!((end - due).abs() < 0.5 * found.tolerance, "{found:?} {due}");
        }
        assert!(!found.confirm(linear) && found.settled, "{linear:?}");
        assert!((linear[0] - 0.412).abs() < 1e-3 && (linear[1] - 1.588).abs() < 1e-3);
        // Mean 1 + 3 u^2, variance 9 u^2 + 36 u^4 + 15 u^6 of a cube of a normal variate.
        let variance: f64 = 0.09 + 36e-4 + 15e-6;
        assert!((found.mean - 1.03).abs() < 3e-3, "{}", found.mean);
        assert!((found.standard_deviation / variance.sqrt() - 1.0).abs() < 5e-3);
    }

    #[test]
    fn a_cube_known_to_three_in_a_thousand_keeps_its_linear_interval_after_few_trials() {
        let (found, linear) = cube(3e-3);
        assert!(found.confirm(linear) && found.count <= 100_000, "{found:?}");
    }

    // Two equal parts with 5 degrees of freedom each: Welch and Satterthwaite give 10 and t = 2.228; the sum of two such variates is
    // another one, so trials are asked.
    #[test]
    fn few_degrees_of_freedom_are_told_by_trials_too() {
        let zero = Uncertain::exact(0.0);
        let y = zero
            .with_input(1.0, input("a", 5.0))
            .with_input(1.0, input("b", 5.0));
        let found = trials_of(&y, &[&y], |x| x[0]).expect("drawn");
        let one = zero.with_input(1.0, input("a", 5.0));
        let alone = trials_of(&one, &[&one], |x| x[0]).expect("drawn");
        assert!((alone.interval_95[1] - student_quantile(0.975, 5.0)).abs() < 0.03);
        // By numerical convolution of the two densities: see the sum below.
        let density = |t: f64| (1.0 + t * t / 5.0).powi(-3) * 0.379_606_689_82;
        let step = 0.02;
        let tail = |x: f64| {
            let points = (-2000..2000).map(|k| f64::from(k) * step);
            points
                .map(|a| step * density(a) * tremolet_numerics::statistics::student_tail(x - a, 5.0))
                .sum::<f64>()
        };
        let above = tail(found.interval_95[1]);
        assert!((above - 0.025).abs() < 1e-3, "{above}");
    }

    #[test]
    fn what_is_exact_or_rests_on_two_values_is_not_drawn() {
        let exact = Uncertain::exact(1.0);
        assert_eq!(trials_of(&exact, &[&exact], |x| x[0]), None);
        let few = Uncertain::of_input(1.0, 0.1, input("few", 1.0));
        assert_eq!(trials_of(&few, &[&few], |x| x[0]), None);
    }
}
