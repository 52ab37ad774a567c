//! The points of an outline brought to one instant, when every row of the picture was taken at a time of its own.
//!
//! About an origin `o` that moves with the body, the outline is a radius that depends on direction and time. A frame samples it
//! in each direction at the time of the row that it there meets; the radius at the wanted instant is Lagrange's polynomial through
//! the samples of the frames around:
//!
//! ```text
//! o(t) = s_k + v_k (t - t_k'),      rho_j(phi) = |p - o(t_j + T(p))|,      t_k' = t_k + <T(s)>
//! point' = o(t_k') + e(phi) [ rho + sum_j w_j rho_j(phi) - rho_k(phi) ],    w_j = prod_(i != j) (t_k' - t_i(phi)) / (t_j(phi) - t_i(phi))
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s_k`, `v_k` | centre that is seen in frame `k`, its speed over the frames around | px, px/s |
//! | `T(p)` | delay of the row of a point: [`tremolet_optics::shutter`] | s |
//! | `t_k'` | the instant of the frame's shape: its time and the mean delay of the centre, one for the whole clip | s |
//! | `rho`, `rho_j` | radius of the point; of frame `j`, smooth by its harmonics | px |
//! | `phi`, `e` | direction from the origin, unit vector along it | rad |
//!
//! Change of shape and drift come out together, to all orders that seven frames tell: the part of a swing of angular frequency `w` that
//! is left is `|u (1 - u^2)(4 - u^2)(9 - u^2)| (w D)^7 / 5040`, `D` the time between frames and `u = |T(p) - <T>| / D`, below 0.05 %
//! of the row's own error where ten frames make a period and 10 % where four do. What the two polynomials through seven and five frames
//! disagree by goes into the uncertainty of the points, and so does the noise that the polynomial adds at the ends of a clip.
//!
//! Source: Lagrange's interpolation \[AbramowitzStegun1972\] 25.2; the rest is own derivation. For outlines with one radius
//! in every direction; of others nothing is taken out.

use crate::measured::Taken;
use crate::sighting::{Sighting, points, renewed, used};
use std::f64::consts::TAU;
use tremolet_optics::shutter::Shutter;
use tremolet_shape::normal_equations::NormalEquations;
use tremolet_shape::outline::Point;
use tremolet_shape::symmetry::Harmonics;

/// Frames on each side of one.
const REACH: usize = 3;
/// Directions in which the radius is brought to the instant; between them it is smooth.
const DIRECTIONS: usize = 96;
/// Frames further apart than so many intervals do not belong together.
const APART: f64 = 1.6;
/// Points whose errors go together, where the polynomials disagree.
const TOGETHER: f64 = 16.0;

/// A smooth closed curve with the delay of the row at every place of it.
struct Curve {
    shape: Harmonics,
    /// Delay over the place: `a + b x + c y`, s.
    delay: [f64; 3],
    time: f64,
}

impl Curve {
    fn place(&self, angle: f64) -> [f64; 2] {
        let (sin, cos) = angle.sin_cos();
        let (mut s, mut c, mut r) = (0.0, 1.0, 0.0);
        for (a, b) in self.shape.cosine.iter().zip(&self.shape.sine) {
            r += a * c + b * s;
            (s, c) = (s * cos + c * sin, c * cos - s * sin);
        }
        [self.shape.centre[0] + r * sin, self.shape.centre[1] - r * cos]
    }

    fn taken(&self, [x, y]: [f64; 2]) -> f64 {
        self.time + self.delay[0] + self.delay[1] * x + self.delay[2] * y
    }
}

/// A moving origin.
#[derive(Clone, Copy)]
struct Origin {
    place: [f64; 2],
    speed: [f64; 2],
    time: f64,
}

impl Origin {
    fn at(&self, time: f64) -> [f64; 2] {
        [0, 1].map(|i| self.place[i] + self.speed[i] * (time - self.time))
    }
}

/// Direction from up towards the right, and length.
fn polar(from: [f64; 2], to: [f64; 2]) -> (f64, f64) {
    let (x, y) = (to[0] - from[0], to[1] - from[1]);
    (x.atan2(-y), x.hypot(y))
}

/// Brings all points of each frame to one instant of it, the same in all; `times` of the frames in s.
pub fn at_one_instant(sightings: &mut [Sighting], times: &[f64], shutter: &Shutter) -> Taken {
    let curves: Vec<Option<Curve>> = sightings
        .iter()
        .zip(times)
        .map(|(s, time)| curve(s, *time, shutter))
        .collect();
    let delays = curves.iter().flatten().map(|c| c.taken(c.shape.centre) - c.time);
    let count = delays.clone().count();
    if count == 0 {
        let left = sightings.iter().map(|s| s.frame).collect();
        return Taken { delay: 0.0, left };
    }
    let delay = delays.sum::<f64>() / count as f64;
    let mut left = Vec::new();
    for (k, s) in sightings.iter_mut().enumerate() {
        let around = around(&curves, times, k);
        match curves[k].as_ref().filter(|_| around.len() > 1) {
            Some(here) => renewed(s, brought(s, here, &around, times[k] + delay, shutter)),
            None => left.push(s.frame),
        }
    }
    Taken { delay, left }
}

fn curve(s: &Sighting, time: f64, shutter: &Shutter) -> Option<Curve> {
    let shape = s.harmonics.clone()?;
    let mut sums = NormalEquations::new(3);
    for (p, seen) in used(s).iter().zip(points(s)) {
        let (x, y) = (p.x - shape.centre[0], p.y - shape.centre[1]);
        sums.add(&[1.0, x, y], 1.0, shutter.row_time(0.0, seen.y));
    }
    let [a, b, c] = sums.factored()?.solution(3)[..] else {
        return None;
    };
    let delay = [a - b * shape.centre[0] - c * shape.centre[1], b, c];
    Some(Curve { shape, delay, time })
}

