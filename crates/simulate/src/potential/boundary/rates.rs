//! How nodes and potential change: the kinematic condition and Bernoulli's equation on the moving surface.
//!
//! ```text
//! dx/dt   = q n + c t
//! dphi/dt = q^2/2 - v^2/2 + c v + Omega^2 r^2/2 - [p + sigma kappa + 2 mu phi_nn] / rho - p_l,   phi_nn = -Lap_s phi - kappa q
//! p_l     harmonic inside with  dp_l/dn = -Div_s(tau t),   tau = 2 nu (q_s - kappa_m v)
//! c       = (s/L) S(L) - S(s),   S = int_0^s q kappa_m ds                        keeps the shares of the nodes in the arc
//! ```
//! In unit-drop units rho = sigma = R = 1 and nu = mu = Oh. The pressure p_l of the thin layer under the surface is that which takes away the
//! tangential stress tau that the potential alone would leave; with it a small ringing decays by Lamb's rate (n-1)(2n+1) nu, without it by
//! n(n-1) nu. Valid while the layer sqrt(nu/omega) is thin beside every radius; what the layer remembers is left out, which makes the
//! true decay smaller by a share of `sqrt(2) (n^2-1)/(2n+1) (omega_n)^(-1/2) sqrt(Oh)`: 0.5 sqrt(Oh) for n = 2.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | q, v | velocity of the potential along the normal, along the meridian | m/s |
//! | c | velocity of the nodes along the meridian | m/s |
//! | kappa, kappa_m | sum of the curvatures, that along the meridian | 1/m |
//! | s, L | arc from the first node, whole arc | m |
//! | p, p_l | pressure outside, pressure of the layer over density | Pa, m^2/s^2 |
//!
//! Source: \[LundgrenMansour1988\] (weak viscosity by the vortical layer, from memory, derived anew here); \[Lamb1932\] articles 20, 355.

use tremolet_numerics::spline::{Spline, Symmetry};

use crate::potential::boundary::body::Surface;
use crate::potential::boundary::curve::Node;

/// What acts on the liquid, in unit-drop units.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Medium {
    /// Ohnesorge number.
    pub ohnesorge: f64,
    /// Square of the rate of rotation.
    pub rotation_squared: f64,
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
}

/// Rates of a surface with the normal velocity `flow`, the pressure `outside` (and that of the layer) at each node.
#[must_use]
pub fn of_surface(surface: &Surface, flow: &Spline, medium: Medium, outside: &[f64]) -> SurfaceRates {
    let nodes = surface.curve().nodes();
    let potential = surface.potential();
    let bends = potential.seconds();
    let slide = sliding(&nodes, flow);
    let mut rates = SurfaceRates::default();
    for (i, node) in nodes.iter().enumerate() {
        let phi_u = potential.at_knot(i)[1];
        let (q, v) = (flow.at_knot(i)[0], phi_u / node.arc);
        let c = slide[i];
        let kappa = node.curvatures[0] + node.curvatures[1];
        let [n_r, n_z] = node.normal;
        rates.r.push(q * n_r + c * n_z);
        rates.z.push(q * n_z - c * n_r);
        let mut pressure = outside[i] + kappa;
        if medium.ohnesorge > 0.0 {
            let second = -node.surface_laplacian(phi_u, bends[i]) - kappa * q;
            pressure += 2.0 * medium.ohnesorge * second;
        }
        let whirl = 0.5 * medium.rotation_squared * node.place.r * node.place.r;
        rates.phi.push(0.5 * (q * q - v * v) + c * v + whirl - pressure);
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

/// `-Div_s(tau t)` at the nodes: the slope along the normal of the pressure of the layer.
#[must_use]
pub fn layer_slope(surface: &Surface, flow: &Spline, ohnesorge: f64) -> Vec<f64> {
    let (nodes, potential) = (surface.curve().nodes(), surface.potential());
    let last = nodes.len() - 1;
    let stress = |(i, node): (usize, &Node)| {
        if i == 0 || i == last {
            return 0.0;
        }
        let strain = flow.at_knot(i)[1] - node.curvatures[0] * potential.at_knot(i)[1];
        2.0 * ohnesorge * strain / node.arc
    };
    let stress: Vec<f64> = nodes.iter().enumerate().map(stress).collect();
    let spline = Spline::through(&stress, [Symmetry::Odd; 2]);
    let slope = |(i, node): (usize, &Node)| {
        let [value, slope, ..] = spline.at_knot(i);
        let along = slope / node.arc;
        let round = if node.on_axis {
            along
        } else {
            value * node.normal[1] / node.place.r
        };
        -(along + round)
    };
    nodes.iter().enumerate().map(slope).collect()
}
