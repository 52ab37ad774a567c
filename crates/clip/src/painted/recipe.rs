//! What to paint: one plain description of scene, bodies, lamp, camera and clock.
//!
//! Levels of light are fractions of the camera's full scale (1 is the largest code, where the sensor saturates).
//! Places are in pixels: `x` right, `y` down, the origin at the centre of the top-left pixel.
//!
//! The defaults are those of an ordinary laboratory clip: a lamp at 0.78 of full scale that falls off by 12 % to the
//! corners, blur of 1.25 px, a full well of 10 000 electrons, 8 bit. Nothing here paints.

use std::f64::consts::TAU;

use crate::painted::body::PaintedBody;
use crate::painted::clock::PaintedClock;
use crate::painted::handling::Handling;
use crate::painted::hoop::Hoop;

/// The whole description of a synthetic clip.
#[derive(Debug, Clone)]
pub struct Recipe {
    /// Pixels in a row.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// When frames are taken and what the stamps say.
    pub clock: PaintedClock,
    /// Metres in the mid-plane of the bodies for each pixel.
    pub scale_m_per_px: f64,
    /// From the lens to the bodies, m; `None` is a camera at infinity (telecentric).
    pub distance_m: Option<f64>,
    /// What lies behind the bodies and what they look like.
    pub scene: PaintedScene,
    /// The lamp's light over the frame and over time.
    pub lamp: Lamp,
    /// Dots and bars on what lies behind, in the order of painting.
    pub marks: Vec<Mark>,
    /// Shake, breathing and exposure of the camera.
    pub handling: Handling,
    /// Wires, tubes and loops in front of everything, in the order of painting.
    pub obstacles: Vec<Obstacle>,
    /// Specks of dust on the window, in front of everything.
    pub dust: Dust,
    /// The camera.
    pub camera: PaintedCamera,
    /// The bodies of liquid, painted in this order.
    pub bodies: Vec<PaintedBody>,
    /// Seed of everything random: noise, dust, clutter, uneven times.
    pub seed: u64,
}

impl Recipe {
    /// A back-lit recipe without bodies: `width` by `height` pixels, `frames` frames at `rate_fps`.
    pub fn silhouette(width: usize, height: usize, frames: u64, rate_fps: f64, scale_m_per_px: f64) -> Self {
        Self {
            width,
            height,
            clock: PaintedClock::even(rate_fps, frames),
            scale_m_per_px,
            distance_m: None,
            scene: PaintedScene::Silhouette(Silhouette::default()),
            lamp: Lamp::default(),
            marks: Vec::new(),
            handling: Handling::default(),
            obstacles: Vec::new(),
            dust: Dust::default(),
            camera: PaintedCamera::default(),
            bodies: Vec::new(),
            seed: 1,
        }
    }

    /// The same for a bright transparent drop over clutter.
    pub fn bright(width: usize, height: usize, frames: u64, rate_fps: f64, scale_m_per_px: f64) -> Self {
        let scene = PaintedScene::Bright(Bright::default());
        Self {
            scene,
            ..Self::silhouette(width, height, frames, rate_fps, scale_m_per_px)
        }
    }
}

/// What the bodies look like and what lies behind them.
#[derive(Debug, Clone)]
pub enum PaintedScene {
    /// A dark body with a lens-bright middle before an even, bright field.
    Silhouette(Silhouette),
    /// A transparent body with dark rim and glints before a cluttered background.
    Bright(Bright),
}

/// The look of a back-lit body.
#[derive(Debug, Clone)]
pub struct Silhouette {
    /// Light let through by the dark part, as a fraction of the lamp's.
    pub dark: f64,
    /// Light let through in the very middle, where the body images the lamp.
    pub middle: f64,
    /// Radius of the bright middle as a fraction of the body's outline (0 to 0.8).
    pub middle_size: f64,
    /// Half angle of the lamp as seen from the body, rad (0 to 1): its light is reflected at the rim; 0 for light from one side.
    pub lamp_half_angle: f64,
    /// Refractive index of the liquid.
    pub index: f64,
    /// Mirror images of other lamps on the surface.
    pub glints: Vec<Glint>,
}

