//! The body at the start: its shape and the velocity of its surface.
//!
//! ```text
//! star      r(theta) = s R (1 + sum a_n P_n(cos theta)),  s so that R is the radius of the sphere of equal volume
//!           r_t(theta) = R sum v_n P_n(cos theta) along the radius, without change of volume
//! profile   points (z, rho) of the meridian from the upper end of the axis to the lower, at rest
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | a_n, v_n | amplitude of degree n, its rate; index = degree | -, 1/s |
//! | z, rho | along the axis, across it | m |
//!
//! Source: geometry only. A star shape crosses each ray from its origin once; a profile may have necks and craters.

use serde::{Deserialize, Serialize};
use std::f64::consts::PI;
use tremolet_numerics::legendre;
use tremolet_numerics::quadrature::gauss_legendre;
use tremolet_shape::revolution;

use crate::liquid::{InputError, positive};

/// A body at the start.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Start {
    /// Given by amplitudes.
    Star {
        /// Radius of the sphere of equal volume, m.
        radius: f64,
        /// `a_n` by degree; those of degree 0 and 1 are not used: volume and centre set them.
        shape: Vec<f64>,
        /// `v_n` by degree, 1/s; those of degree 0 and 1 are not used.
        velocity: Vec<f64>,
    },
    /// Given by its meridian.
    Profile {
        /// `[z, rho]`, m, from `rho = 0` at the greatest `z` along the surface to `rho = 0` at the other end of the axis.
        meridian: Vec<[f64; 2]>,
    },
}

impl Start {
    /// Refuses shapes without an inside: a radius that is not positive somewhere, a meridian that leaves the half plane or
    /// crosses itself or runs the wrong way round.
    ///
    /// # Errors
    /// [`InputError`].
    pub fn check(&self) -> Result<(), InputError> {
        match self {
            Self::Star {
                radius,
                shape,
                velocity,
            } => {
                positive("radius", *radius, "m")?;
                star(shape, velocity)
            }
            Self::Profile { meridian } => profile(meridian),
        }
    }

    /// Radius of the sphere of equal volume, m.
    #[must_use]
    pub fn radius(&self) -> f64 {
        match self {
            Self::Star { radius, .. } => *radius,
            Self::Profile { meridian } => revolution::equivalent_radius(volume(meridian)),
        }
    }

    /// The meridian `[z, rho]`, m, in `count` steps of equal angle for a star (its centre of mass wherever its amplitudes put it),
    /// as given for a profile.
    #[must_use]
    pub fn meridian(&self, count: usize) -> Vec<[f64; 2]> {
        match self {
            Self::Profile { meridian } => meridian.clone(),
            Self::Star { radius, shape, .. } => {
                let series = factors(shape);
                let scale = radius / revolution::equivalent_radius(revolution::from_series(&series).volume);
                let point = |k: usize| {
                    let theta = PI * k as f64 / count as f64;
                    let r = scale * legendre::series(&series, theta.cos());
                    let across = if k == 0 || k == count { 0.0 } else { theta.sin() };
                    [r * theta.cos(), r * across]
                };
                (0..=count).map(point).collect()
            }
        }
    }
}

/// `1 + sum a_n P_n` without degree 1.
#[must_use]
pub fn factors(shape: &[f64]) -> Vec<f64> {
    let mut series = shape.to_vec();
    series.resize(shape.len().max(2), 0.0);
    (series[0], series[1]) = (1.0, 0.0);
    series
}

fn star(shape: &[f64], velocity: &[f64]) -> Result<(), InputError> {
    if let Some(found) = shape.iter().chain(velocity).copied().find(|x| !x.is_finite()) {
        let (why, expected) = ("has an amplitude that is no number", "finite amplitudes");
        return Err(InputError::Shape { why, found, expected });
    }
    let series = factors(shape);
    let rule = gauss_legendre(4 * series.len() + 16);
    let ends = [-1.0, 1.0];
    let points = rule.nodes.iter().chain(&ends);
    let found = points
        .map(|m| legendre::series(&series, *m))
        .fold(f64::INFINITY, f64::min);
    if found > 0.0 {
        return Ok(());
    }
    let (why, expected) = ("turns inside out, r/R at its smallest", "more than 0");
    Err(InputError::Shape { why, found, expected })
}

