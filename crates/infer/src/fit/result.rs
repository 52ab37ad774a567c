//! What a fit found, how well, and what it leaves.
//!
//! ```text
//! explained = 1 - sum of what is left^2 / sum of (outline less its circle)^2         chi^2 = sum e^2 / (sectors - unknowns - shifts)
//! chance = probability of F > [(sum e_0^2 - sum e^2) / unknowns] / chi^2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | chi^2 | variance of what is left over the stated one | - |
//! | e_0 | residuals of a still sphere | - |
//!
//! Source: \[JCGM100\]. An unknown is determined when its standard uncertainty is below a limit that each has: a fifth of a viscosity, a tenth of a radian.

use tremolet_numerics::dense::Matrix;
use tremolet_numerics::least_squares::Minimum;
use tremolet_numerics::statistics::fisher_tail;

use super::problem::{Left, Parameters, Problem};

/// A fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// The unknowns.
    pub at: Parameters,
    /// Their covariance in the order of [`Parameters::list`], scaled where more is left than the stated noise.
    pub covariance: Matrix,
    /// Variance of what is left over what is stated.
    pub chi_square: f64,
    /// Share of the variance of the outlines about their circles that the model explains.
    pub explained: f64,
    /// Probability that noise alone leaves as much less than a still sphere does (Fisher's distribution).
    pub chance: f64,
    /// Frames that the last stride used.
    pub frames: usize,
    /// Whether the search ended by itself.
    pub converged: bool,
}

/// A surface tension or viscosity with a larger relative uncertainty is not determined.
pub const VAGUE: f64 = 0.2;

impl Fitted {
    /// From a minimum of a problem.
    #[must_use]
    pub fn of(problem: &Problem<'_>, minimum: &Minimum) -> Self {
        let at = Parameters::from_list(&minimum.parameters);
        let left = problem.left(&at).unwrap_or_default();
        let filled = minimum.residuals.iter().filter(|e| **e != 0.0).count();
        let unknowns = minimum.parameters.len() + 2 * left.len();
        let freedom = filled.saturating_sub(unknowns).max(1) as f64;
        let chi_square = minimum.chi_square / freedom;
        Self {
            covariance: minimum.covariance.scaled(chi_square.max(1.0)),
            chi_square,
            explained: explained(problem, &at, &left),
            chance: chance(
                problem.at_rest(&minimum.parameters),
                minimum.chi_square,
                minimum.parameters.len() as f64,
                freedom,
            ),
            frames: left.len(),
            converged: minimum.converged,
            at,
        }
    }

    /// Standard uncertainty of an unknown by its place in the list.
    #[must_use]
    pub fn u(&self, place: usize) -> f64 {
        self.covariance[(place, place)].max(0.0).sqrt()
    }

    /// `R^3 / t0^2` (px^3/s^2), and its relative standard uncertainty: sigma is that times density and scale cubed.
    #[must_use]
    pub fn tension(&self) -> (f64, f64) {
        let value = self.at.radius.powi(3) / (2.0 * self.at.ln_time).exp();
        (value, self.relative([-2.0, 0.0, 3.0]))
    }

    /// `Oh R^2 / t0` (px^2/s), and its relative standard uncertainty: nu is that times scale squared.
    #[must_use]
    pub fn viscosity(&self) -> (f64, f64) {
        let value = (self.at.ln_ohnesorge - self.at.ln_time).exp() * self.at.radius.powi(2);
        (value, self.relative([-1.0, 1.0, 2.0]))
    }

    /// Correlation of the two.
    #[must_use]
    pub fn correlation(&self) -> f64 {
        let both = self.combined([-2.0, 0.0, 3.0], [-1.0, 1.0, 2.0]);
        both / (self.relative([-2.0, 0.0, 3.0]) * self.relative([-1.0, 1.0, 2.0]))
    }

    /// Whether the clip tells the surface tension.
    #[must_use]
    pub fn tells_tension(&self) -> bool {
        self.tension().1 < VAGUE
    }

    /// Whether the clip tells the viscosity.
    #[must_use]
    pub fn tells_viscosity(&self) -> bool {
        self.viscosity().1 < VAGUE
    }

    /// Tilt of the axis out of the picture, rad, when it is told from nil, and its standard uncertainty.
    #[must_use]
    pub fn tilt(&self) -> Option<(f64, f64)> {
        let (q, u) = (self.at.tilt, self.u(4));
        (q > 3.0 * u).then(|| {
            let tilt = q.sqrt().asin();
            (tilt, u / (2.0 * tilt).sin())
        })
    }

    /// Of powers of t0, Oh and R.
    fn relative(&self, powers: [f64; 3]) -> f64 {
        self.combined(powers, powers).max(0.0).sqrt()
    }

    fn combined(&self, left: [f64; 3], right: [f64; 3]) -> f64 {
        // The third unknown is R itself, not its logarithm.
        let per = [1.0, 1.0, 1.0 / self.at.radius];
        let term = |i: usize, j: usize| left[i] * per[i] * right[j] * per[j] * self.covariance[(i, j)];
        (0..3)
            .flat_map(|i| (0..3).map(move |j| (i, j)))
            .map(|(i, j)| term(i, j))
            .sum()
    }
}

fn chance(still: f64, moving: f64, unknowns: f64, freedom: f64) -> f64 {
    let gain = ((still - moving) / unknowns).max(0.0);
    fisher_tail(gain / (moving / freedom), unknowns, freedom)
}

fn explained(problem: &Problem<'_>, at: &Parameters, left: &[Left]) -> f64 {
    let rows = left.iter().flat_map(|frame| &frame.rows);
    let rest: f64 = rows.map(|row| row[0] * row[0]).sum();
    let about_circle = |f: &&super::Frame| -> f64 {
        let off = |p: &[f64; 3]| (p[0] - f.centre[0]).hypot(p[1] - f.centre[1]) - at.radius;
        f.points.iter().map(|p| off(p).powi(2)).sum()
    };
    let all: f64 = problem.frames().iter().map(about_circle).sum();
    1.0 - rest / all
}
