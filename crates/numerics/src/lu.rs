//! A square system solved by elimination with partial pivoting, in place and without setting memory aside.
//!
//! ```text
//! P A = L U          |growth| = largest |u_jj| / smallest |u_jj|, a lower guess of the condition of A
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | `A` | matrix of `size` x `size`, row by row |
//! | `L`, `U`, `P` | lower triangle with unit diagonal, upper triangle, order of the rows |
//!
//! Source: \[GolubVanLoan2013\] section 3.4. Made for some tens of unknowns solved thousands of times.

/// The factors of a matrix.
#[derive(Debug, Clone, Default)]
pub struct Lu {
    size: usize,
    factors: Vec<f64>,
    order: Vec<usize>,
    scratch: Vec<f64>,
    spread: f64,
}

impl Lu {
    /// Factors `matrix` (row by row) into room that is used again; false when it is singular or not finite.
    ///
    /// # Panics
    /// When the length of `matrix` is not `size` squared.
    pub fn factor(&mut self, size: usize, matrix: &[f64]) -> bool {
        assert_eq!(matrix.len(), size * size, "a square matrix");
        self.size = size;
        self.factors.clear();
        self.factors.extend_from_slice(matrix);
        self.order.clear();
        self.order.extend(0..size);
        let (mut largest, mut smallest) = (0.0_f64, f64::INFINITY);
        for j in 0..size {
            let pivot = self.bring_pivot(j);
            if !(pivot > 0.0 && pivot.is_finite()) {
                return false;
            }
            (largest, smallest) = (largest.max(pivot), smallest.min(pivot));
            self.eliminate(j);
        }
        self.spread = if size == 0 { 1.0 } else { largest / smallest };
        true
    }

    /// Largest over smallest pivot: a guess, from below, of how much a solution magnifies errors.
    #[must_use]
    pub fn spread(&self) -> f64 {
        self.spread
    }

    /// Brings the largest element of column `j` at or below the diagonal onto it; returns its size.
    fn bring_pivot(&mut self, j: usize) -> f64 {
        let size = self.size;
        let at = |i: usize| self.factors[i * size + j].abs();
        let best = (j..size).fold(j, |best, i| if at(i) > at(best) { i } else { best });
        let pivot = at(best);
        if best != j {
            self.order.swap(best, j);
            let (above, below) = self.factors.split_at_mut(best * size);
            above[j * size..(j + 1) * size].swap_with_slice(&mut below[..size]);
        }
        pivot
    }

    fn eliminate(&mut self, j: usize) {
        let size = self.size;
        let (above, below) = self.factors.split_at_mut((j + 1) * size);
        let pivots = &above[j * size..];
        let inverse = 1.0 / pivots[j];
        for row in below.chunks_exact_mut(size) {
            let factor = row[j] * inverse;
            row[j] = factor;
            for (x, p) in row[j + 1..].iter_mut().zip(&pivots[j + 1..]) {
                *x -= factor * p;
            }
        }
    }

    /// Puts the `x` with `A x = b` in the place of `b`.
    ///
    /// # Panics
    /// When `b` is not as long as the matrix is wide.
    pub fn solve(&mut self, b: &mut [f64]) {
        let size = self.size;
        assert_eq!(b.len(), size, "one number for each row");
        self.scratch.clear();
        self.scratch.extend(self.order.iter().map(|i| b[*i]));
        for i in 0..size {
            let row = &self.factors[i * size..i * size + i];
            let sum: f64 = row.iter().zip(&b[..i]).map(|(l, x)| l * x).sum();
            b[i] = self.scratch[i] - sum;
        }
        for i in (0..size).rev() {
            let row = &self.factors[i * size..(i + 1) * size];
            let sum: f64 = row[i + 1..].iter().zip(&b[i + 1..]).map(|(u, x)| u * x).sum();
            b[i] = (b[i] - sum) / row[i];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Lu;

    #[test]
    fn a_system_with_a_zero_on_its_diagonal_is_solved() {
        let matrix = [0.0, 2.0, 1.0, 1.0, 1.0, 0.0, 4.0, 0.0, -1.0];
        let x = [1.5, -2.0, 0.25];
        let mut b: Vec<f64> = matrix
            .chunks(3)
            .map(|row| row.iter().zip(&x).map(|(a, x)| a * x).sum())
            .collect();
        let mut lu = Lu::default();
        assert!(lu.factor(3, &matrix));
        lu.solve(&mut b);
        b.iter()
            .zip(&x)
            .for_each(|(found, x)| assert!((found - x).abs() < 1e-14));
    }

    #[test]
    fn hilbert_is_solved_as_well_as_its_condition_allows_and_tells_of_it() {
        let size = 6;
        let matrix: Vec<f64> = (0..36)
            .map(|k| 1.0 / ((k / size + k % size + 1) as f64))
            .collect();
        let mut b: Vec<f64> = matrix.chunks(size).map(|row| row.iter().sum()).collect();
        let mut lu = Lu::default();
        assert!(lu.factor(size, &matrix));
        lu.solve(&mut b);
        // Condition 1.5e7 (Hilbert matrix of 6, from memory).
        assert!(b.iter().all(|x| (x - 1.0).abs() < 1e-8));
        assert!(lu.spread() > 1e4);
    }

    #[test]
    fn a_singular_matrix_is_told() {
        assert!(!Lu::default().factor(2, &[1.0, 2.0, 2.0, 4.0]));
        assert!(!Lu::default().factor(1, &[f64::NAN]));
    }
}
