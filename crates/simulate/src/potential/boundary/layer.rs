//! The thin vortical layer under the surface: the stress it takes away, the slip it leaves, what it remembers.
//!
//! ```text
//! w     = 2 (q_s - kappa_m v)                   vorticity of a surface that bears no tangential stress
//! U     = -1/(sqrt(s/nu) + 1/R) [w]             slip of the layer along the meridian; s is d/dt
//!       = -(sum c_j Y_j + c w),   Y_j' = w - (L_j + f) Y_j + (c_nodes - v) Y_j,s          on L_j = L_0 e^(jh)
//! f     = e + min(e^2/10, 2 |e|) + nu max(kappa^2 - 1/R^2, 0)      stretched; scrambled; grown through what it bends round
//! dp_l/dn = -Div_s(tau t),   tau = nu (w - 2 kappa_m U)          normal stress 2 nu (phi_nn - Div_s(U t))
//! c_j   = h sqrt(nu)/pi L_j^(3/2) / (L_j + nu/R^2)             by the trapezoidal rule in ln L
//! ```
//! Navier and Stokes, linear in what the layer adds, say exactly that the normal velocity of the layer grows by `nu Div_s(w t)`, w of the whole flow;
//! the harmonic p_l takes it up. To the first order tau holds the potential flow alone and the decay is Lamb's; the slip U corrects both
//! stresses by a share sqrt(nu/omega). Then a degree n of a ball obeys `s^2 + K s + omega^2 = 0` with K exact to that order, and for n = 2 to the
//! next. The layer goes along with the surface: what a stretch holds thins as it lengthens at the rate e. How stretching changes the thickness
//! through which it diffuses within one memory is left out, a share of a few tenths of the correction at an aspect ratio of 1.5. Where surface
//! crowds together much faster than a drop swings (behind a tip that draws back) a layer does not stay thin: it is forgotten there, and where it has grown as
//! thick as the surface is bent; Lamb's stresses alone remain.
//!
//! Rates too slow to matter within a swing are taken together as an integral, rates beyond those of resolved waves as acting at once; where elements are
//! finer than that the latter are cut so that the correction stays below the stress that it corrects.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | w, U | vorticity, slip along the path | 1/t0, R/t0 |
//! | q, v, kappa_m, e | normal and tangential velocity, curvature along the meridian (kappa: the larger of both), rate of stretching there | R/t0, 1/R, 1/t0 |
//! | Y_j, L_j, c_j | memories, their rates, weights | 1, 1/t0, R/t0 |
//! | nu | Ohnesorge number | R^2/t0 |
//!
//! Source: derived here; its ball is K of \[Prosperetti1980\] for large arguments; the layer is that of \[LundgrenMansour1988\]. Valid for sqrt(nu/omega) well below
//! every radius and wave: Oh up to 0.03 of a drop, and what is left of a thread while its radius is above some Oh^2 R.

use std::f64::consts::PI;

use tremolet_numerics::spline::{Spline, Symmetry};

use crate::potential::boundary::body::Surface;
use crate::potential::boundary::curve::Node;

/// Spacing of ln L: errs by 2e-3 of what is remembered.
const SPACING: f64 = 1.6;
/// Slowest rate beside the slowest swing of the unit ball, sqrt 8.
const SLOWEST: f64 = 0.03 * 2.828;
/// Fastest rate beside n^(3/2), the frequency of waves of eight elements.
const FASTEST: f64 = 1.5;
/// Nodes taken together at either end.
const BEYOND: i32 = 24;
/// Rate of stretching beyond which a layer does not hold what it carries: crowded surface sheds it into the body.
const SCRAMBLED: f64 = 10.0;
/// Most of the part that acts at once, in lengths of an element: pi times that is the share of the stress taken back at the shortest wave.
const AT_ONCE: f64 = 0.25;

/// Rates and weights of the memory.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layer {
    nu: f64,
    rates: Vec<f64>,
    weights: Vec<f64>,
    at_once: f64,
}

