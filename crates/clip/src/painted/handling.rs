//! What the hand and the automatics of a camera do to the picture: shake, breathing of the focus, steps of the exposure.
//!
//! A point of the scene that a still camera shows at `p` is seen at
//!
//! `q = lens(c + z (p - c) + d)`
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `c` | middle of the picture | px |
//! | `z` | zoom, 1 for a still camera | 1 |
//! | `d` | shake | px |
//! | `lens` | distortion of the lens and roll of the camera: [`tremolet_optics::picture`] | px |
//!
//! Bodies, wall, marks, wires and loops move together. The lamp's unevenness and the dust, which are the camera's own, stay.

use std::fmt;

use crate::painted::body::Path;
use crate::painted::space::Course;
use tremolet_optics::picture::Picture;

/// How the camera is handled over time; by default it stands still.
#[derive(Clone, Default)]
pub struct Handling {
    /// Where the scene has moved to in the picture, px.
    pub shake: Option<Path>,
    /// Size of the picture over that of a still camera (0.1 to 10).
    pub zoom: Option<Course>,
    /// Blur in place of the camera's own, px; taken once for each frame.
    pub blur_px: Option<Course>,
    /// Lens and roll; none for a perfect lens and a level camera.
    pub picture: Option<Picture>,
    /// Rising times in s, and the factor of the light from then on; 1 before the first.
    pub exposure_steps: Vec<[f64; 2]>,
}

impl fmt::Debug for Handling {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Handling")
            .field("exposure_steps", &self.exposure_steps)
            .finish_non_exhaustive()
    }
}

impl Handling {
    /// Whether the camera stands still and its automatics are off.
    pub fn is_still(&self) -> bool {
        !self.moves() && self.exposure_steps.is_empty()
    }

    /// Whether anything but the exposure changes.
    pub fn moves(&self) -> bool {
        self.shake.is_some() || self.zoom.is_some() || self.blur_px.is_some() || self.picture.is_some()
    }

    /// The view at `time` of a picture of this size.
    pub fn view(&self, time: f64, width: usize, height: usize) -> View {
        View {
            middle: [width, height].map(|size| (size as f64 - 1.0) / 2.0),
            zoom: self.zoom.as_ref().map_or(1.0, |zoom| zoom(time)),
            shift: self.shake.as_ref().map_or([0.0; 2], |shake| shake(time)),
            picture: self.picture,
        }
    }

    /// Factor of the light at `time`.
    pub fn light(&self, time: f64) -> f64 {
        let begun = self.exposure_steps.iter().take_while(|step| step[0] <= time);
        begun.last().map_or(1.0, |step| step[1])
    }
}

/// Where the scene shows in the picture at one instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    /// Middle of the picture, px.
    pub middle: [f64; 2],
    /// Size over that of a still camera.
    pub zoom: f64,
    /// Shake, px.
    pub shift: [f64; 2],
    /// Lens and roll; none for a perfect lens and a level camera.
    pub picture: Option<Picture>,
}

impl View {
    /// Whether everything is where a still camera with a perfect lens shows it.
    pub fn is_still(&self) -> bool {
        self.zoom == 1.0 && self.shift == [0.0; 2] && self.picture.is_none()
    }

    /// Where a point of the scene is seen.
    pub fn seen(&self, p: [f64; 2]) -> [f64; 2] {
        let moved = self.moved(p);
        self.picture.map_or(moved, |picture| picture.seen(moved))
    }

    /// Where a point of the scene would be seen by a perfect lens and a level camera.
    pub fn moved(&self, p: [f64; 2]) -> [f64; 2] {
        if self.zoom == 1.0 && self.shift == [0.0; 2] {
            return p;
        }
        [0, 1].map(|i| self.middle[i] + self.zoom * (p[i] - self.middle[i]) + self.shift[i])
    }

    /// The point of the scene that is seen at `q`; beyond the fold of a lens, that of a perfect one.
    pub fn behind(&self, q: [f64; 2]) -> [f64; 2] {
        if self.is_still() {
            return q;
        }
        let q = self
            .picture
            .and_then(|picture| picture.level(q).ok())
            .unwrap_or(q);
        [0, 1].map(|i| self.middle[i] + (q[i] - self.middle[i] - self.shift[i]) / self.zoom)
    }
}
