//! The mean of several runs, and where its uncertainty comes from.
//!
//! ```text
//! m = sum_i w_i y_i,   w by generalised least squares with V = D + C + tau^2 I, none below nil
//! u^2(m) = sum_i w_i^2 D_ii  +  tau^2 sum_i w_i^2  +  sum_k (sum_i w_i c_ik)^2
//!          within runs          between runs         shared
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `w`, `m` | weights, mean | 1, unit of y |
//! | `D`, `C`, `c_ik`, `tau`, `V` | as in [`crate::among`] | unit of y (squared) |
//!
//! Parts are taken relative to their value and at the common value, so that an error that scales all runs alike does not pull the mean to
//! the smaller values (\[Peelle1987\]). Weights below nil would use one run only to cancel an error that it shares with others, and then the
//! shared part would shrink on the strength of two sensitivities: such a run gets no weight. With that the part of an input that all runs
//! share, with the same sign in all, is never smaller in the mean than in the run where it is smallest.
//!
//! Source: \[Aitken1936\] (weights), \[JCGM100\] section 5.2 (correlated inputs) and annex G (degrees of freedom). Where runs differ beyond
//! their budgets, what is not shared rests on k runs and has k - 1 degrees of freedom, as in \[HartungKnapp2001\].

use tremolet_matter::uncertain::{Input, Uncertain};
use tremolet_numerics::dense::DenseError;
use tremolet_numerics::statistics::student_quantile;

use crate::among::contrast::{Between, Contrasts};

/// Half width of a 95 % interval of a normal distribution in standard uncertainties.
const NORMAL: f64 = 1.959_963_984_540_054;
/// Key of the part that differs from run to run.
pub const BETWEEN: &str = "differences between runs";

/// One input in the mean.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// The input, with its part in the mean.
    pub input: Input,
    /// Signed part of it in the mean, unit of the mean.
    pub part: f64,
    /// How many of the values depend on it.
    pub values: usize,
}

/// The mean of several values.
#[derive(Debug, Clone)]
pub struct Mean {
    /// The mean with all its inputs, the difference between runs among them.
    pub mean: Uncertain,
    /// Weight of each value.
    pub weights: Vec<f64>,
    /// What differs from run to run.
    pub between: Between,
    /// Part of the mean's uncertainty from errors that each value has alone.
    pub within: f64,
    /// Part from what differs from run to run.
    pub spread: f64,
    /// Part from inputs that two values or more share: more runs of the same kind do not lower it.
    pub shared: f64,
    /// Each input, largest part first.
    pub lines: Vec<Line>,
    /// Degrees of freedom of the mean's uncertainty.
    pub degrees_of_freedom: f64,
    /// 95 % interval of the mean.
    pub interval_95: [f64; 2],
}

/// The mean of two values or more.
///
/// # Errors
/// A number that is not finite.
///
/// ```
/// use tremolet_infer::among::mean::mean;
/// use tremolet_matter::uncertain::{Input, Uncertain};
/// let input = |key: &str| Input {
///     key: key.into(), unit: "1".into(), standard_uncertainty: 1.0, degrees_of_freedom: f64::INFINITY, source: "example".into(),
/// };
/// let run = |y: f64, key: &str| Uncertain::exact(y).with_input(0.4, input(key)).with_input(0.3, input("scale [cal-A]"));
/// let four = [run(10.0, "a"), run(10.1, "b"), run(9.9, "c"), run(10.0, "d")];
/// let found = mean(&four).unwrap();
/// // Four runs halve what each has alone; the scale stays.
/// assert!((found.within - 0.2).abs() < 1e-3 && (found.shared - 0.3).abs() < 1e-3);
/// ```
pub fn mean(values: &[Uncertain]) -> Result<Mean, DenseError> {
    let even = at_common_value(values);
    let between = Contrasts::of(&even)?.between();
    let weights = weights(&even, between.deviation.powi(2))?;
    let sum = weighted(&even, &weights);
    let lines = lines(&even, &sum);
    let part = |shared: bool| {
        let some = lines.iter().filter(|line| (line.values > 1) == shared);
        some.map(|line| line.part.powi(2)).sum::<f64>()
    };
    let spread = between.deviation.powi(2) * weights.iter().map(|w| w * w).sum::<f64>();
    let (within, shared) = (part(false), part(true));
    let degrees_of_freedom = freedom(&lines, &between, within, spread);
    let mean = sum.with_input(spread.sqrt(), difference(spread.sqrt(), &between));
    let factor = if degrees_of_freedom.is_finite() {
        student_quantile(0.975, degrees_of_freedom)
    } else {
        NORMAL
    };
    let half = factor * mean.standard_uncertainty();
    Ok(Mean {
        interval_95: [mean.value() - half, mean.value() + half],
        mean,
        weights,
        between,
        within: within.sqrt(),
        spread: spread.sqrt(),
        shared: shared.sqrt(),
        lines,
        degrees_of_freedom,
    })
}

