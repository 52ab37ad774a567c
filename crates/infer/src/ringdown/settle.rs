//! The final fit of one degree: its own lines free, leaks and products of other lines with known course.
//!
//! ```text
//! gain of a shape x = (x' . r)^2 / |x'|^2,    x' = x - J C J^T x
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `r` | shape and residual over the stated deviations | 1 |
//! | `J`, `C` | Jacobian and covariance of the fit without the shape | |
//!
//! A shape that was not seen as a line joins when its gain says so; one that the fit cannot tell from what it has does not.
//!
//! Source: \[GolubVanLoan2013\] section 5.3 for the gain.

use tremolet_numerics::dense::{Matrix, dot};
use tremolet_numerics::least_squares::{Minimum, Stop};

use crate::line::{BASELINE, Model, PER_LINE, Series, Shape, fit};
use crate::ringdown::detect::{is_ringing, upright};
use crate::ringdown::noise::{Noise, noise_at};

/// Gain over the noise at which a shape joins: the 1 % point of chi-square with two degrees of freedom.
const JOINS: f64 = 9.210;
/// Least part of a shape (in energy) that the fit must not already have, so that the numbers can tell them apart.
const LEAST_NEW: f64 = 1e-5;
/// Most shapes that join.
const MOST: usize = 8;

/// Far above the noise a line that slows by its own size has a long way to go.
const LONGER: Stop = Stop {
    steps: 400,
    tolerance: 1e-8,
};

/// One degree after its final fit.
#[derive(Debug, Clone)]
pub struct Settled {
    /// What was fitted.
    pub model: Model,
    /// The minimum; lines upright.
    pub minimum: Minimum,
    /// Noise at each line; none for a line that no longer rings.
    pub noise: Vec<Option<Noise>>,
}

/// Fits `lines` (unknowns of a line each) and the shapes `seen`, then those of `possible` that are there too.
pub fn settle(
    series: &Series,
    lines: &[[f64; PER_LINE]],
    shift: (f64, f64),
    seen: Vec<Shape>,
    mut possible: Vec<Shape>,
) -> Option<Settled> {
    let mut model = Model {
        shifts: vec![shift; lines.len()],
        shapes: seen,
    };
    let mut from = vec![0.0; BASELINE];
    from.extend(lines.iter().flatten());
    from.resize(model.unknowns(), 0.0);
    let mut minimum = fit(series, &model, &from, Stop::default()).ok()?;
    for _ in 0..MOST {
        let Some(place) = strongest(series, &minimum, &possible) else {
            break;
        };
        let mut larger = model.clone();
        larger.shapes.push(possible.swap_remove(place));
        let mut from = minimum.parameters.clone();
        from.resize(larger.unknowns(), 0.0);
        if let Ok(found) = fit(series, &larger, &from, Stop::default()) {
            (model, minimum) = (larger, found);
        }
    }
    if !minimum.converged {
        minimum = fit(series, &model, &minimum.parameters, LONGER).unwrap_or(minimum);
    }
    let ends = BASELINE + PER_LINE * lines.len();
    minimum.parameters[BASELINE..ends]
        .chunks_exact_mut(PER_LINE)
        .for_each(upright);
    let noise = noises(series, &minimum, lines.len());
    Some(Settled {
        model,
        minimum,
        noise,
    })
}

/// Residuals in the unit of the series.
pub fn left(series: &Series, minimum: &Minimum) -> Vec<f64> {
    let pairs = minimum.residuals.iter().zip(&series.deviations);
    pairs.map(|(r, d)| -r * d).collect()
}

fn noises(series: &Series, minimum: &Minimum, lines: usize) -> Vec<Option<Noise>> {
    let left = left(series, minimum);
    let at = |l: usize| {
        let first = BASELINE + PER_LINE * l;
        let line = &minimum.parameters[first..first + PER_LINE];
        let deviation = minimum.covariance[(first + 3, first + 3)].sqrt();
        let noise = noise_at(series, &left, line[2] / std::f64::consts::TAU, line[3])?;
        let holds = minimum.converged && line[0] > 2.0 * minimum.covariance[(first, first)].sqrt();
        (holds && is_ringing(series, line, deviation)).then_some(noise)
    };
    (0..lines).map(at).collect()
}

fn strongest(series: &Series, minimum: &Minimum, possible: &[Shape]) -> Option<usize> {
    let noise = (minimum.chi_square / minimum.degrees_of_freedom).max(1.0);
    let gains: Vec<f64> = possible.iter().map(|s| gain(series, minimum, s)).collect();
    let best = (0..gains.len()).max_by(|&a, &b| gains[a].total_cmp(&gains[b]))?;
    (gains[best] > JOINS * noise).then_some(best)
}

/// Decrease of chi-square when the shape joins; 0 when it brings nothing new.
pub fn gain(series: &Series, minimum: &Minimum, shape: &Shape) -> f64 {
    let mut sum = 0.0;
    let mut before: Option<Vec<f64>> = None;
    for i in 0..shape.unknowns() {
        let pairs = series.times.iter().zip(&series.deviations);
        let column: Vec<f64> = pairs.map(|(&t, d)| shape.at(t)[i] / d).collect();
        let mut rest = without(&minimum.jacobian, &minimum.covariance, &column);
        if let Some(other) = &before {
            let share = dot(&rest, other) / dot(other, other);
            rest.iter_mut().zip(other).for_each(|(x, y)| *x -= share * y);
        }
        let square = dot(&rest, &rest);
        if square < LEAST_NEW * dot(&column, &column) {
            return 0.0;
        }
        sum += dot(&rest, &minimum.residuals).powi(2) / square;
        before = Some(rest);
    }
    sum
}

fn without(jacobian: &Matrix, covariance: &Matrix, column: &[f64]) -> Vec<f64> {
    let mut right = vec![0.0; jacobian.columns()];
    for (i, x) in column.iter().enumerate() {
        for (sum, d) in right.iter_mut().zip(jacobian.row(i)) {
            *sum += x * d;
        }
    }
    let inside = covariance.times(&right);
    let rows = (0..column.len()).map(|i| column[i] - dot(jacobian.row(i), &inside));
    rows.collect()
}
