//! Bodies given by their meridian curve: necked, threaded, or in parts.
//!
//! A part is a curve `(z, rho)` from one pole to the other, in px from the centre of the body along and from its axis, joined by
//! straight lines; it is seen from infinity with its axis in the image plane, as the curve and its mirror image. Its volume is
//! that of a stack of cone frustums, `sum pi/3 (z_{k+1} - z_k)(rho_k^2 + rho_k rho_{k+1} + rho_{k+1}^2)`.
//!
//! Parts are dark throughout, without a bright middle. A part with a dimple at a pole is not for this room: its meridian is not
//! what is seen.

use std::f64::consts::PI;
use std::sync::Arc;

use crate::painted::outline::Ring;

/// The meridian of one part: `[z, rho]` in px, `z` falling or rising, the ends on the axis.
pub type Meridian = Vec<[f64; 2]>;

/// The parts of a body over time (s).
pub type Parting = Arc<dyn Fn(f64) -> Vec<Meridian> + Send + Sync>;

/// Volume of a part, px^3.
pub fn volume(part: &[[f64; 2]]) -> f64 {
    let frustum = |pair: &[[f64; 2]]| {
        let ([z, a], [next, b]) = (pair[0], pair[1]);
        PI / 3.0 * (next - z) * (a * a + a * b + b * b)
    };
    part.windows(2).map(frustum).sum::<f64>().abs()
}

/// Middle of a part on the axis, px along it.
pub fn middle(part: &[[f64; 2]]) -> f64 {
    let ends = part.iter().fold([f64::MAX, f64::MIN], |[low, high], [z, _]| {
        [low.min(*z), high.max(*z)]
    });
    0.5 * (ends[0] + ends[1])
}

/// The seen outline of a part of a body at `centre` whose axis has the angle `axis` from image-up; `zoom` enlarges it.
pub fn ring(part: &[[f64; 2]], centre: [f64; 2], axis: f64, zoom: f64, spacing: f64) -> Ring {
    let (sin, cos) = axis.sin_cos();
    let place = |z: f64, side: f64| {
        [
            centre[0] + zoom * (z * sin + side * cos),
            centre[1] + zoom * (side * sin - z * cos),
        ]
    };
    let there = part.iter().map(|[z, rho]| place(*z, *rho));
    let back = part.iter().rev().map(|[z, rho]| place(*z, -rho));
    let corners: Vec<_> = there.chain(back).collect();
    Ring::polygon(&corners, 0.5 * spacing)
}
