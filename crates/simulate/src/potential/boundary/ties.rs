//! What is tied anew between steps: necks cut, neighbours joined.
//!
//! ```text
//! cut     a neck thinner than the finest length
//! join    facing poles nearer than the finest length that do not move apart, not within 20 finest^(3/2) of the last event
//! ```
//! Tips that have just parted are near each other and draw back; the wait keeps them from being joined at once. Where a neck lets go less than can be
//! followed, the body is rounded off and nothing is told.
//!
//! Source: definitions. The shapes that come of it are those of `parting` and `joining`.

use tremolet_numerics::spline::Spline;

use crate::event::{Event, Kind};
use crate::potential::boundary::body::Body;
use crate::potential::boundary::curve::End;
use crate::potential::boundary::joining::{gap, joined};
use crate::potential::boundary::mesh::Spacing;
use crate::potential::boundary::necks::thinnest;
use crate::potential::boundary::parting::parted;
use crate::potential::boundary::points::Rules;
use crate::stop::Stop;

/// Times of the finest length, `finest^(3/2)`, after an event in which nothing is joined.
const CALM: f64 = 20.0;

/// What parting and joining go by.
#[derive(Debug, Clone, Copy)]
pub struct Ties<'a> {
    /// How nodes are laid anew.
    pub spacing: &'a Spacing,
    /// Rules of quadrature.
    pub rules: &'a Rules,
    /// Thinnest neck and nearest gap, in units of length.
    pub finest: f64,
    /// Unit of length, m.
    pub radius: f64,
    /// Unit of time, s.
    pub unit_time: f64,
}

impl Ties<'_> {
    /// Cuts necks thinner than the finest; whether there was one.
    ///
    /// # Errors
    /// [`Stop::PinchOff`] when a side of a neck holds too little for a body.
    pub fn part(&self, time: f64, bodies: &mut Vec<Body>, events: &mut Vec<Event>) -> Result<bool, Stop> {
        let (mut cut, mut number) = (false, 0);
        while number < bodies.len() {
            let thin = thinnest(&bodies[number].surfaces[0]).filter(|neck| neck.radius < self.finest);
            let Some(neck) = thin else {
                number += 1;
                continue;
            };
            let parts = parted(&bodies[number], neck, self.spacing, self.rules).ok_or(Stop::PinchOff {
                time,
                neck: neck.radius * self.radius,
                resolution: self.finest * self.radius,
            })?;
            let height = bodies[number].surfaces[0].z[neck.node];
            // A droplet too small to follow is no event: its liquid stays. A body that comes loose from a plane is one.
            if parts.len() > 1 || parts[0].surfaces[0].ends != bodies[number].surfaces[0].ends {
                events.push(self.event(time, Kind::PinchOff, height, neck.radius));
            }
            bodies.splice(number..=number, parts);
            cut = true;
        }
        Ok(cut)
    }

    /// Joins neighbours whose poles have come nearer than the finest and do not part; whether there were any.
    ///
    /// `flows` are those of the bodies, where they are known.
    pub fn join(
        &self,
        time: f64,
        flows: Option<&[Vec<Spline>]>,
        bodies: &mut Vec<Body>,
        events: &mut Vec<Event>,
    ) -> bool {
        let calm = CALM * self.finest.powf(1.5) * self.unit_time;
        if bodies.len() < 2 || events.last().is_some_and(|event| time < event.time + calm) {
            return false;
        }
        sort(bodies);
        for number in 0..bodies.len() - 1 {
            let (upper, lower) = (&bodies[number], &bodies[number + 1]);
            let near = gap(upper, lower).filter(|gap| *gap < self.finest);
            if near.is_none() || flows.is_some_and(|flows| part_from(number, flows)) {
                continue;
            }
            if let Some(one) = joined(upper, lower, self.finest, self.spacing, self.rules) {
                let height = lower.surfaces[0].z[0];
                let radius = thinnest(&one.surfaces[0]).map_or(0.0, |neck| neck.radius);
                events.push(self.event(time, Kind::Merger, height, radius));
                bodies.splice(number..=number + 1, [one]);
                return true;
            }
        }
        false
    }

    fn event(&self, time: f64, kind: Kind, height: f64, radius: f64) -> Event {
        Event {
            time,
            kind,
            height: height * self.radius,
            radius: radius * self.radius,
        }
    }
}

/// The heights between which bodies stay: those of the planes at the start, without end where there are none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Between {
    lowest: f64,
    highest: f64,
}

