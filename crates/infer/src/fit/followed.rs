//! The fitted body in every frame: where it is, its shape, its silhouette, and what the outline leaves round it.
//!
//! ```text
//! outline(psi) = centre + R rho(psi; a_n, q) (sin(axis + psi), -cos(axis + psi))         left_k = mean of e_i over sector k
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | psi | angle from the upper end of the axis as seen, rightwards | rad |
//! | rho | silhouette of the tilted body | R |
//! | e_i | distance of an outline point from it, outwards | px |
//!
//! Source: the fit of [`crate::fit`]. Nothing is fitted here but the place of the body in each frame.

use std::f64::consts::{PI, TAU};

use super::problem::{ANGLES, HIGHEST, Left, Parameters, Problem, SECTORS, sector};
use super::silhouette::Fan;
use super::{Forward, Frame, Outlines};

/// The body in one frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Followed {
    /// Number in the clip.
    pub frame: u64,
    /// s.
    pub time: f64,
    /// Its centre of mass, px.
    pub centre: [f64; 2],
    /// Amplitudes about that centre by degree (a_0 without the 1).
    pub shape: Vec<f64>,
    /// Root mean square distance of the outline, px.
    pub rms: f64,
    /// Mean distance (px, outwards) in each sector of the outline, from the upper end of the axis rightwards; not a number where none was seen.
    pub by_sector: Vec<f64>,
}

/// The body in all outlines at the unknowns `at`; empty where the model cannot follow.
#[must_use]
pub fn followed(outlines: &Outlines, at: &Parameters, model: &dyn Forward) -> Vec<Followed> {
    let all = outlines.frames.len().max(1);
    let problem = Problem::new(outlines, f64::INFINITY, all, at.shape.len(), model);
    let (Some(shapes), Some(left)) = (problem.shapes(at), problem.left(at)) else {
        return Vec::new();
    };
    let frames = problem.frames().iter().zip(shapes).zip(&left);
    frames
        .map(|((frame, shape), left)| one(frame, at, shape, left))
        .collect()
}

fn one(frame: &Frame, at: &Parameters, shape: Vec<f64>, left: &Left) -> Followed {
    let (sin, cos) = at.axis_angle.sin_cos();
    let [along, across] = left.shift;
    let square: f64 = left.rows.iter().map(|row| row[0] * row[0]).sum();
    Followed {
        frame: frame.frame,
        time: frame.time,
        centre: [
            frame.centre[0] + along * sin + across * cos,
            frame.centre[1] - along * cos + across * sin,
        ],
        shape,
        rms: (square / left.rows.len().max(1) as f64).sqrt(),
        by_sector: means(left),
    }
}

fn means(left: &Left) -> Vec<f64> {
    let mut sums = [[0.0; 2]; SECTORS];
    for [distance, angle, _] in &left.rows {
        let [sum, count] = &mut sums[sector(*angle)];
        *sum += distance;
        *count += 1.0;
    }
    sums.iter().map(|[sum, count]| sum / count).collect()
}

/// The pose of a body in the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// px.
    pub centre: [f64; 2],
    /// Radius of the sphere of equal volume, px.
    pub radius: f64,
    /// rad from image-up towards +x.
    pub axis_angle: f64,
    /// Square of the sine of the tilt out of the picture.
    pub tilt: f64,
    /// Radius over the distance of the lens; nil from far away.
    pub nearness: f64,
}

/// The silhouette of a body as `count` places in the picture, px, from the upper end of its axis rightwards. Empty where too little of it is seen.
#[must_use]
pub fn drawn(shape: &[f64], pose: &Pose, count: usize) -> Vec<[f64; 2]> {
    let seen = Fan::new(ANGLES, HIGHEST).silhouette(shape, pose.tilt, pose.nearness);
    if !seen.is_whole() {
        return Vec::new();
    }
    let place = |k: usize| {
        let psi = TAU * k as f64 / count as f64;
        let reach = pose.radius * seen.at(if psi > PI { TAU - psi } else { psi }).0;
        let (sin, cos) = (pose.axis_angle + psi).sin_cos();
        [pose.centre[0] + reach * sin, pose.centre[1] - reach * cos]
    };
    (0..count).map(place).collect()
}
