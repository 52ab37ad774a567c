//! Paints the frames of a recipe, one by one or in any order.
//!
//! Light is put together in fractions of full scale: background, bodies in order, what stands in front, flicker; then
//! the camera counts electrons, adds read noise and rounds to codes:
//!
//! `code = round(M min(1, max(0, (Poisson(W L) + read) / W)))`, `L` the light, `W` the full well, `M` the largest code.
//!
//! A bright body's dark rim is a stack of shrunk outlines, each filled with its share, so that the lens's blur acts on the
//! rim exactly as on the outline. A camera that reads its rows one after the other has every row painted at its own time, with
//! the bodies where they then are; an exposure is the mean light of some instants. The same frame comes out whatever was
//! painted before.

use std::ops::Range;

use crate::error::ClipError;
use crate::frame::Frame;
use crate::painted::background::{Pyramid, behind, lamp_field};
use crate::painted::body::{PaintedBody, Pose};
use crate::painted::clock::Shot;
use crate::painted::coverage::{Coverage, Kernel};
use crate::painted::glass::Lens;
use crate::painted::handling::Handling;
use crate::painted::recipe::{PaintedScene, Recipe};
use crate::painted::truth::{TrueFrame, Truth};
use crate::painted::veil::Veil;
use crate::source::{ClipInfo, FrameSource};

mod check;
mod looks;
pub(crate) mod sensor;

/// A recipe that cannot be painted.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PaintError {
    /// A frame without pixels.
    #[error("frame of {width} x {height} pixels: both sides must be 8 at least")]
    Size {
        /// Pixels in a row.
        width: usize,
        /// Rows.
        height: usize,
    },
    /// A body in parts that is asked for more than a silhouette from infinity.
    #[error(
        "a body in parts is painted as a silhouette from infinity only: no distance, tilt, modes or bright scene"
    )]
    Parts,
    /// A number outside what can be painted.
    #[error("{name} is {found}: must lie between {low} and {high}")]
    Range {
        /// What it is, with its unit.
        name: &'static str,
        /// What was given.
        found: f64,
        /// Least.
        low: f64,
        /// Most.
        high: f64,
    },
}

/// Paints a recipe.
#[derive(Debug, Clone)]
pub struct Painter {
    recipe: Recipe,
    shots: Vec<Shot>,
    kernel: Kernel,
    lamp: Vec<f32>,
    background: Vec<f32>,
    wall: Option<(Pyramid, Lens)>,
    veil: Option<Veil>,
    cover: Coverage,
    inside: Coverage,
    light: Vec<f32>,
    info: ClipInfo,
    next: u64,
}

impl FrameSource for Painter {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        let frame = self.paint(self.next);
        self.next += u64::from(frame.is_some());
        Ok(frame)
    }
}

fn info(recipe: &Recipe, frames: usize) -> ClipInfo {
    ClipInfo {
        name: "painted clip".into(),
        width: recipe.width,
        height: recipe.height,
        bits: if recipe.camera.bits == 8 { 8 } else { 16 },
        frame_count: Some(frames as u64),
        header_rate_fps: Some(recipe.clock.rate_fps),
        container: "painted".into(),
        codec: "none".into(),
        decoder: "none".into(),
    }
}

impl Painter {
    /// Gets everything ready that stays the same from frame to frame.
    ///
    /// # Errors
    /// When the recipe holds a number that cannot be painted.
    pub fn new(recipe: Recipe) -> Result<Self, PaintError> {
        check::check(&recipe)?;
        let (width, height) = (recipe.width, recipe.height);
        let kernel = Kernel::new(recipe.camera.blur_px);
        let lamp = lamp_field(&recipe.lamp, width, height);
        let (view, rows) = (Handling::default().view(0.0, width, height), 0..height);
        let background = behind(&recipe, &lamp, &kernel, &view, &rows);
        let wall = match &recipe.scene {
            PaintedScene::Silhouette(_) => None,
            PaintedScene::Bright(bright) => {
                Some((Pyramid::new(width, height, &background), Lens::new(bright.index)))
            }
        };
        let shots = recipe.clock.shots(recipe.seed);
        Ok(Self {
            info: info(&recipe, shots.len()),
            next: 0,
            shots,
            veil: Veil::new(&recipe, &kernel, &view, &rows),
            cover: Coverage::new(width, height),
            inside: Coverage::new(width, height),
            light: vec![0.0; width * height],
            kernel,
            lamp,
            background,
            wall,
            recipe,
        })
    }

    /// The recipe.
    pub fn recipe(&self) -> &Recipe {
        &self.recipe
    }

