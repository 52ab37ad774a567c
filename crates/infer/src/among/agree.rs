//! Which runs agree with each other within their budgets.
//!
//! ```text
//! d_i = (y_i - m_i) / u(y_i - m_i),       m_i: mean of the other runs that agree
//! |d_i| > z(1 - 0.05 / (2 k)):  run i disagrees
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `d_i` | normalised deviation of run i | 1 |
//! | `m_i` | mean of the others, budgets alone, by [`crate::among::mean`] | unit of y |
//! | `z`, `k` | quantile of the normal distribution, number of runs | 1 |
//!
//! What a run shares with the others cancels in the difference. The run that is farthest off is set aside, and again, as long as more than
//! half of the runs are left, so that one run that is wrong does not make the others look so. Source: \[Cox2007\] (largest subset that
//! agrees); the quantile is that of k comparisons at once (Bonferroni): of twenty families of runs whose budgets are right, one has a run
//! that is named. No run is left out of a mean for it.

use tremolet_matter::uncertain::Uncertain;
use tremolet_numerics::dense::DenseError;
use tremolet_numerics::statistics::normal_quantile;

use crate::among::mean::{at_common_value, weighted, weights};

/// How a run stands to the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Normalised deviation.
    pub deviation: f64,
    /// Whether it disagrees.
    pub disagrees: bool,
}

/// The largest deviation of one of `count` runs that counts as agreement.
pub fn limit(count: usize) -> f64 {
    normal_quantile(1.0 - 0.025 / count as f64)
}

/// Each of two runs or more against the others.
///
/// # Errors
/// A number that is not finite.
pub fn standings(values: &[Uncertain]) -> Result<Vec<Standing>, DenseError> {
    let even = at_common_value(values);
    let most = limit(even.len());
    let mut agreeing: Vec<usize> = (0..even.len()).collect();
    loop {
        let found: Result<Vec<f64>, DenseError> =
            (0..even.len()).map(|i| deviation(&even, i, &agreeing)).collect();
        let found = found?;
        let worst = agreeing
            .iter()
            .copied()
            .max_by(|&a, &b| found[a].abs().total_cmp(&found[b].abs()));
        let worst = worst.filter(|&i| found[i].abs() > most && 2 * (agreeing.len() - 1) > even.len());
        let Some(worst) = worst else {
            let standing = |d: f64| Standing {
                deviation: d,
                disagrees: d.abs() > most,
            };
            return Ok(found.into_iter().map(standing).collect());
        };
        agreeing.retain(|&i| i != worst);
    }
}

fn deviation(values: &[Uncertain], one: usize, agreeing: &[usize]) -> Result<f64, DenseError> {
    let others: Vec<Uncertain> = agreeing
        .iter()
        .filter(|&&i| i != one)
        .map(|&i| values[i].clone())
        .collect();
    let mean = weighted(&others, &weights(&others, 0.0)?);
    let difference = Uncertain::combine(
        values[one].value() - mean.value(),
        &[(&values[one], 1.0), (&mean, -1.0)],
    );
    let u = difference.standard_uncertainty();
    Ok(if difference.value() == 0.0 {
        0.0
    } else {
        difference.value() / u
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::among::sample::value as run;
    use tremolet_numerics::random::Generator;

    #[test]
    fn one_run_that_is_off_is_named_and_the_others_are_not() {
        let values = [1000.0, 1000.4, 999.7, 1000.1, 1012.0];
        let keys = ["a", "b", "c", "d", "e"];
        let runs: Vec<Uncertain> = values
            .iter()
            .zip(keys)
            .map(|(y, key)| run(*y, &[(key, 1.0), ("scale [A]", 8.0)]))
            .collect();
        let found = standings(&runs).unwrap();
        let named: Vec<bool> = found.iter().map(|s| s.disagrees).collect();
        assert_eq!(named, [false, false, false, false, true], "{found:?}");
        // 12 - 0.05 over sqrt(1 + 1/4); the scale is in both.
        assert!(
            (found[4].deviation - 11.95 / 1.25_f64.sqrt()).abs() < 0.02,
            "{found:?}"
        );
        assert!(found[0].deviation.abs() < 1.0);
    }

    #[test]
    fn of_two_runs_that_differ_neither_is_chosen() {
        let runs = [run(1000.0, &[("a", 1.0)]), run(1010.0, &[("b", 1.0)])];
        let found = standings(&runs).unwrap();
        assert!(found[0].disagrees && found[1].disagrees);
        assert!((found[0].deviation + 10.0 / 2.0_f64.sqrt()).abs() < 0.1);
    }

    #[test]
    fn one_family_in_twenty_has_a_run_that_is_named() {
        let mut generator = Generator::new(21);
        let keys = ["a", "b", "c", "d", "e", "f"];
        let trials = 3000;
        let named = (0..trials).filter(|_| {
            let runs: Vec<Uncertain> = keys
                .iter()
                .map(|key| run(1000.0 + generator.normal(), &[(key, 1.0)]))
                .collect();
            standings(&runs).unwrap().iter().any(|s| s.disagrees)
        });
        let share = named.count() as f64 / f64::from(trials);
        assert!((0.03..=0.06).contains(&share), "{share}");
    }
}
