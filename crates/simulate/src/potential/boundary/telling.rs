//! What is told of bodies at an instant: their surfaces in SI, amplitudes, and the quantities that must not change.
//!
//! ```text
//! energy = kinetic - V v^2/2 + area - Omega^2 whirl/2 + gas in bubbles        v = momentum / V
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | V, v | volume of liquid, its velocity along the axis | R^3, R/t0 |
//! | Omega | rate of rotation | 1/t0 |
//!
//! Source: definitions; integrals as in `body`.

use tremolet_numerics::quadrature::Rule;
use tremolet_numerics::spline::Spline;

use crate::driver::Drivers;
use crate::liquid::Liquid;
use crate::potential::boundary::body::{self, Body, Measures};
use crate::potential::boundary::images::Planes;
use crate::potential::boundary::points::Rules;
use crate::potential::boundary::pressure::Pressure;
use crate::potential::boundary::setup::ball;
use crate::potential::boundary::shape::amplitudes;
use crate::sample::{Sample, Surface, Watched};

/// Highest degree told of a star-shaped body.
const HIGHEST: usize = 16;

/// What telling goes by.
#[derive(Debug, Clone, Copy)]
pub struct Telling<'a> {
    /// The liquid.
    pub liquid: &'a Liquid,
    /// What acts.
    pub drivers: &'a Drivers,
    /// Pressures outside and in bubbles.
    pub pressure: &'a Pressure,
    /// Rules of quadrature.
    pub rules: &'a Rules,
    /// Unit of length, m.
    pub radius: f64,
}

impl Telling<'_> {
    /// Quantities to keep, of bodies with these flows.
    #[must_use]
    pub fn watched(&self, bodies: &[Body], flows: &[Vec<Spline>]) -> Watched {
        let unit_time = self.liquid.time(self.radius);
        let sums = self.sums(bodies, flows);
        // Planes take up momentum: there the frame is theirs.
        let free = bodies.iter().all(|body| body.planes() == Planes::Neither);
        let velocity = if free { sums.momentum / sums.volume } else { 0.0 };
        let whirl = 0.5 * (self.drivers.rotation * unit_time).powi(2) * sums.whirl;
        let energy = sums.kinetic - 0.5 * sums.volume * velocity * velocity + sums.area - whirl
            + self.gas_energy(bodies);
        Watched {
            volume: sums.volume * self.radius.powi(3),
            energy: energy * self.liquid.tension * self.radius.powi(2),
            velocity: velocity * self.radius / unit_time,
            centroid: sums.centre * self.radius,
        }
    }

    fn sums(&self, bodies: &[Body], flows: &[Vec<Spline>]) -> Measures {
        let mut sum = Measures::default();
        for (body, flow) in bodies.iter().zip(flows) {
            let one = body.measures(flow, self.rules);
            sum.volume += one.volume;
            sum.area += one.area;
            sum.centre += one.centre * one.volume;
            sum.kinetic += one.kinetic;
            sum.momentum += one.momentum;
            sum.whirl += one.whirl;
        }
        sum.centre /= sum.volume;
        sum
    }

    /// Energy of the gas in all bubbles.
    fn gas_energy(&self, bodies: &[Body]) -> f64 {
        let walls = bodies.iter().flat_map(|body| &body.surfaces[1..]);
        let energies = walls
            .enumerate()
            .map(|(number, wall)| self.pressure.gas_energy(number, -wall.volume(self.rules)));
        energies.sum()
    }

    /// The sample of an instant; amplitudes by the rule `degrees`.
    #[must_use]
    pub fn sample(&self, time: f64, bodies: &[Body], watched: Watched, degrees: &Rule) -> Sample {
        let surfaces = bodies.iter().flat_map(|body| &body.surfaces);
        let surfaces = surfaces.map(|surface| self.seen(surface)).collect();
        let alone = match bodies {
            [body] if body.surfaces.len() == 1 && body.planes() == Planes::Neither => {
                let size = ball(watched.volume / self.radius.powi(3));
                let centre = watched.centroid / self.radius;
                amplitudes(&body.surfaces[0].curve(), centre, size, degrees, HIGHEST)
            }
            _ => None,
        };
        Sample {
            time,
            origin: self.drivers.acceleration.moved(time),
            surfaces,
            amplitudes: alone.unwrap_or_default(),
            watched,
        }
    }

    fn seen(&self, surface: &body::Surface) -> Surface {
        let points = surface.r.iter().zip(&surface.z);
        let mut meridian: Vec<[f64; 2]> = points.map(|(r, z)| [z * self.radius, r * self.radius]).collect();
        let holds_liquid = meridian[0][0] > meridian[meridian.len() - 1][0];
        if !holds_liquid {
            meridian.reverse();
        }
        Surface {
            meridian,
            holds_liquid,
        }
    }
}
