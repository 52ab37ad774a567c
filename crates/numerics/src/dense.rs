//! Small dense matrices: the one door to the linear-algebra library.
//!
//! A [`Matrix`] holds its numbers row by row; `A[(i, j)]` is row `i`, column `j`. Decompositions are computed
//! on one thread, so the same input gives the same output.
//!
//! ```text
//! least squares    min |A x - b|          column-pivoted Householder QR
//! square           A X = B                LU with row pivoting
//! positive matrix  A = L L^T              solve, inverse
//! symmetric        A = V diag(w) V^T      eigenvalues ascending
//! any              A = U diag(s) V^T      singular values descending
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | `A` | matrix of `rows` x `columns` |
//! | `L` | lower triangle with positive diagonal |
//! | `U`, `V` | matrices with orthonormal columns |
//!
//! Source: \[GolubVanLoan2013\] sections 4.2, 5.4, 5.5, 8.3. Meant for up to some hundreds of columns; it does
//! not hold sparse matrices.

use std::ops::{Index, IndexMut};

use faer::linalg::solvers::{Solve, SolveLstsq};
use faer::{MatRef, Side};

/// Why a decomposition could not be given.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DenseError {
    /// The shapes do not fit together.
    #[error("shapes do not fit: found {found}, expected {expected}")]
    Shape {
        /// What was given.
        found: String,
        /// What is needed.
        expected: String,
    },
    /// A pivot of the Cholesky factor is not positive.
    #[error("matrix is not positive definite: pivot {place} is {pivot:e}")]
    NotPositive {
        /// Row of the pivot, from 0.
        place: usize,
        /// The pivot found.
        pivot: f64,
    },
    /// The columns depend on each other.
    #[error("matrix of {columns} columns has rank {rank}; remove or fix the dependent unknowns")]
    Rank {
        /// Numerical rank.
        rank: usize,
        /// Number of columns.
        columns: usize,
    },
    /// A number is not finite, or an iteration did not end.
    #[error("the decomposition did not converge; check the matrix for numbers that are not finite")]
    NotConverged,
}

/// A dense matrix of `f64`, row by row.
#[derive(Debug, Clone, PartialEq)]
pub struct Matrix {
    rows: usize,
    columns: usize,
    data: Vec<f64>,
}

/// Singular value decomposition `A = U diag(s) V^T`, thin.
#[derive(Debug, Clone, PartialEq)]
pub struct Svd {
    /// rows x k, orthonormal columns, `k = min(rows, columns)`.
    pub u: Matrix,
    /// The k singular values, descending.
    pub s: Vec<f64>,
    /// columns x k, orthonormal columns.
    pub v: Matrix,
}

impl Index<(usize, usize)> for Matrix {
    type Output = f64;
    fn index(&self, (i, j): (usize, usize)) -> &f64 {
        debug_assert!(j < self.columns);
        &self.data[i * self.columns + j]
    }
}

impl IndexMut<(usize, usize)> for Matrix {
    fn index_mut(&mut self, (i, j): (usize, usize)) -> &mut f64 {
        debug_assert!(j < self.columns);
        &mut self.data[i * self.columns + j]
    }
}

impl Matrix {
    /// A matrix of zeros.
    pub fn zeros(rows: usize, columns: usize) -> Self {
        Self {
            rows,
            columns,
            data: vec![0.0; rows * columns],
        }
    }

    /// The unit matrix.
    pub fn identity(size: usize) -> Self {
        Self::from_fn(size, size, |i, j| if i == j { 1.0 } else { 0.0 })
    }

    /// A matrix with `element(i, j)` in row `i`, column `j`.
    pub fn from_fn(rows: usize, columns: usize, element: impl Fn(usize, usize) -> f64) -> Self {
        let data = (0..rows * columns)
            .map(|k| element(k / columns, k % columns))
            .collect();
        Self { rows, columns, data }
    }

    /// A matrix from its numbers row by row.
    ///
    /// # Errors
    /// [`DenseError::Shape`] when `data` does not have `rows * columns` numbers.
    pub fn from_rows(rows: usize, columns: usize, data: Vec<f64>) -> Result<Self, DenseError> {
        if data.len() != rows * columns {
            return Err(DenseError::Shape {
                found: format!("{} numbers", data.len()),
                expected: format!("{rows} x {columns}"),
            });
        }
        Ok(Self { rows, columns, data })
    }

