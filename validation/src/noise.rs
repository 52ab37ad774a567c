//! Noise drawn anew on pictures that were painted once: many realisations of one clip for the price of one painting.
//!
//! `code = round(255 min(1, max(0, L + sqrt(L / W + r^2) g)))`, with `g` normal: what the painter's 8-bit camera does where many
//! electrons are counted. Normal numbers come from a table of 2^16 quantiles of unit variance (the largest is 4.3), four to a draw.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `L` | light of a pixel without noise | full scale |
//! | `W` | full well | electrons |
//! | `r` | read noise | full scale |

use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;

use tremolet_clip::frame::Levels;
use tremolet_clip::painted::painter::Painter;
use tremolet_clip::painted::recipe::{PaintedCamera, Recipe};
use tremolet_numerics::random::Generator;
use tremolet_numerics::statistics::normal_quantile;

use crate::case::Failure;

/// Codes of the noise-free pictures.
const FULL: f64 = 65_535.0;

/// A clip without noise, and the camera that is to add it.
pub struct Clean {
    width: usize,
    height: usize,
    rate_fps: f64,
    frames: Vec<Vec<u16>>,
    /// Standard deviation of the noise at each code, in 8-bit codes.
    deviations: Vec<f32>,
    normals: Vec<f32>,
}

impl Clean {
    /// Paints the clip of a recipe without the noise of its camera, which has many electrons and 8 bits.
    ///
    /// # Errors
    /// When the recipe cannot be painted.
    pub fn paint(recipe: Recipe) -> Result<Self, Failure> {
        let camera = recipe.camera.clone();
        let (width, height, rate_fps) = (recipe.width, recipe.height, recipe.clock.rate_fps);
        let mut painter = Painter::new(Recipe {
            camera: PaintedCamera {
                full_well: None,
                read_noise: 0.0,
                bits: 16,
                ..camera.clone()
            },
            ..recipe
        })?;
        let mut frames = Vec::new();
        while let Some(frame) = painter.paint(frames.len() as u64) {
            if let Levels::Sixteen(levels) = frame.plane.levels {
                frames.push(levels);
            }
        }
        let shot = camera.full_well.map_or(0.0, |well| 1.0 / well);
        let deviation = |code: u16| {
            let light = f64::from(code) / FULL;
            (255.0 * (light * shot + camera.read_noise.powi(2)).sqrt()) as f32
        };
        Ok(Self {
            width,
            height,
            rate_fps,
            frames,
            deviations: (0..=u16::MAX).map(deviation).collect(),
            normals: normals(),
        })
    }

    /// Writes one realisation as an uncompressed film.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn realise(&self, seed: u64, path: &Path) -> Result<(), Failure> {
        let mut draw = Generator::new(seed);
        let mut codes = vec![0_u8; self.width * self.height];
        let mut film = Uncompressed::create(path, [self.width, self.height], self.rate_fps)?;
        for frame in &self.frames {
            self.expose(frame, &mut draw, &mut codes);
            film.push(&codes)?;
        }
        film.finish()
    }

    fn expose(&self, frame: &[u16], draw: &mut Generator, codes: &mut [u8]) {
        for (light, out) in frame.chunks(4).zip(codes.chunks_mut(4)) {
            let bits = draw.bits();
            for (k, (light, out)) in light.iter().zip(out).enumerate() {
                let normal = self.normals[(bits >> (16 * k)) as usize & 0xFFFF];
                let level =
                    f32::from(*light) * (255.0 / 65_535.0) + self.deviations[usize::from(*light)] * normal;
                // The cast cuts at nil and 255.
                *out = (level + 0.5) as u8;
            }
        }
    }
}

/// Writes an uncompressed grey film (YUV4MPEG2).
struct Uncompressed<'a> {
    path: &'a Path,
    out: BufWriter<File>,
}

impl<'a> Uncompressed<'a> {
    /// Begins a film of this width and height.
    fn create(path: &'a Path, [width, height]: [usize; 2], rate_fps: f64) -> Result<Self, Failure> {
        let file = File::create(path).map_err(Failure::file(path))?;
        let mut film = Self {
            path,
            out: BufWriter::new(file),
        };
        let rate = (1000.0 * rate_fps).round();
        film.write(format!("YUV4MPEG2 W{width} H{height} F{rate}:1000 Ip Cmono\n").as_bytes())?;
        Ok(film)
    }

    fn push(&mut self, codes: &[u8]) -> Result<(), Failure> {
        self.write(b"FRAME\n")?;
        self.write(codes)
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), Failure> {
        self.out.write_all(bytes).map_err(Failure::file(self.path))
    }

    fn finish(mut self) -> Result<(), Failure> {
        self.out.flush().map_err(Failure::file(self.path))
    }
}

/// Paints an 8-bit recipe, noise and all, as an uncompressed film.
///
/// # Errors
/// When it cannot be painted or written.
pub fn film(recipe: Recipe, path: &Path) -> Result<(), Failure> {
    let mut film = Uncompressed::create(path, [recipe.width, recipe.height], recipe.clock.rate_fps)?;
    let mut painter = Painter::new(recipe)?;
    let mut index = 0;
    while let Some(frame) = painter.paint(index) {
        if let Levels::Eight(codes) = &frame.plane.levels {
            film.push(codes)?;
        }
        index += 1;
    }
    film.finish()
}

/// Quantiles of the normal distribution, evenly in probability, scaled to unit variance.
fn normals() -> Vec<f32> {
    let count = 1 << 16;
    let quantiles: Vec<f64> = (0..count)
        .map(|k| normal_quantile((f64::from(k) + 0.5) / f64::from(count)))
        .collect();
    let variance = quantiles.iter().map(|q| q * q).sum::<f64>() / f64::from(count);
    quantiles.iter().map(|q| (q / variance.sqrt()) as f32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A lamp without a body: mean and variance of the codes are those of the formula, rounding's 1/12 included.
    #[test]
    fn noise_has_the_variance_of_the_camera() {
        let mut recipe = Recipe::silhouette(64, 64, 8, 50.0, 1e-4);
        (recipe.lamp.falloff, recipe.lamp.slope, recipe.lamp.level) = (0.0, [0.0; 2], 0.6);
        let clean = Clean::paint(recipe).expect("painted");
        let (mut draw, mut codes) = (Generator::new(3), vec![0; 64 * 64]);
        let mut all = Vec::new();
        for frame in &clean.frames {
            clean.expose(frame, &mut draw, &mut codes);
            all.extend(codes.iter().map(|code| f64::from(*code)));
        }
        let n = all.len() as f64;
        let mean = all.iter().sum::<f64>() / n;
        let variance = all.iter().map(|code| (code - mean).powi(2)).sum::<f64>() / n;
        let expected = 255.0_f64.powi(2) * 0.6 / 10_000.0 + 0.25 + 1.0 / 12.0;
        assert!((mean - 153.0).abs() < 4.0 * (expected / n).sqrt(), "{mean}");
        assert!(
            (variance / expected - 1.0).abs() < 4.0 * (2.0 / n).sqrt(),
            "{variance} {expected}"
        );
    }

    #[test]
    fn quantiles_have_unit_variance_and_no_mean() {
        let all = normals();
        let mean = all.iter().map(|q| f64::from(*q)).sum::<f64>() / all.len() as f64;
        assert!(
            mean.abs() < 1e-6 && all[0] < -4.2 && all[65_535] > 4.2,
            "{mean} {}",
            all[0]
        );
    }
}
