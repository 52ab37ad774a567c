//! The sums of one row: rings of sources and of dipoles over all surfaces for one target.
//!
//! ```text
//! single_j = sum w J G r' B_j        double = sum w J dG/dn r' (phi - phi_i)        by element, nearer ones by more points
//! ```
//! Elements far away use samples made once for a body; an element that nearly touches the target is halved until it is far for its
//! length; one that ends at the target takes the logarithm by its own weights.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | phi, phi_i | potential, at the target | m^2/s |
//! | G, B_j | Green's function, B-splines | 1/m, 1 |
//! | w, J | weight of a point, arc for each element | 1, m |
//!
//! Source: rules as in `points`, kernels as in `kernel`.

use tremolet_numerics::spline::{Spline, weights};

use crate::potential::boundary::body::Body;
use crate::potential::boundary::curve::{Curve, End};
use crate::potential::boundary::images::Planes;
use crate::potential::boundary::kernel::{Place, pair, pair_beside};
use crate::potential::boundary::points::{FAR, NEAR, Rule, Rules};

/// Most halvings of an element for a target that nearly touches it.
const DEEPEST: usize = 24;

/// One point of quadrature on an element.
#[derive(Clone, Copy)]
struct Sample {
    place: Place,
    /// Weight, and weight times arc.
    weight: f64,
    band: f64,
    phi: f64,
}

/// A surface made ready for the sums.
pub struct Ready {
    /// Its meridian.
    pub curve: Curve,
    potential: Spline,
    far: Vec<Sample>,
    near: Vec<Sample>,
    /// Middle and length of each element.
    middles: Vec<([f64; 2], f64)>,
    /// Its first place in the list of unknowns.
    pub first: usize,
}

/// Samples of all surfaces of a body.
#[must_use]
pub fn make_ready(body: &Body, rules: &Rules) -> Vec<Ready> {
    let mut first = 0;
    body.surfaces
        .iter()
        .map(|surface| {
            let (curve, potential) = (surface.curve(), surface.potential());
            let samples = |rule: &Rule| -> Vec<Sample> {
                (0..curve.elements())
                    .flat_map(|e| (0..rule.at.len()).map(move |g| (e, g)))
                    .map(|(e, g)| sample(&curve, &potential, e, &rule.shares[g], rule.weights[g]))
                    .collect()
            };
            let middle = weights(0.5);
            let middles = (0..curve.elements())
                .map(|e| {
                    let place = curve.place(e, &middle);
                    ([place.r, place.z], place.r_u.hypot(place.z_u))
                })
                .collect();
            let ready = Ready {
                far: samples(&rules.far),
                near: samples(&rules.near),
                middles,
                first,
                curve: curve.clone(),
                potential: potential.clone(),
            };
            first += ready.curve.elements() + 1;
            ready
        })
        .collect()
}

fn sample(curve: &Curve, potential: &Spline, element: usize, shares: &[[f64; 6]; 3], weight: f64) -> Sample {
    let place = curve.place(element, shares);
    let phi = shares[0]
        .iter()
        .zip(potential.local(element))
        .map(|(a, b)| a * b)
        .sum();
    Sample {
        place,
        weight,
        band: weight * place.r_u.hypot(place.z_u),
        phi,
    }
}

/// The sums of one row.
pub struct Sums {
    /// For each surface the shares of `c_-2` to `c_(n+2)` in the sources.
    pub single: Vec<Vec<f64>>,
    /// The same in the dipoles; empty unless asked for.
    pub dipoles: Vec<Vec<f64>>,
    /// Sum of dipoles times `phi - phi_i`.
    pub double: f64,
    /// For each surface the sum of dipoles.
    pub whole: Vec<f64>,
    phi: f64,
}

/// A part of an element.
#[derive(Clone, Copy)]
struct Part {
    element: usize,
    from: f64,
    to: f64,
}

impl Sums {
    /// Nothing yet; with `dipoles` also their shares.
    #[must_use]
    pub fn new(ready: &[Ready], dipoles: bool) -> Self {
        let room = || {
            ready
                .iter()
                .map(|surface| vec![0.0; surface.curve.elements() + 5])
                .collect()
        };
        Self {
            single: room(),
            dipoles: if dipoles { room() } else { Vec::new() },
            double: 0.0,
            whole: vec![0.0; ready.len()],
            phi: 0.0,
        }
    }

    /// Sums up for node `i` of surface `own`.
    pub fn target(&mut self, ready: &[Ready], own: usize, i: usize, rules: &Rules, planes: Planes) {
        let curve = &ready[own].curve;
        let place = curve.place_at(i as f64);
        let on_axis = (i == 0 && curve.ends()[0] == End::Axis)
            || (i == curve.elements() && curve.ends()[1] == End::Axis);
        let r = if on_axis { 0.0 } else { place.r };
        self.phi = ready[own].potential.at_knot(i)[0];
        let heights = planes.targets(place.z);
        for (image, z) in heights.iter().enumerate() {
            let here = image == 0 || (z - place.z).abs() < 1e-12 * ready[own].middles[0].1;
            for (number, surface) in ready.iter().enumerate() {
                let node = (here && number == own).then_some(i);
                self.surface(number, surface, [r, *z], node, rules);
            }
        }
        if matches!(planes, Planes::Two(..)) {
            for (number, surface) in ready.iter().enumerate() {
                let points = rules.far.at.len();
                for (k, sample) in surface.far.iter().enumerate() {
                    let kernel = planes.far([r, place.z], &sample.place);
                    self.add(
                        number,
                        k / points,
                        &rules.far.shares[k % points][0],
                        kernel,
                        sample,
                    );
                }
            }
        }
    }

