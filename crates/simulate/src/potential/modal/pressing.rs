//! Pressure from outside at the nodes: footprints, and a support as long as its front has not passed.
//!
//! ```text
//! p / (sigma/R) = footprints + hold (2H_most - 2H(theta)) of the start shape          z'' = -(3/2) int p n_z r ds / volume
//! ```
//! A support presses so that the start shape rests; nowhere does it suck.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | p, H | pressure, mean curvature | Pa, 1/R |
//! | theta, n_z | angle from the axis, part of the normal along it | rad, - |
//!
//! Source: definitions; \[Lamb1932\] art. 265 (jumps of pressure).

use tremolet_numerics::legendre;

use super::basis::Basis;
use super::flow::facing;
use super::surface::Surface;
use crate::driver::Drivers;

/// What presses.
#[derive(Debug, Clone)]
pub struct Pressing {
    drivers: Drivers,
    radius: f64,
    unit: f64,
    held: Vec<f64>,
    /// Pressure at the nodes, in units of sigma / R.
    pub outside: Vec<f64>,
}

impl Pressing {
    /// Nothing yet, for `points` nodes; `radius` m and `unit` Pa are the units.
    #[must_use]
    pub fn new(drivers: &Drivers, radius: f64, unit: f64, points: usize) -> Self {
        Self {
            drivers: drivers.clone(),
            radius,
            unit,
            held: Vec::new(),
            outside: vec![0.0; points],
        }
    }

    /// Whether there is a support.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.drivers.support.is_some()
    }

    /// The pressure that keeps a shape with this pull of the surface at rest.
    pub fn hold(&mut self, basis: &Basis, pull: &[f64]) {
        let series: Vec<f64> = pull
            .iter()
            .enumerate()
            .map(|(n, x)| (n as f64 + 0.5) * x)
            .collect();
        let nodes = basis.rule.nodes.iter();
        let curvature: Vec<f64> = nodes.map(|mu| legendre::series(&series, *mu)).collect();
        let most = curvature.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        self.held = curvature.iter().map(|h| most - h).collect();
    }

    /// Fills the pressure at the nodes; returns the acceleration that it gives the body along z.
    pub fn press(&mut self, basis: &Basis, surface: &Surface, time: f64) -> f64 {
        if !self.drivers.presses(time, self.radius) {
            self.outside.fill(0.0);
            return 0.0;
        }
        for i in 0..basis.points() {
            let theta = basis.rule.nodes[i].acos();
            let held = self
                .held
                .get(i)
                .map_or(0.0, |p| p * self.drivers.hold(theta, time, self.radius));
            self.outside[i] = self.drivers.pressure(theta, time, self.radius) / self.unit + held;
        }
        -1.5 * surface.integral(basis, |i| self.outside[i] * facing(basis, surface, i))
    }
}
