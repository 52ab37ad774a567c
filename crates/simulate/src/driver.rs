//! What acts on a body from outside during a run.
//!
//! ```text
//! pressure on the surface    p(theta, t) = sum of footprints + support
//! potential per mass         g(t) z  (uniform),     + Omega^2 rho^2 / 2  (rotation)
//! support                    p = the pressure that keeps the start shape at rest, where the front has not passed;
//!                            at the front an impulse of I (Pa s) spread over w of angle
//! ```
//! theta is the angle from +z as seen from the centre of the body. A pressure footprint of half angle h is a cap (1 inside), a bell
//! (exp(-(theta/h)^2)) or a beam (exp(-(sin theta/h)^2) on the near half: a jet along the axis whose pressure falls off with the distance from it); it lasts from `begins` for `lasts`, even or as half a sine. The front of a support moves at a constant
//! speed along the surface, counted as an angle `speed t / R`.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | p, g, Omega | pressure, acceleration along z, rate of rotation about z | Pa, m/s^2, rad/s |
//!
//! Source: definitions. A rotation that varies with place (swirl that the motion winds up) is not here: Omega is that of a rigid
//! field of force. The support is one-way: it presses as at rest and does not follow the surface.

use serde::{Deserialize, Serialize};
use std::f64::consts::{PI, TAU};

use crate::liquid::{InputError, not_negative, positive};

/// Everything that acts; the default is nothing.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Drivers {
    /// Pressures on the surface.
    pub footprints: Vec<Footprint>,
    /// Uniform acceleration along z.
    pub acceleration: Acceleration,
    /// Rate of rotation about z, rad/s.
    pub rotation: f64,
    /// A support that peels away.
    pub support: Option<Support>,
}

/// Which end of the axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum End {
    /// theta = 0.
    Upper,
    /// theta = pi.
    Lower,
    /// Both at once.
    Both,
}

/// How a pressure falls off with angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Form {
    /// Even inside.
    Cap,
    /// A bell in the angle.
    Bell,
    /// A bell in the distance from the axis, on the near half; the half angle is that distance over the radius.
    Beam,
}

/// How a pressure goes in time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Pulse {
    /// Even.
    Even,
    /// Half a sine.
    HalfSine,
}

/// A pressure on part of the surface for a time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Footprint {
    /// At most, Pa; negative sucks.
    pub peak: f64,
    /// Half angle, rad.
    pub half_angle: f64,
    /// Which end of the axis is in its middle.
    pub end: End,
    /// In space.
    pub form: Form,
    /// s.
    pub begins: f64,
    /// s.
    pub lasts: f64,
    /// In time.
    pub pulse: Pulse,
}

/// A uniform acceleration along z.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Acceleration {
    /// m/s^2.
    pub steady: f64,
    /// Swings on top.
    pub jitter: Vec<Tone>,
}

/// One swing, `amplitude sin(2 pi frequency t + phase)`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Tone {
    /// m/s^2.
    pub amplitude: f64,
    /// Hz.
    pub frequency: f64,
    /// rad.
    pub phase: f64,
}

/// A support that peels away from an end (or both) at a constant speed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Support {
    /// Where peeling begins.
    pub end: End,
    /// Speed of the front along the surface, m/s.
    pub speed: f64,
    /// Impulse per area that the passing front leaves, Pa s; positive presses inwards.
    pub impulse: f64,
    /// Angle over which the front is spread, rad.
    pub width: f64,
}

impl End {
    /// Angle from the nearest end of this kind, rad.
    #[must_use]
    pub fn angle(self, theta: f64) -> f64 {
        match self {
            Self::Upper => theta,
            Self::Lower => PI - theta,
            Self::Both => theta.min(PI - theta),
        }
    }

    /// The largest such angle.
    #[must_use]
    pub fn furthest(self) -> f64 {
        if self == Self::Both { PI / 2.0 } else { PI }
    }
}

impl Footprint {
    /// Pressure at an angle and a time, Pa.
    #[must_use]
    pub fn at(&self, theta: f64, time: f64) -> f64 {
        let since = (time - self.begins) / self.lasts;
        if !(0.0..1.0).contains(&since) {
            return 0.0;
        }
        let angle = self.end.angle(theta);
        let share = angle / self.half_angle;
        let space = match self.form {
            Form::Cap => f64::from(u8::from(share <= 1.0)),
            Form::Bell => (-share * share).exp(),
            Form::Beam if angle < PI / 2.0 => (-(angle.sin() / self.half_angle).powi(2)).exp(),
            Form::Beam => 0.0,
        };
        let course = match self.pulse {
            Pulse::Even => 1.0,
            Pulse::HalfSine => (PI * since).sin(),
        };
        self.peak * space * course
    }
}

