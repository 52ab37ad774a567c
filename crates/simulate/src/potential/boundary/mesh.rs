//! Where nodes should lie along a meridian, and moving them there.
//!
//! ```text
//! h = min(h0, a / |kappa_m|, a / |kappa_phi|, g d)       spacing wanted at a place; then at most growing by G for each length
//! F(u) = int_0^u J/h du,   node k at F(u_k) = k F(n)/n'                         by Newton on the spline of F
//! ```
//! Positions and potential are taken from their splines at the new places: an error of sixth order in the spacing.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | h, h0 | spacing, that of a calm surface | m |
//! | a | angle that an element may turn through | rad |
//! | d, g | distance to another piece of surface, elements for that distance | m, 1 |
//! | n, n' | number of elements before, after | 1 |
//!
//! Source: definitions.

use tremolet_numerics::spline::{Spline, Symmetry};

use crate::potential::boundary::body::{Body, Surface};
use crate::potential::boundary::curve::{End, Node};
use crate::potential::boundary::points::Rules;

/// What is wanted of the spacing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spacing {
    /// Of a calm surface.
    pub calm: f64,
    /// Most angle in an element, rad.
    pub turn: f64,
}

/// Growth of the spacing for each length along the surface.
const GROWTH: f64 = 0.12;
/// Passes of the average that smooths the spacing.
const PASSES: usize = 6;
/// Fewest elements of a surface.
pub const FEWEST: usize = 12;
/// A surface is re-meshed when a spacing differs from the wanted one by this factor.
const OFF: f64 = 1.25;

impl Spacing {
    /// Spacing wanted at each node, `gaps` being the distances to other surfaces.
    fn wanted(&self, nodes: &[Node], gaps: &[f64]) -> Vec<f64> {
        let mut wanted: Vec<f64> = nodes
            .iter()
            .zip(gaps)
            .map(|(node, gap)| {
                let kappa = node.curvatures[0].abs().max(node.curvatures[1].abs());
                self.calm.min(self.turn / kappa.max(1e-300)).min(*gap)
            })
            .collect();
        let count = nodes.len();
        for i in 1..count {
            wanted[i] = wanted[i].min(wanted[i - 1] + GROWTH * nodes[i - 1].arc);
        }
        for i in (1..count).rev() {
            wanted[i - 1] = wanted[i - 1].min(wanted[i] + GROWTH * nodes[i].arc);
        }
        for _ in 0..PASSES {
            let old = wanted.clone();
            for i in 0..count {
                let left = old[if i == 0 { 1 } else { i - 1 }];
                let right = old[if i + 1 == count { count - 2 } else { i + 1 }];
                wanted[i] = 0.5 * old[i] + 0.25 * (left + right);
            }
        }
        wanted
    }

    /// Re-meshes the surfaces of a body that need it; whether any did.
    pub fn improve(&self, body: &mut Body, rules: &Rules) -> bool {
        let mut changed = false;
        for number in 0..body.surfaces.len() {
            let gaps = gaps(body, number);
            if let Some(better) = self.improved(&body.surfaces[number], &gaps, rules) {
                body.surfaces[number] = better;
                changed = true;
            }
        }
        changed
    }

    /// The surface with other nodes, or `None` when those that it has will do.
    #[must_use]
    pub fn improved(&self, surface: &Surface, gaps: &[f64], rules: &Rules) -> Option<Surface> {
        let nodes = surface.curve().nodes();
        let wanted = self.wanted(&nodes, gaps);
        let density: Vec<f64> = nodes.iter().zip(&wanted).map(|(node, h)| node.arc / h).collect();
        let whole = summed(&density, rules);
        let needed = whole[whole.len() - 1];
        let now = (nodes.len() - 1) as f64;
        let even = density
            .iter()
            .all(|d| (d * now / needed).max(needed / (d * now)) < OFF);
        if even && needed < 1.1 * now && needed > 0.8 * now {
            return None;
        }
        // A number kept where it will do keeps the digits of what does not change.
        let count = if needed < 1.05 * now && needed > 0.9 * now {
            nodes.len() - 1
        } else {
            (needed.round() as usize).max(FEWEST)
        };
        Some(moved(surface, &whole, count))
    }
}