impl Layer {
    /// For a liquid of Ohnesorge number `nu` on `elements` to half a turn of the unit ball; nothing without viscosity.
    #[must_use]
    pub fn new(nu: f64, elements: usize) -> Self {
        if nu <= 0.0 {
            return Self::default();
        }
        let fastest = FASTEST * (elements as f64 / 4.0).max(4.0).powf(1.5);
        let count = ((fastest / SLOWEST).ln() / SPACING).ceil().max(2.0) as i32;
        let rate = |j: i32| SLOWEST * (f64::from(j) * SPACING).exp();
        let share = |j: i32| SPACING * nu.sqrt() / PI * rate(j).powf(1.5) / (rate(j) + nu);
        let weight = |j: i32| match j {
            // The integral of all that is slower than the second.
            0 => (1 - BEYOND..1).map(share).sum(),
            _ => share(j),
        };
        Self {
            nu,
            rates: (0..count).map(|j| if j == 0 { 0.0 } else { rate(j) }).collect(),
            weights: (0..count).map(weight).collect(),
            at_once: (count..count + BEYOND).map(|j| share(j) / rate(j)).sum(),
        }
    }

    /// Memories of each node.
    #[must_use]
    pub fn each(&self) -> usize {
        self.rates.len()
    }

    /// The slip `U` at the nodes of a surface with this vorticity.
    #[must_use]
    pub fn slip(&self, surface: &Surface, nodes: &[Node], vorticity: &[f64]) -> Vec<f64> {
        let at = |(i, node): (usize, &Node)| {
            let memories = self.weights.iter().zip(&surface.layers);
            let past: f64 = memories.map(|(weight, list)| weight * list[i]).sum();
            -(past + self.at_once.min(AT_ONCE * node.arc) * vorticity[i])
        };
        nodes.iter().enumerate().map(at).collect()
    }

    /// The slope along the normal of the pressure of the layer, `-Div_s(tau t)`.
    #[must_use]
    pub fn slope(&self, nodes: &[Node], vorticity: &[f64], slip: &[f64]) -> Vec<f64> {
        let stress =
            |(i, node): (usize, &Node)| self.nu * (vorticity[i] - 2.0 * node.curvatures[0] * slip[i]);
        let stress: Vec<f64> = nodes.iter().enumerate().map(stress).collect();
        divergence(nodes, &stress).iter().map(|x| -x).collect()
    }

    /// Rates of the memories: one list for each, node by node; `slide` is the velocity of the nodes along the path.
    #[must_use]
    pub fn remember(
        &self,
        surface: &Surface,
        nodes: &[Node],
        potential: &Spline,
        flow: &Spline,
        slide: &[f64],
        vorticity: &[f64],
    ) -> Vec<Vec<f64>> {
        let bends = potential.seconds();
        let ways: Vec<[f64; 2]> = (0..nodes.len())
            .map(|i| {
                let (node, slope) = (&nodes[i], potential.at_knot(i)[1]);
                let stretch = (bends[i] - slope * node.arc_u / node.arc) / (node.arc * node.arc)
                    + node.curvatures[0] * flow.at_knot(i)[0];
                [
                    self.fading(node, stretch),
                    (slide[i] - slope / node.arc) / node.arc,
                ]
            })
            .collect();
        let of = |(rate, list): (&f64, &Vec<f64>)| {
            let spline = Spline::through(list, [Symmetry::Odd; 2]);
            let at = |(i, [fading, over]): (usize, &[f64; 2])| {
                vorticity[i] - (rate + fading) * list[i] + over * spline.at_knot(i)[1]
            };
            ways.iter().enumerate().map(at).collect()
        };
        self.rates.iter().zip(&surface.layers).map(of).collect()
    }
}

impl Layer {
    /// How fast a stretch of surface loses what it remembers besides by its rates.
    fn fading(&self, node: &Node, stretch: f64) -> f64 {
        let [along, round] = node.curvatures;
        let bent = along.abs().max(round.abs());
        let scrambled = (stretch * stretch / SCRAMBLED).min(2.0 * stretch.abs());
        stretch + scrambled + self.nu * (bent * bent - 1.0).max(0.0)
    }
}

