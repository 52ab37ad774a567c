//! Paints the frames of a recipe, one by one or in any order.
//!
//! Light is put together in fractions of full scale: background, bodies in order, what stands in front, flicker; then
//! the camera counts electrons, adds read noise and rounds to codes:
//!
//! `code = round(M min(1, max(0, (Poisson(W L) + read) / W)))`, `L` the light, `W` the full well, `M` the largest code.
//!
//! A bright body's dark rim is a stack of shrunk outlines, each filled with its share, so that the lens's blur acts on the
//! rim exactly as on the outline. The same frame comes out whatever was painted before.

use crate::error::ClipError;
use crate::frame::{Frame, Plane};
use crate::painted::background::{Pyramid, clutter, lamp_field};
use crate::painted::body::Pose;
use crate::painted::clock::Shot;
use crate::painted::coverage::{Coverage, Kernel};
use crate::painted::glass::{Lens, Rim};
use crate::painted::noise::{GAUSS_FROM, PaintedNoise};
use crate::painted::outline::{Ring, outline};
use crate::painted::recipe::{Bright, PaintedCamera, PaintedScene, Recipe, Silhouette};
use crate::painted::truth::{TrueFrame, Truth};
use crate::painted::veil::Veil;
use crate::source::{ClipInfo, FrameSource};

mod check;

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

/// Stream of random numbers for the camera's noise.
const CAMERA_STREAM: u64 = 0xCA3E;

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
        let (background, wall) = match &recipe.scene {
            PaintedScene::Silhouette(_) => (lamp.clone(), None),
            PaintedScene::Bright(bright) => {
                let wall = clutter(bright, &recipe.lamp, width, height, recipe.seed);
                let pyramid = Pyramid::new(width, height, &wall);
                (wall, Some((pyramid, Lens::new(bright.index))))
            }
        };
        let shots = recipe.clock.shots(recipe.seed);
        Ok(Self {
            info: info(&recipe, shots.len()),
            next: 0,
            shots,
            veil: Veil::new(&recipe, &kernel),
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
        let frame = |shot: &Shot| TrueFrame {
            time: shot.time,
            stamp: shot.stamp.seconds(),
            bodies: self.recipe.bodies.iter().map(|body| body.at(shot.time)).collect(),
        };
        Truth {
            scale_m_per_px: scale,
            distance_m: self.recipe.distance_m,
            radius_m: radius_px.iter().map(|r| r * scale).collect(),
            radius_px,
            frames: self.shots.iter().map(frame).collect(),
        }
    }

    /// Paints frame `index` of the clip, or gives `None` past its end.
    pub fn paint(&mut self, index: u64) -> Option<Frame> {
        let shot = *self.shots.get(usize::try_from(index).ok()?)?;
        self.light.copy_from_slice(&self.background);
        let poses: Vec<Pose> = self
            .recipe
            .bodies
            .iter()
            .filter_map(|body| body.at(shot.time))
            .collect();
        for pose in &poses {
            self.add_body(pose);
        }
        if let Some(veil) = &self.veil {
            let fore = veil.keep.iter().zip(&veil.add).zip(&self.lamp);
            for (light, ((keep, add), lamp)) in self.light.iter_mut().zip(fore) {
                *light = *light * keep + add * lamp;
            }
        }
        let flicker = self.recipe.lamp.flicker_at(shot.time);
        Some(Frame {
            index,
            stamp: Some(shot.stamp),
            plane: self.expose(flicker, shot.picture),
        })
    }

    fn add_body(&mut self, pose: &Pose) {
        let distance = self
            .recipe
            .distance_m
            .map(|metres| metres / self.recipe.scale_m_per_px);
        let ring = outline(pose, distance, self.recipe.scale_m_per_px, self.kernel.spacing());
        self.cover
            .fill(std::slice::from_ref(&(1.0, ring.clone())), &self.kernel);
        match self.recipe.scene.clone() {
            PaintedScene::Silhouette(look) => self.add_silhouette(pose, &ring, &look),
            PaintedScene::Bright(look) => self.add_bright(pose, &ring, &look),
        }
    }

    fn add_silhouette(&mut self, pose: &Pose, ring: &Ring, look: &Silhouette) {
        let width = self.recipe.width;
        let rim = Rim::new(ring, pose.centre);
        let reach = rim.largest * look.middle_size * 1.2;
        for y in self.cover.rows() {
            let away_y = y as f64 - pose.centre[1];
            let near = (reach * reach - away_y * away_y).max(0.0).sqrt();
            let lamp = &self.lamp[y * width..][..width];
            let light = &mut self.light[y * width..][..width];
            for (x, ((light, &share), lamp)) in light.iter_mut().zip(self.cover.row(y)).zip(lamp).enumerate()
            {
                let away_x = x as f64 - pose.centre[0];
                let mut through = look.dark;
                if away_x.abs() < near {
                    let out = rim.share(away_x, away_y) / look.middle_size;
                    through += (look.middle - look.dark) * soft_disc(out);
                }
                *light = *light * (1.0 - share) + share * through as f32 * lamp;
            }
        }
    }

    fn add_bright(&mut self, pose: &Pose, ring: &Ring, look: &Bright) {
        let rim = Rim::new(ring, pose.centre);
        let rings = rim_stack(look, ring, pose, self.recipe.camera.blur_px);
        self.inside.fill(&rings, &self.kernel);
        let Some((wall, lens)) = &self.wall else { return };
        let width = self.recipe.width;
        for y in self.cover.rows() {
            let away_y = y as f64 - pose.centre[1];
            let light = &mut self.light[y * width..][..width];
            let shares = self.cover.row(y).iter().zip(self.inside.row(y));
            for (x, (light, (&share, &lit))) in light.iter_mut().zip(shares).enumerate() {
                if share < 1e-7 {
                    continue;
                }
                let away_x = x as f64 - pose.centre[0];
                let out = rim.share(away_x, away_y);
                let (height, halvings) = lens.at(out);
                let stretch = height / out.max(1e-6);
                let seen = wall.at(
                    pose.centre[0] + stretch * away_x,
                    pose.centre[1] + stretch * away_y,
                    halvings,
                );
                // The upper half looks at the brighter ceiling, the lower half at the floor.
                let shade = 1.0 - 0.25 * away_y / pose.radius_px;
                *light = *light * (1.0 - share) + lit * (0.75 * seen + (look.haze * shade) as f32);
            }
        }
        self.add_glints(pose, look);
    }

    fn add_glints(&mut self, pose: &Pose, look: &Bright) {
        let (width, height) = (self.recipe.width, self.recipe.height);
        for glint in &look.glints {
            let size = (glint.size * pose.radius_px).hypot(self.recipe.camera.blur_px);
            let place = [0, 1].map(|i| pose.centre[i] + glint.at[i] * pose.radius_px);
            let around = |centre: f64, size_px: usize| {
                let low = (centre - 5.0 * size).ceil().clamp(0.0, size_px as f64) as usize;
                let high = (centre + 5.0 * size).ceil().clamp(0.0, size_px as f64) as usize;
                low..high
            };
            for y in around(place[1], height) {
                for x in around(place[0], width) {
                    let square = (x as f64 - place[0]).powi(2) + (y as f64 - place[1]).powi(2);
                    self.light[y * width + x] += (glint.light * (-0.5 * square / (size * size)).exp()) as f32;
                }
            }
        }
    }

    /// Counts electrons and rounds to codes.
    fn expose(&self, flicker: f64, picture: u64) -> Plane {
        let (width, height) = (self.recipe.width, self.recipe.height);
        let camera = &self.recipe.camera;
        let mut codes = Vec::with_capacity(width * height);
        for (y, row) in self.light.chunks_exact(width).enumerate() {
            let place = picture.wrapping_mul(height as u64).wrapping_add(y as u64);
            let mut noise = PaintedNoise::new(self.recipe.seed, CAMERA_STREAM, place);
            codes.extend(
                row.iter()
                    .map(|&light| code(camera, f64::from(light) * flicker, &mut noise)),
            );
        }
        if camera.bits == 8 {
            Plane::eight(width, height, codes.iter().map(|&code| code as u8).collect())
        } else {
            Plane::sixteen(width, height, codes)
        }
    }
}

