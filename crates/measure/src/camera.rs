//! What the camera did to the outlines, and how it is taken out: lens, roll, motion and the time of each row.
//!
//! ```text
//! straight = still( level(p), t + T_row(p) )       then all points of a frame are brought to one instant
//! ```
//! Outlines stay as they are seen; beside them lie the points of a perfect, level, still camera with a global shutter, from which
//! shapes are made. Where nothing is stated and no mark moves, no such points are made and nothing is computed.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `p` | a point of an outline as it is seen | px |
//! | `level` | the same of a perfect level camera: [`tremolet_optics::picture`] | px |
//! | `still` | the motion of the camera taken out: [`motion`] | px |
//! | `t`, `T_row` | time of the frame, delay of the row: [`tremolet_optics::shutter`] | s |
//!
//! Source: see the rooms it calls. Does not find lens, roll or readout time: they are given.

use crate::measured::Taken;
use crate::sighting::{Sighting, points, renewed};
use tremolet_optics::picture::Picture;
use tremolet_optics::shutter::Shutter;
use tremolet_shape::outline::Point;

pub mod course;
pub mod light;
pub mod mark;
pub mod marks;
pub mod motion;
pub mod rows;
pub mod told;

use motion::Motion;

/// What is stated of the camera.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stated {
    /// How its rows are read; none for all at once.
    pub shutter: Option<Shutter>,
    /// Lens and roll; none for a perfect lens and a level camera.
    pub picture: Option<Picture>,
}

/// Everything that is known of the camera once the clip has passed.
pub struct Camera<'a> {
    /// What is stated.
    pub stated: Stated,
    /// Frames that have passed, rising.
    pub frames: &'a [u64],
    /// Their real times, s; as many, or empty when not known.
    pub times: &'a [f64],
    /// How the camera moved; none where it stood still or nothing tells.
    pub motion: Option<&'a Motion>,
}

impl Camera<'_> {
    /// Puts the straight points beside the outlines of one body, and says at which instant of a frame they are.
    pub fn straighten(&self, sightings: &mut [Sighting]) -> Taken {
        let shutter = self
            .stated
            .shutter
            .filter(|_| self.times.len() == self.frames.len());
        if shutter.is_none() && self.stated.picture.is_none() && self.motion.is_none() {
            return Taken::default();
        }
        let times: Vec<f64> = sightings.iter().map(|s| self.time(s.frame)).collect();
        for (s, time) in sightings.iter_mut().zip(&times) {
            let seen = points(s);
            let straight = seen.iter().map(|p| self.straight(p, *time)).collect();
            renewed(s, straight);
        }
        match shutter {
            Some(shutter) => rows::at_one_instant(sightings, &times, &shutter),
            None => Taken::default(),
        }
    }

    /// Real time of a frame, s; its number where times are not known.
    pub fn time(&self, frame: u64) -> f64 {
        let place = self.frames.binary_search(&frame).ok();
        place
            .and_then(|i| self.times.get(i))
            .copied()
            .unwrap_or(frame as f64)
    }

    fn straight(&self, p: &Point, time: f64) -> Point {
        let seen = [p.x, p.y];
        let (mut at, mut stretch) = (seen, 1.0);
        if let Some(picture) = &self.stated.picture
            && let (Ok(level), Ok(wider)) = (picture.level(seen), picture.stretch(seen))
        {
            (at, stretch) = (level, wider);
        }
        if let Some(motion) = self.motion {
            let delay = self.stated.shutter.map_or(0.0, |s| s.row_time(0.0, p.y));
            let (still, larger) = motion.still(at, time + delay);
            (at, stretch) = (still, stretch * larger);
        }
        Point {
            x: at[0],
            y: at[1],
            uncertainty: p.uncertainty * stretch,
        }
    }
}

#[cfg(test)]
mod tests;
