//! The pressure on the surfaces from outside and from the gas inside, in units of sigma / R.
//!
//! ```text
//! outer     footprints and fronts (drivers) + hold (kappa_most - kappa(theta)) of the start shape
//! bubble    stiff: whatever keeps its volume; polytropic: p_b (V_0 / V)^g - p_around,   p_b = p_around + jumps at the start
//! ```
//! theta is counted from the axis as seen from the centre of all liquid. The support presses as it does at rest and nowhere sucks.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | kappa | sum of the curvatures | 1/R |
//! | V, V_0, g | volume of a bubble, at the start, polytropic exponent | R^3, 1 |
//!
//! Source: definitions; \[Lamb1932\] article 265 (jumps of pressure).

use std::f64::consts::{PI, TAU};

use crate::driver::Drivers;
use crate::potential::boundary::body::{Body, Surface};
use crate::potential::boundary::curve::Node;
use crate::potential::boundary::points::Rules;
use crate::potential::boundary::setup::Filling;

/// Parts of the reach of a node.
const PARTS: u32 = 128;

/// What the pressures need to know.
#[derive(Debug, Clone)]
pub struct Pressure {
    drivers: Drivers,
    radius: f64,
    /// Pa in sigma / R.
    unit: f64,
    /// Angle and pressure of a support, by angle.
    held: Vec<[f64; 2]>,
    filling: Filling,
    /// `p_b V_0^g` of each bubble, in units.
    bubbles: Vec<f64>,
}

impl Pressure {
    /// For bodies at the start; `radius` m and `unit` Pa are the units.
    #[must_use]
    pub fn of(
        bodies: &[Body],
        drivers: &Drivers,
        filling: Filling,
        radius: f64,
        unit: f64,
        rules: &Rules,
    ) -> Self {
        let mut held = Vec::new();
        if drivers.support.is_some()
            && let [body] = bodies
        {
            let centre = body.centre(rules);
            for node in body.surfaces[0].curve().nodes() {
                let theta = node.place.r.atan2(node.place.z - centre);
                held.push([theta, node.curvatures[0] + node.curvatures[1]]);
            }
            let most = held.iter().map(|pair| pair[1]).fold(f64::NEG_INFINITY, f64::max);
            held.iter_mut().for_each(|pair| pair[1] = most - pair[1]);
            held.sort_by(|a, b| a[0].total_cmp(&b[0]));
        }
        let mut bubbles = Vec::new();
        if let Filling::Polytropic { around, exponent } = filling {
            for wall in bodies.iter().flat_map(|body| &body.surfaces[1..]) {
                let volume = -wall.volume(rules);
                let size = crate::potential::boundary::setup::ball(volume);
                // In balance with the mean curvatures of balls of the same volumes.
                let start = around / unit + 2.0 + 2.0 / size;
                bubbles.push(start * volume.powf(exponent));
            }
        }
        Self {
            drivers: drivers.clone(),
            radius,
            unit,
            held,
            filling,
            bubbles,
        }
    }

    /// Whether the bubbles keep their volume.
    #[must_use]
    pub fn stiff(&self) -> bool {
        self.filling == Filling::Stiff
    }

    /// The pressure at the nodes of every surface, less that of the ball.
    #[must_use]
    pub fn on(&self, bodies: &[Body], rules: &Rules, time: f64) -> Vec<Vec<Vec<f64>>> {
        let presses = self.presses(time);
        let moments: Vec<[f64; 2]> = bodies.iter().map(|body| body.moments(rules)).collect();
        let [volume, moment] = moments
            .iter()
            .fold([0.0; 2], |sum, one| [sum[0] + one[0], sum[1] + one[1]]);
        let centre = moment / volume;
        let outside = |node: &Node| {
            if !presses {
                return 0.0;
            }
            let (r, z) = (node.place.r, node.place.z - centre);
            // A pressure with an edge counts at a node as its mean over the reach of the node.
            let reach = node.arc / r.hypot(z);
            self.outside(r.atan2(z), reach, time)
        };
        let mut bubble = 0;
        let of_body = |body: &Body| {
            let of_surface = |(number, surface): (usize, &Surface)| {
                let nodes = surface.curve().nodes();
                if number == 0 {
                    return nodes.iter().map(|node| outside(node) - 2.0).collect();
                }
                let even = if self.stiff() {
                    // Any number would do: this one keeps the potential small.
                    -nodes
                        .iter()
                        .map(|node| node.curvatures[0] + node.curvatures[1])
                        .sum::<f64>()
                        / nodes.len() as f64
                } else {
                    self.gas(bubble, -surface.volume(rules)) - 2.0
                };
                bubble += 1;
                vec![even; nodes.len()]
            };
            body.surfaces.iter().enumerate().map(of_surface).collect()
        };
        bodies.iter().map(of_body).collect()
    }

    /// On an outer surface at an angle and a time, the mean over `reach` of angle about it.
    #[must_use]
    pub fn outside(&self, theta: f64, reach: f64, time: f64) -> f64 {
        let hold = self.drivers.hold(theta, time, self.radius);
        let held = if hold > 0.0 {
            hold * self.held_at(theta)
        } else {
            0.0
        };
        let part = |k: u32| {
            let at = theta + reach * ((f64::from(k) + 0.5) / f64::from(PARTS) - 0.5);
            // Beyond an end of the axis lies the other side of it.
            let at = if at > PI { TAU - at } else { at.abs() };
            self.drivers.pressure(at, time, self.radius)
        };
        (0..PARTS).map(part).sum::<f64>() / f64::from(PARTS) / self.unit + held
    }

    /// Whether any pressure acts outside.
    #[must_use]
    pub fn presses(&self, time: f64) -> bool {
        self.drivers.presses(time, self.radius)
    }

    fn held_at(&self, theta: f64) -> f64 {
        let next = self.held.partition_point(|pair| pair[0] < theta);
        match (
            next.checked_sub(1).and_then(|k| self.held.get(k)),
            self.held.get(next),
        ) {
            (Some(a), Some(b)) => a[1] + (b[1] - a[1]) * (theta - a[0]) / (b[0] - a[0]),
            (Some(one), None) | (None, Some(one)) => one[1],
            (None, None) => 0.0,
        }
    }

    /// Of the gas in bubble `number` of all with the volume `volume`, less that around; nil where it keeps its volume.
    #[must_use]
    pub fn gas(&self, number: usize, volume: f64) -> f64 {
        match (self.filling, self.bubbles.get(number)) {
            (Filling::Polytropic { around, exponent }, Some(constant)) => {
                constant * volume.powf(-exponent) - around / self.unit
            }
            _ => 0.0,
        }
    }

    /// Energy of that gas and of the work against the pressure around, in sigma R^2.
    #[must_use]
    pub fn gas_energy(&self, number: usize, volume: f64) -> f64 {
        match (self.filling, self.bubbles.get(number)) {
            (Filling::Polytropic { around, exponent }, Some(constant)) => {
                let stored = if (exponent - 1.0).abs() < 1e-9 {
                    -constant * volume.ln()
                } else {
                    constant * volume.powf(1.0 - exponent) / (exponent - 1.0)
                };
                stored + around / self.unit * volume
            }
            _ => 0.0,
        }
    }
}
