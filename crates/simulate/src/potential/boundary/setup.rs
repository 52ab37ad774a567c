//! From what is given at the start, in SI, to bodies in unit-drop units.
//!
//! ```text
//! piece    a body: its start, its height, its speed along the axis, a bubble inside if there is one
//! thread   r(z) = a (1 + e cos(2 pi m z / l)) between two planes l apart, or l = half a wave
//! ```
//! A start of given surface velocities gets the potential whose normal slope they are (`influence::harmonic`).
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | a, e, l, m | radius, amplitude, length between the planes, waves on it (halves too) | m, 1, m, 1 |
//!
//! Source: definitions.

use std::f64::consts::{PI, TAU};

use tremolet_numerics::legendre;

use crate::liquid::{InputError, not_negative, positive};
use crate::potential::boundary::body::{Body, Surface};
use crate::potential::boundary::curve::End;
use crate::potential::boundary::influence::Influence;
use crate::potential::boundary::points::Rules;
use crate::start::{Start, crossing, factors};

/// One body at the start.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Its shape and the velocity of its surface.
    pub start: Start,
    /// Of its origin along the axis, m.
    pub height: f64,
    /// Along the axis, m/s.
    pub speed: f64,
    /// A bubble inside.
    pub bubble: Option<Bubble>,
}

/// A bubble at the start.
#[derive(Debug, Clone, PartialEq)]
pub struct Bubble {
    /// Its shape and the velocity of its wall.
    pub start: Start,
    /// Of its origin above that of the body, m.
    pub height: f64,
}

/// How the gas in bubbles behaves.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Filling {
    /// It keeps its volume.
    #[default]
    Stiff,
    /// Its pressure falls with a power of its volume.
    Polytropic {
        /// Pressure around the body, Pa.
        around: f64,
        /// The power.
        exponent: f64,
    },
}

impl Piece {
    /// A body alone at the origin.
    #[must_use]
    pub fn alone(start: Start) -> Self {
        Self {
            start,
            height: 0.0,
            speed: 0.0,
            bubble: None,
        }
    }

    /// Refuses what is no body: shapes without an inside, a bubble that touches the surface.
    ///
    /// # Errors
    /// [`InputError`].
    pub fn check(&self) -> Result<(), InputError> {
        self.start.check()?;
        not_negative("size of the speed of a body", self.speed.abs(), "m/s")?;
        let Some(bubble) = &self.bubble else {
            return Ok(());
        };
        bubble.start.check()?;
        let (outer, inner) = (self.start.meridian(400), bubble.start.meridian(400));
        let inner: Vec<[f64; 2]> = inner.iter().map(|p| [p[0] + bubble.height, p[1]]).collect();
        let ends = outer[0][0] > inner[0][0] && outer[outer.len() - 1][0] < inner[inner.len() - 1][0];
        // One path over both: the walls may not cross anywhere.
        let mut path = outer.clone();
        path.extend(inner.iter().rev());
        let touches = crossing(&path).is_some();
        if ends && !touches {
            return Ok(());
        }
        Err(InputError::Shape {
            why: "has a bubble that touches or crosses its surface, height of the bubble in m",
            found: bubble.height,
            expected: "liquid all round the bubble",
        })
    }

    /// The body, lengths in `radius`, times in `time`, with `elements` on half a turn of a ball of that radius.
    ///
    /// # Errors
    /// [`InputError`] for what [`Piece::check`] refuses and for velocities that no flow has.
    pub fn body(&self, radius: f64, time: f64, elements: usize) -> Result<Body, InputError> {
        self.check()?;
        let share = |start: &Start| {
            let count = (elements as f64 * start.radius() / radius).ceil() as usize;
            count.clamp(16, elements.max(16))
        };
        let (outer, mut speeds) = surface(&self.start, share(&self.start), elements, radius, time);
        let mut body = Body {
            surfaces: vec![outer],
        };
        if let Some(bubble) = &self.bubble {
            let (mut wall, mut wall_speeds) =
                surface(&bubble.start, share(&bubble.start), elements, radius, time);
            for list in [&mut wall.r, &mut wall.z, &mut wall_speeds] {
                list.reverse();
            }
            // The normal out of the liquid points into the bubble.
            wall_speeds.iter_mut().for_each(|speed| *speed = -*speed);
            wall.z.iter_mut().for_each(|z| *z += bubble.height / radius);
            body.surfaces.push(wall);
            speeds.extend(wall_speeds);
        }
        body.shift(self.height / radius);
        if speeds.iter().any(|speed| *speed != 0.0) {
            stir(&mut body, &speeds)?;
        }
        body.speed_up(self.speed * time / radius);
        Ok(body)
    }
}

