//! A star-shaped body of revolution by its own harmonics: fully nonlinear, weakly viscous, fast.
//!
//! ```text
//! surface   r^3/3 = sum e_n P_n(mu)              phi = sum b_l r^l P_l(mu)
//! carry     e_n' = (n + 1/2) int (r^2 phi_r - (1 - mu^2) r_mu phi_mu) P_n dmu
//! push      A b' = - int [ |grad phi|^2/2 + p/rho - Omega^2 s^2/2 ] P_n dmu - sigma/rho int 2H P_n dmu,      A_nl = int P_n r^l P_l dmu
//! ```
//! Galerkin in both conditions, at Gauss-Legendre nodes in mu = cos(theta), more of them than degrees. The frame moves with the centre of mass: e_0, e_1
//! and b_1 follow from volume, centre and momentum, and a uniform acceleration moves the frame and nothing else, to the last bit.
//! Viscosity: normal stress and layer pressure at any amplitude (room `rubbing`), what layers remember by degree (room `memory`).
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | r, phi | radius of the surface, velocity potential | R, R^2/t0 |
//! | e_n, b_l | coefficients; state are those of degree 2 and above | R^3, R^2/t0 |
//! | s, H, p | distance from the axis, mean curvature, pressure from outside | R, 1/R, sigma/R |
//!
//! Source: \[Lamb1932\] art. 275 (conditions), \[Zakharov1968\] (surface and potential as canonical pair: r^3/3 with mu). Valid for shapes that a ray
//! crosses once and whose harmonics converge on them: aspect ratios up to some 2. Steeper shapes end the run with the reason.

pub mod basis;
pub mod begin;
pub mod flow;
pub mod memory;
pub mod pressing;
pub mod rubbing;
pub mod settings;
pub mod surface;

use std::f64::consts::PI;

use tremolet_numerics::legendre;
use tremolet_numerics::lu::Lu;

use crate::driver::Drivers;
use crate::event::Event;
use crate::liquid::{Gas, InputError, Liquid};
use crate::sample::{Sample, Surface as Seen, Watched};
use crate::solver::Solver;
use crate::start::Start;
use crate::stop::Stop;
use basis::Basis;
use flow::Flow;
use memory::{Layers, Memory, frequency};
use pressing::Pressing;
use rubbing::Rubbing;
use settings::fine_enough;
use surface::Surface;

pub use settings::Settings;

/// Pivots may spread by this much before digits that matter are lost.
const WORST_SPREAD: f64 = 1e11;
/// Parts of the state.
const PARTS: usize = 4;

/// The solver.
#[derive(Debug, Clone)]
pub struct Modal {
    drivers: Drivers,
    settings: Settings,
    radius: f64,
    time: f64,
    pressure: f64,
    viscosity: f64,
    lossless: bool,
    begun: Vec<f64>,
    pressing: Pressing,
    basis: Basis,
    surface: Surface,
    flow: Flow,
    rubbing: Rubbing,
    memory: Memory,
    matrix: Vec<f64>,
    push: Vec<f64>,
    carry: Vec<f64>,
    pull: Vec<f64>,
    lu: Lu,
}

impl Modal {
    /// For a body and what acts on it.
    ///
    /// # Errors
    /// [`InputError`]: properties, shapes and resolutions that make no sense or do not fit.
    pub fn new(
        liquid: &Liquid,
        gas: Option<&Gas>,
        start: &Start,
        drivers: &Drivers,
        settings: Settings,
    ) -> Result<Self, InputError> {
        liquid.check()?;
        gas.map_or(Ok(()), Gas::check)?;
        start.check()?;
        drivers.check()?;
        fine_enough(&settings)?;
        let basis = Basis::new(settings.highest, 2 * settings.highest + 12);
        let radius = start.radius();
        let time = liquid.time(radius);
        let gas = gas.copied().unwrap_or(Gas {
            density: 0.0,
            viscosity: 0.0,
        });
        let unit = (liquid.density * liquid.tension * radius).sqrt();
        let layers = Layers {
            nu: liquid.viscosity / unit,
            gas_density: gas.density / liquid.density,
            gas_viscosity: gas.viscosity / unit,
        };
        let of_time = with_rate(start, time);
        let begun = begin::begin(&of_time, &basis, settings.shape_error)?;
        let memory = Memory::new(settings.highest, &layers);
        let kept = vec![0.0; (settings.highest - 1) * memory.each()];
        let degrees = basis.degrees();
        let mut modal = Self {
            drivers: drivers.clone(),
            settings,
            radius,
            time,
            pressure: liquid.tension / radius,
            viscosity: layers.nu,
            lossless: layers.nu == 0.0 && gas.density == 0.0,
            begun: [begun.surface, begun.flow, kept, vec![0.0; 2]].concat(),
            surface: Surface::sphere(&basis),
            flow: Flow::new(&basis),
            rubbing: Rubbing::new(&basis),
            memory,
            matrix: vec![0.0; degrees * degrees],
            push: vec![0.0; degrees],
            carry: vec![0.0; degrees],
            pull: vec![0.0; degrees],
            pressing: Pressing::new(drivers, radius, liquid.tension / radius, basis.points()),
            lu: Lu::default(),
            basis,
        };
        modal.hold();
        Ok(modal)
    }

