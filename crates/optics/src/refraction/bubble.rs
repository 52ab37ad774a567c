//! The outline of a round bubble anywhere inside the ball, and the bubble that has a given outline.
//!
//! ```text
//! in the picture at the angle p from the bubble's side:  (x cos p cos g - z sin g - b/n)^2 + (x sin p)^2 = a^2
//! inverse, in the bubble's own direction, with edges b_1 > b_2 and the depth z:
//!   x = [z (sin g_1 + sin g_2) + (b_1 + b_2)/n] / (cos g_1 + cos g_2),     a = b_1/n + z sin g_1 - x cos g_1
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `z`, `a` | bubble's centre across and along the axis (towards the lens), its radius | radii |
//! | `b`, `p` | seen distance from the middle of the ball, direction in the picture | radii, rad |
//! | `g`, `n` | turn of the line of view inside, index (see [`crate::refraction::sight`]) | rad, 1 |
//!
//! Source: Snell's law \[BornWolf1999\], exact; own derivation. The outline is where lines of view graze the bubble; in back-light the bubble is
//! dark nearly to it. A bubble's own depth is not in its outline to first order: it must come from elsewhere, and the error that a wrong depth
//! makes can be had by asking twice.

use crate::error::{OpticsError, required};
use crate::refraction::place::roots;
use crate::refraction::sight::Sight;

/// A bubble's place and size, in radii of the ball.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bubble {
    /// Centre across the axis, 0 and more.
    pub across: f64,
    /// Centre along the axis, towards the lens.
    pub along: f64,
    /// Radius.
    pub radius: f64,
}

impl Bubble {
    /// A bubble inside the ball.
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for a radius that is not positive, a negative `across`, or a bubble that sticks out.
    pub fn new(across: f64, along: f64, radius: f64) -> Result<Self, OpticsError> {
        required("radius of the bubble", radius, radius > 0.0, "a positive number")?;
        required(
            "distance from the axis",
            across,
            across >= 0.0,
            "zero or a positive number",
        )?;
        let reach = across.hypot(along) + radius;
        required(
            "reach of the bubble",
            reach,
            reach <= 1.0,
            "inside the ball: at most one radius",
        )?;
        Ok(Self {
            across,
            along,
            radius,
        })
    }
}

impl Sight {
    /// Edges of a bubble along a line through the middle of the picture that makes the angle `direction` (rad) with the bubble's side: all seen distances,
    /// from -1 to 1, ascending. Two for a bubble all of which is seen in one piece along that line, none where the line misses it.
    ///
    /// ```
    /// use tremolet_optics::refraction::{bubble::Bubble, sight::Sight};
    /// let edges = Sight::far(1.333)?.edges(&Bubble::new(0.2, 0.0, 0.3)?, 0.0);
    /// assert!((edges[1] - 0.661_008_8).abs() < 1e-7 && (edges[0] + 0.133_450_2).abs() < 1e-7);
    /// # Ok::<(), tremolet_optics::error::OpticsError>(())
    /// ```
    #[must_use]
    pub fn edges(&self, bubble: &Bubble, direction: f64) -> Vec<f64> {
        let (sin, cos) = direction.sin_cos();
        let aside = bubble.across * sin;
        if aside.abs() > bubble.radius {
            return Vec::new();
        }
        let half = (bubble.radius.powi(2) - aside * aside).sqrt();
        let off = |slant: f64| self.off(slant, bubble.across * cos, bubble.along);
        let mut edges: Vec<f64> = [half, -half]
            .into_iter()
            .flat_map(|side| roots(|slant| off(slant) - side))
            .map(f64::sin)
            .collect();
        edges.sort_by(f64::total_cmp);
        edges
    }

    /// Seen centre and half width of a bubble along its own direction, radii; none when it is not seen with one edge on each side.
    #[must_use]
    pub fn seen_bubble(&self, bubble: &Bubble) -> Option<(f64, f64)> {
        match self.edges(bubble, 0.0)[..] {
            [low, high] => Some((0.5 * (high + low), 0.5 * (high - low))),
            _ => None,
        }
    }