impl Default for Silhouette {
    fn default() -> Self {
        Self {
            dark: 0.20,
            middle: 0.80,
            middle_size: 0.30,
            lamp_half_angle: 0.0,
            index: 1.36,
            glints: Vec::new(),
        }
    }
}

/// The look of a transparent body over clutter.
#[derive(Debug, Clone)]
pub struct Bright {
    /// Refractive index of the liquid.
    pub index: f64,
    /// Width of the dark rim as a fraction of the outline's radius (0 to 0.5).
    pub rim_width: f64,
    /// Light left at the outline itself, as a fraction of the light just inside the rim.
    pub rim_light: f64,
    /// Light scattered into the body, a fraction of full scale.
    pub haze: f64,
    /// Mirror images of the lamps on the surface.
    pub glints: Vec<Glint>,
    /// Darkest and brightest level of the background, fractions of full scale before the lamp's fall-off.
    pub background: [f64; 2],
    /// Boxes and rods lying about in the background.
    pub things: usize,
}

impl Default for Bright {
    fn default() -> Self {
        let glint = |x, y, size, light| Glint {
            at: [x, y],
            size,
            light,
        };
        Self {
            index: 1.36,
            rim_width: 0.09,
            rim_light: 0.2,
            haze: 0.22,
            glints: vec![
                glint(-0.45, -0.50, 0.035, 2.0),
                glint(0.30, -0.62, 0.020, 1.4),
                glint(0.62, 0.60, 0.028, 1.6),
            ],
            background: [0.22, 0.52],
            things: 18,
        }
    }
}

/// The mirror image of a lamp on the body's surface.
#[derive(Debug, Clone, Copy)]
pub struct Glint {
    /// Place from the body's centre, as fractions of its radius (x right, y down).
    pub at: [f64; 2],
    /// Standard deviation of its soft spot, as a fraction of the radius.
    pub size: f64,
    /// Light at its peak, a fraction of full scale (above 1 it saturates).
    pub light: f64,
}

/// The lamp: level, unevenness, flicker.
///
/// `light(x, y, t) = level (1 - falloff (u^2 + v^2) + slope_x u + slope_y v)(1 + flicker sin(2 pi f t + phase))`
/// with `u`, `v` from -1 to 1 across the frame.
#[derive(Debug, Clone)]
pub struct Lamp {
    /// Light in the middle of the frame, a fraction of full scale.
    pub level: f64,
    /// Loss towards the edges.
    pub falloff: f64,
    /// Slope across and down.
    pub slope: [f64; 2],
    /// Amplitude of the flicker, a fraction of the level.
    pub flicker: f64,
    /// Frequency of the flicker, Hz.
    pub flicker_hz: f64,
    /// Phase of the flicker at time 0, rad.
    pub flicker_phase: f64,
}

impl Default for Lamp {
    fn default() -> Self {
        Self {
            level: 0.78,
            falloff: 0.12,
            slope: [0.08, -0.04],
            flicker: 0.0,
            flicker_hz: 100.0,
            flicker_phase: 0.0,
        }
    }
}

impl Lamp {
    /// Factor of the flicker at `time` (s).
    pub fn flicker_at(&self, time: f64) -> f64 {
        1.0 + self.flicker * (TAU * self.flicker_hz * time + self.flicker_phase).sin()
    }
}

/// Something drawn on what lies behind the bodies.
#[derive(Debug, Clone, Copy)]
pub enum Mark {
    /// A round dot.
    Dot {
        /// Its centre, px.
        centre: [f64; 2],
        /// Its radius, px.
        radius_px: f64,
        /// Its light as a fraction of the lamp's there.
        light: f64,
    },
    /// A straight bar with round ends, such as a scale bar.
    Bar {
        /// One end, px.
        from: [f64; 2],
        /// The other end, px.
        to: [f64; 2],
        /// Across, px.
        width_px: f64,
        /// Its light as a fraction of the lamp's there.
        light: f64,
    },
}

