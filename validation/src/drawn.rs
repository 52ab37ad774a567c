//! One run of the coverage case: everything about it drawn from a seed, painted, and stated as a user would.
//!
//! `a_n(t) = A_n exp(-g_n t) cos(p_n + w_n (t + k_n A_n^2 (1 - exp(-2 g_n t)) / (2 g_n)))` with the exact roots in air. What the program
//! takes as open is drawn from the distribution that it states: the shift `k` of large swings (mean and deviation of the theory), the
//! shift of the edge by a blur of another shape (a tenth of `s^2 / (2 R)`). With inputs drawn, so are scale, density, temperature of the gas and depth.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `A_n`, `p_n` | amplitude over R, phase | 1, rad |
//! | `w_n`, `g_n`, `k_n` | angular frequency, decay rate, shift by size | rad/s, 1/s, 1 |
//! | `s`, `R` | blur with pixel, radius | px |

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use tremolet_clip::painted::body::{PaintedBody, Path};
use tremolet_clip::painted::noise::PaintedNoise;
use tremolet_clip::painted::recipe::{Dust, Mark, PaintedScene, Recipe, Silhouette};
use tremolet_clip::painted::space::Ripple;
use tremolet_numerics::statistics::normal_quantile;
use tremolet_theory::modes::host::Root;

use crate::case::Failure;
use crate::ringing::{Ringing, Stated};

/// What is special about a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Special {
    /// Nothing.
    Plain,
    /// A wide lamp, its half angle stated.
    Lamp,
    /// A lens at a distance, the body off the plane of the scale.
    Depth,
    /// The axis leans out of the image plane.
    Tilt,
    /// Modes with an azimuth swing too.
    Order,
    /// The same, and the pattern turns slowly.
    Rotation,
    /// Rows are read one after the other, as stated.
    Shutter,
    /// The camera shakes before fixed marks.
    Shake,
    /// Coded as H.264 of a common camera.
    Coded,
}

impl Special {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Plain => "nothing special",
            Self::Lamp => "wide lamp",
            Self::Depth => "depth",
            Self::Tilt => "tilted axis",
            Self::Order => "modes of order m",
            Self::Rotation => "slow rotation",
            Self::Shutter => "rolling shutter",
            Self::Shake => "shake",
            Self::Coded => "H.264",
        }
    }
}

/// What every run draws from a range, as the place in the range from 0 to 1.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Places {
    /// Radius in the image, 36 to 64 px.
    pub size: f64,
    /// Ohnesorge number, 0.004 to 0.02.
    pub liquid: f64,
    /// Frames in a swing of degree 2, 14 to 40.
    pub rate: f64,
    /// Electrons at full scale, 20 000 down to 1 500.
    pub noise: f64,
    /// Level of the lamp, 0.45 to 0.85 of full scale.
    pub light: f64,
    /// Amplitude of degree 2, 0.004 to 0.03 of R.
    pub amplitude: f64,
    /// Way of the body in the clip, 0 to 8 px.
    pub drift: f64,
}

