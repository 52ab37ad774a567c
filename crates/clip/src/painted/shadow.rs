//! The seen outline of any body whose surface is a radius in every direction, from a lens at a distance or at infinity.
//!
//! Everything between centre and surface belongs to the body, so what is seen has one radius in every direction of the image
//! too. In the half-plane through the line of sight that shows as the image direction alpha, the surface is `r(psi)`, psi from
//! the lens; a point of it is seen at
//!
//! `F r sin psi / (D - r cos psi)`
//!
//! from the centre (`r sin psi` from infinity), and the outline lies at the largest of these. Dimples and saddles that hide
//! behind their rims need no special care. A sphere gives the circle `F R / sqrt(D^2 - R^2)`.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `D` | lens to centre | px |
//! | `F` | lens to the plane in which the scale holds | px |
//! | `alpha` | image direction from the axis as seen, towards its right | rad |
//! | `psi` | angle at the centre from the direction of the lens | rad |
//!
//! The lens lies on the line of sight through the centre: a body far from the middle of a wide picture is not stretched.

use std::f64::consts::{PI, TAU};

use crate::painted::body::Pose;

/// Where the lens is.
#[derive(Debug, Clone, Copy)]
pub struct Sight {
    /// Lens to the centre of the body, px.
    pub distance: f64,
    /// Lens to the plane in which the scale holds, px.
    pub focus: f64,
}

/// `[along the axis, to its right]` px from the centre, at `count` even steps of alpha; `None` is a lens at infinity.
pub fn shadow(pose: &Pose, sight: Option<Sight>, count: usize) -> Vec<[f64; 2]> {
    let edge = |j: usize| {
        let (sin, cos) = (TAU * j as f64 / count as f64).sin_cos();
        let out = farthest(pose, sight, [cos, sin]);
        [out * cos, out * sin]
    };
    (0..count).map(edge).collect()
}

/// The largest distance from the centre at which the body is seen in one image direction.
fn farthest(pose: &Pose, sight: Option<Sight>, alpha: [f64; 2]) -> f64 {
    let (sin_tilt, cos_tilt) = pose.stance.tilt.sin_cos();
    let seen = |psi: f64| {
        let (sin, cos) = psi.sin_cos();
        // Along the axis, to its right, and square to both (towards the lens for an axis in the image plane).
        let along = sin * alpha[0] * cos_tilt + cos * sin_tilt;
        let right = sin * alpha[1];
        let lensward = cos * cos_tilt - sin * alpha[0] * sin_tilt;
        let r = pose.radius_px * pose.relative_radius_at(along, right.atan2(lensward));
        match sight {
            None => r * sin,
            Some(sight) => sight.focus * r * sin / (sight.distance - r * cos),
        }
    };
    let steps = 4 * pose.highest_degree() + 16;
    let step = PI / steps as f64;
    let first = (1..steps)
        .map(|k| (k, seen(step * k as f64)))
        .fold(
            (1, f64::MIN),
            |best, here| if here.1 > best.1 { here } else { best },
        );
    let middle = step * first.0 as f64;
    largest(seen, middle - step, middle + step)
}

/// The largest value between `low` and `high` by golden section, to a few 1e-11 of a smooth peak.
fn largest(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    const GOLD: f64 = 0.618_033_988_749_894_9;
    let place = |low: f64, high: f64| (high - GOLD * (high - low), low + GOLD * (high - low));
    let (mut a, mut b) = place(low, high);
    let (mut at_a, mut at_b) = (f(a), f(b));
    while high - low > 2e-6 {
        if at_a > at_b {
            (high, b, at_b) = (b, a, at_a);
            a = place(low, high).0;
            at_a = f(a);
        } else {
            (low, a, at_a) = (a, b, at_b);
            b = place(low, high).1;
            at_b = f(b);
        }
    }
    at_a.max(at_b)
}
