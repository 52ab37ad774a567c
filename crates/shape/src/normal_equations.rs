//! Weighted linear least squares with few unknowns, kept nested: one pass gives every lower order too.
//!
//! ```text
//! N = sum w g g^T,  b = sum w g y,   N = L L^T,  z = L^-1 b,   chi^2(first k) = sum w y^2 - z_1^2 - ... - z_k^2
//! ```
//! Each `z_k^2` is what unknown `k` explains beyond those before it, in units of variance when `w = 1/u^2`.
//!
//! | symbol | meaning |
//! |---|---|
//! | `g` | values of the basis functions at one point |
//! | `w`, `y` | weight and value of the point |
//!
//! Source: \[GolubVanLoan2013\] sections 4.2 and 5.3. For well-conditioned bases; it does not pivot.

/// Sums of a least-squares problem, then its solution.
#[derive(Debug, Clone, PartialEq)]
pub struct NormalEquations {
    size: usize,
    matrix: Vec<f64>,
    right: Vec<f64>,
    squares: f64,
}

/// The Cholesky factor and what each unknown explains.
#[derive(Debug, Clone, PartialEq)]
pub struct Factored {
    size: usize,
    factor: Vec<f64>,
    explained: Vec<f64>,
}

impl NormalEquations {
    /// No points yet, `size` unknowns.
    pub fn new(size: usize) -> Self {
        Self {
            size,
            matrix: vec![0.0; size * size],
            right: vec![0.0; size],
            squares: 0.0,
        }
    }

    /// Adds a point: the basis at it, its weight and its value.
    pub fn add(&mut self, basis: &[f64], weight: f64, value: f64) {
        for (r, g) in self.right.iter_mut().zip(basis) {
            *r += weight * g * value;
        }
        // The sizes that outlines need, each with loops of fixed length: it is here that measuring spends its time.
        match self.size {
            6 => self.add_products::<4, 6>(basis, weight),
            14 => self.add_products::<8, 14>(basis, weight),
            17 => self.add_products::<8, 17>(basis, weight),
            18 => self.add_products::<8, 18>(basis, weight),
            _ => self.add_products_of_any(basis, weight),
        }
        self.squares += weight * value * value;
    }

    fn add_products_of_any(&mut self, basis: &[f64], weight: f64) {
        let rows = self.matrix.chunks_exact_mut(self.size.max(1));
        for (i, (row, g)) in rows.zip(basis).enumerate() {
            for (m, other) in row.iter_mut().zip(&basis[..=i]) {
                *m += weight * g * other;
            }
        }
    }

    /// The first `HALF` columns of as many rows and all `SIZE` of the others; what lies above the diagonal is not used.
    fn add_products<const HALF: usize, const SIZE: usize>(&mut self, basis: &[f64], weight: f64) {
        let (upper, lower) = self.matrix.split_at_mut(HALF * SIZE);
        for (row, g) in upper.chunks_exact_mut(SIZE).zip(basis) {
            add_multiple::<HALF>(row, weight * g, basis);
        }
        for (row, g) in lower.chunks_exact_mut(SIZE).zip(&basis[HALF..]) {
            add_multiple::<SIZE>(row, weight * g, basis);
        }
    }

    /// Sum of weight times value squared.
    pub fn squares(&self) -> f64 {
        self.squares
    }

    /// The factor, or `None` when the points do not determine the unknowns.
    pub fn factored(&self) -> Option<Factored> {
        let n = self.size;
        let mut factor = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..=i {
                let known: f64 = (0..j).map(|k| factor[i * n + k] * factor[j * n + k]).sum();
                let rest = self.matrix[i * n + j] - known;
                if i == j {
                    if rest.is_nan() || rest <= 1e-12 * self.matrix[i * n + i] {
                        return None;
                    }
                    factor[i * n + i] = rest.sqrt();
                } else {
                    factor[i * n + j] = rest / factor[j * n + j];
                }
            }
        }
        let mut explained = vec![0.0; n];
        for i in 0..n {
            let known: f64 = (0..i).map(|k| factor[i * n + k] * explained[k]).sum();
            explained[i] = (self.right[i] - known) / factor[i * n + i];
        }
        Some(Factored {
            size: n,
            factor,
            explained,
        })
    }
}

impl Factored {
    /// `z`: the square of each is what that unknown explains beyond those before it.
    pub fn explained(&self) -> &[f64] {
        &self.explained
    }