impl Places {
    /// Names and places.
    pub fn named(&self) -> [(&'static str, f64); 7] {
        [
            ("size", self.size),
            ("Ohnesorge number", self.liquid),
            ("frames in a swing", self.rate),
            ("noise", self.noise),
            ("light", self.light),
            ("amplitude", self.amplitude),
            ("drift", self.drift),
        ]
    }
}

/// A run.
pub struct Drawn {
    /// What is special.
    pub special: Special,
    /// Places in the ranges.
    pub places: Places,
    /// What is painted.
    pub recipe: Recipe,
    /// The experiment file.
    pub experiment: String,
    /// Surface tension (N/m), kinematic viscosity (m^2/s), radius (m): the truth.
    pub truths: [f64; 3],
}

/// Frames of a clip.
const FRAMES: u64 = 120;
/// Expected shift by size of degrees 2 to 4 and its standard deviation \[TsamopoulosBrown1983\].
const SHIFTS: [f64; 3] = [-0.585, -0.989, -1.399];
/// Standard uncertainties where inputs are drawn: scale and density relative, temperature of the gas K, depth over distance.
const DOUBTS: [f64; 4] = [3e-3, 1e-3, 2.0, 2e-3];
/// Relative doubt of the shift of a curved edge.
const EDGE_SHAPE: f64 = 0.1;

/// Draws a run; inputs are stated exactly, or drawn from what is stated.
///
/// # Errors
/// When theory has no root.
pub fn draw(seed: u64, special: Special, exact: bool, clip: &str) -> Result<Drawn, Failure> {
    let mut dice = PaintedNoise::new(seed, 0xC0FE, 2);
    let places = Places {
        size: dice.even(),
        liquid: dice.even(),
        rate: dice.even(),
        noise: dice.even(),
        light: dice.even(),
        amplitude: dice.even(),
        drift: dice.even(),
    };
    let doubts = if exact { [1e-7; 4] } else { DOUBTS };
    let radius_px = 36.0 + 28.0 * places.size;
    let (stated_scale, stated_density) = (dice.between(5e-5, 2e-4), dice.between(950.0, 1150.0));
    let scale = stated_scale * (1.0 + doubts[0] * evenly_normal(seed));
    let density = stated_density * (1.0 + doubts[1] * dice.gauss());
    let warmth = if exact { 0.0 } else { doubts[2] * dice.gauss() };
    let (radius, tension) = (scale * radius_px, dice.between(0.03, 0.073));
    let viscosity = (0.004 + 0.016 * places.liquid) * (density * tension * radius).sqrt();
    let swing = std::f64::consts::TAU * (density * radius.powi(3) / (8.0 * tension)).sqrt();
    let rate_fps = ((14.0 + 26.0 * places.rate) / swing * 1e3).round() / 1e3;
    let mut drop = Ringing::in_air(radius, density, tension, viscosity, scale, rate_fps);
    // Dry air at constant pressure: density as 1/T, viscosity as T^0.7.
    let hot: f64 = (293.15 + warmth) / 293.15;
    drop.pair.host_density /= hot;
    drop.pair.host_viscosity *= hot.powf(0.7);
    let largest = 0.004 * 7.5_f64.powf(places.amplitude);
    drop.swings = [1.0, 0.6, 0.3]
        .map(|share| [largest * share * dice.between(0.7, 1.3), dice.between(0.0, 6.2)])
        .to_vec();
    let mut stated = Stated {
        scale: [stated_scale, doubts[0] * stated_scale],
        density: [stated_density, doubts[1] * stated_density],
        ..Stated::exactly(&drop, clip)
    }
    .experiment();
    if !exact {
        stated = stated.replace("\"20 degC\"", &format!("\"20 +- {} degC\"", doubts[2]));
    }
    let side = (2.0 * (1.15 * radius_px + 12.0) / 16.0).ceil() as usize * 16;
    let mut recipe = Recipe::silhouette(side, side, FRAMES, rate_fps, scale);
    look(&mut recipe, &places, seed, &mut dice);
    let mut body = body(&drop, &recipe, places.drift * 8.0, &mut dice)?;
    let blur = (recipe.camera.blur_px.powi(2) + 1.0 / 12.0).sqrt();
    body.radius_px += EDGE_SHAPE * blur * blur / (2.0 * radius_px) * dice.gauss();
    let of = Scene {
        drop: &drop,
        doubts,
        dice: &mut dice,
    };
    let more = of.make_special(special, &mut recipe, &mut body)?;
    recipe.bodies = vec![body];
    Ok(Drawn {
        special,
        places,
        recipe,
        experiment: stated.replace("[camera]\n", &format!("[camera]\n{more}")),
        truths: [tension, drop.kinematic_viscosity(), radius],
    })
}

/// A normal number of unit variance for each seed, spread evenly over the distribution by steps of the plastic number: the error of
/// the scale rules the intervals of runs with drawn inputs, whose share should not hang on the luck of the draw.
fn evenly_normal(seed: u64) -> f64 {
    let place = (seed as f64 * 0.754_877_666_246_693).fract();
    normal_quantile(place.clamp(1e-6, 1.0 - 1e-6))
}

/// Lamp, body's look and camera.
fn look(recipe: &mut Recipe, places: &Places, seed: u64, dice: &mut PaintedNoise) {
    recipe.seed = seed;
    recipe.lamp.level = 0.45 + 0.4 * places.light;
    recipe.lamp.falloff = dice.between(0.0, 0.2);
    recipe.lamp.slope = [dice.between(-0.08, 0.08), dice.between(-0.08, 0.08)];
    recipe.camera.full_well = Some(20_000.0 * 13.3_f64.powf(-places.noise));
    recipe.camera.blur_px = dice.between(0.9, 1.9);
    recipe.scene = PaintedScene::Silhouette(Silhouette {
        dark: dice.between(0.05, 0.35),
        ..Silhouette::default()
    });
    recipe.dust = Dust::default();
}

/// The course of one line of unit size: `exp(-g t) cos(...)`.
fn course(root: Root, [amplitude, phase]: [f64; 2], shift: f64, time: f64) -> f64 {
    let g = root.decay;
    let stretched = time + shift * amplitude * amplitude * (1.0 - (-2.0 * g * time).exp()) / (2.0 * g);
    (-g * time).exp() * (root.angular_frequency * stretched + phase).cos()
}

fn body(drop: &Ringing, recipe: &Recipe, way: f64, dice: &mut PaintedNoise) -> Result<PaintedBody, Failure> {
    let (roots, swings) = (drop.roots()?, drop.swings.clone());
    let shifts = SHIFTS.map(|k| k + k.abs() * dice.gauss());
    let motion = move |time: f64| {
        let mut all = vec![0.0; 2];
        all.extend((0..roots.len()).map(|n| swings[n][0] * course(roots[n], swings[n], shifts[n], time)));
        all
    };
    let span = FRAMES as f64 / drop.rate_fps;
    let angle = dice.between(0.0, std::f64::consts::TAU);
    let (sin, cos) = angle.sin_cos();
    let middle = recipe.width as f64 / 2.0 - 0.5;
    let from = [
        middle + dice.even() - way * cos / 2.0,
        middle + dice.even() - way * sin / 2.0,
    ];
    let path = move |time: f64| {
        [
            from[0] + way * cos * time / span,
            from[1] + way * sin * time / span,
        ]
    };
    let body = PaintedBody::moving(drop.radius_px(), from, motion).along(path);
    Ok(body.turned(dice.between(-0.6, 0.6)))
}

/// What a special run needs.
struct Scene<'a> {
    drop: &'a Ringing,
    doubts: [f64; 4],
    dice: &'a mut PaintedNoise,
}

