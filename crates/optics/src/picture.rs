//! A picture as a lens with distortion and a camera turned about its line of sight make it, and as a perfect level camera would.
//!
//! ```text
//! tangents = (p - c) / f,     ideal = lens^-1(tangents),     level = c + f R(roll) ideal
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `p`, `level` | a place in the picture as it is, in that of a perfect level camera | px |
//! | `c` | where the axis of the lens meets the picture | px |
//! | `f` | focal length | px |
//! | `R(roll)` | turn of [`crate::roll`] | 1 |
//!
//! Near the axis of the lens nothing is stretched, so a scale that holds there holds in the level picture. Source: [`crate::distortion`]
//! and [`crate::roll`]. Knows no depth.

use crate::distortion::{DistortionError, Lens};
use crate::roll::{image_from_level, level_from_image};

/// Lens and roll of a camera in pixels of its picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Picture {
    /// Coefficients of the lens.
    pub lens: Lens,
    /// Focal length, px.
    pub focal_px: f64,
    /// Where the axis of the lens meets the picture, px.
    pub centre: [f64; 2],
    /// Angle by which the camera is turned clockwise, seen from behind it, rad.
    pub roll: f64,
}

impl Picture {
    /// A perfect lens before a level camera; `centre` in px.
    pub fn plain(centre: [f64; 2]) -> Self {
        Self {
            lens: Lens::default(),
            focal_px: 1.0,
            centre,
            roll: 0.0,
        }
    }

    /// Whether everything is seen where a perfect level camera shows it.
    pub fn is_plain(&self) -> bool {
        self.lens == Lens::default() && self.roll == 0.0
    }

    /// Where a perfect level camera shows what is seen at `p`; px.
    ///
    /// # Errors
    /// Where the formula of the lens folds: see [`Lens::ideal`].
    ///
    /// ```
    /// use tremolet_optics::{distortion::Lens, picture::Picture};
    /// let lens = Lens { radial: [-0.1, 0.0, 0.0], ..Lens::default() };
    /// let picture = Picture { lens, focal_px: 1000.0, ..Picture::plain([500.0, 400.0]) };
    /// let seen = picture.seen([900.0, 400.0]);
    /// assert!((seen[0] - (500.0 + 400.0 * (1.0 - 0.1 * 0.16))).abs() < 1e-9);
    /// assert!((picture.level(seen)?[0] - 900.0).abs() < 1e-6);
    /// # Ok::<(), tremolet_optics::distortion::DistortionError>(())
    /// ```
    pub fn level(&self, p: [f64; 2]) -> Result<[f64; 2], DistortionError> {
        let [x, y] = [0, 1].map(|i| p[i] - self.centre[i]);
        let ideal = if self.lens == Lens::default() {
            [x, y]
        } else {
            self.lens
                .ideal([x / self.focal_px, y / self.focal_px])?
                .map(|t| t * self.focal_px)
        };
        let level = level_from_image(self.roll, ideal);
        Ok([0, 1].map(|i| self.centre[i] + level[i]))
    }

    /// Where this camera shows what a perfect level one shows at `p`; px.
    pub fn seen(&self, p: [f64; 2]) -> [f64; 2] {
        let ideal = image_from_level(self.roll, [0, 1].map(|i| p[i] - self.centre[i]));
        let seen = if self.lens == Lens::default() {
            ideal
        } else {
            self.lens
                .seen(ideal.map(|t| t / self.focal_px))
                .map(|t| t * self.focal_px)
        };
        [0, 1].map(|i| self.centre[i] + seen[i])
    }

    /// How much a small length is stretched from the picture to the level one at `p`: the root of the change of area.
    ///
    /// # Errors
    /// As [`Picture::level`].
    pub fn stretch(&self, p: [f64; 2]) -> Result<f64, DistortionError> {
        const STEP: f64 = 0.5;
        let side = |dx: f64, dy: f64| self.level([p[0] + dx, p[1] + dy]);
        let (left, right) = (side(-STEP, 0.0)?, side(STEP, 0.0)?);
        let (above, below) = (side(0.0, -STEP)?, side(0.0, STEP)?);
        let across = [0, 1].map(|i| (right[i] - left[i]) / (2.0 * STEP));
        let down = [0, 1].map(|i| (below[i] - above[i]) / (2.0 * STEP));
        Ok((across[0] * down[1] - across[1] * down[0]).abs().sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bent() -> Picture {
        Picture {
            lens: Lens {
                radial: [-0.2, 0.05, 0.0],
                tangential: [1e-3, -2e-3],
            },
            focal_px: 800.0,
            centre: [310.0, 250.0],
            roll: 0.1,
        }
    }

    #[test]
    fn what_is_seen_comes_back() {
        for p in [[20.0, 30.0], [310.0, 250.0], [600.0, 470.0]] {
            let back = bent().level(bent().seen(p)).unwrap();
            assert!((back[0] - p[0]).hypot(back[1] - p[1]) < 1e-8, "{back:?}");
        }
        assert_eq!(Picture::plain([3.0, 4.0]).level([7.0, 9.0]), Ok([7.0, 9.0]));
        assert!(Picture::plain([3.0, 4.0]).is_plain() && !bent().is_plain());
    }

    // A camera turned clockwise by 3-4-5 (sin 0.6, cos 0.8) shows the level point c + (5, 10) at c + (10, 5)/..., by hand:
    // x = 5 * 0.8 + 10 * 0.6 = 10, y = 10 * 0.8 - 5 * 0.6 = 5.
    #[test]
    fn a_turned_camera_turns_its_picture() {
        let turned = Picture {
            roll: 0.6_f64.asin(),
            ..Picture::plain([100.0, 50.0])
        };
        let seen = turned.seen([105.0, 60.0]);
        assert!((seen[0] - 110.0).hypot(seen[1] - 55.0) < 1e-12, "{seen:?}");
    }

    // A lens x_d = x (1 + k r^2) stretches by 1 + 3 k r^2 along the radius and 1 + k r^2 across it; the way back is the inverse.
    #[test]
    fn stretch_is_that_of_the_formula() {
        let lens = Lens {
            radial: [-0.1, 0.0, 0.0],
            ..Lens::default()
        };
        let picture = Picture {
            lens,
            focal_px: 1000.0,
            ..Picture::plain([0.0, 0.0])
        };
        let kr2: f64 = -0.1 * 0.3 * 0.3;
        let expected = 1.0 / ((1.0 + 3.0 * kr2) * (1.0 + kr2)).sqrt();
        let found = picture.stretch(picture.seen([300.0, 0.0])).unwrap();
        assert!((found / expected - 1.0).abs() < 1e-6, "{found} {expected}");
    }
}
