//! The sensor: electrons counted, read and rounded to codes.

use crate::frame::Plane;
use crate::painted::noise::{GAUSS_FROM, PaintedNoise};
use crate::painted::painter::Painter;
use crate::painted::recipe::PaintedCamera;

/// Stream of random numbers for the camera's noise.
pub(crate) const CAMERA_STREAM: u64 = 0xCA3E;

impl Painter {
    /// Counts electrons and rounds to codes; `strength` is the factor of the light in each row.
    pub(super) fn expose(&self, strength: impl Fn(usize) -> f64, picture: u64) -> Plane {
        let (width, height) = (self.recipe.width, self.recipe.height);
        let camera = &self.recipe.camera;
        let mut codes = Vec::with_capacity(width * height);
        for (y, row) in self.light.chunks_exact(width).enumerate() {
            let place = picture.wrapping_mul(height as u64).wrapping_add(y as u64);
            let mut noise = PaintedNoise::new(self.recipe.seed, CAMERA_STREAM, place);
            let strength = strength(y);
            codes.extend(
                row.iter()
                    .map(|&light| code(camera, f64::from(light) * strength, &mut noise)),
            );
        }
        if camera.bits == 8 {
            Plane::eight(width, height, codes.iter().map(|&code| code as u8).collect())
        } else {
            Plane::sixteen(width, height, codes)
        }
    }
}

/// The code of a pixel that gets this light.
#[inline]
pub(crate) fn code(camera: &PaintedCamera, light: f64, noise: &mut PaintedNoise) -> u16 {
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