    /// The frames of the clip in order: slot, picture, time, stamp.
    pub fn shots(&self) -> &[Shot] {
        &self.shots
    }

    /// What an ideal observer would write down.
    pub fn truth(&self) -> Truth {
        let scale = self.recipe.scale_m_per_px;
        let radius_px: Vec<f64> = self.recipe.bodies.iter().map(|body| body.radius_px).collect();
        let (handling, camera) = (&self.recipe.handling, &self.recipe.camera);
        let frame = |shot: &Shot| TrueFrame {
            view: handling.view(shot.time, self.recipe.width, self.recipe.height),
            blur_px: handling
                .blur_px
                .as_ref()
                .map_or(camera.blur_px, |blur| blur(shot.time)),
            light: handling.light(shot.time),
            time: shot.time,
            stamp: shot.stamp.seconds(),
            bodies: self.recipe.bodies.iter().map(|body| body.at(shot.time)).collect(),
        };
        Truth {
            scale_m_per_px: scale,
            distance_m: self.recipe.distance_m,
            radius_m: radius_px.iter().map(|r| r * scale).collect(),
            radius_px,
            rows: camera.rows(self.recipe.height),
            still: handling.is_still(),
            frames: self.shots.iter().map(frame).collect(),
        }
    }

    /// Paints frame `index` of the clip, or gives `None` past its end.
    pub fn paint(&mut self, index: u64) -> Option<Frame> {
        let shot = *self.shots.get(usize::try_from(index).ok()?)?;
        if let Some(blur_px) = &self.recipe.handling.blur_px {
            self.kernel = Kernel::new(blur_px(shot.time));
        }
        if self.recipe.camera.takes_time() {
            self.gather(shot.time);
        } else {
            self.illuminate(shot.time, &(0..self.recipe.height));
        }
        let steps = self.recipe.handling.light(shot.time);
        let strength = |row: usize| steps * self.recipe.lamp.flicker_at(self.row_time(shot.time, row));
        Some(Frame {
            index,
            stamp: Some(shot.stamp),
            plane: self.expose(strength, shot.picture),
        })
    }

    /// Middle of the exposure of a row, s, in a frame taken at `time`.
    fn row_time(&self, time: f64, row: usize) -> f64 {
        time + self.recipe.camera.row_delay(row, self.recipe.height)
    }

    /// The light of a frame whose rows are read one after the other, each the mean over its own exposure.
    fn gather(&mut self, time: f64) {
        let (width, camera) = (self.recipe.width, self.recipe.camera.clone());
        let mut mean = vec![0.0; width];
        let together = if camera.readout == 0.0 {
            self.recipe.height
        } else {
            1
        };
        for first in (0..self.recipe.height).step_by(together) {
            let rows = first..first + together;
            mean.clear();
            mean.resize(width * rows.len(), 0.0);
            let moments = camera.moments();
            for moment in &moments {
                self.illuminate(self.row_time(time, rows.start) + moment, &rows);
                let light = &self.light[rows.start * width..rows.end * width];
                for (sum, light) in mean.iter_mut().zip(light) {
                    *sum += light / moments.len() as f32;
                }
            }
            self.light[rows.start * width..rows.end * width].copy_from_slice(&mean);
        }
    }

    /// The light on these rows at one instant, before flicker and noise.
    fn illuminate(&mut self, time: f64, rows: &Range<usize>) {
        let width = self.recipe.width;
        let part = rows.start * width..rows.end * width;
        let view = self.recipe.handling.view(time, width, self.recipe.height);
        if self.recipe.handling.moves() {
            let light = behind(&self.recipe, &self.lamp, &self.kernel, &view, rows);
            self.light[part.clone()].copy_from_slice(&light);
            self.veil = Veil::new(&self.recipe, &self.kernel, &view, rows);
        } else {
            self.light[part.clone()].copy_from_slice(&self.background[part.clone()]);
        }
        let bodies = self.recipe.bodies.iter();
        let seen = |body: &PaintedBody| body.at(time).map(|pose| pose.seen(&view));
        let poses: Vec<Pose> = bodies.filter_map(seen).collect();
        for pose in &poses {
            self.add_body(pose, &view, rows);
        }
        if let Some(veil) = &self.veil {
            let fore = veil.keep[part.clone()]
                .iter()
                .zip(&veil.add[part.clone()])
                .zip(&self.lamp[part.clone()]);
            for (light, ((keep, add), lamp)) in self.light[part].iter_mut().zip(fore) {
                *light = *light * keep + add * lamp;
            }
        }
    }
}

#[cfg(test)]
mod tests;