/// Values with their parts relative to each value, at the plain mean; unchanged where the signs differ or one is nil.
pub fn at_common_value(values: &[Uncertain]) -> Vec<Uncertain> {
    let common = values.iter().map(Uncertain::value).sum::<f64>() / values.len() as f64;
    if values.iter().any(|y| y.value() * common <= 0.0) {
        return values.to_vec();
    }
    let even = |y: &Uncertain| Uncertain::combine(y.value(), &[(y, common / y.value())]);
    values.iter().map(even).collect()
}

/// Weights of the mean with the least variance among those that are nowhere below nil.
///
/// # Errors
/// A number that is not finite.
pub fn weights(values: &[Uncertain], between: f64) -> Result<Vec<f64>, DenseError> {
    let mut kept: Vec<usize> = (0..values.len()).collect();
    loop {
        let mut all = vec![0.0; values.len()];
        if let [one] = kept[..] {
            all[one] = 1.0;
            return Ok(all);
        }
        let some: Vec<Uncertain> = kept.iter().map(|&i| values[i].clone()).collect();
        let plain = weighted(&some, &vec![1.0 / some.len() as f64; some.len()]);
        let found = Contrasts::of(&some)?.weights(&plain, between);
        let least = (0..found.len()).min_by(|&a, &b| found[a].total_cmp(&found[b]));
        match least.filter(|&i| found[i] < 0.0) {
            Some(place) => {
                kept.remove(place);
            }
            None => {
                kept.iter().zip(&found).for_each(|(&i, w)| all[i] = *w);
                return Ok(all);
            }
        }
    }
}

/// The sum of values with weights.
pub fn weighted(values: &[Uncertain], weights: &[f64]) -> Uncertain {
    let terms: Vec<(&Uncertain, f64)> = values.iter().zip(weights.iter().copied()).collect();
    Uncertain::combine(terms.iter().map(|(y, w)| w * y.value()).sum(), &terms)
}

fn lines(values: &[Uncertain], sum: &Uncertain) -> Vec<Line> {
    let depends = |key: &str| {
        let on = |y: &&Uncertain| y.parts().iter().any(|part| part.input.key == key);
        values.iter().filter(on).count()
    };
    let line = |part: &tremolet_matter::uncertain::Part| Line {
        input: part.input.as_ref().clone(),
        part: part.contribution,
        values: depends(&part.input.key),
    };
    let mut lines: Vec<Line> = sum.parts().iter().map(line).collect();
    lines.sort_by(|a, b| {
        b.part
            .abs()
            .total_cmp(&a.part.abs())
            .then_with(|| a.input.key.cmp(&b.input.key))
    });
    lines
}

/// By Welch and Satterthwaite; what is not shared counts as one part of k - 1 where runs differ beyond their budgets.
fn freedom(lines: &[Line], between: &Between, within: f64, spread: f64) -> f64 {
    let own = |line: &&Line| spread == 0.0 || line.values > 1;
    let parts = lines.iter().filter(own);
    let mut sum: f64 = parts
        .map(|line| line.part.powi(4) / line.input.degrees_of_freedom)
        .sum();
    if spread > 0.0 {
        sum += (within + spread).powi(2) / between.degrees_of_freedom;
    }
    let total = lines.iter().map(|line| line.part.powi(2)).sum::<f64>() + spread;
    if sum == 0.0 {
        f64::INFINITY
    } else {
        total.powi(2) / sum
    }
}

fn difference(u: f64, between: &Between) -> Input {
    Input {
        key: BETWEEN.into(),
        unit: String::new(),
        standard_uncertainty: u,
        degrees_of_freedom: between.degrees_of_freedom,
        source: "scatter of the runs beyond their budgets".into(),
    }
}

#[cfg(test)]
mod tests;
