//! The camera's geometry: a lens at the origin that looks along +z, and where things are in its picture.
//!
//! ```text
//! x_px = (width - 1)/2 + D x / (m z),     y_px = (height - 1)/2 + D y / (m z)
//! aperture: rays through the point of the lens and the point where the pinhole's ray crosses the plane in focus
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `y`, `z` | place: right, down, away from the lens | m |
//! | `D` | from the lens to the plane in which the scale holds | m |
//! | `m` | scale there | m/px |
//!
//! Source: elementary geometry. No distortion; the line of sight goes through the middle of the picture.

use std::f64::consts::PI;

use crate::traced::surface::Ray;
use crate::traced::vector::{Vector, along, unit};

/// The camera's geometry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pinhole {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Scale in the plane at `distance`, m/px.
    pub scale_m_per_px: f64,
    /// From the lens to the plane of the scale, m.
    pub distance: f64,
    /// An opening of finite size; a pinhole without.
    pub opening: Option<Opening>,
}

/// A lens of finite size, for depth of focus.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opening {
    /// Its radius, m.
    pub radius: f64,
    /// From the lens to the plane in focus, m.
    pub focus: f64,
    /// Points of the lens that stand for it, 1 at least.
    pub points: u32,
}

impl Pinhole {
    /// The ray of sight of a place in the picture, through a point of the lens (right, down, m).
    #[inline]
    #[must_use]
    pub fn ray(&self, [x, y]: [f64; 2], [u, v]: [f64; 2]) -> Ray {
        let per_px = self.scale_m_per_px / self.distance;
        let [middle_x, middle_y] = self.middle();
        let slope = [(x - middle_x) * per_px, (y - middle_y) * per_px];
        let focus = self.opening.map_or(self.distance, |opening| opening.focus);
        let from = [u, v, 0.0];
        Ray {
            from,
            direction: unit([slope[0] * focus - u, slope[1] * focus - v, focus]),
        }
    }

    /// Points of the lens that rays go through, right and down, m: spread evenly over a disc.
    #[must_use]
    pub fn lens(&self) -> Vec<[f64; 2]> {
        let Some(opening) = self.opening else {
            return vec![[0.0; 2]];
        };
        // A sunflower: turned by the golden angle from point to point.
        let golden = PI * (3.0 - 5.0_f64.sqrt());
        let place = |k: u32| {
            let radius = opening.radius * ((f64::from(k) + 0.5) / f64::from(opening.points)).sqrt();
            let (sin, cos) = (golden * f64::from(k)).sin_cos();
            [radius * cos, radius * sin]
        };
        (0..opening.points).map(place).collect()
    }

    /// Where a place is in the picture, px.
    #[must_use]
    pub fn in_image(&self, place: Vector) -> [f64; 2] {
        let px = self.distance / (self.scale_m_per_px * place[2]);
        let [x, y] = self.middle();
        [x + px * place[0], y + px * place[1]]
    }

    /// The place at the distance `away` (m) that is seen at `[x, y]` px.
    #[must_use]
    pub fn place(&self, at: [f64; 2], away: f64) -> Vector {
        let ray = self.ray(at, [0.0; 2]);
        along(ray.from, away / ray.direction[2], ray.direction)
    }

    /// The point of the picture on the line of sight, px.
    #[must_use]
    pub fn middle(&self) -> [f64; 2] {
        [self.width, self.height].map(|side| (side as f64 - 1.0) / 2.0)
    }
}

/// Direction of an axis that makes `angle` (rad) with image-up, positive to the right, and is tilted by `tilt` (rad) out of the image with its upper
/// end towards the lens.
#[must_use]
pub fn axis(angle: f64, tilt: f64) -> Vector {
    let ((sin, cos), (rise, flat)) = (angle.sin_cos(), tilt.sin_cos());
    [sin * flat, -cos * flat, -rise]
}

#[cfg(test)]
mod tests {
    use super::*;

    const CAMERA: Pinhole = Pinhole {
        width: 640,
        height: 480,
        scale_m_per_px: 1e-4,
        distance: 0.6,
        opening: None,
    };

    #[test]
    fn a_place_is_seen_where_its_ray_goes() {
        let place = CAMERA.place([100.0, 400.0], 0.75);
        let [x, y] = CAMERA.in_image(place);
        assert!((place[2] - 0.75).abs() < 1e-15 && (x - 100.0).abs() < 1e-9 && (y - 400.0).abs() < 1e-9);
        // 100 px to the right at the scale's distance is 10 mm, whatever the pixel.
        assert!((CAMERA.place([419.5, 239.5], 0.6)[0] - 0.01).abs() < 1e-15);
    }

    #[test]
    fn rays_through_a_lens_meet_in_the_plane_of_focus() {
        let camera = Pinhole {
            opening: Some(Opening {
                radius: 0.01,
                focus: 0.7,
                points: 60,
            }),
            ..CAMERA
        };
        let points = camera.lens();
        let mean = |f: &dyn Fn(&[f64; 2]) -> f64| points.iter().map(f).sum::<f64>() / 60.0;
        // A disc: middle at nil, mean square of half its radius squared.
        assert!(mean(&|p| p[0]).abs() < 5e-4 && mean(&|p| p[1]).abs() < 5e-4);
        assert!((mean(&|p| p[0] * p[0] + p[1] * p[1]) - 0.5e-4).abs() < 1e-9);
        let there = CAMERA.place([10.0, 20.0], 0.7);
        for point in points {
            let ray = camera.ray([10.0, 20.0], point);
            let met = along(ray.from, 0.7 / ray.direction[2], ray.direction);
            assert!((0..3).all(|i| (met[i] - there[i]).abs() < 1e-14));
        }
    }

    #[test]
    fn an_axis_points_as_its_angles_say() {
        let near = |found: Vector, due: Vector| (0..3).all(|i| (found[i] - due[i]).abs() < 1e-15);
        assert!(near(axis(0.0, 0.0), [0.0, -1.0, 0.0]));
        assert!(near(axis(PI / 2.0, 0.0), [1.0, 0.0, 0.0]));
        assert!(near(axis(0.3, PI / 2.0), [0.0, 0.0, -1.0]));
    }
}