/// The curves around frame `k`, it among them, as far as they follow each other without a gap.
fn around<'a>(curves: &'a [Option<Curve>], times: &[f64], k: usize) -> Vec<&'a Curve> {
    let gap = |i: usize| times[i + 1] - times[i];
    let last = times.len() - 1;
    let gaps = (k.max(1) - 1..(k + 1).min(last)).map(gap);
    let least = gaps.fold(f64::INFINITY, f64::min);
    let joined = |i: usize| gap(i) < APART * least;
    let (mut low, mut high) = (k, k);
    // Seven frames where the clip has them, as even on both sides as can be.
    while high - low < 2 * REACH {
        let (down, up) = (low > 0 && joined(low - 1), high < last && joined(high));
        if down && (!up || k - low <= high - k) {
            low -= 1;
        } else if up {
            high += 1;
        } else {
            break;
        }
    }
    curves[low..=high].iter().flatten().collect()
}

fn brought(s: &Sighting, here: &Curve, around: &[&Curve], instant: f64, shutter: &Shutter) -> Vec<Point> {
    let (first, last) = (around[0], around[around.len() - 1]);
    let span = last.taken(last.shape.centre) - first.taken(first.shape.centre);
    let speed = [0, 1].map(|i| (last.shape.centre[i] - first.shape.centre[i]) / span);
    let origin = Origin {
        place: here.shape.centre,
        speed,
        time: instant,
    };
    let changes: Vec<Change> = (0..DIRECTIONS)
        .map(|i| change(here, around, &origin, TAU * i as f64 / DIRECTIONS as f64))
        .collect();
    let spread = (s.outline.len() as f64 / TOGETHER).max(1.0).sqrt();
    let one = |(p, seen): (Point, Point)| {
        let taken = here.time + shutter.row_time(0.0, seen.y);
        let (angle, radius) = polar(origin.at(taken), [p.x, p.y]);
        let change = between(&changes, angle);
        let (sin, cos) = angle.sin_cos();
        let r = radius + change.radius;
        Point {
            x: origin.place[0] + r * sin,
            y: origin.place[1] - r * cos,
            uncertainty: (p.uncertainty * change.noise.max(1.0)).hypot(spread * change.doubt),
        }
    };
    used(s).into_iter().zip(points(s)).map(one).collect()
}

/// What a radius changes by on the way to the instant.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Change {
    /// Longer by, px.
    radius: f64,
    /// What polynomials through more and fewer frames disagree by, px.
    doubt: f64,
    /// Noise at the instant over that of one frame.
    noise: f64,
}

fn change(here: &Curve, around: &[&Curve], origin: &Origin, angle: f64) -> Change {
    let samples: Vec<[f64; 2]> = around.iter().map(|c| sample(c, origin, angle)).collect();
    let [_, own] = sample(here, origin, angle);
    let (all, noise) = at(&samples, origin.time);
    let doubt = if samples.len() > 2 {
        (all - at(fewer(&samples, origin.time), origin.time).0).abs()
    } else {
        (all - own).abs()
    };
    Change {
        radius: all - own,
        doubt,
        noise,
    }
}

/// Time and radius at which a curve meets a direction from the origin.
fn sample(curve: &Curve, origin: &Origin, angle: f64) -> [f64; 2] {
    let (mut parameter, mut found) = (angle, [0.0; 2]);
    for _ in 0..3 {
        let place = curve.place(parameter);
        let time = curve.taken(place);
        let (met, radius) = polar(origin.at(time), place);
        found = [time, radius];
        let off = angle - met;
        parameter += off - TAU * (off / TAU).round();
    }
    found
}

/// The samples without the two that are farthest from `time`.
fn fewer(samples: &[[f64; 2]], time: f64) -> &[[f64; 2]] {
    let mut rest = samples;
    for _ in 0..2 {
        let [first, .., last] = rest else { return rest };
        rest = if (first[0] - time).abs() > (last[0] - time).abs() {
            &rest[1..]
        } else {
            &rest[..rest.len() - 1]
        };
    }
    rest
}

/// Lagrange's polynomial through `[time, value]` at `time`, and the root of the sum of its squared weights.
fn at(samples: &[[f64; 2]], time: f64) -> (f64, f64) {
    let (mut value, mut squares) = (0.0, 0.0);
    for (j, [own, radius]) in samples.iter().enumerate() {
        let others = samples.iter().enumerate().filter(|(i, _)| *i != j);
        let weight: f64 = others.map(|(_, [t, _])| (time - t) / (own - t)).product();
        value += weight * radius;
        squares += weight * weight;
    }
    (value, squares.sqrt())
}

/// The change in a direction between those that were computed, by a cubic through four.
fn between(changes: &[Change], angle: f64) -> Change {
    let at = (angle / TAU).rem_euclid(1.0) * DIRECTIONS as f64;
    let (i, t) = (at as usize, at.fract());
    let near = |k: usize| &changes[(i + DIRECTIONS + k - 1) % DIRECTIONS];
    let four = [near(0), near(1), near(2), near(3)].map(|c| c.radius);
    Change {
        radius: cubic(four, t),
        doubt: near(1).doubt.max(near(2).doubt),
        noise: near(1).noise.max(near(2).noise),
    }
}

/// Through values at -1, 0, 1 and 2, at `t` from 0 to 1.
fn cubic([a, b, c, d]: [f64; 4], t: f64) -> f64 {
    let (p, q, r) = (t + 1.0, t - 1.0, t - 2.0);
    -a * t * q * r / 6.0 + b * p * q * r / 2.0 - c * p * t * r / 2.0 + d * p * t * q / 6.0
}

#[cfg(test)]
mod tests;