/// Something solid between the camera and the bodies, standing still.
#[derive(Debug, Clone)]
pub enum Obstacle {
    /// A straight wire or tube with round ends.
    Rod {
        /// One end, px.
        from: [f64; 2],
        /// The other end, px.
        to: [f64; 2],
        /// Across, px.
        width_px: f64,
        /// Its light as a fraction of the lamp's there.
        light: f64,
        /// Light along the middle half of its width, for a clear tube; `None` for a solid wire.
        middle: Option<f64>,
    },
    /// A round wire loop at a slant, half of it behind the bodies.
    Hoop(Hoop),
    /// A round wire loop.
    Loop {
        /// Its centre, px.
        centre: [f64; 2],
        /// Radius of the wire's middle line, px.
        radius_px: f64,
        /// Thickness of the wire, px.
        width_px: f64,
        /// Its light as a fraction of the lamp's there.
        light: f64,
    },
}

/// Dust on the window: specks that stay where they are.
#[derive(Debug, Clone, Copy)]
pub struct Dust {
    /// How many specks.
    pub specks: usize,
    /// Smallest and largest radius, px.
    pub radius_px: [f64; 2],
    /// Least and most light let through by a speck's middle.
    pub light: [f64; 2],
}

impl Default for Dust {
    fn default() -> Self {
        Self {
            specks: 0,
            radius_px: [0.8, 3.0],
            light: [0.35, 0.8],
        }
    }
}

/// The camera: sharpness, noise, depth of bits.
#[derive(Debug, Clone)]
pub struct PaintedCamera {
    /// Standard deviation of the Gaussian blur, px, before the pixel integrates over its square; 0.3 at least.
    pub blur_px: f64,
    /// Electrons at full scale; `None` is a camera without shot noise.
    pub full_well: Option<f64>,
    /// Read noise, a fraction of full scale (standard deviation).
    pub read_noise: f64,
    /// Bits of a level: 8 to 16. Above 8 the levels are stored in sixteen bits and fill the whole range of `bits`.
    pub bits: u32,
    /// From the top row to the bottom row of a rolling shutter, s; negative when read upwards, 0 for all rows at once. The time
    /// of a frame is that of the top row.
    pub readout: f64,
    /// How long each row is exposed, s, about its time; 0 is an instant.
    pub exposure: f64,
}

/// Instants whose mean stands for an exposure.
const INSTANTS: u32 = 8;

impl Default for PaintedCamera {
    fn default() -> Self {
        Self {
            blur_px: 1.25,
            full_well: Some(10_000.0),
            read_noise: 0.5 / 255.0,
            bits: 8,
            readout: 0.0,
            exposure: 0.0,
        }
    }
}

impl PaintedCamera {
    /// A camera without noise at 16 bit: what remains is the picture itself.
    pub fn noiseless() -> Self {
        Self {
            full_well: None,
            read_noise: 0.0,
            bits: 16,
            ..Self::default()
        }
    }

    /// Whether a frame is more than an instant.
    pub fn takes_time(&self) -> bool {
        self.readout != 0.0 || self.exposure != 0.0
    }

    /// How much later than the frame a row of `height` is taken, s.
    pub fn row_delay(&self, row: usize, height: usize) -> f64 {
        self.readout * row as f64 / height.saturating_sub(1).max(1) as f64
    }

    /// The delays of all rows, or nothing when they are taken at once.
    pub fn rows(&self, height: usize) -> Vec<f64> {
        let rolls = self.readout != 0.0;
        let rows = if rolls { height } else { 0 };
        (0..rows).map(|row| self.row_delay(row, height)).collect()
    }

    /// Instants of an exposure about its middle, s.
    pub fn moments(&self) -> Vec<f64> {
        let count = if self.exposure == 0.0 { 1 } else { INSTANTS };
        (0..count)
            .map(|k| self.exposure * ((f64::from(k) + 0.5) / f64::from(count) - 0.5))
            .collect()
    }

    /// The largest code it gives.
    pub fn largest_code(&self) -> f64 {
        f64::from((1_u32 << self.bits) - 1)
    }
}
