//! How far runs differ from each other, and how much of that their budgets do not tell.
//!
//! ```text
//! z = B y,   B 1 = 0,  B B^T = I,        cov(z) = U diag(l) U^T + tau^2 I,      g = U^T z
//! Q(tau^2) = sum_j g_j^2 / (l_j + tau^2),      Q(tau^2) = k - 1  gives tau^2, or nil where Q(0) is less already
//! k < 4:  Q(tau^2) = the median of chi-square with k - 1 degrees of freedom in place of k - 1
//! 95 %:  Q(tau^2) between the quantiles 0.025 and 0.975 of chi-square with k - 1 degrees of freedom
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `y`, `k` | values of the runs, how many | unit of y, 1 |
//! | `B`, `z` | contrasts (differences) of them; what all runs share alike is gone from these | 1, unit of y |
//! | `l`, `U` | variances of the contrasts by the budgets, and their directions | unit of y squared, 1 |
//! | `tau` | standard deviation of what differs from run to run | unit of y |
//! | `Q` | weighted sum of squares about the mean | 1 |
//!
//! Source: \[PauleMandel1982\] (tau), written for correlated values through the contrasts of \[Harville1977\]; \[Viechtbauer2007\] (interval);
//! \[Viechtbauer2021\] (the median for few values, where the mean is nil too often for the interval of the mean to hold).
//! Valid for normal errors whose budgets are right; with few runs the interval is wide, and rightly so.

use tremolet_matter::uncertain::Uncertain;
use tremolet_numerics::dense::{DenseError, Matrix};
use tremolet_numerics::root::bracketed;
use tremolet_numerics::statistics::{chi_square_quantile, chi_square_tail};

/// Values closer than this, over the largest, are the same value.
const SAME: f64 = 1e-12;

/// Fewer values than this take the median of Q.
const FEW: f64 = 4.0;

/// What differs from run to run beyond the budgets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Between {
    /// Standard deviation, unit of the values.
    pub deviation: f64,
    /// Its 95 % interval.
    pub interval_95: [f64; 2],
    /// Q where nothing differs beyond the budgets.
    pub chi_square: f64,
    /// Degrees of freedom, runs less one.
    pub degrees_of_freedom: f64,
    /// Probability of such a `chi_square` or a larger one where the budgets tell all.
    pub probability: f64,
}

/// Contrasts of values, with the directions in which they are independent.
#[derive(Debug, Clone)]
pub struct Contrasts {
    /// Rows: the contrasts as weights of the runs.
    basis: Matrix,
    values: Vec<Uncertain>,
    /// Variances `l` by the budgets.
    variances: Vec<f64>,
    directions: Matrix,
    /// `g`.
    along: Vec<f64>,
}

impl Contrasts {
    /// Of two values or more.
    ///
    /// # Errors
    /// A number that is not finite.
    pub fn of(values: &[Uncertain]) -> Result<Self, DenseError> {
        let basis = helmert(values.len());
        let contrast = |row: usize| {
            let terms: Vec<(&Uncertain, f64)> =
                values.iter().zip(basis.row(row)).map(|(y, b)| (y, *b)).collect();
            Uncertain::combine(terms.iter().map(|(y, b)| b * y.value()).sum(), &terms)
        };
        let contrasts: Vec<Uncertain> = (0..basis.rows()).map(contrast).collect();
        let count = contrasts.len();
        let covariance = Matrix::from_fn(count, count, |i, j| contrasts[i].covariance(&contrasts[j]));
        let (variances, directions) = covariance.symmetric_eigen()?;
        let size = values.iter().map(|y| y.value().abs()).fold(0.0, f64::max);
        let floor = (SAME * size).powi(2).max(f64::MIN_POSITIVE);
        let z: Vec<f64> = contrasts.iter().map(Uncertain::value).collect();
        Ok(Self {
            basis,
            values: contrasts,
            variances: variances.iter().map(|l| l.max(floor)).collect(),
            along: directions.transpose().times(&z),
            directions,
        })
    }