/// The least distance between pieces of surface of a body that are not neighbours along a path; infinite on a ball.
#[must_use]
pub fn closest(body: &Body) -> f64 {
    let of_surface = |number| gaps(body, number).into_iter().fold(f64::INFINITY, f64::min);
    (0..body.surfaces.len())
        .map(of_surface)
        .fold(f64::INFINITY, f64::min)
}

/// Distance of the nodes of a surface from other surfaces and from parts of its own that are far along the path.
fn gaps(body: &Body, number: usize) -> Vec<f64> {
    let own = &body.surfaces[number];
    let mut arcs = vec![0.0];
    for i in 1..own.r.len() {
        arcs.push(arcs[i - 1] + (own.r[i] - own.r[i - 1]).hypot(own.z[i] - own.z[i - 1]));
    }
    let gap = |i: usize| {
        let mut least = f64::INFINITY;
        for (k, other) in body.surfaces.iter().enumerate() {
            for (j, (r, z)) in other.r.iter().zip(&other.z).enumerate() {
                let distance = (own.r[i] - r).hypot(own.z[i] - z);
                // A circle is nowhere nearer to itself than 2/pi of the path; a fold is.
                if k != number || distance < 0.4 * (arcs[i] - arcs[j]).abs() {
                    least = least.min(distance);
                }
            }
        }
        least
    };
    (0..own.r.len()).map(gap).collect()
}

/// `F` at the nodes.
fn summed(density: &[f64], rules: &Rules) -> Vec<f64> {
    let spline = Spline::through(density, [Symmetry::Even; 2]);
    let mut sums = vec![0.0];
    for element in 0..density.len() - 1 {
        let local = spline.local(element);
        let part: f64 = rules
            .far
            .shares
            .iter()
            .zip(&rules.far.weights)
            .map(|(shares, w)| w * shares[0].iter().zip(local).map(|(a, b)| a * b).sum::<f64>())
            .sum();
        sums.push(sums[element] + part.max(1e-3));
    }
    sums
}

/// The surface with `count` elements of equal shares of `whole`.
fn moved(surface: &Surface, whole: &[f64], count: usize) -> Surface {
    let running = Spline::through(whole, [Symmetry::Odd; 2]);
    let last = whole.len() - 1;
    let mut places = vec![0.0];
    let mut u = 0.0_f64;
    for k in 1..count {
        let goal = whole[last] * k as f64 / count as f64;
        let interval = whole.partition_point(|f| *f < goal).clamp(1, last) - 1;
        let (mut low, mut high) = (interval as f64, (interval + 1) as f64);
        u = u.clamp(low, high);
        for _ in 0..60 {
            let [f, slope, _] = running.at(u);
            if f < goal {
                low = u;
            } else {
                high = u;
            }
            let next = u - (f - goal) / slope;
            let next = if next > low && next < high {
                next
            } else {
                0.5 * (low + high)
            };
            if (next - u).abs() < 1e-13 * last as f64 {
                break;
            }
            u = next;
        }
        places.push(u);
    }
    places.push(last as f64);
    taken(surface, &places)
}

/// The surface with nodes at the running numbers `places`, from its splines.
#[must_use]
pub fn taken(surface: &Surface, places: &[f64]) -> Surface {
    let curve = surface.curve();
    let with = |values: &[f64], symmetry: Symmetry| {
        let spline = Spline::through(values, [symmetry; 2]);
        places.iter().map(|u| spline.at(*u)[0]).collect::<Vec<f64>>()
    };
    let even = |values: &[f64]| with(values, Symmetry::Even);
    let odd = |values: &[f64]| with(values, Symmetry::Odd);
    let points: Vec<_> = places.iter().map(|u| curve.place_at(*u)).collect();
    let mut r: Vec<f64> = points.iter().map(|p| p.r).collect();
    let last = r.len() - 1;
    for (place, end) in [(0, surface.ends[0]), (last, surface.ends[1])] {
        if end == End::Axis {
            r[place] = 0.0;
        }
    }
    Surface {
        ends: surface.ends,
        r,
        z: points.iter().map(|p| p.z).collect(),
        phi: even(&surface.phi),
        layers: surface.layers.iter().map(|list| odd(list)).collect(),
    }
}