    /// Radius of the sphere of equal volume, m.
    #[must_use]
    pub fn radius(&self) -> f64 {
        self.radius
    }

    /// Capillary time, s.
    #[must_use]
    pub fn unit_time(&self) -> f64 {
        self.time
    }

    /// Parts of a state: surface, flow, memory, place and velocity of the frame.
    fn parts<'a>(&self, state: &'a [f64]) -> [&'a [f64]; PARTS] {
        let count = self.settings.highest - 1;
        let (surface, rest) = state.split_at(count);
        let (flow, rest) = rest.split_at(count);
        let (kept, frame) = rest.split_at(count * self.memory.each());
        [surface, flow, kept, frame]
    }

    /// Pressure of a support that keeps the start shape at rest; nowhere below zero.
    fn hold(&mut self) {
        if self.pressing.holds() {
            let begun = self.begun.clone();
            self.surface.shape(&self.basis, self.parts(&begun)[0]);
            self.surface.pull(&self.basis, &mut self.pull);
            self.pressing.hold(&self.basis, &self.pull);
        }
    }

    /// Takes up shape and flow of a state.
    fn take(&mut self, time: f64, state: &[f64]) -> Result<(), Stop> {
        let [shape, flow, ..] = self.parts(state);
        let out = |what: &str, found, allowed| Stop::OutOfRange {
            time,
            what: what.into(),
            found,
            allowed,
        };
        if !self.surface.shape(&self.basis, shape) {
            return Err(out("the smallest cube of the radius over R^3", 0.0, 0.0));
        }
        self.flow.harmonics(&self.basis, &self.surface);
        self.flow.take(&self.basis, &self.surface, flow);
        Ok(())
    }

    /// Factors `A`.
    fn factor(&mut self, time: f64) -> Result<(), Stop> {
        self.flow.matrix(&self.basis, &mut self.matrix);
        let sound = self.lu.factor(self.basis.degrees(), &self.matrix);
        let found = if sound { self.lu.spread() } else { f64::INFINITY };
        if found > WORST_SPREAD {
            let what = "spread of the pivots of the harmonics".into();
            return Err(Stop::LostAccuracy {
                time,
                what,
                found,
                allowed: WORST_SPREAD,
            });
        }
        Ok(())
    }

    /// `b'` of all degrees, without what layers remember.
    fn push(&mut self, time: f64) -> Result<(), Stop> {
        let rubs = self.viscosity > 0.0;
        let lost = |what: &str, found| Stop::LostAccuracy {
            time,
            what: what.into(),
            found,
            allowed: WORST_SPREAD,
        };
        if rubs
            && !self
                .rubbing
                .press(&self.basis, &self.surface, &self.flow, self.viscosity)
        {
            return Err(lost("spread of the pivots of the layer", f64::INFINITY));
        }
        let turning = (self.drivers.rotation * self.time).powi(2) / 2.0;
        let (basis, surface) = (&self.basis, &self.surface);
        surface.pull(basis, &mut self.pull);
        self.push
            .iter_mut()
            .zip(&self.pull)
            .for_each(|(push, pull)| *push = -pull);
        for i in 0..basis.points() {
            let fling = turning * surface.radius[i].powi(2) * basis.across[i];
            let rub = if rubs { self.rubbing.normal[i] } else { 0.0 };
            let sum = self.flow.half_square(basis, surface, i) + self.pressing.outside[i] + rub - fling;
            let weighted = -basis.rule.weights[i] * sum;
            self.push
                .iter_mut()
                .zip(basis.values(i))
                .for_each(|(push, p)| *push += weighted * p);
        }
        self.lu.solve(&mut self.push);
        if rubs {
            self.push
                .iter_mut()
                .zip(&self.rubbing.layer)
                .for_each(|(push, p)| *push -= p);
        }
        Ok(())
    }
}

/// The start with its velocity counted in capillary times.
fn with_rate(start: &Start, time: f64) -> Start {
    let mut start = start.clone();
    if let Start::Star { velocity, .. } = &mut start {
        velocity.iter_mut().for_each(|v| *v *= time);
    }
    start
}