impl Between {
    /// Of bodies at the start.
    #[must_use]
    pub fn of(bodies: &[Body]) -> Self {
        let mut between = Self {
            lowest: f64::NEG_INFINITY,
            highest: f64::INFINITY,
        };
        for surface in bodies.iter().map(|body| &body.surfaces[0]) {
            if surface.ends[0] == End::Plane {
                between.highest = surface.z[0];
            }
            if surface.ends[1] == End::Plane {
                between.lowest = surface.z[surface.z.len() - 1];
            }
        }
        between
    }

    /// How far a pole of a body is beyond; `None` where both are within.
    #[must_use]
    pub fn beyond(&self, body: &Body) -> Option<f64> {
        let surface = &body.surfaces[0];
        let (upper, lower) = (surface.z[0], surface.z[surface.z.len() - 1]);
        let over = |end: End, way: f64| if end == End::Axis { way } else { 0.0 };
        let way = over(surface.ends[0], upper - self.highest).max(over(surface.ends[1], self.lowest - lower));
        Some(way).filter(|way| *way > 0.0)
    }
}

/// Whether the poles of body `number` and the next one move apart.
fn part_from(number: usize, flows: &[Vec<Spline>]) -> bool {
    if number + 1 >= flows.len() {
        return false;
    }
    let (above, below) = (&flows[number][0], &flows[number + 1][0]);
    above.at_knot(above.intervals())[0] + below.at_knot(0)[0] < -1e-6
}

/// From the uppermost downwards.
pub fn sort(bodies: &mut [Body]) {
    bodies.sort_by(|a, b| b.surfaces[0].z[0].total_cmp(&a.surfaces[0].z[0]));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::potential::boundary::body::Surface;
    use std::f64::consts::PI;

    fn body(points: &[[f64; 2]], ends: [End; 2]) -> Body {
        let surface = Surface {
            ends,
            r: points.iter().map(|p| p[0]).collect(),
            z: points.iter().map(|p| p[1]).collect(),
            phi: vec![0.0; points.len()],
            layers: Vec::new(),
        };
        Body {
            surfaces: vec![surface],
        }
    }

    /// A ball below its upper `first` parts of sixty.
    fn ball(first: u32) -> Vec<[f64; 2]> {
        let angle = |k: u32| PI * f64::from(k) / 60.0;
        let across = |k: u32| if k == 0 || k == 60 { 0.0 } else { angle(k).sin() };
        (first..=60).map(|k| [across(k), angle(k).cos()]).collect()
    }

    #[test]
    fn a_droplet_too_small_to_follow_stays_and_is_no_event() {
        let mut points = vec![[0.0, 1.06], [0.03, 1.03], [0.012, 1.0]];
        points.extend(ball(2));
        let mut bodies = vec![body(&points, [End::Axis; 2])];
        let spacing = Spacing {
            calm: PI / 32.0,
            turn: 2.5 * PI / 32.0,
        };
        let rules = Rules::default();
        let ties = Ties {
            spacing: &spacing,
            rules: &rules,
            finest: 0.02,
            radius: 1.0,
            unit_time: 1.0,
        };
        let volume = bodies[0].moments(&rules)[0];
        let mut events = Vec::new();
        assert!(ties.part(0.0, &mut bodies, &mut events).expect("rounded off"));
        assert!(events.is_empty() && bodies.len() == 1);
        assert!((bodies[0].moments(&rules)[0] / volume - 1.0).abs() < 1e-12);
        assert!(bodies[0].surfaces[0].z[0] < 1.06);
        assert!(
            !ties
                .part(0.0, &mut bodies, &mut events)
                .expect("nothing left to cut")
        );
    }

    #[test]
    fn a_body_that_has_come_loose_may_not_pass_the_plane_of_its_image() {
        let half: Vec<[f64; 2]> = ball(0).into_iter().filter(|p| p[1] > -1e-9).collect();
        let between = Between::of(&[body(&half, [End::Axis, End::Plane])]);
        let mut loose = body(&ball(0), [End::Axis; 2]);
        loose.shift(1.5);
        assert_eq!(between.beyond(&loose), None);
        loose.shift(-1.0);
        let found = between.beyond(&loose).expect("beyond");
        assert!((found - 0.5).abs() < 1e-9);
        assert_eq!(Between::of(&[loose.clone()]).beyond(&loose), None);
    }
}