/// `2 (q_s - kappa_m v)` at the nodes; nil at both ends.
#[must_use]
pub fn vorticity(nodes: &[Node], potential: &Spline, flow: &Spline) -> Vec<f64> {
    let last = nodes.len() - 1;
    let at = |(i, node): (usize, &Node)| {
        if i == 0 || i == last {
            return 0.0;
        }
        2.0 * (flow.at_knot(i)[1] - node.curvatures[0] * potential.at_knot(i)[1]) / node.arc
    };
    nodes.iter().enumerate().map(at).collect()
}

/// The divergence on the surface of a field along its meridian that is nil at both ends.
#[must_use]
pub fn divergence(nodes: &[Node], field: &[f64]) -> Vec<f64> {
    let spline = Spline::through(field, [Symmetry::Odd; 2]);
    let at = |(i, node): (usize, &Node)| {
        let [value, slope, ..] = spline.at_knot(i);
        let along = slope / node.arc;
        let round = if node.on_axis {
            along
        } else {
            value * node.normal[1] / node.place.r
        };
        along + round
    };
    nodes.iter().enumerate().map(at).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::potential::boundary::curve::End;

    #[test]
    fn the_slip_is_the_half_integral_of_the_vorticity() {
        for nu in [1e-4, 1e-3, 1e-2] {
            let layer = Layer::new(nu, 48);
            for omega in [2.828_f64, 5.477, 18.33] {
                // 1 / (z + 1), z = sqrt(i omega / nu) = (1 + i) sqrt(omega / 2 nu).
                let z = (omega / (2.0 * nu)).sqrt();
                let size = (z + 1.0) * (z + 1.0) + z * z;
                let known = ((z + 1.0) / size, -z / size);
                let pairs = layer.rates.iter().zip(&layer.weights);
                let found = pairs.fold((layer.at_once, 0.0), |sum, (rate, weight)| {
                    let size = rate * rate + omega * omega;
                    (sum.0 + weight * rate / size, sum.1 - weight * omega / size)
                });
                let off = (found.0 - known.0).hypot(found.1 - known.1) / known.0.hypot(known.1);
                assert!(off < 0.03, "{nu} {omega} {off}");
            }
        }
        assert_eq!(Layer::new(0.0, 48).each(), 0);
    }

    // On the unit ball, potential b r^n P_n with normal velocity n b P_n: w = 2 (n - 1) b dP_n/dtheta, and the surface divergence of dP_n/dtheta
    // is -n (n + 1) P_n.
    #[test]
    fn a_degree_on_a_ball_has_its_vorticity_and_its_divergence() {
        let count = 48;
        let angle = |i: usize| PI * i as f64 / f64::from(count);
        let places = || (0..=count as usize).map(angle);
        let across = |t: f64| if t == 0.0 || t == PI { 0.0 } else { t.sin() };
        let surface = Surface {
            ends: [End::Axis; 2],
            r: places().map(across).collect(),
            z: places().map(f64::cos).collect(),
            phi: places().map(|t| 2.5 * t.cos().powi(3) - 1.5 * t.cos()).collect(),
            layers: Vec::new(),
        };
        let nodes = surface.curve().nodes();
        let flow: Vec<f64> = surface.phi.iter().map(|p| 3.0 * p).collect();
        let turning = vorticity(
            &nodes,
            &surface.potential(),
            &Spline::through(&flow, [Symmetry::Even; 2]),
        );
        let slope = |t: f64| -(7.5 * t.cos().powi(2) - 1.5) * across(t);
        for (t, found) in places().zip(&turning) {
            assert!((found - 4.0 * slope(t)).abs() < 1e-5, "{t} {found}");
        }
        let spread = divergence(&nodes, &places().map(slope).collect::<Vec<f64>>());
        for (found, p) in spread.iter().zip(&surface.phi) {
            assert!((found + 12.0 * p).abs() < 1e-4, "{found} {p}");
        }
    }
}