fn profile(meridian: &[[f64; 2]]) -> Result<(), InputError> {
    let fault = |why, found, expected| Err(InputError::Shape { why, found, expected });
    if meridian.len() < 4 {
        return fault("has too few points", meridian.len() as f64, "at least 4");
    }
    if let Some(found) = meridian.iter().flatten().find(|x| !x.is_finite()) {
        return fault("has a point that is no number", *found, "finite coordinates");
    }
    let size = meridian
        .iter()
        .fold(0.0_f64, |most, p| most.max(p[0].abs()).max(p[1]));
    let (first, last) = (meridian[0], meridian[meridian.len() - 1]);
    let off = first[1].abs().max(last[1].abs()) / size;
    if off > 1e-9 {
        return fault("does not end on its axis, off by a share of its size", off, "0");
    }
    let inner = &meridian[1..meridian.len() - 1];
    if let Some(p) = inner.iter().find(|p| p[1] <= 0.0) {
        return fault(
            "reaches beyond its axis, distance across in m",
            p[1],
            "more than 0",
        );
    }
    let volume = volume(meridian);
    if volume <= 0.0 {
        return fault(
            "runs from the lower end upwards, volume in m^3",
            volume,
            "more than 0: begin at the greatest z",
        );
    }
    crossing(meridian).map_or(Ok(()), |k| {
        fault(
            "overlaps itself, first at point",
            k as f64,
            "a curve that does not cross itself",
        )
    })
}

/// Volume inside a meridian by the sum of its frusta, m^3; positive when it runs from the greatest z downwards.
#[must_use]
pub fn volume(meridian: &[[f64; 2]]) -> f64 {
    let frustum = |pair: &[[f64; 2]]| {
        let ([z0, r0], [z1, r1]) = (pair[0], pair[1]);
        PI / 3.0 * (z0 - z1) * (r0 * r0 + r0 * r1 + r1 * r1)
    };
    meridian.windows(2).map(frustum).sum()
}

/// The first piece of a meridian that another piece crosses.
#[must_use]
pub fn crossing(meridian: &[[f64; 2]]) -> Option<usize> {
    let pieces: Vec<_> = meridian.windows(2).collect();
    let crosses = |i: usize, j: usize| {
        let (a, b) = (pieces[i], pieces[j]);
        side(a, b[0]) * side(a, b[1]) < 0.0 && side(b, a[0]) * side(b, a[1]) < 0.0
    };
    (0..pieces.len()).find(|i| (i + 2..pieces.len()).any(|j| crosses(*i, j)))
}

/// On which side of a piece a point lies.
fn side(piece: &[[f64; 2]], point: [f64; 2]) -> f64 {
    let (a, b) = (piece[0], piece[1]);
    (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sphere(count: usize) -> Vec<[f64; 2]> {
        let shape = Vec::new();
        Start::Star {
            radius: 2.0,
            shape,
            velocity: Vec::new(),
        }
        .meridian(count)
    }

    #[test]
    fn a_star_and_its_meridian_hold_the_same_volume() {
        let star = Start::Star {
            radius: 0.01,
            shape: vec![0.0, 0.0, 0.3, -0.1],
            velocity: Vec::new(),
        };
        assert!(star.check().is_ok());
        let profile = Start::Profile {
            meridian: star.meridian(2000),
        };
        assert!(profile.check().is_ok());
        assert!(
            (profile.radius() / 0.01 - 1.0).abs() < 1e-6,
            "{}",
            profile.radius()
        );
        assert!((volume(&sphere(4000)) - 4.0 / 3.0 * PI * 8.0).abs() < 1e-4);
    }

    #[test]
    fn shapes_without_an_inside_are_refused() {
        let told = |start: Start| start.check().expect_err("refused").to_string();
        let star = |shape: Vec<f64>| Start::Star {
            radius: 0.01,
            shape,
            velocity: Vec::new(),
        };
        assert!(told(star(vec![0.0, 0.0, 2.5])).contains("inside out"));
        assert!(told(star(vec![0.0, 0.0, f64::NAN])).contains("no number"));
        assert!(
            told(Start::Star {
                radius: -1.0,
                shape: Vec::new(),
                velocity: Vec::new()
            })
            .contains("radius")
        );
        let profile = |meridian: Vec<[f64; 2]>| told(Start::Profile { meridian });
        let mut backwards = sphere(40);
        backwards.reverse();
        assert!(profile(backwards).contains("upwards"));
        let mut off = sphere(40);
        off[0][1] = 0.1;
        assert!(profile(off).contains("axis"));
        let mut beyond = sphere(40);
        beyond[20][1] = -0.1;
        assert!(profile(beyond).contains("beyond"));
        let mut crossed = sphere(40);
        crossed.swap(15, 25);
        assert!(profile(crossed).contains("overlaps"));
        assert!(profile(sphere(2)).contains("few"));
    }
}
