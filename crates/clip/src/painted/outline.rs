//! Closed loops that the painter fills: the seen outline of a body, rods, loops of wire, specks.
//!
//! A body of revolution about an axis in the image plane, seen from infinity, shows its meridian, except where a dimple
//! at a pole hides behind its rim: there the outline runs straight across at the rim's height.
//! From a lens at distance `D` on the line of sight through the centre, the outline is where sight lines touch the
//! surface. With `z` along the axis, `rho` from it and the normal `(n_z, n_rho)` of the meridian, they touch at
//!
//! `sin phi = (rho + z n_z / n_rho) / D`,
//!
//! phi being the angle out of the image plane, and the point is seen at `D / (D - rho sin phi)` times its place.
//! For a sphere this gives the circle `R / sqrt(1 - (R/D)^2)`.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `z`, `rho` | along and from the axis | px |
//! | `D` | lens to centre | px |
//! | `theta` | angle from the axis | rad |

use std::f64::consts::{PI, TAU};

use crate::painted::body::Pose;
use crate::painted::handling::View;
use crate::painted::shadow::{Sight, shadow};
use tremolet_optics::picture::Picture;

/// Points in order round a closed loop, evenly spaced in a parameter in which the loop is smooth (or finely sampled
/// polygons), each with its `dy` per step.
#[derive(Debug, Clone)]
pub struct Ring {
    /// `[x, y, dy]` for each point, px.
    pub points: Vec<[f64; 3]>,
}

impl Ring {
    /// A ring from points in order; a smooth one has its `dy` by a central difference of order 8, one with corners of order 2.
    fn from_points(points: &[[f64; 2]], smooth: bool) -> Self {
        const SMOOTH: [f64; 4] = [4.0 / 5.0, -1.0 / 5.0, 4.0 / 105.0, -1.0 / 280.0];
        const PLAIN: [f64; 1] = [0.5];
        let weights: &[f64] = if smooth { &SMOOTH } else { &PLAIN };
        let n = points.len();
        let slope = |j: usize| -> f64 {
            let pairs = weights.iter().enumerate();
            pairs
                .map(|(k, w)| w * (points[(j + k + 1) % n][1] - points[(j + n - k - 1) % n][1]))
                .sum()
        };
        Self {
            points: (0..n).map(|j| [points[j][0], points[j][1], slope(j)]).collect(),
        }
    }

    /// A circle.
    pub fn circle(centre: [f64; 2], radius: f64, spacing: f64) -> Self {
        let n = samples(TAU * radius, spacing);
        let at = |j: usize| (TAU * j as f64 / n as f64).sin_cos();
        let points: Vec<_> = (0..n)
            .map(at)
            .map(|(s, c)| [centre[0] + radius * c, centre[1] + radius * s])
            .collect();
        Self::from_points(&points, true)
    }

    /// A straight bar with round ends.
    pub fn bar(from: [f64; 2], to: [f64; 2], width: f64, spacing: f64) -> Self {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let length = dx.hypot(dy).max(1e-9);
        let along = dy.atan2(dx);
        // The ends are sampled finely because the corners allow only a difference of low order.
        let (side, cap) = (
            samples(length, 0.5 * spacing),
            samples(PI * width / 2.0, 0.1 * spacing),
        );
        let mut points = Vec::with_capacity(2 * (side + cap));
        for (end, start, turn) in [(to, from, along - PI / 2.0), (from, to, along + PI / 2.0)] {
            let off = [0.5 * width * turn.cos(), 0.5 * width * turn.sin()];
            for j in 0..side {
                let part = j as f64 / side as f64;
                points.push([0, 1].map(|i| start[i] + part * (end[i] - start[i]) + off[i]));
            }
            for j in 0..cap {
                let (s, c) = (turn + PI * j as f64 / cap as f64).sin_cos();
                points.push([end[0] + 0.5 * width * c, end[1] + 0.5 * width * s]);
            }
        }
        Self::from_points(&points, false)
    }

    /// A polygon through corners in order.
    pub fn polygon(corners: &[[f64; 2]], spacing: f64) -> Self {
        let mut points = Vec::new();
        for (j, from) in corners.iter().enumerate() {
            let to = corners[(j + 1) % corners.len()];
            let count = ((to[0] - from[0]).hypot(to[1] - from[1]) / spacing)
                .ceil()
                .max(1.0) as usize;
            points.extend(
                (0..count)
                    .map(|k| k as f64 / count as f64)
                    .map(|part| [0, 1].map(|i| from[i] + part * (to[i] - from[i]))),
            );
        }
        Self::from_points(&points, false)
    }

    /// The ring shrunk by `factor` towards `centre`.
    pub fn shrunk(&self, centre: [f64; 2], factor: f64) -> Self {
        let shrink = |p: &[f64; 3]| {
            [
                centre[0] + factor * (p[0] - centre[0]),
                centre[1] + factor * (p[1] - centre[1]),
                factor * p[2],
            ]
        };
        Self {
            points: self.points.iter().map(shrink).collect(),
        }
    }

    /// The ring of a smooth body, bent by lens and roll.
    #[must_use]
    pub fn bent(self, picture: &Picture) -> Self {
        let points: Vec<_> = self.points.iter().map(|p| picture.seen([p[0], p[1]])).collect();
        Self::from_points(&points, true)
    }

