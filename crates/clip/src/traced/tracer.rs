//! Follows a ray of sight through the bodies to the lights it ends in.
//!
//! ```text
//! L = exp(-k s) [ R L(reflected) + (1 - R) L(refracted) ]      at each surface;  L of the world where nothing is met
//! ```
//! Both branches are followed. One whose share of the whole has fallen below a limit is not: the other then takes its place, so that
//! no light is lost and a body in even light stays invisible.
//!
//! Source: [`crate::traced::medium`]. Light goes backwards along the ray of sight as forwards (reciprocity); no diffraction, no polarisation.

use crate::traced::error::TraceError;
use crate::traced::medium::{Medium, split};
use crate::traced::surface::{Hit, Ray, Skin, Surface};
use crate::traced::vector::{along, dot};
use crate::traced::world::World;

/// Share of the whole below which a branch is not followed; errors are a few times this, times the contrast of the lights.
pub const FAINTEST: f64 = 2e-4;
/// Surfaces that one ray may meet; light that is caught for longer is taken from where it then goes.
const MOST_MEETINGS: u32 = 24;
/// Most surfaces.
const MOST_SURFACES: usize = 64;
/// Bits of a mask: the ray is inside the surfaces whose bits are set.
type Within = u64;

/// Bodies in their lights, ready for rays.
#[derive(Debug, Clone)]
pub struct Tracer {
    surfaces: Vec<Surface>,
    world: World,
    around: Medium,
    faintest: f64,
}

/// Where a ray stands.
#[derive(Clone, Copy)]
struct Stand {
    within: Within,
    medium: Medium,
    share: f64,
    met: u32,
    /// The surface on which it starts.
    on: usize,
}

impl Tracer {
    /// Makes surfaces ready; `around` is the medium of camera and lamps.
    ///
    /// # Errors
    /// [`TraceError::Meridian`], and [`TraceError::Surfaces`] for more than 64.
    pub fn new(skins: &[Skin], world: World, around: Medium) -> Result<Self, TraceError> {
        if skins.len() > MOST_SURFACES {
            return Err(TraceError::Surfaces {
                found: skins.len(),
                most: MOST_SURFACES,
            });
        }
        Ok(Self {
            surfaces: skins.iter().map(Surface::new).collect::<Result<_, _>>()?,
            world,
            around,
            faintest: FAINTEST,
        })
    }

    /// The same that follows branches down to this share.
    #[must_use]
    pub fn down_to(mut self, faintest: f64) -> Self {
        self.faintest = faintest;
        self
    }

    /// The surfaces.
    #[must_use]
    pub fn surfaces(&self) -> &[Surface] {
        &self.surfaces
    }

    /// The lights.
    #[must_use]
    pub fn world(&self) -> &World {
        &self.world
    }

    /// Whether a ray from outside of all bodies meets any.
    #[inline]
    #[must_use]
    pub fn meets(&self, ray: &Ray) -> bool {
        self.surfaces.iter().any(|surface| surface.is_met(ray))
    }

    /// The first surface that a ray from outside of all bodies meets.
    #[inline]
    #[must_use]
    pub fn first(&self, ray: &Ray) -> Option<usize> {
        self.nearest(ray, 0, None).map(|(surface, _)| surface)
    }

    /// The light that comes back along a ray from outside of all bodies, and the first surface it meets.
    #[inline]
    #[must_use]
    pub fn look(&self, ray: &Ray) -> (f64, Option<usize>) {
        match self.nearest(ray, 0, None) {
            None => (self.world.light(ray), None),
            Some((surface, hit)) => {
                let stand = Stand {
                    within: 0,
                    medium: self.around,
                    share: 1.0,
                    met: 0,
                    on: surface,
                };
                (self.part(ray, surface, &hit, stand), Some(surface))
            }
        }
    }

    /// The nearest surface, for a ray that starts on the surface `on`: outside of a convex one it does not meet that again.
    fn nearest(&self, ray: &Ray, within: Within, on: Option<usize>) -> Option<(usize, Hit)> {
        let mut best = None;
        let mut limit = f64::INFINITY;
        for (number, surface) in self.surfaces.iter().enumerate() {
            let inside = within >> number & 1 == 1;
            if !inside && on == Some(number) && surface.is_convex() {
                continue;
            }
            if let Some(hit) = surface.hit(ray, inside, limit) {
                limit = hit.way;
                best = Some((number, hit));
            }
        }
        best
    }

    fn follow(&self, ray: &Ray, stand: Stand) -> f64 {
        if stand.met >= MOST_MEETINGS {
            return self.world.light(ray);
        }
        match self.nearest(ray, stand.within, Some(stand.on)) {
            None => self.world.light(ray),
            Some((surface, hit)) => self.part(ray, surface, &hit, stand),
        }
    }

    /// The light from beyond a meeting with a surface.
    fn part(&self, ray: &Ray, number: usize, hit: &Hit, stand: Stand) -> f64 {
        let surface = &self.surfaces[number];
        let inside = stand.within >> number & 1 == 1;
        let beyond = if inside { surface.outside } else { surface.inside };
        let normal = if inside {
            hit.normal.map(|x| -x)
        } else {
            hit.normal
        };
        let left = stand.medium.left_after(hit.way);
        let from = along(ray.from, hit.way, ray.direction);
        if dot(normal, ray.direction) >= 0.0 {
            // The smooth normal looks away where the chord does not: as grazing as can be, the light passes straight on.
            return left * self.world.light(ray);
        }
        let split = split(ray.direction, normal, stand.medium.index, beyond.index);
        let share = stand.share * left;
        let on = split
            .on
            .filter(|_| (1.0 - split.reflected) * share >= self.faintest);
        let reflected = match on {
            None => 1.0,
            Some(_) if split.reflected * share < self.faintest => 0.0,
            Some(_) => split.reflected,
        };
        let met = stand.met + 1;
        let mut light = 0.0;
        if reflected > 0.0 {
            let back = Stand {
                share: share * reflected,
                met,
                on: number,
                ..stand
            };
            let direction = split.back;
            light += reflected * self.follow(&Ray { from, direction }, back);
        }
        if let Some(direction) = on.filter(|_| reflected < 1.0) {
            let on = Stand {
                within: stand.within ^ 1 << number,
                medium: beyond,
                share: share * (1.0 - reflected),
                met,
                on: number,
            };
            light += (1.0 - reflected) * self.follow(&Ray { from, direction }, on);
        }
        left * light
    }
}

#[cfg(test)]
mod tests;
