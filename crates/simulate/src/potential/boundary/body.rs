//! A body of liquid: its outer surface, the walls of its bubbles, and the velocity potential on them.
//!
//! ```text
//! V = sum pi int r^2 (-z_u) du,   z_c V = sum pi int r^2 z (-z_u) du,   A = sum 2 pi int r J du
//! T = (rho/2) sum oint phi q dS,  p_z = rho sum oint phi n_z dS
//! ```
//! The walls of bubbles count negative in V by the direction of their paths.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | phi | velocity potential | m^2/s |
//! | q | velocity along the normal out of the liquid | m/s |
//! | V, A, z_c | volume of liquid, area of its surfaces, height of its centre of mass | m^3, m^2, m |
//! | T, p_z | kinetic energy, momentum along the axis | J, N s |
//!
//! Source: Gauss's theorem; \[Lamb1932\] article 44 (kinetic energy).

use std::f64::consts::{PI, TAU};

use tremolet_numerics::spline::{Spline, Symmetry};

use crate::potential::boundary::curve::{Curve, End};
use crate::potential::boundary::images::Planes;
use crate::potential::boundary::points::Rules;

/// One surface by its nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct Surface {
    /// What its meridian ends on.
    pub ends: [End; 2],
    /// Distance of the nodes from the axis, m.
    pub r: Vec<f64>,
    /// Height of the nodes, m.
    pub z: Vec<f64>,
    /// Velocity potential at the nodes, m^2/s; with a gas around, less that of the gas times its share of the density.
    pub phi: Vec<f64>,
    /// What the layer under the surface remembers at the nodes, along the path: one list for each of its rates; none without viscosity.
    pub layers: Vec<Vec<f64>>,
}

/// A body: the outer surface first, then the walls of bubbles.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// The surfaces.
    pub surfaces: Vec<Surface>,
}

/// What is watched of a body.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Measures {
    /// Volume of liquid, m^3.
    pub volume: f64,
    /// Area of all surfaces, m^2.
    pub area: f64,
    /// Height of the centre of mass, m.
    pub centre: f64,
    /// Kinetic energy over density, m^5/s^2.
    pub kinetic: f64,
    /// Momentum along the axis over density, m^4/s.
    pub momentum: f64,
    /// Integral of the square of the distance from the axis, m^5.
    pub whirl: f64,
}

impl Surface {
    /// Its meridian.
    #[must_use]
    pub fn curve(&self) -> Curve {
        Curve::through(&self.r, &self.z, self.ends)
    }

    /// The potential along it.
    #[must_use]
    pub fn potential(&self) -> Spline {
        Spline::through(&self.phi, [Symmetry::Even; 2])
    }

    /// The same with room for what a layer of `rates` rates remembers: nothing yet where it had none.
    #[must_use]
    pub fn with_layers(mut self, rates: usize) -> Self {
        self.layers.resize(rates, vec![0.0; self.r.len()]);
        self
    }

    /// Net flux through it with the normal velocity `flow`, m^3/s.
    #[must_use]
    pub fn flux(&self, flow: &Spline, rules: &Rules) -> f64 {
        let curve = self.curve();
        let mut sum = 0.0;
        for element in 0..curve.elements() {
            for (shares, w) in rules.near.shares.iter().zip(&rules.near.weights) {
                let place = curve.place(element, shares);
                let q: f64 = shares[0]
                    .iter()
                    .zip(flow.local(element))
                    .map(|(a, b)| a * b)
                    .sum();
                sum += w * TAU * place.r * place.r_u.hypot(place.z_u) * q;
            }
        }
        sum
    }

    /// Volume enclosed between it and the axis, m^3: positive for an outer surface, negative for a bubble.
    #[must_use]
    pub fn volume(&self, rules: &Rules) -> f64 {
        let curve = self.curve();
        let mut sum = 0.0;
        for element in 0..curve.elements() {
            for (shares, w) in rules.near.shares.iter().zip(&rules.near.weights) {
                let place = curve.place(element, shares);
                sum -= w * PI * place.r * place.r * place.z_u;
            }
        }
        sum
    }
}