impl Scene<'_> {
    /// Changes recipe and body, and gives further lines of `[camera]`.
    fn make_special(
        self,
        special: Special,
        recipe: &mut Recipe,
        body: &mut PaintedBody,
    ) -> Result<String, Failure> {
        let Self { drop, doubts, dice } = self;
        Ok(match special {
            Special::Plain | Special::Coded => String::new(),
            Special::Lamp => {
                let half_angle = dice.between(2.0, 10.0_f64);
                if let PaintedScene::Silhouette(look) = &mut recipe.scene {
                    look.lamp_half_angle = half_angle.to_radians();
                    look.index = dice.between(1.33, 1.45);
                }
                format!("lamp_half_angle = \"{half_angle} +- 0.01 deg\"\n")
            }
            Special::Depth => {
                let distance = drop.pair.radius * dice.between(12.0, 40.0);
                let stated = distance * dice.between(-0.02, 0.02);
                let depth = stated + doubts[3] * distance * dice.gauss();
                recipe.distance_m = Some(distance);
                let seen = distance + depth;
                body.space.distance_m = Some(Arc::new(move |_| seen));
                format!(
                    "distance = \"{} +- {} mm\"\ndepth = \"{} +- {} mm\"\n",
                    1e3 * distance,
                    1e-3 * distance,
                    1e3 * stated,
                    1e3 * doubts[3] * distance
                )
            }
            Special::Tilt => {
                body.space.tilt = dice.between(0.05, 0.35) * if dice.even() < 0.5 { -1.0 } else { 1.0 };
                String::new()
            }
            Special::Order | Special::Rotation => {
                if special == Special::Rotation {
                    let span = FRAMES as f64 / drop.rate_fps;
                    body.space.spin = dice.between(0.1, 0.6) / span;
                }
                body.space.pattern = Some(Arc::new(pattern(drop, dice)?));
                String::new()
            }
            Special::Shutter => {
                recipe.camera.readout = dice.between(0.3, 0.95) / drop.rate_fps;
                format!("readout_time = \"{} ms\"\n", 1e3 * recipe.camera.readout)
            }
            Special::Shake => {
                shake(recipe, drop, dice);
                String::new()
            }
        })
    }
}

