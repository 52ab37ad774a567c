//! Surface tension and viscosity of one drop from its lines, for a given radius and given densities.
//!
//! ```text
//! y = (w_1, g_1, w_2, g_2, ...),   y = F(ln sigma, ln nu; x) + L z,   L L^T = C,   x = (R, rho, rho_h, mu_h)
//! J = L^-1 dF/dp,   P = (J^T J)^-1,   dp = P J^T (z - L^-1 (dF/dx) dx)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `sigma` | surface tension | N/m |
//! | `nu` | kinematic viscosity, one for all degrees or one each | m^2/s |
//! | `R` | radius at rest | m |
//! | `rho`, `rho_h` | density of liquid and host gas | kg/m^3 |
//! | `mu_h` | dynamic viscosity of the host gas | Pa s |
//! | `C` | covariance of the lines | rad^2/s^2 |
//!
//! `F` is the exact viscous root with the host, `theory::modes::host` \[MillerScriven1968\]. Least squares with
//! covariance and the response of its solution to data and inputs: \[JCGM102\] section 6.3, from memory. Valid for free
//! axisymmetric modes of small amplitude and a clean surface.

use tremolet_numerics::dense::{Matrix, dot};
use tremolet_numerics::least_squares::{Closure, LeastSquaresError, Stop, minimise};
use tremolet_theory::modes::host::{Pair, root};

use crate::property::lines::Lines;

/// What must be known of the drop besides its lines.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// `R`, m.
    pub radius: f64,
    /// `rho`, kg/m^3.
    pub density: f64,
    /// `rho_h`, kg/m^3; zero for vacuum.
    pub host_density: f64,
    /// `mu_h`, Pa s; zero for vacuum.
    pub host_viscosity: f64,
}

impl Conditions {
    /// The conditions as a list: `R, rho, rho_h, mu_h`.
    pub fn list(&self) -> [f64; 4] {
        [self.radius, self.density, self.host_density, self.host_viscosity]
    }

    /// From the same list.
    pub fn of_list(list: [f64; 4]) -> Self {
        Self {
            radius: list[0],
            density: list[1],
            host_density: list[2],
            host_viscosity: list[3],
        }
    }
}

/// Whether the degrees share one viscosity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Damping {
    /// One viscosity for all degrees.
    Shared,
    /// An effective viscosity for each degree.
    Each,
}

/// The best surface tension and viscosities, and how they answer to data and inputs.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// `ln sigma`, then `ln nu` (one, or one a degree).
    pub logarithms: Vec<f64>,
    /// Standard covariance of `logarithms` from the lines alone.
    pub covariance: Matrix,
    /// d logarithms / d z, one row an unknown, one column a direction of the lines' covariance.
    pub by_line: Matrix,
    /// d logarithms / d x, one row an unknown, columns R, rho, rho_h, mu_h.
    pub by_condition: Matrix,
    /// Weighted sum of squares at the best values.
    pub chi_square: f64,
    /// Lines counted twice (frequency, decay) less unknowns.
    pub degrees_of_freedom: f64,
}

impl Fit {
    /// Surface tension, N/m.
    pub fn tension(&self) -> f64 {
        self.logarithms[0].exp()
    }

    /// Kinematic viscosity of the line at `place` (any place when shared), m^2/s.
    pub fn viscosity(&self, place: usize) -> f64 {
        self.logarithms[(1 + place).min(self.logarithms.len() - 1)].exp()
    }
}

/// Predicted `w_1, g_1, ...`; not-a-number where a degree does not oscillate.
fn predict(degrees: &[u32], logarithms: &[f64], conditions: &Conditions, out: &mut [f64]) {
    let tension = logarithms[0].exp();
    for (i, &degree) in degrees.iter().enumerate() {
        let kinematic = logarithms[(1 + i).min(logarithms.len() - 1)].exp();
        let pair = Pair {
            radius: conditions.radius,
            tension,
            density: conditions.density,
            viscosity: kinematic * conditions.density,
            host_density: conditions.host_density,
            host_viscosity: conditions.host_viscosity,
        };
        let line = root(degree, &pair).map_or((f64::NAN, f64::NAN), |r| (r.angular_frequency, r.decay));
        (out[2 * i], out[2 * i + 1]) = line;
    }
}

/// Start: Rayleigh's frequency and Lamb's decay \[Lamb1932\] articles 275 and 355, each of its own degree.
fn start(lines: &Lines, conditions: &Conditions, damping: Damping) -> Vec<f64> {
    let (r, rho) = (conditions.radius, conditions.density);
    let mut tension = Vec::new();
    let mut viscosity = Vec::new();
    for (i, &degree) in lines.degrees.iter().enumerate() {
        let n = f64::from(degree);
        let (w, g) = (lines.values[2 * i], lines.values[2 * i + 1]);
        tension.push((rho * r.powi(3) * (w * w + g * g) / (n * (n - 1.0) * (n + 2.0))).ln());
        let floor = 1e-6 * w * r * r;
        viscosity.push((g * r * r / ((n - 1.0) * (2.0 * n + 1.0))).max(floor).ln());
    }
    let first = [tension[0]];
    match damping {
        Damping::Shared => first.into_iter().chain([viscosity[0]]).collect(),
        Damping::Each => first.into_iter().chain(viscosity).collect(),
    }
}

/// The weighted least-squares fit.
///
/// # Errors
/// When the covariance of the lines is not positive definite or the lines do not determine the unknowns.
pub fn fit(lines: &Lines, conditions: &Conditions, damping: Damping) -> Result<Fit, LeastSquaresError> {
    let factor = lines.factor()?;
    let count = lines.values.len();
    let problem = Closure {
        count,
        function: |p: &[f64], out: &mut [f64]| {
            let mut y = vec![0.0; count];
            predict(&lines.degrees, p, conditions, &mut y);
            let difference: Vec<f64> = y.iter().zip(&lines.values).map(|(f, y)| f - y).collect();
            out.copy_from_slice(&factor.forward(&difference));
        },
    };
    let minimum = minimise(&problem, &start(lines, conditions, damping), &[], Stop::default())?;
    let by_line = minimum.covariance.product(&minimum.jacobian.transpose());
    let by_condition = by_condition(lines, conditions, &minimum.parameters, &factor, &by_line);
    Ok(Fit {
        logarithms: minimum.parameters,
        covariance: minimum.covariance,
        by_line,
        by_condition,
        chi_square: minimum.chi_square,
        degrees_of_freedom: minimum.degrees_of_freedom,
    })
}

/// d logarithms / d x by central differences of the prediction, with steps of 1e-5 of each condition.
fn by_condition(
    lines: &Lines,
    conditions: &Conditions,
    logarithms: &[f64],
    factor: &Matrix,
    by_line: &Matrix,
) -> Matrix {
    let count = lines.values.len();
    let mut out = Matrix::zeros(by_line.rows(), 4);
    let middle = conditions.list();
    for k in (0..4).filter(|&k| middle[k] > 0.0) {
        let step = 1e-5 * middle[k];
        let at = |sign: f64| {
            let mut list = middle;
            list[k] += sign * step;
            let mut y = vec![0.0; count];
            predict(&lines.degrees, logarithms, &Conditions::of_list(list), &mut y);
            y
        };
        let (above, below) = (at(1.0), at(-1.0));
        let slope: Vec<f64> = above
            .iter()
            .zip(&below)
            .map(|(a, b)| (a - b) / (2.0 * step))
            .collect();
        let white = factor.forward(&slope);
        for i in 0..by_line.rows() {
            out[(i, k)] = -dot(by_line.row(i), &white);
        }
    }
    out
}