impl Acceleration {
    /// At a time, m/s^2.
    #[must_use]
    pub fn at(&self, time: f64) -> f64 {
        let swing = |tone: &Tone| tone.amplitude * (TAU * tone.frequency * time + tone.phase).sin();
        self.steady + self.jitter.iter().map(swing).sum::<f64>()
    }

    /// How far what rests at time 0 has moved with it, m.
    #[must_use]
    pub fn moved(&self, time: f64) -> f64 {
        let swing = |tone: &Tone| {
            let omega = TAU * tone.frequency;
            if omega == 0.0 {
                return 0.5 * tone.amplitude * tone.phase.sin() * time * time;
            }
            let turned = (omega * time + tone.phase).sin() - tone.phase.sin();
            tone.amplitude / omega * (time * tone.phase.cos() - turned / omega)
        };
        0.5 * self.steady * time * time + self.jitter.iter().map(swing).sum::<f64>()
    }
}

impl Support {
    /// How far the support still holds at an angle: 1 before the front, 0 behind it, a smooth step of `width` between.
    #[must_use]
    pub fn hold(&self, theta: f64, time: f64, radius: f64) -> f64 {
        step(self.ahead(theta, time, radius))
    }

    /// Pressure of the passing front, Pa: `impulse` spread over the time in which it passes.
    #[must_use]
    pub fn drag(&self, theta: f64, time: f64, radius: f64) -> f64 {
        // The integral over time of d(hold)/dt is 1.
        let ahead = self.ahead(theta, time, radius);
        let slope = if (0.0..1.0).contains(&ahead) {
            6.0 * ahead * (1.0 - ahead)
        } else {
            0.0
        };
        self.impulse * slope * self.speed / (radius * self.width)
    }

    /// When the last of it is gone, s.
    #[must_use]
    pub fn gone(&self, radius: f64) -> f64 {
        (self.end.furthest() + self.width) * radius / self.speed
    }

    /// How far the place lies ahead of the rear of the front, in widths.
    fn ahead(&self, theta: f64, time: f64, radius: f64) -> f64 {
        (self.end.angle(theta) + self.width - self.speed * time / radius) / self.width
    }
}

/// From 0 at 0 to 1 at 1, smooth.
fn step(x: f64) -> f64 {
    let x = x.clamp(0.0, 1.0);
    x * x * (3.0 - 2.0 * x)
}

impl Drivers {
    /// Refuses what makes no sense.
    ///
    /// # Errors
    /// [`InputError::Property`].
    pub fn check(&self) -> Result<(), InputError> {
        for one in &self.footprints {
            positive("half angle of a pressure", one.half_angle, "rad")?;
            positive("duration of a pressure", one.lasts, "s")?;
            not_negative("size of a pressure", one.peak.abs(), "Pa")?;
        }
        for tone in &self.acceleration.jitter {
            not_negative("frequency of a jitter", tone.frequency, "Hz")?;
        }
        not_negative(
            "size of the acceleration",
            self.acceleration.steady.abs(),
            "m/s^2",
        )?;
        not_negative("size of the rotation", self.rotation.abs(), "rad/s")?;
        self.support.map_or(Ok(()), |support| {
            positive("speed of the front", support.speed, "m/s")?;
            positive("width of the front", support.width, "rad")?;
            not_negative("size of the impulse of the front", support.impulse.abs(), "Pa s")
        })
    }

    /// Pressure of all footprints and of a passing front, Pa; `radius` is the equivalent radius, m.
    #[must_use]
    pub fn pressure(&self, theta: f64, time: f64, radius: f64) -> f64 {
        let puffs: f64 = self.footprints.iter().map(|one| one.at(theta, time)).sum();
        puffs
            + self
                .support
                .map_or(0.0, |support| support.drag(theta, time, radius))
    }

    /// How far a support still holds, 0 to 1.
    #[must_use]
    pub fn hold(&self, theta: f64, time: f64, radius: f64) -> f64 {
        self.support
            .map_or(0.0, |support| support.hold(theta, time, radius))
    }

    /// Whether any pressure can act at or after `time`.
    #[must_use]
    pub fn presses(&self, time: f64, radius: f64) -> bool {
        let late = |one: &Footprint| time <= one.begins + one.lasts;
        self.footprints.iter().any(late) || self.support.is_some_and(|s| time <= s.gone(radius))
    }