    /// The bubble at the depth `along` whose edges in its own direction are seen at `near` and `far` (far the larger, -1 to 1).
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for edges out of order or beyond the ball's, or where no bubble inside the ball has them at that depth.
    pub fn real_bubble(&self, near: f64, far: f64, along: f64) -> Result<Bubble, OpticsError> {
        required(
            "outer edge",
            far,
            far <= 1.0 && far > near,
            "above the inner edge, at most 1",
        )?;
        required("inner edge", near, near >= -1.0, "at least -1")?;
        let [(s1, c1), (s2, c2)] = [far, near].map(|b| self.turn(b.asin()).sin_cos());
        let index = self.index();
        let across = (along * (s1 + s2) + (far + near) / index) / (c1 + c2);
        let radius = far / index + along * s1 - across * c1;
        if across < 0.0 {
            return Bubble::new(-across, along, far / index + along * s1 - across * c1);
        }
        Bubble::new(across, along, radius)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn water() -> Sight {
        Sight::far(1.333).unwrap()
    }

    // Recomputed independently by search along followed rays: a = 0.3.
    #[test]
    fn edges_of_a_bubble_off_the_centre() {
        let rows = [
            (0.2, 0.0, 0.661_008_799_6, -0.133_450_197_3),
            (0.2, 0.3, 0.593_295_315_3, -0.121_244_040_2),
            (0.2, -0.3, 0.759_093_024_3, -0.148_439_720_1),
            (0.0, 0.3, 0.361_830_818_2, -0.361_830_818_2),
            (0.0, -0.3, 0.448_545_773_8, -0.448_545_773_8),
        ];
        for (x, z, high, low) in rows {
            let bubble = Bubble::new(x, z, 0.3).unwrap();
            let edges = water().edges(&bubble, 0.0);
            assert_eq!(edges.len(), 2);
            assert!(
                (edges[1] - high).abs() < 1e-10 && (edges[0] - low).abs() < 1e-10,
                "{edges:?}"
            );
            let back = water().real_bubble(edges[0], edges[1], z).unwrap();
            assert!((back.across - x).abs() < 1e-11 && (back.radius - 0.3).abs() < 1e-11);
        }
        let (centre, half) = water().seen_bubble(&Bubble::new(0.2, 0.0, 0.3).unwrap()).unwrap();
        assert!((centre - 0.263_779_30).abs() < 6e-9 && (half - 0.397_229_50).abs() < 6e-9);
    }

    // A bubble in the middle has n a in every direction; off the axis a direction and its opposite swap signs.
    #[test]
    fn all_round() {
        let middle = Bubble::new(0.0, 0.0, 0.3).unwrap();
        let aside = Bubble::new(0.4, -0.1, 0.2).unwrap();
        for direction in [0.0, 0.3, 1.0, 2.0] {
            let edges = water().edges(&middle, direction);
            assert!((edges[1] - 0.3999).abs() < 1e-12 && (edges[0] + 0.3999).abs() < 1e-12);
            let (one, two) = (
                water().edges(&aside, direction),
                water().edges(&aside, direction + std::f64::consts::PI),
            );
            assert_eq!(one.len(), two.len());
            for (a, b) in one.iter().zip(two.iter().rev()) {
                assert!((a + b).abs() < 1e-9);
            }
        }
        assert!(water().edges(&aside, 1.5).is_empty());
    }

    // Each edge, followed to the bubble's plane, touches the bubble: distance of its centre from the line in space is the radius.
    #[test]
    fn a_slanting_edge_touches() {
        let sight = Sight::near(1.36, 6.0).unwrap();
        let bubble = Bubble::new(0.3, 0.2, 0.25).unwrap();
        for b in sight.edges(&bubble, 0.5) {
            // The line in the plane of view through the axis: two of its points in space.
            let point = |z: f64| {
                let u = sight.across(b.asin(), z);
                [u * 0.5_f64.cos(), u * 0.5_f64.sin(), z]
            };
            let (p, q, c) = (point(0.0), point(0.5), [0.3, 0.0, 0.2]);
            let d = [0, 1, 2].map(|i| q[i] - p[i]);
            let e = [0, 1, 2].map(|i| c[i] - p[i]);
            let dot = |a: [f64; 3], b: [f64; 3]| a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
            let square = dot(e, e) - dot(e, d).powi(2) / dot(d, d);
            assert!((square.sqrt() - 0.25).abs() < 1e-10, "{}", square.sqrt());
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Bubble::new(0.5, 0.5, 0.4).is_err() && Bubble::new(0.0, 0.0, 0.0).is_err());
        assert!(water().real_bubble(0.5, 0.4, 0.0).is_err() && water().real_bubble(0.5, 1.1, 0.0).is_err());
    }
}
