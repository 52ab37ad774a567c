//! From `[camera]` of an experiment file to the synthetic camera; what it does not state is assumed and said.
//!
//! ```text
//! noise u at the level L:  W = L / u^2 electrons        instants of an exposure: one for each half pixel of the fastest motion
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `u` | standard deviation of a pixel on the light side | 1 |
//! | `W` | electrons at full scale | 1 |
//!
//! Source: shot noise is that of a count.

use tremolet_clip::painted::clock::PaintedClock;
use tremolet_clip::painted::recipe::PaintedCamera;
use tremolet_clip::traced::medium::Medium;
use tremolet_clip::traced::pinhole::{Pinhole, axis};
use tremolet_clip::traced::surface::Skin;
use tremolet_clip::traced::vector::Vector;
use tremolet_infer::known::materials;
use tremolet_matter::uncertain::Uncertain;
use tremolet_record::experiment::camera::Camera;
use tremolet_record::experiment::file::Experiment;

use crate::error::StudyError;
use crate::filmed::course::{Course, Outer};

/// Pixels of the picture, when none are stated.
const PICTURE: [usize; 2] = [640, 480];
/// Share of the picture's height that the bodies fill at most, when no scale is stated.
const FILLED: f64 = 0.7;
/// Distance of the lens over the height of what it sees, when none is stated.
const FAR: f64 = 20.0;
/// Light of the background, and what a dark body leaves of it, when no contrast is stated.
const LIGHT: f64 = 0.78;
const DARK: f64 = 0.14;
/// Most instants of an exposure.
const INSTANTS: f64 = 16.0;

/// Where the bodies are and what they are made of.
#[derive(Debug, Clone, Copy)]
pub struct Placing {
    centre: Vector,
    axis: Vector,
    liquid: Medium,
}

impl Placing {
    /// A surface in its place.
    #[must_use]
    pub fn skin(&self, surface: Outer) -> Skin {
        let (inside, outside) = if surface.is_bubble {
            (Medium::GAS, self.liquid)
        } else {
            (self.liquid, Medium::GAS)
        };
        Skin {
            meridian: surface.meridian,
            centre: self.centre,
            axis: self.axis,
            inside,
            outside,
        }
    }
}

/// The camera, the clock, the place of the bodies.
#[derive(Debug, Clone)]
pub struct Setting {
    /// Geometry.
    pub pinhole: Pinhole,
    /// Blur, noise, exposure.
    pub camera: PaintedCamera,
    /// Instants of an exposure.
    pub instants: u32,
    /// When frames are taken.
    pub clock: PaintedClock,
    /// Levels of a dark body and of the light behind it.
    pub levels: [f64; 2],
    /// Place and liquid.
    pub placing: Placing,
    /// What had to be taken for granted.
    pub assumptions: Vec<String>,
}

impl Setting {
    /// The camera of an experiment before the bodies of a run.
    ///
    /// # Errors
    /// When the liquid is unknown or out of its range.
    pub fn new(experiment: &Experiment, course: &Course) -> Result<Self, StudyError> {
        let camera = experiment.camera.as_ref();
        let stated =
            |of: fn(&Camera) -> &Option<Uncertain>| camera.and_then(|c| of(c).as_ref()).map(Uncertain::value);
        let mut assumptions = Vec::new();
        let [width, height] = camera
            .and_then(|c| c.picture)
            .map_or(PICTURE, |sides| sides.map(|side| side.round() as usize));
        let ([low, high], wide) = course.extent();
        let scale = stated(|c| &c.scale).unwrap_or_else(|| {
            let scale = (high - low).max(2.0 * wide) / (FILLED * height as f64);
            assumptions.push(format!(
                "no scale is stated: {:.5} mm/px, so that the bodies stay in the picture",
                1e3 * scale
            ));
            scale
        });
        let distance = stated(|c| &c.distance).unwrap_or_else(|| {
            let distance = FAR * height as f64 * scale;
            assumptions.push(format!("no distance of the lens is stated: {distance:.3} m"));
            distance
        });
        let depth = stated(|c| &c.depth).unwrap_or(0.0);
        let pinhole = Pinhole {
            width,
            height,
            scale_m_per_px: scale,
            distance: distance - depth,
            opening: None,
        };
        let clock = clock(stated(|c| &c.capture_rate), course, &mut assumptions);
        let levels = levels(stated(|c| &c.contrast));
        let seen = sensor(camera, levels);
        let moved = course.fastest() * seen.exposure / scale;
        assumptions.extend(left_out(camera));
        let middle = Placing {
            centre: [0.0, 0.0, distance],
            axis: axis(stated(|c| &c.axis_angle).unwrap_or(0.0), 0.0),
            liquid: liquid(experiment, &mut assumptions)?,
        };
        Ok(Self {
            pinhole,
            instants: (2.0 * moved).ceil().clamp(1.0, INSTANTS) as u32,
            camera: seen,
            clock,
            levels,
            placing: middle,
            assumptions,
        })
    }
}