    /// The next instant after `time` at which something begins or ends abruptly, s: no step should run across it.
    #[must_use]
    pub fn next_edge(&self, time: f64, radius: f64) -> Option<f64> {
        let ends = self
            .footprints
            .iter()
            .flat_map(|one| [one.begins, one.begins + one.lasts]);
        let gone = self.support.map(|support| support.gone(radius));
        ends.chain(gone)
            .filter(|edge| *edge > time)
            .min_by(f64::total_cmp)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn puff() -> Footprint {
        Footprint {
            peak: 10.0,
            half_angle: 0.5,
            end: End::Lower,
            form: Form::Cap,
            begins: 0.1,
            lasts: 0.2,
            pulse: Pulse::HalfSine,
        }
    }

    #[test]
    fn a_puff_acts_where_and_when_it_should() {
        let one = puff();
        assert!((one.at(PI - 0.4, 0.2) - 10.0).abs() < 1e-12);
        assert_eq!(one.at(PI - 0.6, 0.2), 0.0);
        assert_eq!(one.at(0.1, 0.2), 0.0);
        assert_eq!((one.at(PI, 0.05), one.at(PI, 0.31)), (0.0, 0.0));
        let bell = Footprint {
            form: Form::Bell,
            end: End::Both,
            pulse: Pulse::Even,
            ..one
        };
        assert!((bell.at(0.5, 0.15) - 10.0 * (-1f64).exp()).abs() < 1e-12);
        assert!((bell.at(0.5, 0.15) - bell.at(PI - 0.5, 0.15)).abs() < 1e-12);
        let beam = Footprint {
            form: Form::Beam,
            pulse: Pulse::Even,
            ..one
        };
        // One half angle from the axis, counted as sin theta, and nothing on the far half.
        assert!((beam.at(PI - 0.5_f64.asin(), 0.15) - 10.0 * (-1f64).exp()).abs() < 1e-12);
        assert_eq!(beam.at(1.5, 0.15), 0.0);
        let all = Drivers {
            footprints: vec![one],
            ..Drivers::default()
        };
        assert_eq!(all.next_edge(0.0, 1.0), Some(0.1));
        assert!((all.next_edge(0.1, 1.0).expect("an end") - 0.3).abs() < 1e-12);
        assert!(all.presses(0.2, 1.0) && !all.presses(0.4, 1.0));
    }

    #[test]
    fn a_front_leaves_its_impulse_and_lets_go() {
        let support = Support {
            end: End::Upper,
            speed: 2.0,
            impulse: 0.7,
            width: 0.3,
        };
        let (radius, theta, steps) = (0.5, 1.2, 40_000);
        let step = support.gone(radius) / f64::from(steps);
        let sum: f64 = (0..steps)
            .map(|k| support.drag(theta, f64::from(k) * step, radius) * step)
            .sum();
        assert!((sum - 0.7).abs() < 1e-4, "{sum}");
        assert_eq!(support.hold(theta, 0.0, radius), 1.0);
        assert_eq!(support.hold(PI, support.gone(radius), radius), 0.0);
        // Its middle passes when (theta + width / 2) R = speed t.
        assert!((support.hold(theta, 1.35 * radius / 2.0, radius) - 0.5).abs() < 1e-9);
    }

    #[test]
    fn an_acceleration_swings_about_its_steady_part() {
        let tone = Tone {
            amplitude: 2.0,
            frequency: 5.0,
            phase: 0.0,
        };
        let acceleration = Acceleration {
            steady: 1.0,
            jitter: vec![tone],
        };
        assert!((acceleration.at(0.05) - 3.0).abs() < 1e-12 && (acceleration.at(0.0) - 1.0).abs() < 1e-12);
        // The way moved has the acceleration as its second derivative and begins at rest.
        let h = 1e-4;
        let second = |t: f64| {
            (acceleration.moved(t + h) - 2.0 * acceleration.moved(t) + acceleration.moved(t - h)) / (h * h)
        };
        assert!((second(0.13) - acceleration.at(0.13)).abs() < 1e-4);
        assert!(acceleration.moved(0.0) == 0.0 && (acceleration.moved(h) / h).abs() < 1e-3);
    }

    #[test]
    fn nonsense_is_refused() {
        let wrong = Drivers {
            footprints: vec![Footprint { lasts: 0.0, ..puff() }],
            ..Drivers::default()
        };
        assert!(
            wrong
                .check()
                .expect_err("refused")
                .to_string()
                .contains("duration")
        );
        let support = Some(Support {
            end: End::Both,
            speed: -1.0,
            impulse: 0.0,
            width: 0.1,
        });
        assert!(
            Drivers {
                support,
                ..Drivers::default()
            }
            .check()
            .is_err()
        );
        assert!(
            Drivers {
                rotation: f64::NAN,
                ..Drivers::default()
            }
            .check()
            .is_err()
        );
        assert!(Drivers::default().check().is_ok());
    }
}
