//! The straight line inside a ball on which a direction of view goes on.
//!
//! ```text
//! n(r) r sin(angle) = b everywhere along a ray (Bouguer)
//! inside: a line at the distance b/n from the centre, turned by  g = asin b - asin(b/n) - asin(b/L)  towards the axis
//! a point (x, z) is off that line by  x cos g - z sin g - b/n
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `b` | distance at which the line of view, gone straight on, would pass the centre; 1 at the edge of the ball | radii |
//! | `n` | index of the ball over that of what surrounds it | 1 |
//! | `L` | distance of the lens from the centre; without end for a far camera | radii |
//! | `x`, `z` | across and along the axis from the centre to the lens, `z` towards the lens | radii |
//! | `g` | turn of the line against the axis | rad |
//!
//! All lengths are in radii of the ball. In the picture a far camera shows the line of view at `b`; a lens at `L` at the angle
//! `asin(b/L)`, in the plane through the centre at `b / sqrt(1 - (b/L)^2)`.
//!
//! Source: Bouguer's formula \[BornWolf1999\] section 3.2, Snell's law; own derivation. For a round ball; a drop that swings by 1 % in shape
//! moves what is seen by about that much of its radius, more near the edge.

use crate::error::{OpticsError, required};

/// A ball and the camera that looks at it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sight {
    index: f64,
    nearness: f64,
}

impl Sight {
    /// A ball of relative refractive `index` (above 1) seen from far away.
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for an index of 1 or less.
    pub fn far(index: f64) -> Result<Self, OpticsError> {
        let index = required("refractive index", index, index > 1.0, "a number above 1")?;
        Ok(Self { index, nearness: 0.0 })
    }

    /// The same seen from a lens at `distance` (in radii, above 1) from the centre.
    ///
    /// # Errors
    /// [`OpticsError::Quantity`] for an index of 1 or less, or a lens that is not outside.
    pub fn near(index: f64, distance: f64) -> Result<Self, OpticsError> {
        required(
            "distance of the lens",
            distance,
            distance > 1.0,
            "more than one radius",
        )?;
        Ok(Self {
            nearness: 1.0 / distance,
            ..Self::far(index)?
        })
    }

    /// Relative refractive index.
    #[must_use]
    pub fn index(&self) -> f64 {
        self.index
    }

    /// Turn of the line inside for `slant = asin b` (-pi/2 to pi/2), rad.
    #[must_use]
    pub fn turn(&self, slant: f64) -> f64 {
        let b = slant.sin();
        slant - (b / self.index).asin() - (b * self.nearness).asin()
    }

    /// How far a point at (`across`, `along`) is off the line for `slant`, radii; positive when it lies farther out.
    #[must_use]
    pub fn off(&self, slant: f64, across: f64, along: f64) -> f64 {
        let (sin, cos) = self.turn(slant).sin_cos();
        across * cos - along * sin - slant.sin() / self.index
    }

    /// Where the line for `slant` is at the depth `along`: its distance from the axis, radii.
    #[must_use]
    pub fn across(&self, slant: f64, along: f64) -> f64 {
        let (sin, cos) = self.turn(slant).sin_cos();
        (slant.sin() / self.index + along * sin) / cos
    }

    /// Angle from the axis at which the lens sees `b`, rad; 0 from far away.
    #[must_use]
    pub fn angle(&self, b: f64) -> f64 {
        (b * self.nearness).asin()
    }

    /// Distance from the middle of the picture, measured in the plane through the ball's centre, radii.
    #[must_use]
    pub fn in_picture(&self, b: f64) -> f64 {
        b / (1.0 - (b * self.nearness).powi(2)).sqrt()
    }

    /// `b` of a distance measured in the picture in the plane through the centre, the inverse of [`Sight::in_picture`].
    #[must_use]
    pub fn from_picture(&self, seen: f64) -> f64 {
        seen / (1.0 + (seen * self.nearness).powi(2)).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Snell's law at the point of exit, ray followed inward: a point of the line at `way` behind the surface.
    fn followed(index: f64, distance: Option<f64>, b: f64, way: f64) -> (f64, f64) {
        let incidence = b.asin();
        let tilt = distance.map_or(0.0, |d| -(b / d).asin());
        let normal = incidence + tilt;
        let inside = (incidence.sin() / index).asin();
        let direction = normal - inside;
        (
            normal.sin() - way * direction.sin(),
            normal.cos() - way * direction.cos(),
        )
    }

    #[test]
    fn points_of_a_followed_ray_lie_on_the_line() {
        for (index, distance) in [(1.333, None), (1.333, Some(2.0)), (1.47, Some(8.0))] {
            let sight = distance
                .map_or_else(|| Sight::far(index), |d| Sight::near(index, d))
                .unwrap();
            for b in [0.0_f64, 0.2, 0.7, 0.999] {
                for way in [0.0, 0.4, 1.1] {
                    let (x, z) = followed(index, distance, b, way);
                    assert!(sight.off(b.asin(), x, z).abs() < 1e-14, "{b} {way}");
                    assert!((sight.across(b.asin(), z) - x).abs() < 1e-13);
                }
            }
        }
    }

    #[test]
    fn pictures_and_back() {
        let sight = Sight::near(1.333, 2.0).unwrap();
        // The edge of the ball is at 30 degrees, at tan 30 x 2 in the plane.
        assert!((sight.angle(1.0).to_degrees() - 30.0).abs() < 1e-12);
        assert!((sight.in_picture(1.0) - 2.0 / 3.0_f64.sqrt()).abs() < 1e-14);
        assert!((sight.from_picture(sight.in_picture(0.7)) - 0.7).abs() < 1e-15);
        assert_eq!(Sight::far(1.333).unwrap().in_picture(0.7), 0.7);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(
            Sight::far(1.0).is_err() && Sight::near(1.333, 1.0).is_err() && Sight::far(f64::NAN).is_err()
        );
    }
}
