//! The body that a closed outline of any form sweeps about its own axis: necked, lobed, elongated.
//!
//! ```text
//! axis through the centroid, along a principal direction of the enclosed area:  int z s dA = 0
//! skew = hypot(int s^3 dA, int z^2 s dA) / A^(5/2)           nil about an axis of mirror symmetry
//! u(V)^2 = sum (pi |s| l u)^2 + sum over gaps (pi |s| g^3 / (24 R))^2
//! ```
//! A silhouette that is its own mirror image has its axis along one of the two principal directions. The longer one is taken
//! unless the outline is far from symmetric about it: necks and threads of liquid lie along the axis.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `z`, `s` | along the axis, across it, from the centroid | the caller's length |
//! | `A`, `V`, `R` | area, volume, radius of the sphere of that volume | length^2, length^3, length |
//! | `l`, `u` | length of outline that a point stands for, its standard uncertainty | the caller's length |
//! | `g` | length of a gap between points; it is closed by a cubic, and half of what a chord would cut off a circle of radius `R` is its doubt | the same |
//!
//! Source: Green's theorem; Pappus and Guldin (see [`crate::revolution`]). An axis out of the picture's plane is not seen.

use crate::outline::{Outline, Point};
use crate::revolution::{Solid, equivalent_radius, from_outline};
use std::f64::consts::{FRAC_PI_2, PI};

/// A body of revolution with the axis that its outline shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turned {
    /// The body.
    pub solid: Solid,
    /// Centroid of the area, on the axis.
    pub centre: [f64; 2],
    /// rad from image-up towards +x, in (-pi/2, pi/2].
    pub axis_angle: f64,
    /// Standard uncertainty of the volume from the points and the gaps between them.
    pub u_volume: f64,
    /// Departure from mirror symmetry about the axis.
    pub skew: f64,
}

/// An outline whose skew about its long direction is not above this many times that about the short one, and this much more,
/// has its axis along the long one. Noise of 1e-3 of the radius gives some 1e-4.
const CLEARER: f64 = 2.0;
const NOISE: f64 = 2e-3;

/// The body that `outline` sweeps about its own axis, or about the direction `known` through its centroid.
///
/// An open outline is closed by the chord between its ends. An outline without area gives a body without volume.
pub fn about_own_axis(outline: &Outline, known: Option<f64>) -> Turned {
    let centre = outline.centroid();
    let long = long_direction(outline, centre);
    let (along, across) = (
        skew(outline, long, centre),
        skew(outline, long + FRAC_PI_2, centre),
    );
    let (angle, skew) = match known {
        Some(angle) => (angle, skew(outline, angle, centre)),
        None if along <= CLEARER * across + NOISE => (long, along),
        None => (long + FRAC_PI_2, across),
    };
    let solid = from_outline(outline, angle, centre);
    Turned {
        solid,
        centre,
        axis_angle: folded(angle),
        u_volume: doubt(outline, angle, centre, equivalent_radius(solid.volume)),
        skew,
    }
}

/// Into (-pi/2, pi/2].
fn folded(angle: f64) -> f64 {
    let turned = angle.rem_euclid(PI);
    if turned > FRAC_PI_2 { turned - PI } else { turned }
}

/// The direction along which the second moment of the area is largest.
fn long_direction(outline: &Outline, centre: [f64; 2]) -> f64 {
    let (mut xx, mut xy, mut yy, mut area) = (0.0, 0.0, 0.0, 0.0);
    outline.walk(|step| {
        let (x, y) = (step.x - centre[0], step.y - centre[1]);
        area += (x * step.dy - y * step.dx) / 2.0;
        xx += x.powi(3) * step.dy / 3.0;
        xy += x * x * y * step.dy / 2.0;
        yy -= y.powi(3) * step.dx / 3.0;
    });
    let sign = area.signum();
    // Along (sin a, -cos a) the moment is (xx + yy)/2 + (yy - xx)/2 cos 2a - xy sin 2a.
    0.5 * (-sign * xy).atan2(sign * (yy - xx) / 2.0)
}

fn skew(outline: &Outline, angle: f64, centre: [f64; 2]) -> f64 {
    let (sin, cos) = angle.sin_cos();
    let (mut cubes, mut mixed, mut area) = (0.0, 0.0, 0.0);
    outline.walk(|step| {
        let (x, y) = (step.x - centre[0], step.y - centre[1]);
        let (z, s) = (x * sin - y * cos, x * cos + y * sin);
        let dz = step.dx * sin - step.dy * cos;
        area += s * dz;
        cubes += s.powi(4) / 4.0 * dz;
        mixed += z * z * s * s / 2.0 * dz;
    });
    cubes.hypot(mixed) / area.abs().powf(2.5).max(f64::MIN_POSITIVE)
}

/// Neighbours further apart than this many usual distances have a gap between them.
const GAP: f64 = 3.0;