/// A surface with the normal velocities of its nodes.
fn surface(start: &Start, count: usize, elements: usize, radius: f64, time: f64) -> (Surface, Vec<f64>) {
    let mut points = start.meridian(count);
    if let Start::Profile { .. } = start {
        points = evened(&points, std::f64::consts::PI * radius / elements as f64);
    }
    let surface = Surface {
        ends: [End::Axis; 2],
        r: points.iter().map(|p| p[1] / radius).collect(),
        z: points.iter().map(|p| p[0] / radius).collect(),
        phi: vec![0.0; points.len()],
        layers: Vec::new(),
    };
    let Start::Star {
        radius: own,
        velocity,
        ..
    } = start
    else {
        let none = vec![0.0; points.len()];
        return (surface, none);
    };
    let mut rates = factors(velocity);
    rates[0] = 0.0;
    let nodes = surface.curve().nodes();
    let speeds = nodes.iter().map(|node| {
        let (r, z) = (node.place.r, node.place.z);
        let distance = r.hypot(z);
        let along = (node.normal[0] * r + node.normal[1] * z) / distance;
        along * legendre::series(&rates, z / distance) * own * time / radius
    });
    let speeds = speeds.collect();
    (surface, speeds)
}

/// Points of a profile at even steps of about `step` along it: cubics of its chords, with slopes from the parabola through three points, mirrored at the axis.
fn evened(points: &[[f64; 2]], step: f64) -> Vec<[f64; 2]> {
    let last = points.len() - 1;
    let chord = |a: [f64; 2], b: [f64; 2]| (b[0] - a[0]).hypot(b[1] - a[1]);
    let mut along = vec![0.0];
    for pair in points.windows(2) {
        along.push(along[along.len() - 1] + chord(pair[0], pair[1]));
    }
    let mirrored = |p: [f64; 2]| [p[0], -p[1]];
    let slope = |i: usize| -> [f64; 2] {
        let before = if i == 0 {
            mirrored(points[1])
        } else {
            points[i - 1]
        };
        let after = if i == last {
            mirrored(points[last - 1])
        } else {
            points[i + 1]
        };
        let (a, b) = (chord(before, points[i]), chord(points[i], after));
        [0, 1].map(|k| {
            let (left, right) = ((points[i][k] - before[k]) / a, (after[k] - points[i][k]) / b);
            (left * b + right * a) / (a + b)
        })
    };
    let count = (along[last] / step).round().max(16.0) as usize;
    let at = |k: usize| {
        let way = along[last] * k as f64 / count as f64;
        let next = along.partition_point(|s| *s < way).clamp(1, last);
        let length = along[next] - along[next - 1];
        let t = (way - along[next - 1]) / length;
        let (from, to) = (slope(next - 1), slope(next));
        let s = 1.0 - t;
        [0, 1].map(|c| {
            let (a, b) = (points[next - 1][c], points[next][c]);
            a * s * s * (1.0 + 2.0 * t)
                + b * t * t * (1.0 + 2.0 * s)
                + length * s * t * (from[c] * s - to[c] * t)
        })
    };
    let mut even: Vec<[f64; 2]> = (0..=count).map(at).collect();
    (even[0], even[count]) = ([points[0][0], 0.0], [points[last][0], 0.0]);
    even
}

/// Gives the body the potential of these normal velocities, less what would change its volume.
fn stir(body: &mut Body, speeds: &[f64]) -> Result<(), InputError> {
    let rules = Rules::default();
    let influence = Influence::of(body, &rules, true);
    let mut lists = Vec::new();
    let mut from = 0;
    for surface in &body.surfaces {
        let count = surface.r.len();
        let list = speeds[from..from + count].to_vec();
        from += count;
        lists.push(even(surface, list, &rules));
    }
    let found = influence.harmonic(&lists).map_err(|_| InputError::Shape {
        why: "has velocities that no flow has, sum over the nodes",
        found: speeds.iter().sum(),
        expected: "velocities that keep the volume",
    })?;
    for (surface, phi) in body.surfaces.iter_mut().zip(found) {
        surface.phi = phi;
    }
    Ok(())
}