    fn surface(
        &mut self,
        number: usize,
        surface: &Ready,
        target: [f64; 2],
        node: Option<usize>,
        rules: &Rules,
    ) {
        for (element, (middle, length)) in surface.middles.iter().enumerate() {
            if let Some(i) = node
                && (i == element || i == element + 1)
            {
                self.beside(number, surface, target, element, i, rules);
                continue;
            }
            let away = (target[0] - middle[0]).hypot(target[1] - middle[1]) - 0.5 * length;
            let (rule, samples) = if away > FAR * length {
                (&rules.far, &surface.far)
            } else if away > NEAR * length {
                (&rules.near, &surface.near)
            } else {
                let whole = Part {
                    element,
                    from: 0.0,
                    to: 1.0,
                };
                self.part(number, surface, target, whole, rules, 0);
                continue;
            };
            let points = rule.at.len();
            for (k, sample) in samples[element * points..(element + 1) * points]
                .iter()
                .enumerate()
            {
                self.add(
                    number,
                    element,
                    &rule.shares[k][0],
                    pair(target, &sample.place),
                    sample,
                );
            }
        }
    }

    #[inline]
    fn add(&mut self, number: usize, element: usize, shares: &[f64; 6], kernel: [f64; 2], sample: &Sample) {
        let single = kernel[0] * sample.band;
        for (sum, share) in self.single[number][element..element + 6].iter_mut().zip(shares) {
            *sum += single * share;
        }
        let double = kernel[1] * sample.weight;
        if let Some(sums) = self.dipoles.get_mut(number) {
            for (sum, share) in sums[element..element + 6].iter_mut().zip(shares) {
                *sum += double * share;
            }
        }
        self.double += double * (sample.phi - self.phi);
        self.whole[number] += double;
    }

    /// A part that does not touch the target: halved until it is far enough for its length.
    fn part(
        &mut self,
        number: usize,
        surface: &Ready,
        target: [f64; 2],
        part: Part,
        rules: &Rules,
        depth: usize,
    ) {
        let Part { element, from, to } = part;
        let middle = surface.curve.place(element, &weights(0.5 * (from + to)));
        let length = (to - from) * middle.r_u.hypot(middle.z_u);
        let away = (target[0] - middle.r).hypot(target[1] - middle.z) - 0.5 * length;
        if away <= NEAR * length && depth < DEEPEST {
            let half = 0.5 * (from + to);
            self.part(
                number,
                surface,
                target,
                Part { to: half, ..part },
                rules,
                depth + 1,
            );
            self.part(
                number,
                surface,
                target,
                Part { from: half, ..part },
                rules,
                depth + 1,
            );
            return;
        }
        for (t, w) in rules.near.at.iter().zip(&rules.near.weights) {
            let shares = weights(from + (to - from) * t);
            let sample = sample(
                &surface.curve,
                &surface.potential,
                element,
                &shares,
                w * (to - from),
            );
            self.add(number, element, &shares[0], pair(target, &sample.place), &sample);
        }
    }

    /// An element that ends at the target node `i`.
    fn beside(
        &mut self,
        number: usize,
        surface: &Ready,
        target: [f64; 2],
        element: usize,
        i: usize,
        rules: &Rules,
    ) {
        let upper = i == element + 1;
        let last = surface.curve.elements() - 1;
        let meets_axis = if upper {
            element == 0 && surface.curve.ends()[0] == End::Axis
        } else {
            element == last && surface.curve.ends()[1] == End::Axis
        };
        let mut part = Part {
            element,
            from: 0.0,
            to: 1.0,
        };
        if meets_axis {
            // What multiplies the logarithm has one itself at the axis: that half is kept apart.
            let half = if upper {
                Part { to: 0.5, ..part }
            } else {
                Part { from: 0.5, ..part }
            };
            self.part(number, surface, target, half, rules, 0);
            part = if upper {
                Part { from: 0.5, ..part }
            } else {
                Part { to: 0.5, ..part }
            };
        }
        let rule = &rules.beside;
        let points = rule.at.len();
        for g in 0..points {
            let shares = weights(part.from + (part.to - part.from) * rule.at[g]);
            let weight = rule.weights[g] * (part.to - part.from);
            let sample = sample(&surface.curve, &surface.potential, element, &shares, weight);
            let trade = rule.trade[if upper { points - 1 - g } else { g }];
            let kernel = pair_beside(target, &sample.place, trade);
            self.add(number, element, &shares[0], kernel, &sample);
        }
    }
}

/// Brings the coefficients beyond the ends back by their symmetry and writes the row.
pub fn store(ready: &[Ready], sums: &[Vec<f64>], row: &mut [f64]) {
    for (surface, sums) in ready.iter().zip(sums) {
        let last = surface.curve.elements();
        for (k, sum) in sums.iter().enumerate() {
            let place = (k as isize - 2).unsigned_abs();
            let place = if place > last { 2 * last - place } else { place };
            row[surface.first + place] += sum;
        }
    }
}
