//! How nodes and potential change: the kinematic condition and Bernoulli's equation on the moving surface.
//!
//! ```text
//! dx/dt   = q n + c t
//! dphi/dt = q^2/2 - v^2/2 + c v + Omega^2 r^2/2 - [p + sigma kappa + 2 mu (phi_nn - Div_s(U t))] / rho - p_l
//! phi_nn = -Lap_s phi - kappa q
//! c       = (s/L) S(L) - S(s),   S = int_0^s q kappa_m ds                        keeps the shares of the nodes in the arc
//! ```
//! In unit-drop units rho = sigma = R = 1 and nu = mu = Oh. The pressure p_l of the thin layer under the surface is that which takes away the
//! tangential stress tau that the potential alone would leave; with it a small ringing decays by Lamb's rate (n-1)(2n+1) nu, without it by
//! n(n-1) nu. The layer and its slip U are in the room `layer`.
//!
//! After bodies have parted or joined, what is bent as finely as the finest length f is smoothed: the normal stress there has a viscosity more,
//! `0.1 sqrt(f) min[(4 kappa f)^2, 1]`, which falls as f^(5/2) on what is resolved.
//!
//! A gas around takes part as inertia: phi is then `phi_liquid - e phi_gas`, and its rate has the same sum for the gas, e times, taken away.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | q, v | velocity of the potential along the normal, along the meridian | m/s |
//! | c | velocity of the nodes along the meridian | m/s |
//! | kappa, kappa_m | sum of the curvatures, that along the meridian | 1/m |
//! | s, L | arc from the first node, whole arc | m |
//! | p, p_l, U | pressure outside, pressure of the layer over density, slip of the layer | Pa, m^2/s^2, m/s |
//! | e | density of the gas over that of the liquid | 1 |
//!
//! Source: \[LundgrenMansour1988\] (weak viscosity by the vortical layer, from memory, derived anew here); \[Lamb1932\] articles 20, 355.

use tremolet_numerics::spline::Spline;

use crate::potential::boundary::curve::Node;
use crate::potential::boundary::layer::divergence;

/// What acts on the liquid, in unit-drop units.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Medium {
    /// Ohnesorge number.
    pub ohnesorge: f64,
    /// Square of the rate of rotation.
    pub rotation_squared: f64,
    /// Length at which waves are smoothed; nil for none.
    pub smoothed: f64,
}

/// Ohnesorge number, on its own length, of what is smoothed, and how fast that sets in with the curvature.
const SMOOTHING: [f64; 2] = [0.1, 4.0];

impl Medium {
    /// Kinematic viscosity of the normal stress at a node.
    fn viscosity(&self, node: &Node) -> f64 {
        let bent = node.curvatures[0].abs().max(node.curvatures[1].abs());
        let share = (SMOOTHING[1] * bent * self.smoothed).powi(2).min(1.0);
        self.ohnesorge + SMOOTHING[0] * self.smoothed.sqrt() * share
    }
}

/// Rates of one surface, node by node.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SurfaceRates {
    /// Of r.
    pub r: Vec<f64>,
    /// Of z.
    pub z: Vec<f64>,
    /// Of the potential.
    pub phi: Vec<f64>,
    /// Velocity of the nodes along the meridian.
    pub slide: Vec<f64>,
}

/// The flow on a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnSurface<'a> {
    /// Its nodes.
    pub nodes: &'a [Node],
    /// Potential of the liquid.
    pub potential: &'a Spline,
    /// Velocity along the normal.
    pub flow: &'a Spline,
    /// Slip of the layer at the nodes; none without viscosity.
    pub slip: Option<&'a [f64]>,
    /// Density of a gas around over that of the liquid, and its potential.
    pub gas: Option<(f64, &'a Spline)>,
}

/// Rates of a surface with the pressure `outside` (and that of the layer) at each node.
#[must_use]
pub fn of_surface(on: OnSurface<'_>, medium: Medium, outside: &[f64]) -> SurfaceRates {
    let bends = on.potential.seconds();
    let mut rates = SurfaceRates {
        slide: sliding(on.nodes, on.flow),
        ..SurfaceRates::default()
    };
    let spread = on.slip.map(|slip| divergence(on.nodes, slip));
    for (i, node) in on.nodes.iter().enumerate() {
        let phi_u = on.potential.at_knot(i)[1];
        let (q, v) = (on.flow.at_knot(i)[0], phi_u / node.arc);
        let c = rates.slide[i];
        let kappa = node.curvatures[0] + node.curvatures[1];
        let [n_r, n_z] = node.normal;
        rates.r.push(q * n_r + c * n_z);
        rates.z.push(q * n_z - c * n_r);
        let mut pressure = outside[i] + kappa;
        let viscosity = medium.viscosity(node);
        if viscosity > 0.0 {
            let second = -node.surface_laplacian(phi_u, bends[i]) - kappa * q;
            let spread = spread.as_ref().map_or(0.0, |spread| spread[i]);
            pressure += 2.0 * viscosity * second - 2.0 * medium.ohnesorge * spread;
        }
        let whirl = 0.5 * medium.rotation_squared * node.place.r * node.place.r;
        let mut rate = 0.5 * (q * q - v * v) + c * v + whirl - pressure;
        if let Some((density, gas)) = on.gas {
            let v = gas.at_knot(i)[1] / node.arc;
            rate -= density * (0.5 * (q * q - v * v) + c * v);
        }
        rates.phi.push(rate);
    }
    rates
}

/// Velocity of the nodes along the meridian.
fn sliding(nodes: &[Node], flow: &Spline) -> Vec<f64> {
    let stretch = |i: usize| {
        let speed = flow.at_knot(i)[0];
        [speed * nodes[i].curvatures[0] * nodes[i].arc, nodes[i].arc]
    };
    let (mut sums, mut before) = (vec![[0.0; 2]], stretch(0));
    for i in 1..nodes.len() {
        let now = stretch(i);
        let last = sums[i - 1];
        sums.push([
            last[0] + 0.5 * (before[0] + now[0]),
            last[1] + 0.5 * (before[1] + now[1]),
        ]);
        before = now;
    }
    let [whole, length] = sums[nodes.len() - 1];
    sums.iter().map(|[sum, arc]| arc / length * whole - sum).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::potential::boundary::kernel::Place;

    #[test]
    fn what_is_bent_as_finely_as_the_finest_is_smoothed_and_the_rest_hardly() {
        let node = |curvature: f64| Node {
            place: Place::default(),
            arc: 1.0,
            normal: [1.0, 0.0],
            curvatures: [0.5, -curvature],
            arc_u: 0.0,
            on_axis: false,
        };
        let medium = Medium {
            ohnesorge: 1e-3,
            smoothed: 0.01,
            ..Medium::default()
        };
        // 0.1 sqrt(0.01) on a tip of two finest lengths; (4 * 0.01)^2 of it on a ball.
        assert!((medium.viscosity(&node(50.0)) - (1e-3 + 1e-2)).abs() < 1e-12);
        assert!((medium.viscosity(&node(1.0)) - (1e-3 + 1.6e-5)).abs() < 1e-12);
        let plain = Medium {
            smoothed: 0.0,
            ..medium
        };
        assert_eq!(plain.viscosity(&node(50.0)), 1e-3);
    }
}