/// Takes the net flux evenly off the velocities of a surface.
fn even(surface: &Surface, speeds: Vec<f64>, rules: &Rules) -> Vec<f64> {
    use tremolet_numerics::spline::{Spline, Symmetry};
    let flux = |list: &[f64]| surface.flux(&Spline::through(list, [Symmetry::Even; 2]), rules);
    let excess = flux(&speeds) / flux(&vec![1.0; speeds.len()]);
    speeds.iter().map(|speed| speed - excess).collect()
}

/// A thread between two planes, as [`Thread::body`] makes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thread {
    /// Radius of the even thread, m.
    pub radius: f64,
    /// Distance of the planes, m.
    pub length: f64,
    /// Amplitude over radius.
    pub amplitude: f64,
    /// Waves between the planes: a multiple of one half.
    pub waves: f64,
}

impl Thread {
    /// The body in lengths of the radius of the even thread, planes at nil and `-length`.
    ///
    /// # Errors
    /// [`InputError`] for sizes that make no thread.
    pub fn body(&self, elements: usize) -> Result<Body, InputError> {
        positive("radius of a thread", self.radius, "m")?;
        positive("length of a thread", self.length, "m")?;
        let halves = 2.0 * self.waves;
        if self.amplitude.abs() >= 1.0 || (halves - halves.round()).abs() > 1e-9 || elements < 8 {
            return Err(InputError::Shape {
                why: "is a thread whose waves do not fit, waves between the planes",
                found: self.waves,
                expected: "a multiple of one half, an amplitude below 1, 8 elements or more",
            });
        }
        let length = self.length / self.radius;
        let (mut r, mut z) = (Vec::new(), Vec::new());
        for i in 0..=elements {
            let share = i as f64 / elements as f64;
            r.push(1.0 + self.amplitude * (TAU * self.waves * share).cos());
            z.push(-length * share);
        }
        let phi = vec![0.0; r.len()];
        let ends = [End::Plane; 2];
        Ok(Body {
            surfaces: vec![Surface {
                ends,
                r,
                z,
                phi,
                layers: Vec::new(),
            }],
        })
    }
}

/// Radius of the ball that holds `volume`.
#[must_use]
pub fn ball(volume: f64) -> f64 {
    (0.75 * volume / PI).cbrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_profile_of_uneven_points_becomes_an_even_one_on_the_same_curve() {
        // A flat spheroid told densely at one end and sparsely at the other.
        let point = |k: i32| {
            let t = PI * (f64::from(k) / 60.0).powf(1.5);
            [0.6 * t.cos(), if k == 0 || k == 60 { 0.0 } else { 1.3 * t.sin() }]
        };
        let points: Vec<[f64; 2]> = (0..=60).map(point).collect();
        let even = evened(&points, PI / 48.0);
        let off = even
            .iter()
            .map(|[z, r]| ((z / 0.6).powi(2) + (r / 1.3).powi(2)).sqrt() - 1.0);
        assert!(off.fold(0.0_f64, |most, x| most.max(x.abs())) < 1e-4);
        let steps: Vec<f64> = even
            .windows(2)
            .map(|p| (p[1][0] - p[0][0]).hypot(p[1][1] - p[0][1]))
            .collect();
        let (least, most) = steps
            .iter()
            .fold((f64::INFINITY, 0.0_f64), |(a, b), s| (a.min(*s), b.max(*s)));
        assert!(most / least < 1.02, "{least} {most}");
        let body = Piece::alone(Start::Profile { meridian: points })
            .body(1.0, 1.0, 48)
            .expect("a body");
        let volume = body.moments(&Rules::default())[0];
        assert!((volume / (4.0 / 3.0 * PI * 0.6 * 1.3 * 1.3) - 1.0).abs() < 1e-4);
    }

    #[test]
    fn a_thread_fits_its_planes() {
        let thread = Thread {
            radius: 2.0,
            length: 10.0,
            amplitude: 0.1,
            waves: 0.5,
        };
        let body = thread.body(20).expect("a thread");
        let outer = &body.surfaces[0];
        assert!((outer.r[0] - 1.1).abs() < 1e-12 && (outer.r[20] - 0.9).abs() < 1e-12 && outer.z[20] == -5.0);
        assert!(Thread { waves: 0.3, ..thread }.body(20).is_err());
        assert!(
            Thread {
                radius: 0.0,
                ..thread
            }
            .body(20)
            .is_err()
        );
    }
}