impl Solver for Modal {
    fn name(&self) -> &'static str {
        "potential::modal"
    }

    fn start(&self) -> Vec<f64> {
        self.begun.clone()
    }

    fn layout(&self) -> Vec<usize> {
        let count = self.settings.highest - 1;
        vec![count, count, count * self.memory.each(), 2]
    }

    fn take_up(&mut self, layout: &[usize], state: &[f64]) -> bool {
        layout == self.layout() && state.len() == layout.iter().sum::<usize>()
    }

    /// A star-shaped body neither parts nor joins.
    fn events(&self) -> &[Event] {
        &[]
    }

    fn recall(&mut self, _: &[Event]) {}

    fn first_step(&self) -> f64 {
        0.1 * self.time / frequency(self.settings.highest)
    }

    fn scales(&self, state: &[f64]) -> Vec<f64> {
        vec![self.settings.step_error; state.len()]
    }

    fn rates(&mut self, time: f64, state: &[f64], rates: &mut [f64]) -> Result<(), Stop> {
        self.take(time, state)?;
        self.factor(time)?;
        self.flow.carry(&self.basis, &mut self.carry);
        let pressed = self.pressing.press(&self.basis, &self.surface, time);
        self.push(time)?;
        let count = self.settings.highest - 1;
        let [_, flow, variables, frame] = self.parts(state);
        rates[..count].copy_from_slice(&self.carry[2..]);
        rates[count..2 * count].copy_from_slice(&self.push[2..]);
        let (moving, rest) = rates[count..].split_at_mut(count);
        let (kept, of_frame) = rest.split_at_mut(variables.len());
        self.memory.remember(flow, variables, moving, kept);
        (of_frame[0], of_frame[1]) = (frame[1], pressed);
        rates.iter_mut().for_each(|rate| *rate /= self.time);
        Ok(())
    }

    fn settle(&mut self, time: f64, state: &[f64]) -> Result<Option<Vec<f64>>, Stop> {
        let shape = self.parts(state)[0];
        // The last two degrees, one of which may be empty by symmetry.
        let found = shape[shape.len() - 2..]
            .iter()
            .map(|e| e.abs())
            .fold(0.0, f64::max);
        let allowed = 10.0 * self.settings.shape_error;
        if found > allowed {
            let what = "the highest degree of the shape, as a share of its radius,".into();
            return Err(Stop::LostAccuracy {
                time,
                what,
                found,
                allowed,
            });
        }
        Ok(None)
    }

    fn next_edge(&self, time: f64) -> Option<f64> {
        self.drivers.next_edge(time, self.radius)
    }

    fn watch(&mut self, time: f64, state: &[f64]) -> Watched {
        if self.take(time, state).is_err() {
            return Watched {
                volume: f64::NAN,
                energy: f64::NAN,
                velocity: f64::NAN,
                centroid: f64::NAN,
            };
        }
        let (basis, surface) = (&self.basis, &self.surface);
        let moving = PI * self.flow.work(basis, surface);
        let turning = (self.drivers.rotation * self.time).powi(2) * PI / 5.0;
        let fling = turning * surface.integral(basis, |i| surface.radius[i].powi(5) * basis.across[i]);
        Watched {
            volume: surface.volume(basis) * self.radius.powi(3),
            energy: (moving + surface.area(basis) - fling) * self.pressure * self.radius.powi(3),
            velocity: self.flow.velocity(basis, surface) * self.radius / self.time,
            centroid: surface.centroid(basis) * self.radius,
        }
    }

    fn keeps_energy(&self) -> bool {
        self.lossless && self.drivers.footprints.is_empty() && self.drivers.support.is_none()
    }

    fn sample(&mut self, time: f64, state: &[f64]) -> Sample {
        let watched = self.watch(time, state);
        let steps = self.settings.meridian;
        let point = |k: usize| {
            let theta = PI * k as f64 / steps as f64;
            let r = self.radius * (3.0 * legendre::series(&self.surface.series, theta.cos())).cbrt();
            let across = if k == 0 || k == steps { 0.0 } else { theta.sin() };
            [r * theta.cos(), r * across]
        };
        let meridian = if steps == 0 {
            Vec::new()
        } else {
            (0..=steps).map(point).collect()
        };
        Sample {
            time,
            origin: self.parts(state)[3][0] * self.radius + self.drivers.acceleration.moved(time),
            surfaces: vec![Seen {
                meridian,
                holds_liquid: true,
            }],
            amplitudes: self.surface.amplitudes(&self.basis),
            watched,
        }
    }
}

#[cfg(test)]
mod tests;
