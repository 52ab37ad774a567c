//! The outline of a body of revolution as a series in Legendre polynomials about its own centre.
//!
//! ```text
//! r(theta) = sum c_n P_n(cos theta),   c_1 = 0,   a_n = c_n / R,   R = (3 V / 4 pi)^(1/3)
//! d r / d x_across = sin theta (1 + r_m cos theta / r),   d r / d x_along = cos theta - r_m sin^2 theta / r,   m = cos theta
//! ```
//! Weighted least squares on the points of both sides, the centre among the unknowns, by Gauss-Newton. The degree grows while the next coefficient explains more than chance would.
//! Where much of the outline is hidden, what is believed of the shape beforehand, `c_n / c_0 = mean +- deviation`, joins the
//! points as one observation for each degree; what the points do not say then has that uncertainty.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `theta` | angle from the axis; the axis is given from image-up towards +x | rad |
//! | `c_n` | coefficient | the caller's length |
//! | `R` | radius of the sphere of the same volume | the same |
//! | `x_across`, `x_along` | place of the centre across and along the axis | the same |
//! | `r_m` | `d r / d m` | the same |
//!
//! Source: least squares \[GolubVanLoan2013\] section 5.3; the order by \[Schwarz1978\]. Holds only where a ray from the
//! centre meets the outline once ([`Expansion::star_shaped`]).

use crate::normal_equations::{Factored, NormalEquations};
use crate::outline::Point;
use crate::revolution::{equivalent_radius, from_series};
use tremolet_numerics::legendre;

/// What to expand in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// Direction of the axis, rad from image-up towards +x.
    pub axis_angle: f64,
    /// Degrees that are always fitted.
    pub lowest_order: usize,
    /// Degrees that are never exceeded.
    pub highest_order: usize,
}

/// What is believed of `c_n / c_0` of one degree before the points speak.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    /// Its mean.
    pub mean: f64,
    /// Its standard deviation, not nil.
    pub deviation: f64,
}

/// The series of one outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Expansion {
    /// Centre about which `c_1` and the lateral term vanish.
    pub centre: [f64; 2],
    /// `c_0` to `c_order`.
    pub coefficients: Vec<f64>,
    /// Covariance of the coefficients, packed lower triangle: (0,0), (1,0), (1,1), (2,0) and so on.
    pub covariance: Vec<f64>,
    /// Root mean square of the residuals along the normal.
    pub residual_rms: f64,
    /// Residual variance against the stated one; 1 when the uncertainties are honest and the series holds.
    pub reduced_chi_squared: f64,
    /// Whether every ray from the centre meets the outline once.
    pub star_shaped: bool,
}

impl Expansion {
    /// Radius of the sphere of the same volume.
    pub fn radius(&self) -> f64 {
        equivalent_radius(from_series(&self.coefficients).volume)
    }

    /// Standard uncertainty of the radius to first order: that of `c_0`.
    pub fn radius_uncertainty(&self) -> f64 {
        self.covariance[0].sqrt()
    }
}

struct Polar {
    radius: f64,
    cos: f64,
    sin: f64,
}

fn polar(p: &Point, centre: [f64; 2], axis: (f64, f64)) -> Polar {
    let (x, y) = (p.x - centre[0], p.y - centre[1]);
    let radius = (x * x + y * y).sqrt().max(f64::MIN_POSITIVE);
    Polar {
        radius,
        cos: (x * axis.0 - y * axis.1) / radius,
        sin: (x * axis.1 + y * axis.0) / radius,
    }
}

/// Expands the outline through `points`, which lie in order along it (gaps are welcome).
///
/// `None` when the points do not determine the lowest order, or are not finite.
pub fn expand(points: &[Point], wanted: &Wanted) -> Option<Expansion> {
    expand_believing(points, wanted, &[])
}

/// As [`expand`], with beliefs of the degrees from 2 on; with any of them the order is that of the last.
pub fn expand_believing(points: &[Point], wanted: &Wanted, beliefs: &[Belief]) -> Option<Expansion> {
    let axis = wanted.axis_angle.sin_cos();
    let mut centre = middle(points)?;
    let last = beliefs.len() + 1;
    let (lowest_order, mut highest) = if beliefs.is_empty() {
        (wanted.lowest_order, wanted.highest_order.max(wanted.lowest_order))
    } else {
        (last, last)
    };
    let mut shape = vec![0.0; 1];
    let mut order: Option<usize> = None;
    for round in 0..40 {
        let (sums, fit) = loop {
            let mut sums = gathered(points, centre, axis, &shape, highest);
            believed(&mut sums, beliefs, size_of(&shape, points, centre), highest);
            match sums.factored() {
                Some(fit) => break (sums, fit),
                None if highest > lowest_order => highest -= 1,
                None => return None,
            }
        };
        let before = order;
        let chosen = match before {
            // Two orders that take turns would never end.
            Some(order) if round > 8 => order.min(highest),
            _ => chosen_order(&fit, &sums, points.len(), lowest_order.min(highest)),
        };
        order = Some(chosen);
        let x = fit.solution(chosen + 2);
        let (lateral, along) = (x[0], x[2]);
        if !x.iter().all(|v| v.is_finite()) {
            return None;
        }
        centre[0] += lateral * axis.1 + along * axis.0;
        centre[1] += lateral * axis.0 - along * axis.1;
        shape = x[1..].to_vec();
        shape[1] = 0.0;
        if before == order && lateral.hypot(along) < CLOSE * shape[0].abs() {
            return Some(finished(points, centre, axis, shape, &fit.covariance(chosen + 2)));
        }
    }
    None
}