/// Modes with an azimuth of degrees 2 and 3, by the roots of their degrees.
fn pattern(
    drop: &Ringing,
    dice: &mut PaintedNoise,
) -> Result<impl Fn(f64) -> Vec<Ripple> + Send + Sync + 'static, Failure> {
    let roots = drop.roots()?;
    let largest = drop.swings[0][0];
    let mut one = |degree: u32, order: u32| {
        let amplitude = largest * dice.between(0.1, 0.5);
        (
            degree,
            order,
            amplitude,
            dice.between(0.0, 6.2),
            dice.between(0.0, 6.2),
        )
    };
    let all = [one(2, 1), one(2, 2), one(3, 1)];
    Ok(move |time: f64| {
        all.map(|(degree, order, amplitude, azimuth, phase)| Ripple {
            degree,
            order,
            amplitude: amplitude * course(roots[degree as usize - 2], [amplitude, phase], 0.0, time),
            phase: azimuth,
        })
        .to_vec()
    })
}

/// A hand-held camera before dots in the corners.
fn shake(recipe: &mut Recipe, drop: &Ringing, dice: &mut PaintedNoise) {
    let (size, span) = (dice.between(0.2, 1.5), FRAMES as f64 / drop.rate_fps);
    let lines: Vec<[f64; 4]> = (0..4)
        .map(|_| {
            let cycles = dice.between(1.0, 25.0);
            [
                size / 2.0,
                std::f64::consts::TAU * cycles / span,
                dice.between(0.0, 6.2),
                dice.between(0.0, 6.2),
            ]
        })
        .collect();
    let path: Path = Arc::new(move |time| {
        let along = |k: usize| {
            lines
                .iter()
                .map(|line| line[0] * (line[1] * time + line[2 + k]).sin())
                .sum::<f64>()
        };
        [along(0), along(1)]
    });
    recipe.handling.shake = Some(path);
    let far = recipe.width as f64 - 8.0;
    recipe.marks = [[7.0, 7.0], [far, 7.0], [7.0, far], [far, far]]
        .map(|centre| Mark::Dot {
            centre,
            radius_px: 3.5,
            light: 0.3,
        })
        .to_vec();
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_of_the_scale_are_normal_and_few_runs_show_it() {
        for count in [50_u64, 600] {
            let all: Vec<f64> = (1..=count).map(evenly_normal).collect();
            let n = count as f64;
            let mean = all.iter().sum::<f64>() / n;
            let variance = all.iter().map(|x| x * x).sum::<f64>() / n;
            let beyond = all.iter().filter(|x| x.abs() > 1.96).count() as f64 / n;
            assert!(
                mean.abs() < 0.05 && (variance - 1.0).abs() < 0.1,
                "{mean} {variance}"
            );
            assert!((beyond - 0.05).abs() < 0.015, "{beyond}");
        }
    }
}
