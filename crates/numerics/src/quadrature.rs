//! Gauss-Legendre quadrature on [-1, 1] and on any finite interval.
//!
//! ```text
//! integral of f from -1 to 1 = sum of w_i f(x_i),   P_n(x_i) = 0,   w_i = 2 / [(1 - x_i^2) P'_n(x_i)^2]
//! ```
//!
//! | symbol | meaning |
//! |---|---|
//! | n | number of points; the rule is exact for polynomials up to degree 2n - 1 |
//! | x_i, w_i | nodes in ascending order, weights |
//!
//! Nodes by Newton's method from the starting value `cos(pi (i - 1/4)/(n + 1/2))`, in the angle rather than in x so
//! that the crowded nodes near the ends keep their digits; one half is computed and mirrored. Absolute error of
//! nodes and weights below 1e-15 up to some 200 points (tested against values of 30 digits).
//!
//! Source: \[DLMF\] 3.5(v) (rule), 18.16.12 (starting values, leading term).
//!
//! Beside it weights for a logarithm at the lower end ([`logarithmic`]).
//!
//! Not here: other singular or infinite integrands. Nothing is kept between calls: hold the rule if it is used often.

#[cfg(test)]
mod tests;

/// Nodes and weights of a quadrature rule on [-1, 1].
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// Nodes, ascending.
    pub nodes: Vec<f64>,
    /// Weights, one for each node; they add up to 2.
    pub weights: Vec<f64>,
}

impl Rule {
    /// Integral of `f` from `from` to `to` by this rule.
    pub fn integral(&self, from: f64, to: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
        let (middle, half) = ((from + to) / 2.0, (to - from) / 2.0);
        let terms = self.nodes.iter().zip(&self.weights);
        half * terms.map(|(x, w)| w * f(middle + half * x)).sum::<f64>()
    }
}

/// The Gauss-Legendre rule with `points` points (none gives an empty rule, whose integrals are zero).
///
/// ```
/// let rule = tremolet_numerics::quadrature::gauss_legendre(8);
/// let sine = rule.integral(0.0, std::f64::consts::PI, f64::sin);
/// assert!((sine - 2.0).abs() < 1e-10);
/// ```
#[must_use]
pub fn gauss_legendre(points: usize) -> Rule {
    let mut rule = Rule {
        nodes: vec![0.0; points],
        weights: vec![0.0; points],
    };
    for i in 0..points.div_ceil(2) {
        let (x, weight) = node(points, i);
        let mirror = points - 1 - i;
        rule.nodes[i] = -x;
        rule.nodes[mirror] = if i == mirror { 0.0 } else { x };
        rule.weights[i] = weight;
        rule.weights[mirror] = weight;
    }
    rule
}

/// Weights `v_i` for the nodes of [`gauss_legendre`] moved to [0, 1], so that `sum v_i f(t_i)` is the integral of `f(t) ln t` there; exact
/// for polynomials up to degree `points - 1`.
///
/// With the plain weights beside them, `a(t) ln t + b(t)` is integrated from its two smooth parts at one set of points. Moments of
/// the shifted Legendre polynomials: `-1` and `(-1)^(j+1) / (j (j+1))`.
///
/// ```
/// let rule = tremolet_numerics::quadrature::gauss_legendre(6);
/// let weights = tremolet_numerics::quadrature::logarithmic(&rule);
/// let sum: f64 = rule.nodes.iter().zip(&weights).map(|(x, v)| v * (0.5 + 0.5 * x).powi(3)).sum();
/// assert!((sum + 1.0 / 16.0).abs() < 1e-14);
/// ```
#[must_use]
pub fn logarithmic(rule: &Rule) -> Vec<f64> {
    let mut polynomials = vec![0.0; rule.nodes.len()];
    let weight = |(x, w): (&f64, &f64)| {
        crate::legendre::values(*x, &mut polynomials);
        let terms = polynomials.iter().enumerate().map(|(j, value)| {
            let n = j as f64;
            let moment = match j {
                0 => -1.0,
                _ if j % 2 == 1 => 1.0 / (n * (n + 1.0)),
                _ => -1.0 / (n * (n + 1.0)),
            };
            (2.0 * n + 1.0) * value * moment
        });
        0.5 * w * terms.sum::<f64>()
    };
    rule.nodes.iter().zip(&rule.weights).map(weight).collect()
}

/// The i-th node from the upper end, and its weight: Newton on `P_n(cos a) = 0` in the angle a.
fn node(points: usize, i: usize) -> (f64, f64) {
    let n = points as f64;
    let mut angle = std::f64::consts::PI * (i as f64 + 0.75) / (n + 0.5);
    for _ in 0..10 {
        let (p, slope) = polynomial_and_angle_slope(points, angle);
        let step = p / slope;
        angle -= step;
        if step.abs() < 1e-15 {
            break;
        }
    }
    let (_, slope) = polynomial_and_angle_slope(points, angle);
    (angle.cos(), 2.0 / (slope * slope))
}

/// `P_n(cos a)` and its derivative with respect to a, which is `-sin(a) P'_n = n (cos(a) P_n - P_{n-1}) / sin(a)`.
fn polynomial_and_angle_slope(points: usize, angle: f64) -> (f64, f64) {
    // With d_k = P_k - P_{k-1} and 1 - x = 2 sin^2(a/2), the recurrence loses nothing near the ends.
    let below_one = 2.0 * (angle / 2.0).sin().powi(2);
    let (mut before, mut now, mut difference) = (1.0, 1.0, 0.0);
    for k in 0..points {
        let k = k as f64;
        difference = (k * difference - (2.0 * k + 1.0) * below_one * now) / (k + 1.0);
        before = now;
        now += difference;
    }
    let slope = points as f64 * (angle.cos() * now - before) / angle.sin();
    (now, slope)
}
