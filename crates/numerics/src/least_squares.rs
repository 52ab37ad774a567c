//! Nonlinear least squares by Levenberg and Marquardt, with Gaussian priors on the unknowns.
//!
//! The caller gives residuals already divided by their standard uncertainty (whitened), so that
//!
//! ```text
//! S(p) = sum_i r_i(p)^2 + sum_j ((p_j - m_j) / s_j)^2,      (J^T J + lambda D) dp = -J^T r,
//! cov(p) = (J^T J)^-1   at the minimum, J with the rows of the priors
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | `r_i` | residual in units of its standard uncertainty |
//! | `p_j` | unknowns |
//! | `m_j`, `s_j` | mean and standard deviation of the prior of `p_j` |
//! | `D` | largest squared column norms of J so far |
//!
//! Source: \[More1978\]. The covariance is that of the stated weights: it is not scaled by chi-square here. The room
//! does not look for a global minimum: starting values are the caller's.

use crate::dense::{DenseError, Matrix, dot};

/// Why no minimum was found.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LeastSquaresError {
    /// Fewer residuals and priors than unknowns.
    #[error("{equations} residuals and priors for {unknowns} unknowns; give more data")]
    TooFew {
        /// Residuals and priors.
        equations: usize,
        /// Unknowns.
        unknowns: usize,
    },
    /// A residual is not finite at the start.
    #[error("residual {place} is not finite at the starting values")]
    NotFinite {
        /// Which residual, from 0.
        place: usize,
    },
    /// The data do not determine the unknowns.
    #[error("the data do not determine all unknowns: {0}")]
    Undetermined(#[from] DenseError),
}

/// A Gaussian prior on one unknown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Which unknown, from 0.
    pub place: usize,
    /// Its mean.
    pub mean: f64,
    /// Its standard deviation.
    pub deviation: f64,
}

/// When to stop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// Largest number of steps tried.
    pub steps: usize,
    /// Relative decrease of S, and step in units of the unknowns' standard uncertainty, below which the search
    /// ends. 1e-8 leaves unknowns within 1e-4 of their standard uncertainty of the minimum.
    pub tolerance: f64,
}

impl Default for Stop {
    fn default() -> Self {
        Self {
            steps: 100,
            tolerance: 1e-8,
        }
    }
}

/// The minimum.
#[derive(Debug, Clone, PartialEq)]
pub struct Minimum {
    /// The unknowns.
    pub parameters: Vec<f64>,
    /// Their covariance for the stated weights.
    pub covariance: Matrix,
    /// Whitened residuals of the data at the minimum, without the priors.
    pub residuals: Vec<f64>,
    /// Jacobian of `residuals` by the unknowns at the last evaluation, without the priors.
    pub jacobian: Matrix,
    /// Sum of squares of `residuals`.
    pub chi_square: f64,
    /// Sum of squares of the priors' residuals.
    pub prior_square: f64,
    /// Residuals + priors - unknowns.
    pub degrees_of_freedom: f64,
    /// How often the residuals were computed, those for finite differences included.
    pub evaluations: usize,
    /// Whether the tolerance was met (otherwise the steps ran out).
    pub converged: bool,
}

/// A problem: residuals, and their Jacobian if it is known.
pub trait Residuals {
    /// Number of residuals.
    fn count(&self) -> usize;

    /// Writes the whitened residuals at `parameters` into `out` (of length `count`).
    fn residuals(&self, parameters: &[f64], out: &mut [f64]);

    /// Writes d r_i / d p_j into row i, column j of `out`; returns the evaluations of `residuals` it took.
    ///
    /// By default central differences with a step of 1e-6 of the unknown (1e-6 where that is smaller than 1e-6).
    fn jacobian(&self, parameters: &[f64], out: &mut Matrix) -> usize {
        let mut point = parameters.to_vec();
        let mut above = vec![0.0; self.count()];
        let mut below = vec![0.0; self.count()];
        for j in 0..parameters.len() {
            let step = 1e-6 * parameters[j].abs().max(1e-6);
            point[j] = parameters[j] + step;
            self.residuals(&point, &mut above);
            point[j] = parameters[j] - step;
            self.residuals(&point, &mut below);
            point[j] = parameters[j];
            for i in 0..above.len() {
                out[(i, j)] = (above[i] - below[i]) / (2.0 * step);
            }
        }
        2 * parameters.len()
    }
}

/// Residuals given by a closure, with differences for the Jacobian.
pub struct Closure<F> {
    /// Number of residuals.
    pub count: usize,
    /// Writes the residuals at the unknowns.
    pub function: F,
}

impl<F: Fn(&[f64], &mut [f64])> Residuals for Closure<F> {
    fn count(&self) -> usize {
        self.count
    }
    fn residuals(&self, parameters: &[f64], out: &mut [f64]) {
        (self.function)(parameters, out);
    }
}

