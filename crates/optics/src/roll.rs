//! A camera turned about its line of sight.
//!
//! ```text
//! level = [x cos a - y sin a,  x sin a + y cos a],      axis_level = axis_image + a
//! ```
//! Turn a camera to the right (clockwise, seen from behind it) and everything in the picture turns to the left.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `a` | roll: angle by which the camera is turned clockwise, seen from behind it | rad |
//! | `x`, `y` | from the centre of the picture, right and down, in the picture as it is | px |
//! | `level` | the same, right and down, in the picture of a camera that is not turned | px |
//! | axis | angle of a body's axis from up, positive towards the right | rad |
//!
//! Source: rotation in a plane, elementary. Does not find the roll; a camera that pans or tilts is not described.

use std::f64::consts::PI;

/// A point of the picture of a camera with this `roll` (rad), as a level camera would show it; both from the centre.
pub fn level_from_image(roll: f64, [x, y]: [f64; 2]) -> [f64; 2] {
    let (sin, cos) = roll.sin_cos();
    [x * cos - y * sin, x * sin + y * cos]
}

/// Where a camera with this `roll` (rad) shows a point of a level picture; both from the centre.
pub fn image_from_level(roll: f64, point: [f64; 2]) -> [f64; 2] {
    level_from_image(-roll, point)
}

/// Angle from level up of an axis that is seen at `axis` (rad) in the picture; an axis has no head, so from -pi/2 to pi/2.
pub fn level_axis(roll: f64, axis: f64) -> f64 {
    let angle = axis + roll;
    angle - PI * (angle / PI).round()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_camera_turned_to_the_right_shows_up_at_the_left() {
        // A quarter turn clockwise: what is up in the world (0, -1) is seen at the left (-1, 0).
        let seen = image_from_level(PI / 2.0, [0.0, -1.0]);
        assert!((seen[0] + 1.0).abs() < 1e-15 && seen[1].abs() < 1e-15, "{seen:?}");
        // 3-4-5: with sin a = 0.6, cos a = 0.8 the point (5, 10) of the picture lies at (5 * 0.8 - 10 * 0.6, 5 * 0.6 + 10 * 0.8).
        let level = level_from_image(0.6_f64.asin(), [5.0, 10.0]);
        assert!(
            (level[0] + 2.0).abs() < 1e-14 && (level[1] - 11.0).abs() < 1e-14,
            "{level:?}"
        );
    }

    #[test]
    fn an_axis_turns_with_its_points() {
        let (roll, axis) = (0.4, -0.9_f64);
        let head = level_from_image(roll, [axis.sin(), -axis.cos()]);
        assert!((head[0].atan2(-head[1]) - level_axis(roll, axis)).abs() < 1e-15);
        // Half a turn brings an axis back: 1.2 + 0.9 - pi = -1.0416.
        assert!((level_axis(0.9, 1.2) + 1.041_592_653_589_793).abs() < 1e-14);
    }
}
