//! The lines of a ringing drop: angular frequency and decay rate of each degree, with one covariance for all.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `w_n` | angular frequency at small amplitude | rad/s |
//! | `g_n` | decay rate of the amplitude | 1/s |
//!
//! Holds no physics.

use tremolet_numerics::dense::{DenseError, Matrix};

/// Lines of one body.
#[derive(Debug, Clone, PartialEq)]
pub struct Lines {
    /// Degrees n, each once.
    pub degrees: Vec<u32>,
    /// `w_1, g_1, w_2, g_2, ...` in the order of `degrees`.
    pub values: Vec<f64>,
    /// Covariance of `values`, rad^2/s^2.
    pub covariance: Matrix,
    /// Degrees of freedom behind the uncertainty of each line, in the order of `degrees`.
    pub degrees_of_freedom: Vec<f64>,
}

impl Lines {
    /// Lower triangular factor `L` of the covariance, `L L^T = C`.
    ///
    /// # Errors
    /// When the covariance is not positive definite.
    pub fn factor(&self) -> Result<Matrix, DenseError> {
        self.covariance.cholesky()
    }

    /// Only the lines at `places`.
    pub fn only(&self, places: &[usize]) -> Self {
        let pick: Vec<usize> = places.iter().flat_map(|&i| [2 * i, 2 * i + 1]).collect();
        Self {
            degrees: places.iter().map(|&i| self.degrees[i]).collect(),
            values: pick.iter().map(|&i| self.values[i]).collect(),
            covariance: Matrix::from_fn(pick.len(), pick.len(), |i, j| self.covariance[(pick[i], pick[j])]),
            degrees_of_freedom: places.iter().map(|&i| self.degrees_of_freedom[i]).collect(),
        }
    }
}
