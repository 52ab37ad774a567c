//! Legendre polynomials at the nodes of a Gauss-Legendre rule, kept for thousands of transforms.
//!
//! ```text
//! to nodes   f(mu_i) = sum f_n P_n(mu_i)          from nodes   f_n = (n + 1/2) sum w_i f(mu_i) P_n(mu_i)
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | `mu_i`, `w_i` | nodes in cos(theta), weights |
//! | `P_n`, `P'_n` | polynomials, their slopes; tables are row by row, one row for each node |
//!
//! Source: \[DLMF\] 14.10, 3.5(v). More nodes than degrees keep products of series from folding back (aliasing).

use tremolet_numerics::legendre;
use tremolet_numerics::quadrature::{Rule, gauss_legendre};

/// The tables.
#[derive(Debug, Clone)]
pub struct Basis {
    /// Highest degree.
    pub highest: usize,
    /// Nodes and weights.
    pub rule: Rule,
    /// `1 - mu^2` at the nodes.
    pub across: Vec<f64>,
    values: Vec<f64>,
    slopes: Vec<f64>,
}

impl Basis {
    /// For degrees 0 to `highest` on `points` nodes.
    #[must_use]
    pub fn new(highest: usize, points: usize) -> Self {
        let rule = gauss_legendre(points);
        let tables: Vec<_> = rule.nodes.iter().map(|m| legendre::table(highest, *m)).collect();
        Self {
            highest,
            across: rule.nodes.iter().map(|m| (1.0 - m) * (1.0 + m)).collect(),
            values: tables.iter().flat_map(|t| t.value.iter().copied()).collect(),
            slopes: tables.iter().flat_map(|t| t.slope.iter().copied()).collect(),
            rule,
        }
    }

    /// Number of degrees, one more than the highest.
    #[must_use]
    pub fn degrees(&self) -> usize {
        self.highest + 1
    }

    /// Number of nodes.
    #[must_use]
    pub fn points(&self) -> usize {
        self.rule.nodes.len()
    }

    /// `P_n` at node `i`.
    #[must_use]
    pub fn values(&self, i: usize) -> &[f64] {
        &self.values[i * self.degrees()..(i + 1) * self.degrees()]
    }

    /// `P'_n` at node `i`.
    #[must_use]
    pub fn slopes(&self, i: usize) -> &[f64] {
        &self.slopes[i * self.degrees()..(i + 1) * self.degrees()]
    }

    /// Coefficients 0 to `highest` of a function known at the nodes.
    pub fn from_nodes(&self, samples: &[f64], series: &mut [f64]) {
        series.fill(0.0);
        for (i, sample) in samples.iter().enumerate() {
            let weighted = self.rule.weights[i] * sample;
            for (c, p) in series.iter_mut().zip(self.values(i)) {
                *c += weighted * p;
            }
        }
        for (n, c) in series.iter_mut().enumerate() {
            *c *= n as f64 + 0.5;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Basis;

    #[test]
    fn a_series_goes_to_the_nodes_and_back() {
        let basis = Basis::new(6, 10);
        let series = [1.0, 0.0, 0.3, -0.2, 0.1, 0.05, -0.02];
        let at = |i: usize| basis.values(i).iter().zip(&series).map(|(p, c)| p * c).sum();
        let samples: Vec<f64> = (0..10).map(at).collect();
        let mut back = [0.0; 7];
        basis.from_nodes(&samples, &mut back);
        back.iter()
            .zip(&series)
            .for_each(|(b, s)| assert!((b - s).abs() < 1e-14));
    }
}