fn doubt(outline: &Outline, angle: f64, centre: [f64; 2], radius: f64) -> f64 {
    let (sin, cos) = angle.sin_cos();
    let points = outline.points();
    let count = points.len();
    let apart = |a: &Point, b: &Point| (a.x - b.x).hypot(a.y - b.y);
    let across = |p: &Point| ((p.x - centre[0]) * cos + (p.y - centre[1]) * sin).abs();
    let steps: Vec<f64> = (0..count)
        .map(|i| apart(&points[i], &points[(i + 1) % count]))
        .collect();
    let mut sorted = steps.clone();
    sorted.sort_by(f64::total_cmp);
    let most = GAP * sorted[count / 2];
    let variance: f64 = (0..count)
        .map(|i| {
            let stands = (steps[i].min(most) + steps[(i + count - 1) % count].min(most)) / 2.0;
            let noise = PI * across(&points[i]) * stands * points[i].uncertainty;
            let gap = if steps[i] > most { steps[i] } else { 0.0 };
            let wide = (across(&points[i]) + across(&points[(i + 1) % count])) / 2.0;
            let open = PI * wide * gap.powi(3) / (24.0 * radius);
            noise * noise + open * open
        })
        .sum();
    variance.sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::revolution::from_series;

    /// A meridian `[z, rho]` seen with its axis turned, both sides.
    fn seen(meridian: &[[f64; 2]], axis: f64) -> Outline {
        let (sin, cos) = axis.sin_cos();
        let place = |z: f64, s: f64| Point {
            x: 50.0 + z * sin + s * cos,
            y: 40.0 - z * cos + s * sin,
            uncertainty: 0.02,
        };
        let there = meridian.iter().map(|[z, rho]| place(*z, *rho));
        let back = meridian.iter().rev().map(|[z, rho]| place(*z, -rho));
        Outline::new(there.chain(back).collect(), true).expect("an outline")
    }

    /// `rho^2 = (b^2 - z^2)(c + z^2) / b^2`: for `c < b^2` two lobes with a waist of `sqrt c` between them;
    /// `V = pi int rho^2 dz = pi (4/3 b c + 4/15 b^3)`.
    fn lobes(b: f64, c: f64) -> (Vec<[f64; 2]>, f64) {
        let curve = (0..=600).map(|k| {
            let z = -b * (PI * f64::from(k) / 600.0).cos();
            [z, ((b * b - z * z).max(0.0) * (c + z * z)).sqrt() / b]
        });
        (curve.collect(), PI * (4.0 / 3.0 * b * c + 4.0 / 15.0 * b.powi(3)))
    }

    #[test]
    fn a_thin_waist_keeps_its_volume_at_any_angle() {
        let (curve, volume) = lobes(10.0, 2.0);
        for axis in [-1.4, -0.3, 0.0, 0.9, 1.5] {
            let found = about_own_axis(&seen(&curve, axis), None);
            assert!(
                (found.axis_angle - axis).abs() < 1e-3,
                "{} {axis}",
                found.axis_angle
            );
            assert!(
                (found.solid.volume / volume - 1.0).abs() < 2e-4,
                "{}",
                found.solid.volume / volume
            );
            assert!(found.skew < 1e-4);
        }
    }

    #[test]
    fn a_flat_body_that_is_lopsided_across_turns_about_its_short_axis() {
        // Oblate, with an odd degree: symmetric about the short direction only.
        let series = [10.0, 0.0, -2.5, 1.5];
        let curve: Vec<[f64; 2]> = (0..=600)
            .map(|k| {
                let theta = PI * f64::from(k) / 600.0;
                let r = tremolet_numerics::legendre::series(&series, theta.cos());
                [r * theta.cos(), r * theta.sin()]
            })
            .collect();
        let found = about_own_axis(&seen(&curve, 0.4), None);
        assert!((found.axis_angle - 0.4).abs() < 1e-3, "{}", found.axis_angle);
        assert!((found.solid.volume / from_series(&series).volume - 1.0).abs() < 1e-3);
        // Told the direction, it keeps to it.
        assert!((about_own_axis(&seen(&curve, 0.4), Some(0.4)).axis_angle - 0.4).abs() < 1e-12);
    }

    #[test]
    fn noise_and_gaps_are_in_the_uncertainty() {
        // A sphere of radius R with points of uncertainty u each l apart: u(V)^2 = sum (pi s l u)^2, mean of s^2 is R^2 / 2.
        let circle = |gap: usize| {
            let points = (0..400 - gap).map(|k| {
                let t = 2.0 * PI * k as f64 / 400.0;
                Point {
                    x: 30.0 * t.cos(),
                    y: 30.0 * t.sin(),
                    uncertainty: 0.02,
                }
            });
            Outline::new(points.collect(), true).expect("an outline")
        };
        let whole = about_own_axis(&circle(0), Some(0.0));
        let step = 2.0 * PI * 30.0 / 400.0;
        let expected = PI * step * 0.02 * (400.0 * 450.0_f64).sqrt();
        assert!((whole.u_volume / expected - 1.0).abs() < 0.01);
        let open = about_own_axis(&circle(50), Some(0.0));
        let off = (open.solid.volume - whole.solid.volume).abs();
        assert!(
            open.u_volume > 3.0 * whole.u_volume && off < 2.0 * open.u_volume,
            "{off} {}",
            open.u_volume
        );
    }
}