#[inline]
fn code(camera: &PaintedCamera, light: f64, noise: &mut PaintedNoise) -> u16 {
    // A saturated well holds no more electrons, so its noise ends there too.
    let light = light.clamp(0.0, 1.0);
    let seen = match camera.full_well {
        // Many electrons: the count and the reading are Gaussian both, so one draw serves the two.
        Some(well) if light * well >= GAUSS_FROM => {
            light + (light / well + camera.read_noise * camera.read_noise).sqrt() * noise.gauss()
        }
        Some(well) => noise.electrons(light * well) / well + camera.read_noise * noise.gauss(),
        None if camera.read_noise > 0.0 => light + camera.read_noise * noise.gauss(),
        None => light,
    };
    (seen.clamp(0.0, 1.0) * camera.largest_code()).round() as u16
}

/// 1 inside, 0 from 1.15 on, smooth between: the lamp's image in the body.
fn soft_disc(out: f64) -> f64 {
    let part = ((1.15 - out) / 0.4).clamp(0.0, 1.0);
    part * part * (3.0 - 2.0 * part)
}

/// The rim from the outline inward: rings that together fill the inside with light rising from `rim_light` to 1.
fn rim_stack(look: &Bright, ring: &Ring, pose: &Pose, blur: f64) -> Vec<(f64, Ring)> {
    let steps = (look.rim_width * pose.radius_px / (1.6 * blur)).ceil().max(1.0) as usize;
    let share = (1.0 - look.rim_light) / steps as f64;
    let mut rings = vec![(look.rim_light, ring.clone())];
    rings.extend((0..steps).map(|k| {
        let depth = look.rim_width * ease_back((k as f64 + 0.5) / steps as f64);
        (share, ring.shrunk(pose.centre, 1.0 - depth))
    }));
    rings
}

/// Where the smooth step `3 t^2 - 2 t^3` reaches `level`: `1/2 - sin(asin(1 - 2 level) / 3)`.
fn ease_back(level: f64) -> f64 {
    0.5 - ((1.0 - 2.0 * level).asin() / 3.0).sin()
}

#[cfg(test)]
mod tests;
