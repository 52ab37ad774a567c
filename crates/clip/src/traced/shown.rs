//! Traces the frames of a scene, one by one or in any order.
//!
//! Light of all pixels, mean over the instants of the exposure, blur of the lens, then the painter's sensor. Work is spread over the threads
//! of the pool it is called in; the frames are the same whatever their number, and whatever was traced before.

use rayon::prelude::*;

use crate::error::ClipError;
use crate::frame::{Frame, Plane};
use crate::painted::clock::Shot;
use crate::painted::noise::PaintedNoise;
use crate::painted::painter::sensor::{CAMERA_STREAM, code};
use crate::source::{ClipInfo, FrameSource};
use crate::traced::blur::blurred;
use crate::traced::error::TraceError;
use crate::traced::gather::{BLOCK, Looker, Seen, gather};
use crate::traced::rim::outline;
use crate::traced::scene::{Look, TracedScene};
use crate::traced::surface::{Ray, Skin};
use crate::traced::tracer::Tracer;

/// Distance from an outline within which all pixels are looked at, px, and steps of the outlines for that.
const NEAR: f64 = 3.0;
const ROUND: usize = 90;

/// A traced clip.
#[derive(Debug, Clone)]
pub struct TracedClip {
    scene: TracedScene,
    shots: Vec<Shot>,
    lens: Vec<[f64; 2]>,
    info: ClipInfo,
    next: u64,
}

impl FrameSource for TracedClip {
    fn info(&self) -> &ClipInfo {
        &self.info
    }

    fn next_frame(&mut self) -> Result<Option<Frame>, ClipError> {
        let frame = self.trace(self.next)?;
        self.next += u64::from(frame.is_some());
        Ok(frame)
    }
}

impl TracedClip {
    /// Gets everything ready that stays the same from frame to frame.
    ///
    /// # Errors
    /// [`TraceError`] for a scene that cannot be traced.
    pub fn new(scene: TracedScene) -> Result<Self, TraceError> {
        scene.check()?;
        let shots = scene.clock.shots(scene.seed);
        let info = ClipInfo {
            name: "traced clip".into(),
            width: scene.pinhole.width,
            height: scene.pinhole.height,
            bits: if scene.camera.bits == 8 { 8 } else { 16 },
            frame_count: Some(shots.len() as u64),
            header_rate_fps: Some(scene.clock.rate_fps),
            container: "traced".into(),
            codec: "none".into(),
            decoder: "none".into(),
        };
        Ok(Self {
            lens: scene.pinhole.lens(),
            scene,
            shots,
            info,
            next: 0,
        })
    }

    /// The scene.
    #[must_use]
    pub fn scene(&self) -> &TracedScene {
        &self.scene
    }

    /// The frames of the clip in order: slot, picture, time, stamp.
    #[must_use]
    pub fn shots(&self) -> &[Shot] {
        &self.shots
    }

    /// Bodies and lights at a time (s), ready for rays.
    ///
    /// # Errors
    /// [`TraceError`] for surfaces that cannot be traced or reach the lens.
    pub fn tracer(&self, time: f64) -> Result<Tracer, TraceError> {
        let skins: Vec<Skin> = (self.scene.motion)(time);
        let tracer = Tracer::new(&skins, self.scene.world.clone(), self.scene.around)?;
        for (surface, body) in tracer.surfaces().iter().enumerate() {
            let (middle, reach) = body.ball();
            let nearest = middle[2] - reach;
            if nearest <= 0.0 {
                return Err(TraceError::Near { surface, nearest });
            }
        }
        Ok(tracer)
    }

    /// Traces frame `index`, or gives `None` past the end of the clip.
    ///
    /// # Errors
    /// As [`TracedClip::tracer`].
    pub fn trace(&self, index: u64) -> Result<Option<Frame>, TraceError> {
        let shot = usize::try_from(index)
            .ok()
            .and_then(|index| self.shots.get(index));
        let Some(shot) = shot else {
            return Ok(None);
        };
        let light = self.light(shot.time)?;
        Ok(Some(Frame {
            index,
            stamp: Some(shot.stamp),
            plane: self.expose(&light, shot.picture),
        }))
    }

    /// The light on the sensor at a time (s), fractions of full scale, row by row; before noise and codes.
    ///
    /// # Errors
    /// As [`TracedClip::tracer`].
    pub fn light(&self, time: f64) -> Result<Vec<f32>, TraceError> {
        let moments = self.scene.moments();
        let share = 1.0 / moments.len() as f32;
        let mut mean: Vec<f32> = Vec::new();
        for moment in &moments {
            let tracer = self.tracer(time + moment)?;
            let light = self.instant(&tracer);
            if mean.is_empty() {
                mean = light.into_iter().map(|light| light * share).collect();
            } else {
                mean.iter_mut()
                    .zip(light)
                    .for_each(|(sum, light)| *sum += light * share);
            }
        }
        Ok(blurred(
            &mean,
            self.scene.pinhole.width,
            self.scene.camera.blur_px,
        ))
    }

