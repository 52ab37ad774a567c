//! A smooth meridian through given points, cut into straight pieces that stay close to it.
//!
//! ```text
//! z(u), rho(u): quintic splines through the points at u = 0 to n;  z even, rho odd about both poles
//! bow of a piece = |x' x x''| (du)^2 / (8 |x'|) <= tolerance
//! ```
//! Outside lies to the left of the way from the greatest z to the least: the normal there is `(rho', -z') / |x'|`.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `z`, `rho` | along the axis, from it | m |
//! | `u` | running number of the given points | 1 |
//! | bow | greatest distance of the curve from its chord | m |
//!
//! Source: elementary geometry; splines of \[DeBoor2001\] in [`tremolet_numerics::spline`]. The points must be spread smoothly: their
//! running number is the parameter. Poles are round; a cone's tip or a flat disc's rim is rounded off.

use tremolet_numerics::spline::{FEWEST_INTERVALS, Spline, Symmetry};

use crate::traced::error::TraceError;

/// A point of the curve with its outward normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Knot {
    /// `[z, rho]`, m.
    pub at: [f64; 2],
    /// `[n_z, n_rho]`, of length 1.
    pub normal: [f64; 2],
}

/// A smooth meridian.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    z: Spline,
    rho: Spline,
}

/// How far from the axis an end may lie, as a share of the length of the body.
const ON_AXIS: f64 = 1e-6;
/// Most pieces between two given points.
const MOST: f64 = 64.0;

impl Curve {
    /// The curve through `[z, rho]` (m) from pole to pole, in either sense.
    ///
    /// # Errors
    /// [`TraceError::Meridian`] for points that bound no body.
    pub fn through(points: &[[f64; 2]]) -> Result<Self, TraceError> {
        if let Some(problem) = problem(points) {
            return Err(TraceError::Meridian {
                points: points.len(),
                problem,
            });
        }
        let mut points = points.to_vec();
        if points[0][0] < points[points.len() - 1][0] {
            points.reverse();
        }
        let column = |k: usize| points.iter().map(|point| point[k]).collect::<Vec<_>>();
        let (z, mut rho) = (column(0), column(1));
        let last = rho.len() - 1;
        (rho[0], rho[last]) = (0.0, 0.0);
        Ok(Self {
            z: Spline::through(&z, [Symmetry::Even; 2]),
            rho: Spline::through(&rho, [Symmetry::Odd; 2]),
        })
    }

    /// Intervals between the given points.
    #[must_use]
    pub fn intervals(&self) -> usize {
        self.z.intervals()
    }

    /// The point at the running number `u`.
    #[must_use]
    pub fn at(&self, u: f64) -> Knot {
        let (z, rho) = (self.z.at(u), self.rho.at(u));
        let speed = z[1].hypot(rho[1]);
        Knot {
            at: [z[0], rho[0].max(0.0)],
            normal: [rho[1] / speed, -z[1] / speed],
        }
    }

    /// Points from pole to pole whose chords stay within `tolerance` (m) of the curve.
    #[must_use]
    pub fn cut(&self, tolerance: f64) -> Vec<Knot> {
        let mut knots = vec![self.at(0.0)];
        for interval in 0..self.z.intervals() {
            let from = interval as f64;
            let bow = [0.0, 0.25, 0.5, 0.75, 1.0]
                .iter()
                .map(|part| self.bow(from + part))
                .fold(0.0, f64::max);
            let pieces = (bow / tolerance).sqrt().ceil().clamp(1.0, MOST);
            let share = |k: usize| from + k as f64 / pieces;
            knots.extend((1..=pieces as usize).map(|k| self.at(share(k))));
        }
        let last = knots.len() - 1;
        (knots[0].at[1], knots[last].at[1]) = (0.0, 0.0);
        knots
    }

    /// Bow of a chord over one whole step of `u` with the curvature at `u`, m.
    fn bow(&self, u: f64) -> f64 {
        let ([_, z1, z2], [_, r1, r2]) = (self.z.at(u), self.rho.at(u));
        (z1 * r2 - r1 * z2).abs() / (8.0 * z1.hypot(r1))
    }
}

/// What keeps points from bounding a body.
fn problem(points: &[[f64; 2]]) -> Option<&'static str> {
    if points.len() <= FEWEST_INTERVALS {
        return Some("has too few");
    }
    if !points.iter().flatten().all(|x| x.is_finite()) {
        return Some("holds a number that is not finite");
    }
    let ends = [points[0], points[points.len() - 1]];
    let length = (ends[0][0] - ends[1][0]).abs();
    if length == 0.0 {
        return Some("begins and ends at the same pole");
    }
    if ends.iter().any(|end| end[1].abs() > ON_AXIS * length) {
        return Some("does not end on the axis");
    }
    let inner = &points[1..points.len() - 1];
    inner
        .iter()
        .any(|point| point[1] <= 0.0)
        .then_some("crosses or touches the axis between its poles")
}

/// Points `[z, rho]` of the sphere of this radius about the origin, in `steps` equal angles.
#[must_use]
pub fn sphere(radius: f64, steps: usize) -> Vec<[f64; 2]> {
    spheroid(radius, radius, steps)
}

/// Points of the spheroid with half axes `along` and `across` its axis, in `steps` equal parametric angles.
#[must_use]
pub fn spheroid(along: f64, across: f64, steps: usize) -> Vec<[f64; 2]> {
    let at = |k: usize| {
        let (sin, cos) = (std::f64::consts::PI * k as f64 / steps as f64).sin_cos();
        [along * cos, if k == 0 || k == steps { 0.0 } else { across * sin }]
    };
    (0..=steps).map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    // Chords of a circle of radius 1 bow by 1 - cos(half their angle).
    #[test]
    fn pieces_stay_within_the_tolerance_and_normals_stand_on_the_circle() {
        let curve = Curve::through(&sphere(1.0, 40)).expect("a sphere");
        for tolerance in [1e-3, 1e-5, 1e-6] {
            let knots = curve.cut(tolerance);
            for pair in knots.windows(2) {
                let chord = (pair[0].at[0] - pair[1].at[0]).hypot(pair[0].at[1] - pair[1].at[1]);
                assert!(1.0 - (1.0 - chord * chord / 4.0).sqrt() <= 1.02 * tolerance);
            }
            for knot in &knots {
                assert!((knot.at[0].hypot(knot.at[1]) - 1.0).abs() < 1e-7);
                assert!(
                    (0..2).all(|i| (knot.normal[i] - knot.at[i]).abs() < 1e-6),
                    "{knot:?}"
                );
            }
        }
        assert!(curve.cut(1e-6).len() > 900 && curve.cut(1e-3).len() < 60);
    }

    #[test]
    fn either_sense_gives_the_same_curve() {
        let mut points = spheroid(0.8, 1.1, 30);
        let there = Curve::through(&points).expect("a spheroid");
        points.reverse();
        assert_eq!(Curve::through(&points).expect("a spheroid"), there);
    }

    #[test]
    fn what_bounds_no_body_is_refused() {
        let refused = |points: &[[f64; 2]]| Curve::through(points).unwrap_err().to_string();
        assert!(refused(&[[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0]]).contains("too few"));
        let mut open = sphere(1.0, 20);
        open[0][1] = 0.1;
        assert!(refused(&open).contains("end on the axis"));
        let mut through = sphere(1.0, 20);
        through[7][1] = -0.1;
        assert!(refused(&through).contains("crosses"));
        through[7][1] = f64::NAN;
        assert!(refused(&through).contains("finite"));
    }
}