    /// The ring as it is seen.
    pub fn seen(&self, view: &View) -> Self {
        if view.picture.is_some() {
            let points: Vec<_> = self.points.iter().map(|p| view.seen([p[0], p[1]])).collect();
            return Self::from_points(&points, false);
        }
        let seen = |p: &[f64; 3]| {
            let [x, y] = view.seen([p[0], p[1]]);
            [x, y, view.zoom * p[2]]
        };
        Self {
            points: self.points.iter().map(seen).collect(),
        }
    }

    /// Area inside, signed by the sense of turning, px^2.
    pub fn area(&self) -> f64 {
        self.points.iter().map(|p| p[0] * p[2]).sum()
    }
}

fn samples(length: f64, spacing: f64) -> usize {
    ((length / spacing).ceil() as usize).max(24)
}

/// The seen outline of a body with points about `spacing` px apart; `distance` to the mid-plane in px, `None` at infinity.
///
/// `scale` is in metres for each px of the mid-plane, for a body that is elsewhere.
pub fn outline(pose: &Pose, distance: Option<f64>, scale: f64, spacing: f64) -> Ring {
    let half = samples(1.3 * PI * pose.radius_px, spacing);
    let (profile, smooth) = match distance {
        _ if !pose.stance.is_plain() => (in_space(pose, distance, scale, half), true),
        None => from_infinity(pose, half),
        Some(distance) => (from_distance(pose, distance, half), true),
    };
    let (sin, cos) = pose.axis.sin_cos();
    // Along the axis is (sin, -cos) in the image, to its right (cos, sin).
    let place = |[z, side]: [f64; 2]| {
        [
            pose.centre[0] + z * sin + side * cos,
            pose.centre[1] - z * cos + side * sin,
        ]
    };
    let points: Vec<_> = profile.into_iter().map(place).collect();
    Ring::from_points(&points, smooth)
}

/// `[z, side]` of the outline of a body that is tilted, rippled or out of the mid-plane.
fn in_space(pose: &Pose, focus: Option<f64>, scale: f64, half: usize) -> Vec<[f64; 2]> {
    let sight = focus.map(|focus| Sight {
        distance: pose.stance.distance_m.map_or(focus, |metres| metres / scale),
        focus,
    });
    // Seen nearer it is larger, and its points lie as much farther apart.
    let nearer = sight.map_or(1.0, |sight| (sight.focus / sight.distance).max(1.0));
    shadow(pose, sight, (3.0 * half as f64 * nearer).ceil() as usize)
}

/// `[z, side]` round the meridian, theta from 0 to 2 pi, dimples at the poles covered; and whether it is smooth.
fn from_infinity(pose: &Pose, half: usize) -> (Vec<[f64; 2]>, bool) {
    let point = |j: usize| {
        let (sin, cos) = (PI * j as f64 / half as f64).sin_cos();
        let r = pose.radius_px * pose.relative_radius(cos);
        [r * cos, r * sin]
    };
    let mut points: Vec<_> = (0..2 * half).map(point).collect();
    let (mut top, mut bottom) = (0, half);
    for j in 0..=half {
        top = if points[j][0] > points[top][0] { j } else { top };
        bottom = if points[j][0] < points[bottom][0] {
            j
        } else {
            bottom
        };
    }
    let (highest, lowest) = (points[top][0], points[bottom][0]);
    for (j, point) in points.iter_mut().enumerate() {
        let from_pole = j.min(2 * half - j);
        if from_pole < top {
            point[0] = highest;
        } else if from_pole > bottom {
            point[0] = lowest;
        }
    }
    (points, top == 0 && bottom == half)
}

/// `[z, side]` of the touching sight lines, by a parameter in which both ends close smoothly.
fn from_distance(pose: &Pose, distance: f64, half: usize) -> Vec<[f64; 2]> {
    let (first, last) = (closing(pose, distance, 0.0), closing(pose, distance, PI));
    let point = |j: usize| {
        let t = PI * j as f64 / half as f64;
        let theta = 0.5 * (first + last) - 0.5 * (last - first) * t.cos();
        let (z, rho, sin_phi) = touching(pose, distance, theta);
        let nearer = distance / (distance - rho * sin_phi);
        let cos_phi = (1.0 - sin_phi * sin_phi).max(0.0).sqrt();
        [
            z * nearer,
            rho * cos_phi * nearer * if j <= half { 1.0 } else { -1.0 },
        ]
    };
    (0..2 * half).map(point).collect()
}

/// `z`, `rho` and `sin phi` at theta.
fn touching(pose: &Pose, distance: f64, theta: f64) -> (f64, f64, f64) {
    let (sin, cos) = theta.sin_cos();
    let step = 1e-4;
    let radius = |theta: f64| pose.radius_px * pose.relative_radius(theta.cos());
    let (r, slope) = (
        radius(theta),
        (radius(theta + step) - radius(theta - step)) / (2.0 * step),
    );
    // The normal of the meridian: the tangent (r' cos - r sin, r' sin + r cos) turned outward.
    let (normal_z, normal_rho) = (r * cos + slope * sin, r * sin - slope * cos);
    let (z, rho) = (r * cos, r * sin);
    (z, rho, (rho + z * normal_z / normal_rho) / distance)
}

/// The angle at which the outline closes on the axis (`sin phi = 1`) next to the pole at `pole`.
fn closing(pose: &Pose, distance: f64, pole: f64) -> f64 {
    let (mut inside, mut outside) = (PI / 2.0, pole);
    for _ in 0..60 {
        let middle = 0.5 * (inside + outside);
        let (_, _, sin_phi) = touching(pose, distance, middle);
        if (0.0..1.0).contains(&sin_phi) {
            inside = middle
        } else {
            outside = middle
        }
    }
    inside
}
