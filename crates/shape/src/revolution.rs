//! The body that an outline sweeps when turned about an axis.
//!
//! ```text
//! outline       V = pi/2 | int s |s| dz |      A = pi int |s| dl          (both sides, so each counts half)
//! series        V = 2 pi/3 int r^3 dm          A = 2 pi int r sqrt(r^2 + (1 - m^2) r_m^2) dm,   m = cos theta
//! ```
//! The outline form integrates along the arc, so necked outlines, which cross a ray from the centre more than once,
//! are as good as spheres.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `z`, `s` | along the axis, across it | the caller's length |
//! | `r(theta)` | radius at the angle `theta` from the axis | the same |
//!
//! Source: Pappus and Guldin; series by Gauss-Legendre quadrature \[AbramowitzStegun1972\] 25.4.29. Does not choose the axis.

use crate::outline::Outline;
use std::f64::consts::PI;
use std::sync::LazyLock;
use tremolet_numerics::legendre;
use tremolet_numerics::quadrature::{Rule, gauss_legendre};

/// A body of revolution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solid {
    /// Volume, length cubed.
    pub volume: f64,
    /// Surface, length squared.
    pub surface: f64,
    /// Centre of mass along the axis from the given centre, positive along the axis.
    pub centroid: f64,
}

/// Radius of the sphere of the given volume.
pub fn equivalent_radius(volume: f64) -> f64 {
    (0.75 * volume / PI).cbrt()
}

/// The body of `outline` turned about the line through `centre` at `axis_angle` rad from image-up towards +x.
///
/// Left and right halves are averaged. An open outline is used as it is: close it first if the gap matters.
pub fn from_outline(outline: &Outline, axis_angle: f64, centre: [f64; 2]) -> Solid {
    let (sin, cos) = axis_angle.sin_cos();
    let (mut volume, mut surface, mut moment) = (0.0, 0.0, 0.0);
    outline.walk(|step| {
        let (x, y) = (step.x - centre[0], step.y - centre[1]);
        let (z, s) = (x * sin - y * cos, x * cos + y * sin);
        let dz = step.dx * sin - step.dy * cos;
        volume += PI / 2.0 * s * s.abs() * dz;
        moment += PI / 2.0 * s * s.abs() * z * dz;
        surface += PI * s.abs() * step.dx.hypot(step.dy);
    });
    let centroid = if volume == 0.0 { 0.0 } else { moment / volume };
    Solid {
        volume: volume.abs(),
        surface,
        centroid,
    }
}

/// Points of the quadrature for series of up to 28 degrees.
const USUAL: usize = 64;
static USUAL_RULE: LazyLock<Rule> = LazyLock::new(|| gauss_legendre(USUAL));

/// The body of `r(theta) = sum c_n P_n(cos theta)`, `coefficients[n] = c_n`; `r` must be positive everywhere.
pub fn from_series(coefficients: &[f64]) -> Solid {
    let points = 2 * coefficients.len() + 8;
    let long;
    let rule = if points <= USUAL {
        &*USUAL_RULE
    } else {
        long = gauss_legendre(points);
        &long
    };
    let slope = legendre::derivative(coefficients);
    let integral = |f: &dyn Fn(f64, f64, f64) -> f64| {
        rule.integral(-1.0, 1.0, |m| {
            f(m, legendre::series(coefficients, m), legendre::series(&slope, m))
        })
    };
    let volume = 2.0 * PI / 3.0 * integral(&|_, r, _| r.powi(3));
    Solid {
        volume,
        surface: 2.0 * PI * integral(&|m, r, d| r * (r * r + (1.0 - m * m) * d * d).sqrt()),
        centroid: PI / 2.0 * integral(&|m, r, _| r.powi(4) * m) / volume,
    }
}

#[cfg(test)]
mod tests;
