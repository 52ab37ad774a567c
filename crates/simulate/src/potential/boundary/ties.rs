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
            let outer = &bodies[number].surfaces[0];
            // A droplet too small to follow is no event: its liquid stays.
            if parts.len() > 1 || neck.node == 0 || neck.node + 1 == outer.r.len() {
                events.push(self.event(time, Kind::PinchOff, outer.z[neck.node], neck.radius));
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