    /// The light of quarters of pixels at one instant, before blur.
    fn instant(&self, tracer: &Tracer) -> Vec<f32> {
        let (pinhole, fineness) = (&self.scene.pinhole, &self.scene.fineness);
        let size = [pinhole.width, pinhole.height];
        let first = self.lens[0];
        match self.scene.look {
            Look::Clear => {
                let look = Looker {
                    see: |at| self.mean(at, |ray| tracer.look(ray)),
                    surface: |at| tracer.first(&pinhole.ray(at, first)),
                };
                gather(size, fineness, &|_, _| false, &look)
            }
            Look::Silhouette { dark } => {
                let dim = |ray: &Ray| {
                    let (behind, meets) = (tracer.world().light(ray), tracer.meets(ray));
                    (if meets { dark * behind } else { behind }, meets.then_some(0))
                };
                let look = Looker {
                    see: |at| self.mean(at, dim),
                    surface: |at| tracer.meets(&pinhole.ray(at, first)).then_some(0),
                };
                let busy = self.busy(tracer);
                let across = size[0].div_ceil(BLOCK);
                let calm = |column: usize, row: usize| !busy.is_empty() && !busy[row * across + column];
                gather(size, fineness, &calm, &look)
            }
        }
    }

    /// The mean of what rays through the points of the lens see, and the surface that the first meets.
    #[inline]
    fn mean(&self, at: [f64; 2], look: impl Fn(&Ray) -> (f64, Option<usize>)) -> Seen {
        let seen = |point: &[f64; 2]| look(&self.scene.pinhole.ray(at, *point));
        let (mut light, surface) = seen(&self.lens[0]);
        light += self.lens[1..].iter().map(|point| seen(point).0).sum::<f64>();
        Seen {
            light: light / self.lens.len() as f64,
            surface,
        }
    }

    /// Blocks of pixels near the outline of a surface, row by row; empty with a lens of finite size, where an outline is nowhere.
    fn busy(&self, tracer: &Tracer) -> Vec<bool> {
        let pinhole = &self.scene.pinhole;
        if self.lens.len() > 1 {
            return Vec::new();
        }
        let [across, down] = [pinhole.width, pinhole.height].map(|side| side.div_ceil(BLOCK));
        let mut busy = vec![false; across * down];
        let mut mark = |[x, y]: [f64; 2]| {
            let range = |at: f64, count: usize| {
                let block = |at: f64| ((at + 0.5) / BLOCK as f64).floor();
                let last = count as f64 - 1.0;
                let (low, high) = (block(at - NEAR).max(0.0), block(at + NEAR).min(last));
                if low <= high {
                    low as usize..high as usize + 1
                } else {
                    0..0
                }
            };
            for row in range(y, down) {
                for column in range(x, across) {
                    busy[row * across + column] = true;
                }
            }
        };
        for surface in tracer.surfaces() {
            let points = outline(surface, pinhole, ROUND);
            for (k, to) in points.iter().enumerate() {
                let from = points[(k + points.len() - 1) % points.len()];
                let length = (to[0] - from[0]).hypot(to[1] - from[1]);
                let steps = (length / NEAR).ceil().max(1.0);
                for step in 0..steps as u32 {
                    let part = f64::from(step) / steps;
                    mark([0, 1].map(|i| from[i] + part * (to[i] - from[i])));
                }
            }
        }
        busy
    }

    /// Counts electrons and rounds to codes, as the painter's sensor does.
    fn expose(&self, light: &[f32], picture: u64) -> Plane {
        let (width, height) = (self.scene.pinhole.width, self.scene.pinhole.height);
        let camera = &self.scene.camera;
        let mut codes = vec![0_u16; light.len()];
        let rows = codes
            .par_chunks_mut(width)
            .zip(light.par_chunks(width))
            .enumerate();
        rows.for_each(|(y, (codes, light))| {
            let place = picture.wrapping_mul(height as u64).wrapping_add(y as u64);
            let mut noise = PaintedNoise::new(self.scene.seed, CAMERA_STREAM, place);
            for (made, light) in codes.iter_mut().zip(light) {
                *made = code(camera, f64::from(*light), &mut noise);
            }
        });
        if camera.bits == 8 {
            Plane::eight(width, height, codes.iter().map(|&code| code as u8).collect())
        } else {
            Plane::sixteen(width, height, codes)
        }
    }
}

#[cfg(test)]
mod tests;