    /// A diagonal matrix.
    pub fn diagonal(values: &[f64]) -> Self {
        Self::from_fn(
            values.len(),
            values.len(),
            |i, j| if i == j { values[i] } else { 0.0 },
        )
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// Number of columns.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// Row `i`.
    pub fn row(&self, i: usize) -> &[f64] {
        &self.data[i * self.columns..(i + 1) * self.columns]
    }

    /// Row `i`, to be changed.
    pub fn row_mut(&mut self, i: usize) -> &mut [f64] {
        &mut self.data[i * self.columns..(i + 1) * self.columns]
    }

    /// All numbers, row by row.
    pub fn data(&self) -> &[f64] {
        &self.data
    }

    /// Column `j`, copied.
    pub fn column(&self, j: usize) -> Vec<f64> {
        (0..self.rows).map(|i| self[(i, j)]).collect()
    }

    /// `A^T`.
    pub fn transpose(&self) -> Self {
        Self::from_fn(self.columns, self.rows, |i, j| self[(j, i)])
    }

    /// Every number times `factor`.
    pub fn scaled(&self, factor: f64) -> Self {
        let data = self.data.iter().map(|x| x * factor).collect();
        Self {
            rows: self.rows,
            columns: self.columns,
            data,
        }
    }

    /// `A B`.
    ///
    /// # Panics
    /// When the shapes do not fit.
    pub fn product(&self, other: &Matrix) -> Self {
        assert_eq!(self.columns, other.rows, "inner sizes of a product");
        let mut out = Self::zeros(self.rows, other.columns);
        for i in 0..self.rows {
            for k in 0..self.columns {
                let factor = self[(i, k)];
                for (sum, x) in out.row_mut(i).iter_mut().zip(other.row(k)) {
                    *sum += factor * x;
                }
            }
        }
        out
    }

    /// `A x`.
    ///
    /// # Panics
    /// When the length of `x` is not the number of columns.
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        assert_eq!(self.columns, x.len(), "length of the vector");
        (0..self.rows).map(|i| dot(self.row(i), x)).collect()
    }

    /// `A^T A`, symmetric.
    pub fn gram(&self) -> Self {
        let mut out = Self::zeros(self.columns, self.columns);
        for r in 0..self.rows {
            let row = self.row(r);
            for i in 0..self.columns {
                for j in 0..=i {
                    out.data[i * self.columns + j] += row[i] * row[j];
                }
            }
        }
        for i in 0..self.columns {
            for j in 0..i {
                out[(j, i)] = out[(i, j)];
            }
        }
        out
    }

