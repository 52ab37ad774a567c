//! A droplet inside a round gas bubble: where it hits the wall, how it goes on bouncing, and when it rolls.
//!
//! ```text
//! sin i = b / c,   c = a - r;        v_n = U cos i,   v_t = U sin i
//! next touch:   v_n' = e v_n,   v_t' = e_t v_t,   after  2 c v_n' / (v_n'^2 + v_t'^2),   further round by  2 atan(v_n' / v_t')
//! rolls when    e < e_t^2:   the times add up to a finite sum;      pressed on with  v_t^2 / c
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `a`, `r`, `c` | radius of the bubble, of the droplet, of the sphere on which the droplet's centre turns round | m |
//! | `b`, `i` | distance of the line of flight from the bubble's centre, angle of incidence from the normal | m, rad |
//! | `U`, `v_n`, `v_t` | speed, across and along the wall | m/s |
//! | `e`, `e_t` | restitution across and along the wall | 1 |
//!
//! Source: geometry of a chord, own derivation; rolling \[MahadevanPomeau1999\] (their law of dissipation from memory, pressed on here by the turning
//! instead of weight). For a wall that stays round and at rest, without drag between two touches of the bouncing ([`Inside::arrival`] has it on
//! the first way across).

use std::f64::consts::PI;

use crate::collision::flight::Flight;
use crate::collision::rebound::Rebound;
use crate::error::{TheoryError, not_negative, positive, required};
use crate::validity::Validity;

/// A droplet as it meets the wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Touch {
    /// Time since the first touch, s.
    pub time: f64,
    /// Angle gone round the bubble since the first touch, rad.
    pub angle: f64,
    /// Speed into the wall, m/s.
    pub across: f64,
    /// Speed along the wall, m/s.
    pub along: f64,
}

/// A droplet that has crossed the bubble.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrival {
    /// Time of flight from wall to wall, s.
    pub time: f64,
    /// How it meets the wall, its time counted from then.
    pub touch: Touch,
    /// Distance of the line of flight from the bubble's centre over the room: 0 straight on, 1 grazing.
    pub offset: f64,
}

/// The end of the bouncing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rolling {
    /// Time since the first touch, s.
    pub time: f64,
    /// Angle gone round the bubble since the first touch, rad.
    pub angle: f64,
    /// Speed with which it rolls or slides, m/s.
    pub speed: f64,
}

/// A droplet in a bubble.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inside {
    room: f64,
    droplet: f64,
}

impl Inside {
    /// A droplet of radius `droplet` in a bubble of radius `bubble`, m.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] unless both are positive and the droplet fits.
    pub fn new(bubble: f64, droplet: f64) -> Result<Self, TheoryError> {
        positive("radius of the droplet", droplet)?;
        let room = positive("radius of the bubble", bubble)? - droplet;
        required(
            "room between bubble and droplet",
            room,
            room > 0.0,
            "a droplet smaller than its bubble",
        )?;
        Ok(Self { room, droplet })
    }

    /// First touch of a droplet with `speed` (m/s) on a line at `distance` (m) from the bubble's centre.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a negative speed, or a distance outside 0 to `a - r`.
    pub fn touch(&self, speed: f64, distance: f64) -> Result<Touch, TheoryError> {
        let inside = (0.0..=self.room).contains(&distance);
        required(
            "distance of the line of flight",
            distance,
            inside,
            "from 0 to the room in the bubble",
        )?;
        let sine = distance / self.room;
        Ok(Touch {
            time: 0.0,
            angle: 0.0,
            across: not_negative("speed", speed)? * (1.0 - sine * sine).sqrt(),
            along: speed * sine,
        })
    }

    /// Length of the flight across the bubble on a line at `distance` from its centre, from wall to wall; m.
    ///
    /// # Errors
    /// As [`Inside::touch`].
    pub fn chord(&self, distance: f64) -> Result<f64, TheoryError> {
        Ok(2.0 * self.room * self.touch(1.0, distance)?.across)
    }

    /// How a droplet that leaves the wall with `speed` (m/s), on a line at `distance` (m) from the bubble's centre, meets the wall on the other side after the gas has
    /// slowed it; none if it stops on the way. `flight` must be that of the same droplet. The Weber number at the wall is
    /// [`crate::collision::encounter::weber`] of `touch.across`.
    ///
    /// # Errors
    /// As [`Inside::touch`]; [`TheoryError::Root`] if the time of flight is not found.
    pub fn arrival(
        &self,
        flight: &Flight,
        speed: f64,
        distance: f64,
    ) -> Result<Option<Arrival>, TheoryError> {
        let Some(time) = flight.time_to(speed, self.chord(distance)?)? else {
            return Ok(None);
        };
        let touch = self.touch(flight.speed_after(speed, time)?, distance)?;
        let offset = distance / self.room;
        Ok(Some(Arrival { time, touch, offset }))
    }

