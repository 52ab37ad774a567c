//! The shape of a drop when it is let go, in modes: a spheroid, a rounded cylinder, or a measured outline.
//!
//! ```text
//! r(theta)/R = 1 + sum a_n P_n(cos theta),   a_n = (2n+1)/2 integral r/R P_n dm,   R = (3 V/(4 pi))^(1/3),   m = cos theta
//! spheroid           1/r^2 = m^2/A^2 + (1 - m^2)/B^2
//! rounded cylinder   flat end, straight side, and between them a quarter circle of the edge's radius
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | R | radius of the sphere of equal volume V | m |
//! | a_n | amplitude of P_n as a share of R; a_0 is the small second-order rest that keeps the volume | 1 |
//! | A, B | half axes along and across the axis | m |
//!
//! The volume and surface are exact: closed forms for the bodies \[AbramowitzStegun1972\], quadrature for a series. The amplitudes of a body
//! with edges fall off slowly with the degree; the modes say how the shape starts, and linear theory what comes only while their sum stays small. Source: Legendre's
//! expansion \[DLMF\] 18.2(i). Not here: shapes that are no bodies of revolution or that a ray from the middle meets twice.

use crate::course::Beginning;
use crate::error::{TheoryError, positive, required};
use std::f64::consts::PI;
use tremolet_numerics::legendre::{derivative, projection, series};
use tremolet_numerics::quadrature::{Rule, gauss_legendre};

/// Shape of a body before it is let go, in m.
#[derive(Debug, Clone, PartialEq)]
pub enum StartShape {
    /// A spheroid.
    Spheroid {
        /// Whole length along the axis, m.
        length: f64,
        /// Diameter across it, m.
        diameter: f64,
    },
    /// A cylinder whose edges are rounded; with the edge equal to half the diameter its ends are hemispheres.
    RoundedCylinder {
        /// Whole length along the axis, m.
        length: f64,
        /// Diameter, m.
        diameter: f64,
        /// Radius of the edge, m; zero (sharp) to half of the smaller of both.
        edge: f64,
    },
    /// A measured outline as coefficients of P_0, P_1 ... of the radius about its middle, m.
    Series(Vec<f64>),
}

/// A shape in modes.
#[derive(Debug, Clone, PartialEq)]
pub struct StartModes {
    /// Radius of the sphere of equal volume, m.
    pub radius: f64,
    /// Amplitudes over that radius; index = degree. Degree 0 holds the rest that keeps the volume, degree 1 the place.
    pub amplitudes: Vec<f64>,
    /// Surface over that of the sphere, less 1.
    pub excess: f64,
}

impl StartModes {
    /// The beginnings of all modes at rest, for [`crate::course::Course`].
    #[must_use]
    pub fn beginnings(&self) -> Vec<Beginning> {
        let at_rest = |a: &f64| Beginning {
            amplitude: a * self.radius,
            speed: 0.0,
        };
        self.amplitudes.iter().map(at_rest).collect()
    }
}

impl StartShape {
    /// The shape in modes up to `highest` \[DLMF\], \[AbramowitzStegun1972\].
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for lengths that are not positive, an edge too large for the body, or a series whose radius is not positive everywhere.
    ///
    /// ```
    /// use tremolet_theory::release::start::StartShape;
    /// let stretched = StartShape::Spheroid { length: 2.4, diameter: 2.0 / 1.2f64.sqrt() };
    /// let modes = stretched.modes(8)?;
    /// assert!((modes.radius - 1.0).abs() < 1e-15 && (modes.amplitudes[2] - 0.177_841_159_655).abs() < 1e-11);
    /// # Ok::<(), tremolet_theory::error::TheoryError>(())
    /// ```
    pub fn modes(&self, highest: u32) -> Result<StartModes, TheoryError> {
        self.check()?;
        let highest = highest as usize;
        let (volume, surface) = self.volume_and_surface();
        let radius = (3.0 * volume / (4.0 * PI)).cbrt();
        let rule = self.rule(highest);
        let samples: Vec<f64> = rule.nodes.iter().map(|m| self.at(*m) / radius).collect();
        let mut amplitudes = projection(&rule, &samples, highest);
        amplitudes[0] -= 1.0;
        Ok(StartModes {
            radius,
            amplitudes,
            excess: surface / (4.0 * PI * radius * radius) - 1.0,
        })
    }

    fn check(&self) -> Result<(), TheoryError> {
        match self {
            StartShape::Spheroid { length, diameter } => {
                positive("length", *length)?;
                positive("diameter", *diameter)?;
            }
            StartShape::RoundedCylinder {
                length,
                diameter,
                edge,
            } => {
                let most = positive("length", *length)?.min(positive("diameter", *diameter)?) / 2.0;
                let possible = (0.0..=most).contains(edge);
                required(
                    "radius of the edge",
                    *edge,
                    possible,
                    "zero to half the smaller of length and diameter",
                )?;
            }
            StartShape::Series(coefficients) => {
                let least = (0..=360).map(|k| series(coefficients, (PI * f64::from(k) / 360.0).cos()));
                let least = least.fold(f64::INFINITY, f64::min);
                required(
                    "least radius of the series",
                    least,
                    least > 0.0,
                    "a positive radius all round",
                )?;
            }
        }
        Ok(())
    }