/// The centre stands when it moves by less than this share of the radius.
const CLOSE: f64 = 1e-9;

fn middle(points: &[Point]) -> Option<[f64; 2]> {
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    for p in points {
        for (k, v) in [p.x, p.y].into_iter().enumerate() {
            low[k] = low[k].min(v);
            high[k] = high[k].max(v);
        }
    }
    let centre = [(low[0] + high[0]) / 2.0, (low[1] + high[1]) / 2.0];
    (points.len() > 3 && centre.iter().all(|v| v.is_finite())).then_some(centre)
}

/// Sums over the points; unknown 0 moves the centre across the axis, unknown 2 along it, unknown `n + 1` is `c_n`.
fn gathered(
    points: &[Point],
    centre: [f64; 2],
    axis: (f64, f64),
    shape: &[f64],
    highest: usize,
) -> NormalEquations {
    let mut sums = NormalEquations::new(highest + 2);
    let mut basis = vec![0.0; highest + 2];
    let slope = legendre::derivative(shape);
    for p in points {
        let at = polar(p, centre, axis);
        legendre::values(at.cos, &mut basis[1..]);
        let steep: f64 = slope.iter().zip(&basis[1..]).map(|(c, p)| c * p).sum();
        let lean = at.sin * steep / at.radius;
        (basis[0], basis[2]) = (at.sin + lean * at.cos, at.cos - lean * at.sin);
        let variance = p.uncertainty * p.uncertainty * (1.0 + lean * lean);
        sums.add(&basis, 1.0 / variance.max(1e-30), at.radius);
    }
    sums
}

/// The radius of the round before, or the mean distance of the points in the first.
fn size_of(shape: &[f64], points: &[Point], centre: [f64; 2]) -> f64 {
    if shape[0] > 0.0 {
        return shape[0];
    }
    let away = points.iter().map(|p| (p.x - centre[0]).hypot(p.y - centre[1]));
    away.sum::<f64>() / points.len() as f64
}

/// Adds one observation for each belief: coefficient `c_n` (unknown `n + 1`) is `mean * size`.
fn believed(sums: &mut NormalEquations, beliefs: &[Belief], size: f64, highest: usize) {
    let mut basis = vec![0.0; highest + 2];
    for (n, belief) in (2..).zip(beliefs) {
        basis[n + 1] = 1.0;
        let weight = (belief.deviation * size).powi(-2);
        sums.add(&basis, weight, belief.mean * size);
        basis[n + 1] = 0.0;
    }
}

/// The last degree whose coefficient explains more than `ln` of the number of points, scaled by the misfit.
fn chosen_order(fit: &Factored, sums: &NormalEquations, count: usize, lowest: usize) -> usize {
    let z = fit.explained();
    let left = sums.squares() - z.iter().map(|z| z * z).sum::<f64>();
    let scale = (left / (count as f64 - z.len() as f64).max(1.0)).max(1.0);
    let bar = (count as f64).ln() * scale;
    let last = (lowest + 1..z.len() - 1).rfind(|n| z[n + 1] * z[n + 1] > bar);
    last.unwrap_or(lowest)
}

fn finished(
    points: &[Point],
    centre: [f64; 2],
    axis: (f64, f64),
    shape: Vec<f64>,
    full: &[f64],
) -> Expansion {
    let size = shape.len() + 1;
    let mut covariance = Vec::with_capacity(size * (size - 1) / 2);
    for i in 1..size {
        covariance.extend((1..=i).map(|j| full[i * size + j]));
    }
    let slope = legendre::derivative(&shape);
    let (mut squares, mut chi_squared) = (0.0, 0.0);
    for p in points {
        let at = polar(p, centre, axis);
        let lean = at.sin * legendre::series(&slope, at.cos) / at.radius;
        let off = (at.radius - legendre::series(&shape, at.cos)) / (1.0 + lean * lean).sqrt();
        squares += off * off;
        chi_squared += (off / p.uncertainty.max(1e-15)).powi(2);
    }
    let count = points.len() as f64;
    Expansion {
        centre,
        coefficients: shape,
        covariance,
        residual_rms: (squares / count).sqrt(),
        reduced_chi_squared: chi_squared / (count - size as f64).max(1.0),
        star_shaped: is_star_shaped(points, centre),
    }
}

/// Whether the points turn round `centre` in one sense, and once only.
pub fn is_star_shaped(points: &[Point], centre: [f64; 2]) -> bool {
    let (mut forward, mut backward) = (0.0_f64, 0.0_f64);
    for pair in points.windows(2) {
        let (a, b) = (
            [pair[0].x - centre[0], pair[0].y - centre[1]],
            [pair[1].x - centre[0], pair[1].y - centre[1]],
        );
        let turn = (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1]);
        if turn > 0.0 {
            forward += turn
        } else {
            backward -= turn
        }
    }
    forward.min(backward) < 0.01 && forward.max(backward) < 2.0 * std::f64::consts::PI + 0.01
}

#[cfg(test)]
mod tests;