    /// Solution with the first `count` unknowns only, the others nil.
    pub fn solution(&self, count: usize) -> Vec<f64> {
        let mut x = self.explained[..count].to_vec();
        for i in (0..count).rev() {
            let known: f64 = (i + 1..count)
                .map(|k| self.factor[k * self.size + i] * x[k])
                .sum();
            x[i] = (x[i] - known) / self.factor[i * self.size + i];
        }
        x
    }

    /// Covariance of [`Self::solution`], `count * count` row by row, for weights `1/u^2`.
    pub fn covariance(&self, count: usize) -> Vec<f64> {
        let n = self.size;
        let mut inverse = vec![0.0; count * count];
        for j in 0..count {
            for i in j..count {
                let one = if i == j { 1.0 } else { 0.0 };
                let known: f64 = (j..i)
                    .map(|k| self.factor[i * n + k] * inverse[k * count + j])
                    .sum();
                inverse[i * count + j] = (one - known) / self.factor[i * n + i];
            }
        }
        let mut covariance = vec![0.0; count * count];
        for i in 0..count {
            for j in 0..count {
                covariance[i * count + j] = (i.max(j)..count)
                    .map(|k| inverse[k * count + i] * inverse[k * count + j])
                    .sum();
            }
        }
        covariance
    }
}

/// Adds a multiple of the first `COUNT` values to as many of a row.
#[inline]
fn add_multiple<const COUNT: usize>(row: &mut [f64], factor: f64, values: &[f64]) {
    let (row, values) = (row.first_chunk_mut::<COUNT>(), values.first_chunk::<COUNT>());
    let (Some(row), Some(values)) = (row, values) else {
        return;
    };
    for (sum, value) in row.iter_mut().zip(values) {
        *sum += factor * value;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parabola() -> NormalEquations {
        let mut sums = NormalEquations::new(3);
        for i in 0..5 {
            let x = f64::from(i);
            sums.add(&[1.0, x, x * x], 4.0, 2.0 - 3.0 * x + 0.5 * x * x);
        }
        sums
    }

    #[test]
    fn an_exact_parabola_comes_back_and_explains_everything() {
        let sums = parabola();
        let fit = sums.factored().expect("five points determine a parabola");
        for (found, truth) in fit.solution(3).iter().zip([2.0, -3.0, 0.5]) {
            assert!((found - truth).abs() < 1e-10);
        }
        let explained: f64 = fit.explained().iter().map(|z| z * z).sum();
        assert!((explained / sums.squares() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn covariance_is_the_inverse_of_the_matrix() {
        let fit = parabola().factored().expect("determined");
        let c = fit.covariance(3);
        // Textbook straight line through x = 0..4 with variance 1/4: var(slope) = 0.25 / 10.
        assert!((fit.covariance(2)[3] - 0.025).abs() < 1e-12);
        let n = [5.0, 10.0, 30.0, 10.0, 30.0, 100.0, 30.0, 100.0, 354.0].map(|v| 4.0 * v);
        for i in 0..3 {
            for j in 0..3 {
                let product: f64 = (0..3).map(|k| n[i * 3 + k] * c[k * 3 + j]).sum();
                assert!((product - f64::from(u8::from(i == j))).abs() < 1e-9);
            }
        }
    }

    /// The sizes with loops of their own give the same sums to the last bit as any other.
    #[test]
    fn every_size_adds_the_same() {
        for size in [6, 14, 17, 18, 5] {
            let (mut fixed, mut any) = (NormalEquations::new(size), NormalEquations::new(size));
            for k in 0..40 {
                let basis: Vec<f64> = (0..size)
                    .map(|i| (0.37 * f64::from(k) * (i as f64 + 0.2)).cos())
                    .collect();
                fixed.add(&basis, 1.0 + 0.1 * f64::from(k), 0.3);
                any.add_products_of_any(&basis, 1.0 + 0.1 * f64::from(k));
            }
            for (i, j) in (0..size).flat_map(|i| (0..=i).map(move |j| (i, j))) {
                assert_eq!(
                    fixed.matrix[i * size + j],
                    any.matrix[i * size + j],
                    "{size}: {i}, {j}"
                );
            }
            assert!(fixed.matrix[size * size - 1] > 1.0);
        }
    }

    #[test]
    fn undetermined_unknowns_give_nothing() {
        let mut sums = NormalEquations::new(2);
        sums.add(&[1.0, 2.0], 1.0, 1.0);
        assert!(sums.factored().is_none());
    }
}