    /// Radius at m = cos theta.
    fn at(&self, m: f64) -> f64 {
        match self {
            StartShape::Spheroid { length, diameter } => {
                let (along, across) = (m / length, (1.0 - m * m).max(0.0).sqrt() / diameter);
                0.5 / along.hypot(across)
            }
            StartShape::RoundedCylinder {
                length,
                diameter,
                edge,
            } => cylinder(length / 2.0, diameter / 2.0, *edge, m.abs()),
            StartShape::Series(coefficients) => series(coefficients, m),
        }
    }

    /// Nodes in m, in pieces between which the shape is smooth.
    fn rule(&self, highest: usize) -> Rule {
        let ends = match self {
            StartShape::RoundedCylinder {
                length,
                diameter,
                edge,
            } => {
                let (half, radius) = (length / 2.0, diameter / 2.0);
                let side = (half - edge) / (half - edge).hypot(radius);
                let flat = half / half.hypot(radius - edge);
                vec![-1.0, -flat, -side, side, flat, 1.0]
            }
            _ => vec![-1.0, 0.0, 1.0],
        };
        let part = gauss_legendre(48 + highest);
        let mut whole = Rule {
            nodes: Vec::new(),
            weights: Vec::new(),
        };
        for pair in ends.windows(2) {
            let (middle, half) = ((pair[0] + pair[1]) / 2.0, (pair[1] - pair[0]) / 2.0);
            whole.nodes.extend(part.nodes.iter().map(|x| middle + half * x));
            whole.weights.extend(part.weights.iter().map(|w| half * w));
        }
        whole
    }

    fn volume_and_surface(&self) -> (f64, f64) {
        match self {
            StartShape::Spheroid { length, diameter } => {
                let (along, across) = (length / 2.0, diameter / 2.0);
                (
                    4.0 / 3.0 * PI * along * across * across,
                    spheroid_surface(along, across),
                )
            }
            StartShape::RoundedCylinder {
                length,
                diameter,
                edge,
            } => rounded(length / 2.0, diameter / 2.0, *edge),
            StartShape::Series(coefficients) => of_series(coefficients),
        }
    }
}

/// Radius of the rounded cylinder along the ray with cosine m >= 0.
fn cylinder(half: f64, radius: f64, edge: f64, m: f64) -> f64 {
    let s = (1.0 - m * m).max(0.0).sqrt();
    let (inner, shoulder) = (radius - edge, half - edge);
    if s * half <= m * inner {
        return half / m;
    }
    if m * radius <= s * shoulder {
        return radius / s;
    }
    // Far side of the circle of the edge.
    let along = inner * s + shoulder * m;
    let across = inner * m - shoulder * s;
    along + (edge * edge - across * across).max(0.0).sqrt()
}

/// Volume and surface of a rounded cylinder, by Pappus.
fn rounded(half: f64, radius: f64, edge: f64) -> (f64, f64) {
    let (inner, shoulder) = (radius - edge, half - edge);
    let quarter = PI * edge * edge / 4.0;
    // Half the body: the straight part, the disc under the flat end, the ring of the quarter circle.
    let ring = 2.0 * PI * (inner * quarter + edge.powi(3) / 3.0);
    let volume = 2.0 * (PI * radius * radius * shoulder + PI * inner * inner * edge + ring);
    let arc = 2.0 * PI * (inner * edge * PI / 2.0 + edge * edge);
    let surface = 2.0 * (2.0 * PI * radius * shoulder + PI * inner * inner + arc);
    (volume, surface)
}

/// Surface of a spheroid with half axes along and across.
fn spheroid_surface(along: f64, across: f64) -> f64 {
    let square = 1.0 - (across / along).powi(2);
    // asin(e)/e for the long one, asinh for the flat one, with their common limit.
    let share = if square.abs() < 1e-8 {
        1.0 + square / 6.0
    } else if square > 0.0 {
        square.sqrt().asin() / square.sqrt()
    } else {
        (-square).sqrt().asinh() / (-square).sqrt()
    };
    2.0 * PI * across * (across + along * share)
}

/// Volume and surface of a series, by quadrature.
fn of_series(coefficients: &[f64]) -> (f64, f64) {
    let slope = derivative(coefficients);
    let rule = gauss_legendre(2 * coefficients.len() + 64);
    let volume = rule.integral(-1.0, 1.0, |m| series(coefficients, m).powi(3));
    let surface = rule.integral(-1.0, 1.0, |m| {
        let (r, d) = (series(coefficients, m), series(&slope, m));
        r * (r * r + (1.0 - m * m) * d * d).sqrt()
    });
    (2.0 * PI / 3.0 * volume, 2.0 * PI * surface)
}

#[cfg(test)]
mod tests;
