//! What is filmed: bodies over time, lights, camera, clock; and two settings that look like a laboratory.
//!
//! The clock and the sensor are those of [`crate::painted`]. Every frame is read at once: there is no rolling shutter here. An exposure is the
//! mean of some instants.

use std::fmt;
use std::sync::Arc;

use crate::painted::clock::PaintedClock;
use crate::painted::recipe::PaintedCamera;
use crate::traced::error::TraceError;
use crate::traced::gather::Fineness;
use crate::traced::medium::Medium;
use crate::traced::pinhole::Pinhole;
use crate::traced::surface::Skin;
use crate::traced::vector::unit;
use crate::traced::world::{Board, Pattern, Room, RoomLamp, World};

/// The surfaces at a time (s).
pub type Motion = Arc<dyn Fn(f64) -> Vec<Skin> + Send + Sync>;

/// What bodies look like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Look {
    /// Dark all over before what lies behind: `dark` of its light is left.
    Silhouette {
        /// Share of the light behind.
        dark: f64,
    },
    /// Clear: light is followed through them.
    Clear,
}

/// The whole description of a traced clip.
#[derive(Clone)]
pub struct TracedScene {
    /// Geometry of the camera.
    pub pinhole: Pinhole,
    /// Its blur, noise and codes.
    pub camera: PaintedCamera,
    /// Instants that an exposure is the mean of, 1 at least.
    pub instants: u32,
    /// When frames are taken.
    pub clock: PaintedClock,
    /// The lights.
    pub world: World,
    /// What camera and lamps stand in.
    pub around: Medium,
    /// What bodies look like.
    pub look: Look,
    /// The bodies.
    pub motion: Motion,
    /// How finely pixels are gathered.
    pub fineness: Fineness,
    /// Seed of noise and uneven times.
    pub seed: u64,
}

impl fmt::Debug for TracedScene {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("TracedScene")
            .field("pinhole", &self.pinhole)
            .field("camera", &self.camera)
            .field("look", &self.look)
            .finish_non_exhaustive()
    }
}

impl TracedScene {
    /// Dark bodies before an even light, without noise or exposure time.
    #[must_use]
    pub fn silhouette(pinhole: Pinhole, clock: PaintedClock, motion: Motion) -> Self {
        Self {
            look: Look::Silhouette { dark: 0.18 },
            world: World::even(0.78),
            ..Self::clear(pinhole, clock, motion)
        }
    }

    /// Clear bodies before a dotted board in a room with lamps, without exposure time.
    #[must_use]
    pub fn clear(pinhole: Pinhole, clock: PaintedClock, motion: Motion) -> Self {
        Self {
            world: cabin(&pinhole),
            pinhole,
            camera: PaintedCamera::default(),
            instants: 1,
            clock,
            around: Medium::GAS,
            look: Look::Clear,
            motion,
            fineness: Fineness::default(),
            seed: 1,
        }
    }

    /// Instants of an exposure about its middle, s.
    #[must_use]
    pub fn moments(&self) -> Vec<f64> {
        let count = if self.camera.exposure == 0.0 {
            1
        } else {
            self.instants.max(1)
        };
        let part = |k: u32| (f64::from(k) + 0.5) / f64::from(count) - 0.5;
        (0..count).map(|k| self.camera.exposure * part(k)).collect()
    }

    /// Whether it can be traced, as far as the surfaces are not looked at.
    ///
    /// # Errors
    /// [`TraceError::Frame`] or [`TraceError::Range`].
    pub fn check(&self) -> Result<(), TraceError> {
        let pinhole = &self.pinhole;
        if pinhole.width < 8 || pinhole.height < 8 {
            return Err(TraceError::Frame {
                width: pinhole.width,
                height: pinhole.height,
            });
        }
        let blur = self.camera.blur_px;
        if blur != 0.0 {
            within("blur (px)", blur, 0.5, 30.0)?;
        }
        within("bits of a level", f64::from(self.camera.bits), 8.0, 16.0)?;
        within("readout time (s)", self.camera.readout, 0.0, 0.0)?;
        within("exposure (s)", self.camera.exposure, 0.0, 1e6)?;
        within("scale (m/px)", pinhole.scale_m_per_px, 1e-12, 1e3)?;
        within("distance (m)", pinhole.distance, 1e-9, 1e9)?;
        within("capture rate (1/s)", self.clock.rate_fps, 1e-6, 1e9)?;
        within("jitter (share of a slot)", self.clock.jitter, 0.0, 0.2)?;
        within("index of the surroundings", self.around.index, 1.0, 4.0)?;
        if let Some(opening) = pinhole.opening {
            within(
                "radius of the lens (m)",
                opening.radius,
                0.0,
                0.5 * pinhole.distance,
            )?;
            within("distance of focus (m)", opening.focus, 1e-9, 1e9)?;
            within("points of the lens", f64::from(opening.points), 1.0, 1e4)?;
        }
        Ok(())
    }
}

fn within(name: &'static str, found: f64, low: f64, high: f64) -> Result<(), TraceError> {
    let fits = (low..=high).contains(&found);
    fits.then_some(()).ok_or(TraceError::Range {
        name,
        found,
        low,
        high,
    })
}

/// A lamp panel behind the bodies, a little larger than the picture, in a dark room.
#[must_use]
pub fn panel(pinhole: &Pinhole) -> World {
    let picture = Backdrop::behind(pinhole, 2.0);
    World {
        board: Some(Board {
            distance: picture.distance,
            middle: [0.0; 2],
            half: picture.seen.map(|side| 0.75 * side),
            border: 0.05 * picture.seen[0],
            pattern: Pattern::Even,
            levels: [0.0, 0.8],
        }),
        lamps: Vec::new(),
        room: Room {
            overhead: 0.03,
            underfoot: 0.015,
        },
    }
}

/// A large board with dots behind the bodies in a grey room, two bright lamps behind the camera.
#[must_use]
pub fn cabin(pinhole: &Pinhole) -> World {
    let picture = Backdrop::behind(pinhole, 4.0);
    let period = picture.seen[0] / 5.0;
    let lamp = |towards, half_angle: f64, light| RoomLamp {
        towards: unit(towards),
        half_angle,
        border: 0.2 * half_angle,
        light,
    };
    World {
        board: Some(Board {
            distance: picture.distance,
            middle: [0.0; 2],
            half: [1.1 * picture.away, 0.85 * picture.away],
            border: 0.08 * picture.away,
            pattern: Pattern::Dots {
                period,
                radius: 0.26 * period,
                soft: 0.10 * period,
            },
            levels: [0.14, 0.70],
        }),
        lamps: vec![
            lamp([-0.75, -0.8, -0.55], 0.10, 45.0),
            lamp([0.9, -0.35, -0.25], 0.05, 40.0),
        ],
        room: Room {
            overhead: 0.50,
            underfoot: 0.05,
        },
    }
}

/// A plane behind that of the scale.
struct Backdrop {
    /// From the lens, m.
    distance: f64,
    /// From the plane of the scale, m.
    away: f64,
    /// Width and height of what the picture shows of it, m.
    seen: [f64; 2],
}

impl Backdrop {
    /// So many widths of the picture behind the plane of the scale.
    fn behind(pinhole: &Pinhole, widths: f64) -> Self {
        let away = widths * pinhole.width as f64 * pinhole.scale_m_per_px;
        let distance = pinhole.distance + away;
        let per_px = pinhole.scale_m_per_px * distance / pinhole.distance;
        Self {
            distance,
            away,
            seen: [pinhole.width, pinhole.height].map(|side| side as f64 * per_px),
        }
    }
}
