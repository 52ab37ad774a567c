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
        let (outer, mut speeds) = surface(&self.start, share(&self.start), radius, time);
        let mut body = Body {
            surfaces: vec![outer],
        };
        if let Some(bubble) = &self.bubble {
            let (mut wall, mut wall_speeds) = surface(&bubble.start, share(&bubble.start), radius, time);
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
fn surface(start: &Start, count: usize, radius: f64, time: f64) -> (Surface, Vec<f64>) {
    let points = start.meridian(count);
    let surface = Surface {
        ends: [End::Axis; 2],
        r: points.iter().map(|p| p[1] / radius).collect(),
        z: points.iter().map(|p| p[0] / radius).collect(),
        phi: vec![0.0; points.len()],
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
            surfaces: vec![Surface { ends, r, z, phi }],
        })
    }
}

/// Radius of the ball that holds `volume`.
#[must_use]
pub fn ball(volume: f64) -> f64 {
    (0.75 * volume / PI).cbrt()
}