/// Frames at the stated rate, or as many as the run has instants, from its first instant to its last.
fn clock(rate: Option<f64>, course: &Course, assumptions: &mut Vec<String>) -> PaintedClock {
    let ([first, last], count) = course.span();
    let rate_fps = rate.unwrap_or_else(|| {
        let rate = if count > 1 {
            (count - 1) as f64 / (last - first)
        } else {
            1.0
        };
        assumptions.push(format!(
            "no capture rate is stated: {rate:.2} frames per second, as the run was told"
        ));
        rate
    });
    let frames = ((last - first) * rate_fps + 1e-6).floor() as u64 + 1;
    PaintedClock {
        start: first,
        ..PaintedClock::even(rate_fps, frames)
    }
}

/// Levels of a dark body and of the light behind it by the contrast of the edge.
fn levels(contrast: Option<f64>) -> [f64; 2] {
    let Some(contrast) = contrast else {
        return [DARK, LIGHT];
    };
    let light = LIGHT.max(contrast + 0.02).min(1.0);
    [(light - contrast).max(0.0), light]
}

fn sensor(camera: Option<&Camera>, [dark, light]: [f64; 2]) -> PaintedCamera {
    let mut made = PaintedCamera::default();
    let Some(camera) = camera else {
        return made;
    };
    let value = |stated: &Option<Uncertain>| stated.as_ref().map(Uncertain::value);
    made.blur_px = value(&camera.blur).unwrap_or(made.blur_px);
    made.exposure = value(&camera.exposure).unwrap_or(0.0);
    if let Some(noise) = value(&camera.noise) {
        let well = light / (noise * noise);
        made.full_well = Some(well);
        // What shot noise does not make of the noise on the dark side is read noise.
        let rest = value(&camera.noise_dark).map(|noise| noise * noise - dark / well);
        made.read_noise = rest.unwrap_or(0.0).max(0.0).sqrt();
    }
    made
}

/// What the file states and the camera does not do.
fn left_out(camera: Option<&Camera>) -> Vec<String> {
    let Some(camera) = camera else {
        return Vec::new();
    };
    let rolls = camera
        .readout_time
        .as_ref()
        .is_some_and(|time| time.value() > 0.0);
    let turned = camera.roll.as_ref().is_some_and(|roll| roll.value() != 0.0);
    [
        (
            rolls,
            "the rolling shutter is not filmed: all rows are read at once",
        ),
        (turned, "the roll of the camera is not filmed: it stands upright"),
        (
            camera.lens.is_some(),
            "the distortion of the lens is not filmed: it is a perfect one",
        ),
    ]
    .into_iter()
    .filter(|(is, _)| *is)
    .map(|(_, text)| text.to_owned())
    .collect()
}

fn liquid(experiment: &Experiment, assumptions: &mut Vec<String>) -> Result<Medium, StudyError> {
    let index = materials(experiment)?
        .liquid
        .refractive_index
        .map(|index| index.value.value());
    if index.is_none() {
        assumptions.push(format!(
            "no refractive index of the liquid is known: {}, that of water",
            Medium::WATER.index
        ));
    }
    Ok(Medium {
        index: index.unwrap_or(Medium::WATER.index),
        absorption: 0.0,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_keep_the_contrast_within_the_range() {
        assert_eq!(levels(None), [DARK, LIGHT]);
        for contrast in [0.1, 0.5, 0.9, 1.0] {
            let [dark, light] = levels(Some(contrast));
            assert!(dark >= 0.0 && light <= 1.0 && (light - dark - contrast).abs() < 1e-12);
        }
    }
}