    fn faer(&self) -> MatRef<'_, f64> {
        MatRef::from_row_major_slice(&self.data, self.rows, self.columns)
    }

    fn finite(&self) -> Result<(), DenseError> {
        if self.data.iter().all(|x| x.is_finite()) {
            Ok(())
        } else {
            Err(DenseError::NotConverged)
        }
    }

    fn square(&self) -> Result<(), DenseError> {
        if self.rows == self.columns {
            return Ok(());
        }
        let found = format!("{} x {}", self.rows, self.columns);
        Err(DenseError::Shape {
            found,
            expected: "a square matrix".into(),
        })
    }

    /// `x` that minimises `|A x - b|`, by QR with column pivoting.
    ///
    /// # Errors
    /// [`DenseError::Shape`] for fewer rows than columns or a `b` of another length; [`DenseError::Rank`] when
    /// a diagonal element of the triangle is below `rows * 2.2e-16` of the first.
    pub fn least_squares(&self, b: &[f64]) -> Result<Vec<f64>, DenseError> {
        self.finite()?;
        if b.len() != self.rows || self.rows < self.columns {
            return Err(DenseError::Shape {
                found: format!("{} x {} and {} values", self.rows, self.columns, b.len()),
                expected: "at least as many rows as columns, and one value a row".into(),
            });
        }
        let qr = self.faer().col_piv_qr();
        let triangle = qr.thin_R();
        let limit = self.rows as f64 * f64::EPSILON * triangle[(0, 0)].abs();
        let rank = (0..self.columns)
            .filter(|&j| triangle[(j, j)].abs() > limit)
            .count();
        if rank < self.columns {
            return Err(DenseError::Rank {
                rank,
                columns: self.columns,
            });
        }
        let right = MatRef::from_row_major_slice(b, self.rows, 1);
        let x = qr.solve_lstsq(right);
        Ok((0..self.columns).map(|j| x[(j, 0)]).collect())
    }

    /// `L` with `A = L L^T`; only the lower triangle of `A` is read.
    ///
    /// # Errors
    /// [`DenseError::Shape`] when not square; [`DenseError::NotPositive`] at the first pivot that is not.
    pub fn cholesky(&self) -> Result<Matrix, DenseError> {
        self.square()?;
        let n = self.rows;
        let mut lower = Self::zeros(n, n);
        for i in 0..n {
            for j in 0..=i {
                let sum = self[(i, j)] - dot(&lower.row(i)[..j], &lower.row(j)[..j]);
                if i != j {
                    lower[(i, j)] = sum / lower[(j, j)];
                } else if sum > 0.0 {
                    lower[(i, i)] = sum.sqrt();
                } else {
                    return Err(DenseError::NotPositive { place: i, pivot: sum });
                }
            }
        }
        Ok(lower)
    }

    /// Solves `L y = b` for a lower triangle.
    pub fn forward(&self, b: &[f64]) -> Vec<f64> {
        let mut y = b.to_vec();
        for i in 0..self.rows {
            y[i] = (y[i] - dot(&self.row(i)[..i], &y[..i])) / self[(i, i)];
        }
        y
    }

    /// Solves `L^T x = y` for a lower triangle.
    pub fn backward(&self, y: &[f64]) -> Vec<f64> {
        let mut x = y.to_vec();
        for i in (0..self.rows).rev() {
            let sum: f64 = (i + 1..self.rows).map(|k| self[(k, i)] * x[k]).sum();
            x[i] = (x[i] - sum) / self[(i, i)];
        }
        x
    }

    /// `x` with `A x = b` for a symmetric positive definite `A`.
    ///
    /// # Errors
    /// As [`Matrix::cholesky`].
    pub fn solve_positive(&self, b: &[f64]) -> Result<Vec<f64>, DenseError> {
        let lower = self.cholesky()?;
        Ok(lower.backward(&lower.forward(b)))
    }

    /// Inverse of a symmetric positive definite matrix.
    ///
    /// # Errors
    /// As [`Matrix::cholesky`].
    pub fn inverse_positive(&self) -> Result<Matrix, DenseError> {
        let lower = self.cholesky()?;
        let mut out = Self::zeros(self.rows, self.rows);
        let mut unit = vec![0.0; self.rows];
        for j in 0..self.rows {
            unit[j] = 1.0;
            out.row_mut(j)
                .copy_from_slice(&lower.backward(&lower.forward(&unit)));
            unit[j] = 0.0;
        }
        Ok(out)
    }

    /// `X` with `A X = B` for a square `A`, one column of `B` for each right side: LU with row pivoting.
    ///
    /// # Errors
    /// [`DenseError::Shape`] when `A` is not square or `B` has another number of rows, [`DenseError::NotConverged`] when a number is
    /// not finite, [`DenseError::Rank`] when the solution is not finite.
    pub fn solve(&self, right: &Matrix) -> Result<Matrix, DenseError> {
        self.square()?;
        self.finite()?;
        right.finite()?;
        if right.rows != self.rows {
            return Err(DenseError::Shape {
                found: format!("{} right rows", right.rows),
                expected: format!("{}", self.rows),
            });
        }
        let x = self.faer().partial_piv_lu().solve(right.faer());
        let out = Self::from_fn(right.rows, right.columns, |i, j| x[(i, j)]);
        out.finite().map_err(|_| DenseError::Rank {
            rank: self.rows - 1,
            columns: self.columns,
        })?;
        Ok(out)
    }

    /// Eigenvalues (ascending) and orthonormal eigenvectors (columns) of a symmetric matrix; only the lower
    /// triangle is read.
    ///
    /// # Errors
    /// [`DenseError::Shape`] when not square, [`DenseError::NotConverged`] when the iteration does not end.
    pub fn symmetric_eigen(&self) -> Result<(Vec<f64>, Matrix), DenseError> {
        self.square()?;
        self.finite()?;
        let found = self.faer().self_adjoint_eigen(Side::Lower);
        let eigen = found.map_err(|_| DenseError::NotConverged)?;
        let values = (0..self.rows).map(|i| eigen.S()[i]).collect();
        Ok((
            values,
            Self::from_fn(self.rows, self.rows, |i, j| eigen.U()[(i, j)]),
        ))
    }

    /// Thin singular value decomposition.
    ///
    /// # Errors
    /// [`DenseError::NotConverged`] when the iteration does not end.
    pub fn svd(&self) -> Result<Svd, DenseError> {
        self.finite()?;
        let svd = self.faer().thin_svd().map_err(|_| DenseError::NotConverged)?;
        let k = self.rows.min(self.columns);
        Ok(Svd {
            u: Self::from_fn(self.rows, k, |i, j| svd.U()[(i, j)]),
            s: (0..k).map(|i| svd.S()[i]).collect(),
            v: Self::from_fn(self.columns, k, |i, j| svd.V()[(i, j)]),
        })
    }

    /// Eigenvalues of a real square matrix as (real, imaginary), in no order.
    ///
    /// # Errors
    /// [`DenseError::Shape`] when not square, [`DenseError::NotConverged`] when the iteration does not end.
    pub fn eigenvalues(&self) -> Result<Vec<(f64, f64)>, DenseError> {
        self.square()?;
        self.finite()?;
        let values = self.faer().eigenvalues().map_err(|_| DenseError::NotConverged)?;
        Ok(values.iter().map(|z| (z.re, z.im)).collect())
    }
}

/// `x . y` over the shorter length.
pub fn dot(x: &[f64], y: &[f64]) -> f64 {
    x.iter().zip(y).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests;
