//! Rules of quadrature on an element, with the spline shares at their points.
//!
//! ```text
//! away from the target    3 points beyond 4 lengths, 6 beyond 0.8 of a length; nearer, the element is halved until it is so
//! beside the target       10 points, the logarithm taken out by its own weights
//! ```
//! With the target at the distance d from the end of an interval of length L the error of n points falls as
//! `q^(-2n)`, `q = x + sqrt(x^2 - 1)`, `x = 1 + 2 d / L`: 1e-8 for both of the first rules.
//!
//! Source: \[Trefethen2008\] theorem 4.5 (the ellipse of Bernstein).

use tremolet_numerics::quadrature::{gauss_legendre, logarithmic};
use tremolet_numerics::spline::weights;

/// A rule on [0, 1].
#[derive(Debug, Clone)]
pub struct Rule {
    /// Points, ascending.
    pub at: Vec<f64>,
    /// Weights; they add up to one.
    pub weights: Vec<f64>,
    /// Spline shares at the points.
    pub shares: Vec<[[f64; 6]; 3]>,
    /// `ln t - v / w` for a logarithm at the lower end; by symmetry that of the upper end read backwards.
    pub trade: Vec<f64>,
}

impl Rule {
    fn of(points: usize) -> Self {
        let rule = gauss_legendre(points);
        let at: Vec<f64> = rule.nodes.iter().map(|x| 0.5 + 0.5 * x).collect();
        let plain: Vec<f64> = rule.weights.iter().map(|w| 0.5 * w).collect();
        let trade = logarithmic(&rule)
            .iter()
            .zip(at.iter().zip(&plain))
            .map(|(v, (t, w))| t.ln() - v / w)
            .collect();
        Self {
            shares: at.iter().map(|t| weights(*t)).collect(),
            at,
            weights: plain,
            trade,
        }
    }
}

/// The three rules.
#[derive(Debug, Clone)]
pub struct Rules {
    /// For elements beyond [`FAR`] lengths.
    pub far: Rule,
    /// For elements, or parts of them, beyond [`NEAR`] lengths.
    pub near: Rule,
    /// For elements that end at the target.
    pub beside: Rule,
}

/// Least distance in lengths of the element for the rule of few points.
pub const FAR: f64 = 4.0;
/// Least distance in lengths of the element for the middle rule.
pub const NEAR: f64 = 0.8;

impl Default for Rules {
    fn default() -> Self {
        Self {
            far: Rule::of(3),
            near: Rule::of(6),
            beside: Rule::of(10),
        }
    }
}