    /// The first `count` touches, beginning with `first`.
    #[must_use]
    pub fn touches(&self, first: Touch, rebound: Rebound, count: usize) -> Vec<Touch> {
        let next = |touch: &Touch| Some(self.next(*touch, rebound));
        std::iter::successors(Some(first), next).take(count).collect()
    }

    /// When the bounces have become so short that the droplet rolls; none if they last for ever (head-on, or `e` not below `e_t^2`).
    #[must_use]
    pub fn rolling(&self, first: Touch, rebound: Rebound) -> Option<Rolling> {
        let steep = rebound.across / rebound.along.powi(2);
        if first.along <= 0.0 || rebound.along <= 0.0 || steep >= 1.0 - 1e-3 {
            return None;
        }
        let mut touch = first;
        // Each bounce is shorter by at least 1e-3 once it is flat; what is left is below the share of the last.
        for _ in 0..100_000 {
            let next = self.next(touch, rebound);
            let gap = next.time - touch.time;
            touch = next;
            if gap <= 1e-12 * touch.time * (1.0 - steep) {
                break;
            }
        }
        Some(Rolling {
            time: touch.time,
            angle: touch.angle,
            speed: touch.along,
        })
    }

    /// Acceleration with which a droplet that goes round with `speed` (m/s) is pressed on the wall, m/s^2.
    #[must_use]
    pub fn press(&self, speed: f64) -> f64 {
        speed * speed / self.room
    }

    /// Time to go round the bubble once, s.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for a speed that is not positive.
    pub fn round(&self, speed: f64) -> Result<f64, TheoryError> {
        Ok(2.0 * PI * self.room / positive("speed", speed)?)
    }

    /// Time in which a droplet that rolls with `speed` is slowed, s: an order of magnitude, the factor is unknown. `density` (kg/m^3), dynamic
    /// `viscosity` (Pa s) and `tension` (N/m) of the droplet.
    ///
    /// The kinetic energy `0.7 m V^2` is lost in the flat of half width `l`, `l^2 = (2/3) rho g R^4 / sigma`, at the rate `mu (V / R)^2 l^3`.
    ///
    /// # Errors
    /// [`TheoryError::Quantity`] for anything that is not positive.
    pub fn slowing_time(
        &self,
        speed: f64,
        density: f64,
        viscosity: f64,
        tension: f64,
    ) -> Result<f64, TheoryError> {
        let r = self.droplet;
        let press = self.press(positive("speed", speed)?);
        let flat = (2.0 / 3.0 * positive("density", density)? * press
            / positive("surface tension", tension)?)
        .sqrt()
            * r
            * r;
        let mass = 4.0 / 3.0 * PI * density * r.powi(3);
        Ok(1.4 * mass * r * r / (positive("viscosity", viscosity)? * flat.powi(3)))
    }

    /// Where a rolling droplet stays nearly round: Bond number of the press below 0.1.
    #[must_use]
    pub fn validity(&self, speed: f64, density: f64, tension: f64) -> Validity {
        let bond = density * self.press(speed) * self.droplet.powi(2) / tension;
        Validity::always()
            .with("Bond number of the turning", bond, 0.0, 0.1)
            .with(
                "droplet over room in the bubble",
                self.droplet / self.room,
                0.0,
                0.3,
            )
    }