    /// `Q` at a variance between runs.
    pub fn statistic(&self, between: f64) -> f64 {
        let terms = self.along.iter().zip(&self.variances);
        terms.map(|(g, l)| g * g / (l + between)).sum()
    }

    /// Weights of the mean of least variance, `1/k - B^T (cov z + tau^2)^-1 cov(z, mean)`; they add up to one.
    pub fn weights(&self, plain: &Uncertain, between: f64) -> Vec<f64> {
        let shared: Vec<f64> = self.values.iter().map(|z| z.covariance(plain)).collect();
        let turned = self.directions.transpose().times(&shared);
        let scaled: Vec<f64> = turned
            .iter()
            .zip(&self.variances)
            .map(|(c, l)| c / (l + between))
            .collect();
        let back = self.basis.transpose().times(&self.directions.times(&scaled));
        back.iter().map(|b| 1.0 / back.len() as f64 - b).collect()
    }

    /// What differs from run to run.
    pub fn between(&self) -> Between {
        let freedom = self.along.len() as f64;
        let chi_square = self.statistic(0.0);
        let deviation = |due: f64| self.variance_for(due).sqrt();
        Between {
            deviation: deviation(if freedom + 1.0 < FEW {
                chi_square_quantile(0.5, freedom)
            } else {
                freedom
            }),
            interval_95: [0.975, 0.025].map(|p| deviation(chi_square_quantile(p, freedom))),
            chi_square,
            degrees_of_freedom: freedom,
            probability: chi_square_tail(chi_square, freedom),
        }
    }

    /// The variance between runs at which `Q` is `due`; nil where it never is so large.
    fn variance_for(&self, due: f64) -> f64 {
        if self.statistic(0.0) <= due {
            return 0.0;
        }
        // Q(t) <= sum g^2 / t, so the root lies below sum g^2 / due.
        let most = self.along.iter().map(|g| g * g).sum::<f64>() / due;
        bracketed(|t| self.statistic(t) - due, 0.0, most * (1.0 + 1e-9), 0.0).map_or(0.0, |found| found.root)
    }
}

