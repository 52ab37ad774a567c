//! The flow of a state: velocities, what a gas around and the layer under the surface add.
//!
//! ```text
//! bodies -> sums over rings (influence) -> normal velocity, potential of the gas -> vorticity, slip, pressure of the layer (layer)
//! ```
//!
//! Source: as in the rooms named.

use tremolet_numerics::dense::DenseError;
use tremolet_numerics::spline::{Spline, Symmetry};

use crate::potential::boundary::body::{Body, Surface};
use crate::potential::boundary::curve::Node;
use crate::potential::boundary::influence::Influence;
use crate::potential::boundary::layer::{Layer, vorticity};
use crate::potential::boundary::points::Rules;
use crate::potential::boundary::rates::{Medium, OnSurface, of_surface};

/// What the flow depends on besides the bodies.
#[derive(Debug, Clone, PartialEq)]
pub struct Around {
    /// The layer under the surface.
    pub layer: Layer,
    /// Density of a gas around over that of the liquid; nil for none.
    pub gas: f64,
    /// Whether bubbles keep their volume.
    pub stiff: bool,
}

/// The flow on one surface.
#[derive(Debug, Clone)]
struct OfSurface {
    nodes: Vec<Node>,
    potential: Spline,
    gas: Option<Spline>,
    vorticity: Vec<f64>,
    slip: Vec<f64>,
    /// Pressure of the layer.
    pressure: Vec<f64>,
}

/// The flow of the state that was solved last.
#[derive(Debug, Clone, Default)]
pub struct Known {
    /// That state.
    pub state: Vec<f64>,
    /// Normal velocities by body and surface.
    pub flows: Vec<Vec<Spline>>,
    surfaces: Vec<Vec<OfSurface>>,
}

impl Known {
    /// Solves for the flow of a body and adds it.
    ///
    /// # Errors
    /// [`DenseError`] when a system cannot be solved: surfaces that touch or cross.
    pub fn add(&mut self, body: &Body, around: &Around, rules: &Rules) -> Result<(), DenseError> {
        let rubs = around.layer.each() > 0;
        let influence = Influence::of(body, rules, rubs || around.gas > 0.0);
        let (flows, gas) = if around.gas > 0.0 {
            let [flow, gas] = influence.flow_in_gas(body, rules, around.gas)?;
            (vec![flow], Some(gas))
        } else {
            (influence.flow(body, rules, around.stiff)?, None)
        };
        let pairs = body.surfaces.iter().zip(&flows);
        let mut surfaces: Vec<OfSurface> = pairs
            .map(|(surface, flow)| OfSurface::new(surface, flow, around, gas.as_ref()))
            .collect();
        if rubs {
            let slope = |on: &OfSurface| around.layer.slope(&on.nodes, &on.vorticity, &on.slip);
            let slopes: Vec<Vec<f64>> = surfaces.iter().map(slope).collect();
            let pressures = influence.harmonic(&slopes)?;
            for (on, pressure) in surfaces.iter_mut().zip(pressures) {
                on.pressure = pressure;
            }
        }
        self.flows.push(flows);
        self.surfaces.push(surfaces);
        Ok(())
    }

    /// Rates of surface `k` of body `number`, in the order of the state, with the pressure `outside` at its nodes.
    #[must_use]
    pub fn rates(
        &self,
        [number, k]: [usize; 2],
        surface: &Surface,
        around: &Around,
        medium: Medium,
        outside: &[f64],
    ) -> Vec<f64> {
        let (on, flow) = (&self.surfaces[number][k], &self.flows[number][k]);
        let rubs = around.layer.each() > 0;
        let mut pressure = outside.to_vec();
        pressure
            .iter_mut()
            .zip(&on.pressure)
            .for_each(|(p, layer)| *p += layer);
        let all = OnSurface {
            nodes: &on.nodes,
            potential: &on.potential,
            flow,
            slip: rubs.then_some(&on.slip[..]),
            gas: on.gas.as_ref().map(|gas| (around.gas, gas)),
        };
        let one = of_surface(all, medium, &pressure);
        let mut rates = [one.r, one.z, one.phi].concat();
        if rubs {
            let memories =
                around
                    .layer
                    .remember(surface, &on.nodes, &on.potential, flow, &one.slide, &on.vorticity);
            rates.extend(memories.concat());
        }
        rates
    }
}

impl OfSurface {
    fn new(surface: &Surface, flow: &Spline, around: &Around, gas: Option<&Spline>) -> Self {
        let nodes = surface.curve().nodes();
        let mut potential = surface.potential();
        if let Some(gas) = gas {
            let pairs = potential.inner().iter().zip(gas.inner());
            let sum: Vec<f64> = pairs.map(|(own, gas)| own + around.gas * gas).collect();
            potential = Spline::of_coefficients(&sum, [Symmetry::Even; 2]);
        }
        let (mut turning, mut slip) = (Vec::new(), Vec::new());
        if around.layer.each() > 0 {
            turning = vorticity(&nodes, &potential, flow);
            slip = around.layer.slip(surface, &nodes, &turning);
        }
        Self {
            nodes,
            potential,
            gas: gas.cloned(),
            vorticity: turning,
            slip,
            pressure: Vec::new(),
        }
    }
}