    fn next(&self, touch: Touch, rebound: Rebound) -> Touch {
        let (across, along) = (rebound.across * touch.across, rebound.along * touch.along);
        let square = across * across + along * along;
        let gap = if square > 0.0 {
            2.0 * self.room * across / square
        } else {
            f64::INFINITY
        };
        Touch {
            time: touch.time + gap,
            angle: touch.angle + 2.0 * across.atan2(along),
            across,
            along,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn room() -> Inside {
        Inside::new(0.0155, 0.001).unwrap()
    }

    // Followed ray by ray in validation/theory/collision.py: sphere of the centres 14.5 mm, line 8 mm off, 0.3 m/s, e 0.8, e_t 0.98.
    #[test]
    fn touches_of_a_droplet_followed_ray_by_ray() {
        let first = room().touch(0.3, 0.008).unwrap();
        let touches = room().touches(first, Rebound::new(0.8, 0.98).unwrap(), 6);
        let start = 0.080_622_577_483;
        assert!((room().chord(0.008).unwrap() / 0.3 - start).abs() < 1e-12);
        let rows = [
            (0.080_622_577_483, 0.250_207_999_085, 0.165_517_241_379),
            (0.168_074_065_967, 0.200_166_399_268, 0.162_206_896_552),
            (0.259_287_945_33, 0.160_133_119_414, 0.158_962_758_621),
            (0.350_613_141_907, 0.128_106_495_532, 0.155_783_503_448),
            (0.438_516_444_861, 0.102_485_196_425, 0.152_667_833_379),
            (0.520_204_470_188, 0.081_988_157_140_2, 0.149_614_476_712),
        ];
        for (touch, (time, across, along)) in touches.iter().zip(rows) {
            assert!((touch.time + start - time).abs() < 1e-10);
            assert!((touch.across - across).abs() < 1e-11 && (touch.along - along).abs() < 1e-11);
        }
    }

    // Newton's law with drag, integrated to the far wall in validation/theory/collision.py: 2 mm of water in air.
    #[test]
    fn drag_on_the_way_across() {
        let flight = Flight::new(2e-3, 998.2, 1.204, 1.82e-5).unwrap();
        let arrival = room().arrival(&flight, 0.3, 0.008).unwrap().unwrap();
        assert!((arrival.time / 0.081_398_477_257_3 - 1.0).abs() < 1e-9);
        assert!((arrival.touch.across / 0.245_459_921_601 - 1.0).abs() < 1e-9);
        assert!((arrival.touch.along / 0.162_376_299_883 - 1.0).abs() < 1e-9);
        assert!((arrival.offset - 8.0 / 14.5).abs() < 1e-15);
        let mist = Flight::new(2e-5, 998.2, 1.204, 1.82e-5).unwrap();
        assert!(room().arrival(&mist, 0.3, 0.008).unwrap().is_none());
    }

    // e_t = 1: with tan A_k = q^k tan A the time is (c / v_t) sum sin 2 A_k, the angle sum 2 A_k.
    #[test]
    fn without_friction_the_times_add_up() {
        let first = room().touch(0.3, 0.008).unwrap();
        let end = room().rolling(first, Rebound::new(0.5, 1.0).unwrap()).unwrap();
        let slope = first.across / first.along;
        let angles = (1..200).map(|k| (slope * 0.5_f64.powi(k)).atan());
        let (time, angle) = angles.fold((0.0, 0.0), |(t, a), x| {
            (t + (2.0 * x).sin() * 0.0145 / first.along, a + 2.0 * x)
        });
        assert!((end.time - time).abs() < 1e-10 && (end.angle - angle).abs() < 1e-9);
        assert!((end.speed - first.along).abs() < 1e-15);
    }

    #[test]
    fn head_on_or_sticky_it_never_rolls() {
        let any = Rebound::new(0.5, 1.0).unwrap();
        let head_on = room().touch(0.3, 0.0).unwrap();
        assert!(head_on.along == 0.0 && room().rolling(head_on, any).is_none());
        let sticky = Rebound::new(0.5, 0.6).unwrap();
        assert!(
            room()
                .rolling(room().touch(0.3, 0.008).unwrap(), sticky)
                .is_none()
        );
    }

    // By hand: c = 10 mm, 0.1 m/s: 1 m/s^2, once round in 0.628 s; r = 1 mm, rho 1000, sigma 0.1: l^2 = 2/3 x 1000 x 1e-12 / 0.1, l = 81.65 um;
    // 1.4 x 4.18879e-6 x 1e-6 / (1e-3 x 5.443e-13).
    #[test]
    fn rolling_by_hand() {
        let inside = Inside::new(0.011, 0.001).unwrap();
        assert!((inside.press(0.1) - 1.0).abs() < 1e-12);
        assert!((inside.round(0.1).unwrap() - 0.628_318_5).abs() < 1e-6);
        let slowing = inside.slowing_time(0.1, 1000.0, 1e-3, 0.1).unwrap();
        assert!((slowing / 1.077_3e4 - 1.0).abs() < 1e-3, "{slowing}");
        assert!(inside.validity(0.1, 1000.0, 0.1).holds() && !inside.validity(1.0, 1000.0, 0.1).holds());
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Inside::new(0.001, 0.001).is_err() && Inside::new(0.01, 0.0).is_err());
        assert!(room().touch(0.3, 0.02).is_err() && room().touch(-0.3, 0.0).is_err());
        assert!(room().round(0.0).is_err() && room().slowing_time(0.1, 0.0, 1.0, 1.0).is_err());
    }
}