impl Body {
    /// The planes in which the body is mirrored.
    #[must_use]
    pub fn planes(&self) -> Planes {
        let outer = &self.surfaces[0];
        let last = outer.z.len() - 1;
        match outer.ends {
            [End::Axis, End::Axis] => Planes::Neither,
            [End::Plane, End::Axis] => Planes::One(outer.z[0]),
            [End::Axis, End::Plane] => Planes::One(outer.z[last]),
            [End::Plane, End::Plane] => Planes::Two(outer.z[last], outer.z[0]),
        }
    }

    /// Number of nodes of all surfaces.
    #[must_use]
    pub fn nodes(&self) -> usize {
        self.surfaces.iter().map(|surface| surface.r.len()).sum()
    }

    /// Height of the centre of its liquid, m.
    #[must_use]
    pub fn centre(&self, rules: &Rules) -> f64 {
        let [volume, moment] = self.moments(rules);
        moment / volume
    }

    /// Volume of its liquid, m^3, and that times the height of its centre, m^4.
    #[must_use]
    pub fn moments(&self, rules: &Rules) -> [f64; 2] {
        let mut sums = [0.0; 2];
        for surface in &self.surfaces {
            let curve = surface.curve();
            for element in 0..curve.elements() {
                for (shares, w) in rules.near.shares.iter().zip(&rules.near.weights) {
                    let place = curve.place(element, shares);
                    let slab = -w * PI * place.r * place.r * place.z_u;
                    sums[0] += slab;
                    sums[1] += slab * place.z;
                }
            }
        }
        sums
    }

    /// Momentum along the axis over density, m^4/s.
    #[must_use]
    pub fn momentum(&self, rules: &Rules) -> f64 {
        let mut sum = 0.0;
        for surface in &self.surfaces {
            let (curve, potential) = (surface.curve(), surface.potential());
            for element in 0..curve.elements() {
                for (shares, w) in rules.near.shares.iter().zip(&rules.near.weights) {
                    let place = curve.place(element, shares);
                    let local = potential.local(element);
                    let phi: f64 = shares[0].iter().zip(local).map(|(a, b)| a * b).sum();
                    sum += w * TAU * place.r * place.r_u * phi;
                }
            }
        }
        sum
    }

    /// Moves all of it along the axis.
    pub fn shift(&mut self, height: f64) {
        for z in self.surfaces.iter_mut().flat_map(|surface| &mut surface.z) {
            *z += height;
        }
    }

    /// Gives all of it a velocity along the axis on top of its own.
    pub fn speed_up(&mut self, speed: f64) {
        for surface in &mut self.surfaces {
            for (phi, z) in surface.phi.iter_mut().zip(&surface.z) {
                *phi += speed * z;
            }
        }
    }

    /// Measures with the normal velocities `flow`, one spline for each surface.
    #[must_use]
    pub fn measures(&self, flow: &[Spline], rules: &Rules) -> Measures {
        let mut sum = Measures::default();
        for (surface, flow) in self.surfaces.iter().zip(flow) {
            let (curve, potential) = (surface.curve(), surface.potential());
            for element in 0..curve.elements() {
                let value = |spline: &Spline, shares: &[f64; 6]| -> f64 {
                    shares.iter().zip(spline.local(element)).map(|(a, b)| a * b).sum()
                };
                for (shares, w) in rules.near.shares.iter().zip(&rules.near.weights) {
                    let place = curve.place(element, shares);
                    let (phi, q) = (value(&potential, &shares[0]), value(flow, &shares[0]));
                    let arc = place.r_u.hypot(place.z_u);
                    let slab = -w * PI * place.r * place.r * place.z_u;
                    let band = w * TAU * place.r;
                    sum.volume += slab;
                    sum.centre += slab * place.z;
                    sum.area += band * arc;
                    sum.kinetic += 0.5 * band * arc * phi * q;
                    sum.momentum += band * place.r_u * phi;
                    sum.whirl += 0.5 * slab * place.r * place.r;
                }
            }
        }
        sum.centre /= sum.volume;
        sum
    }
}