/// Orthonormal differences: each value against the mean of those before it.
fn helmert(count: usize) -> Matrix {
    Matrix::from_fn(count.saturating_sub(1), count, |i, j| {
        let before = (i + 1) as f64;
        let length = (before * (before + 1.0)).sqrt();
        match j.cmp(&(i + 1)) {
            std::cmp::Ordering::Less => 1.0 / length,
            std::cmp::Ordering::Equal => -before / length,
            std::cmp::Ordering::Greater => 0.0,
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::among::sample::value;

    /// Thirteen trials of one vaccine: ill and well with it, ill and well without it.
    const TRIALS: [[f64; 4]; 13] = [
        [4.0, 119.0, 11.0, 128.0],
        [6.0, 300.0, 29.0, 274.0],
        [3.0, 228.0, 11.0, 209.0],
        [62.0, 13536.0, 248.0, 12619.0],
        [33.0, 5036.0, 47.0, 5761.0],
        [180.0, 1361.0, 372.0, 1079.0],
        [8.0, 2537.0, 10.0, 619.0],
        [505.0, 87886.0, 499.0, 87892.0],
        [29.0, 7470.0, 45.0, 7232.0],
        [17.0, 1699.0, 65.0, 1600.0],
        [186.0, 50448.0, 141.0, 27197.0],
        [5.0, 2493.0, 3.0, 2338.0],
        [27.0, 16886.0, 29.0, 17825.0],
    ];

    // The worked example of the method's literature: log ratios of risks of 13 trials, Colditz et al., J. Am. Med. Assoc. 271 (1994) 698.
    // Published: Q = 152.23 for 12 degrees of freedom, 95 % interval of tau^2 by the profile of Q from 0.1197 to 1.1115
    // (Viechtbauer, J. Stat. Softw. 36 (2010), section on heterogeneity). tau^2 = 0.31807, mean -0.71497 and its uncertainty 0.18089 of
    // Paule and Mandel: recomputed independently in Python with a root finder and the quantiles of another library.
    #[test]
    fn a_published_example_gives_its_published_spread() {
        let keys: Vec<String> = (0..13).map(|i| format!("trial {i}")).collect();
        let one = |(t, key): (&[f64; 4], &String)| {
            let [a, b, c, d] = *t;
            let u = (1.0 / a - 1.0 / (a + b) + 1.0 / c - 1.0 / (c + d)).sqrt();
            value((a / (a + b) / (c / (c + d))).ln(), &[(key, u)])
        };
        let values: Vec<Uncertain> = TRIALS.iter().zip(&keys).map(one).collect();
        let contrasts = Contrasts::of(&values).unwrap();
        let found = contrasts.between();
        assert!((found.chi_square - 152.2330).abs() < 1e-3, "{found:?}");
        assert!((found.deviation.powi(2) - 0.318_068_45).abs() < 1e-7, "{found:?}");
        assert!((found.interval_95[0].powi(2) - 0.1197).abs() < 5e-5, "{found:?}");
        assert!((found.interval_95[1].powi(2) - 1.1115).abs() < 5e-5, "{found:?}");
        assert!(found.degrees_of_freedom == 12.0 && found.probability < 1e-20);
        let plain: Vec<(&Uncertain, f64)> = values.iter().map(|y| (y, 1.0 / 13.0)).collect();
        let weights = contrasts.weights(&Uncertain::combine(0.0, &plain), found.deviation.powi(2));
        let mean: f64 = values.iter().zip(&weights).map(|(y, w)| w * y.value()).sum();
        assert!((mean + 0.714_968_15).abs() < 1e-7, "{mean}");
        assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn what_all_runs_share_says_nothing_about_how_they_differ() {
        let own = [("a", 0.3), ("b", 0.3), ("c", 0.3)];
        let shared: Vec<Uncertain> = [1.0, 1.5, 2.0]
            .iter()
            .zip(own)
            .map(|(y, part)| value(*y, &[part, ("scale", 1e6)]))
            .collect();
        let alone: Vec<Uncertain> = [1.0, 1.5, 2.0]
            .iter()
            .zip(own)
            .map(|(y, part)| value(*y, &[part]))
            .collect();
        let [with, without] = [shared, alone].map(|v| Contrasts::of(&v).unwrap().between());
        assert!((with.chi_square / without.chi_square - 1.0).abs() < 1e-9);
        // Sum of squares 0.5 over 0.09.
        assert!((without.chi_square - 0.5 / 0.09).abs() < 1e-9);
        // Three values: 0.5 / (0.09 + tau^2) is the median of chi-square with 2 degrees of freedom, 2 ln 2.
        let due = (0.5 / (2.0 * 2.0_f64.ln()) - 0.09_f64).sqrt();
        assert!((with.deviation - due).abs() < 1e-9, "{with:?}");
    }

    #[test]
    fn four_equally_sure_runs_differ_by_what_their_scatter_leaves() {
        let own = ["a", "b", "c", "d"];
        let values: Vec<Uncertain> = [1.0, 1.4, 1.6, 2.0]
            .iter()
            .zip(own)
            .map(|(y, key)| value(*y, &[(key, 0.3)]))
            .collect();
        // tau^2 = s^2 - u^2 = 0.52 / 3 - 0.09.
        let due = (0.52 / 3.0 - 0.09_f64).sqrt();
        assert!((Contrasts::of(&values).unwrap().between().deviation - due).abs() < 1e-9);
    }

    #[test]
    fn equal_runs_do_not_differ_even_without_an_own_error() {
        let values = vec![value(5.0, &[("scale", 0.1)]); 4];
        let found = Contrasts::of(&values).unwrap().between();
        assert_eq!((found.deviation, found.interval_95), (0.0, [0.0, 0.0]));
        assert!(found.probability > 0.99, "{found:?}");
    }
}