/// Minimises the sum of squares from `start`.
///
/// ```
/// use tremolet_numerics::least_squares::{Closure, Stop, minimise};
/// let data = [1.0, 0.5, 0.25, 0.125];
/// let problem = Closure { count: 4, function: |p: &[f64], out: &mut [f64]| {
///     for (t, r) in out.iter_mut().enumerate() {
///         *r = (p[0] * (-p[1] * t as f64).exp() - data[t]) / 0.01;
///     }
/// } };
/// let found = minimise(&problem, &[0.5, 1.0], &[], Stop::default())?;
/// assert!(found.converged && (found.parameters[1] - 2.0_f64.ln()).abs() < 1e-8);
/// # Ok::<(), tremolet_numerics::least_squares::LeastSquaresError>(())
/// ```
///
/// # Errors
/// Too few equations, residuals that are not finite at the start, or unknowns that the data and priors do not
/// determine. Running out of steps is no error: see [`Minimum::converged`].
pub fn minimise(
    problem: &impl Residuals,
    start: &[f64],
    priors: &[Prior],
    stop: Stop,
) -> Result<Minimum, LeastSquaresError> {
    let (unknowns, count) = (start.len(), problem.count());
    if count + priors.len() < unknowns {
        return Err(LeastSquaresError::TooFew {
            equations: count + priors.len(),
            unknowns,
        });
    }
    let mut search = Search::new(problem, start, priors)?;
    let mut converged = false;
    for _ in 0..stop.steps {
        match search.step(stop.tolerance) {
            Outcome::Done => {
                converged = true;
                break;
            }
            Outcome::Stuck => break,
            Outcome::Moved => {}
        }
    }
    search.finish(converged)
}

/// A decrease of S that is a step of 1e-10 standard uncertainties: data without noise end here, where rounding reigns.
const LEAST_GAIN: f64 = 1e-20;

enum Outcome {
    Moved,
    Done,
    Stuck,
}

struct Search<'a, P> {
    problem: &'a P,
    priors: &'a [Prior],
    point: Vec<f64>,
    residuals: Vec<f64>,
    jacobian: Matrix,
    scale: Vec<f64>,
    sum: f64,
    lambda: f64,
    evaluations: usize,
}

impl<'a, P: Residuals> Search<'a, P> {
    fn new(problem: &'a P, start: &[f64], priors: &'a [Prior]) -> Result<Self, LeastSquaresError> {
        let mut residuals = vec![0.0; problem.count()];
        problem.residuals(start, &mut residuals);
        if let Some(place) = residuals.iter().position(|r| !r.is_finite()) {
            return Err(LeastSquaresError::NotFinite { place });
        }
        let sum = dot(&residuals, &residuals) + prior_square(priors, start);
        let mut jacobian = Matrix::zeros(problem.count(), start.len());
        let evaluations = 1 + problem.jacobian(start, &mut jacobian);
        let scale = vec![0.0; start.len()];
        Ok(Self {
            problem,
            priors,
            point: start.to_vec(),
            residuals,
            jacobian,
            scale,
            sum,
            lambda: 1e-3,
            evaluations,
        })
    }

    fn normal(&self) -> (Matrix, Vec<f64>) {
        let mut matrix = self.jacobian.gram();
        let mut right = vec![0.0; self.point.len()];
        for (i, r) in self.residuals.iter().enumerate() {
            for (sum, d) in right.iter_mut().zip(self.jacobian.row(i)) {
                *sum -= r * d;
            }
        }
        for prior in self.priors {
            let weight = prior.deviation.powi(-2);
            matrix[(prior.place, prior.place)] += weight;
            right[prior.place] -= weight * (self.point[prior.place] - prior.mean);
        }
        (matrix, right)
    }

    /// One accepted step, or the end.
    fn step(&mut self, tolerance: f64) -> Outcome {
        let (matrix, right) = self.normal();
        for (j, scale) in self.scale.iter_mut().enumerate() {
            *scale = scale.max(matrix[(j, j)]).max(f64::MIN_POSITIVE);
        }
        for _ in 0..40 {
            let mut damped = matrix.clone();
            for (j, scale) in self.scale.iter().enumerate() {
                damped[(j, j)] += self.lambda * scale;
            }
            let Ok(step) = damped.solve_positive(&right) else {
                self.lambda *= 10.0;
                continue;
            };
            let predicted = 2.0 * dot(&step, &right) - dot(&step, &matrix.times(&step));
            let trial: Vec<f64> = self.point.iter().zip(&step).map(|(p, d)| p + d).collect();
            let small = predicted <= tolerance * self.sum.clamp(f64::MIN_POSITIVE, 1.0)
                || predicted <= 1e-14 * self.sum
                || predicted <= LEAST_GAIN;
            if self.accept(trial, small) {
                return if small { Outcome::Done } else { Outcome::Moved };
            }
            if small {
                return Outcome::Done;
            }
            self.lambda *= 8.0;
        }
        Outcome::Stuck
    }

    fn accept(&mut self, trial: Vec<f64>, last: bool) -> bool {
        let mut residuals = vec![0.0; self.residuals.len()];
        self.problem.residuals(&trial, &mut residuals);
        self.evaluations += 1;
        let sum = dot(&residuals, &residuals) + prior_square(self.priors, &trial);
        if sum.is_nan() || sum > self.sum {
            return false;
        }
        (self.point, self.residuals, self.sum) = (trial, residuals, sum);
        if !last {
            self.evaluations += self.problem.jacobian(&self.point, &mut self.jacobian);
            self.lambda = (self.lambda * 0.1).max(1e-12);
        }
        true
    }

    fn finish(self, converged: bool) -> Result<Minimum, LeastSquaresError> {
        let (normal, _) = self.normal();
        let covariance = inverse_scaled(&normal)?;
        let prior = prior_square(self.priors, &self.point);
        Ok(Minimum {
            degrees_of_freedom: (self.residuals.len() + self.priors.len() - self.point.len()) as f64,
            parameters: self.point,
            covariance,
            residuals: self.residuals,
            jacobian: self.jacobian,
            chi_square: self.sum - prior,
            prior_square: prior,
            evaluations: self.evaluations,
            converged,
        })
    }
}

/// Inverse of a normal matrix, its columns brought to unit length first so that units do not matter.
fn inverse_scaled(normal: &Matrix) -> Result<Matrix, DenseError> {
    let n = normal.rows();
    let length: Vec<f64> = (0..n)
        .map(|j| normal[(j, j)].sqrt().max(f64::MIN_POSITIVE))
        .collect();
    let unit = Matrix::from_fn(n, n, |i, j| normal[(i, j)] / (length[i] * length[j]));
    let inverse = unit.inverse_positive()?;
    Ok(Matrix::from_fn(n, n, |i, j| {
        inverse[(i, j)] / (length[i] * length[j])
    }))
}

fn prior_square(priors: &[Prior], point: &[f64]) -> f64 {
    priors
        .iter()
        .map(|p| ((point[p.place] - p.mean) / p.deviation).powi(2))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    // NIST StRD nonlinear regression, Misra1a: y = b1 (1 - exp(-b2 x)); certified b1 = 2.3894212918e2,
    // b2 = 5.5015643181e-4, residual sum of squares 1.2455138894e-1, standard deviations 2.7070075241 and
    // 7.2668688436e-6 (which include the scaling by sqrt(S / 12)). Provenance: from memory.
    #[test]
    fn misra1a_of_the_nist_reference_data() {
        let x = [
            77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0,
        ];
        let y = [
            10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78,
        ];
        let function = |p: &[f64], out: &mut [f64]| {
            for (i, r) in out.iter_mut().enumerate() {
                *r = p[0] * (1.0 - (-p[1] * x[i]).exp()) - y[i];
            }
        };
        let problem = Closure { count: 14, function };
        let found = minimise(&problem, &[500.0, 1e-4], &[], Stop::default()).unwrap();
        assert!(found.converged);
        assert!((found.parameters[0] / 2.3894212918e2 - 1.0).abs() < 1e-6);
        assert!((found.parameters[1] / 5.5015643181e-4 - 1.0).abs() < 1e-6);
        assert!((found.chi_square / 1.2455138894e-1 - 1.0).abs() < 1e-8);
        let scale = (found.chi_square / found.degrees_of_freedom).sqrt();
        assert!((found.covariance[(0, 0)].sqrt() * scale / 2.7070075241 - 1.0).abs() < 1e-4);
        assert!((found.covariance[(1, 1)].sqrt() * scale / 7.2668688436e-6 - 1.0).abs() < 1e-4);
        assert!(found.evaluations < 150, "{}", found.evaluations);
    }

    // A straight line with a prior: closed form by adding the prior to the normal equations.
    #[test]
    fn a_prior_counts_like_a_datum() {
        let function = |p: &[f64], out: &mut [f64]| out.iter_mut().for_each(|r| *r = (p[0] - 2.0) / 0.5);
        let prior = Prior {
            place: 0,
            mean: 1.0,
            deviation: 0.25,
        };
        let problem = Closure { count: 4, function };
        let found = minimise(&problem, &[0.0], &[prior], Stop::default()).unwrap();
        assert!((found.parameters[0] - 1.5).abs() < 1e-9, "{:?}", found.parameters);
        assert!((found.covariance[(0, 0)] - 1.0 / 32.0).abs() < 1e-9);
        assert!((found.degrees_of_freedom - 4.0).abs() < 1e-12);
    }

    #[test]
    fn what_is_not_determined_is_an_error() {
        let function = |p: &[f64], out: &mut [f64]| out.iter_mut().for_each(|r| *r = p[0] + p[1] - 1.0);
        let problem = Closure { count: 4, function };
        assert!(minimise(&problem, &[0.0, 0.0], &[], Stop::default()).is_err());
        let few = Closure { count: 1, function };
        assert!(matches!(
            minimise(&few, &[0.0, 0.0], &[], Stop::default()),
            Err(LeastSquaresError::TooFew { .. })
        ));
    }
}
