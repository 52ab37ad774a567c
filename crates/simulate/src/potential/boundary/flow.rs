//! The boundary solver: named steps from a state to its rates, and what is done between steps.
//!
//! ```text
//! rates:   unpack -> sums over rings -> normal velocity (influence) -> pressures -> kinematics and Bernoulli (rates)
//! settle:  part at necks (parting) -> join over gaps (joining) -> re-mesh (mesh)
//! step  <= 0.4 min h^(3/2) sqrt(rho / sigma)             the shortest waves of the mesh turn by 2.2 rad a step
//! ```
//! Inside everything is in unit-drop units (rho = sigma = R = 1, R the radius of the ball of all liquid at the start); outside SI. The
//! frame falls with the liquid, so a uniform acceleration of free bodies moves the origin and nothing else.
//!
//! Source: as in the rooms named. Range: inertia well above viscosity (Oh below 0.03), massless gas outside.

use std::f64::consts::PI;

use tremolet_numerics::ode::{CLASSICAL, Pair};
use tremolet_numerics::quadrature::{Rule, gauss_legendre};
use tremolet_numerics::spline::Spline;

use crate::driver::Drivers;
use crate::liquid::{InputError, Liquid, positive};
use crate::potential::boundary::body::{Body, Measures};
use crate::potential::boundary::curve::Node;
use crate::potential::boundary::event::{Event, Kind};
use crate::potential::boundary::images::Planes;
use crate::potential::boundary::influence::Influence;
use crate::potential::boundary::joining::{gap, joined};
use crate::potential::boundary::mesh::{Spacing, closest};
use crate::potential::boundary::necks::thinnest;
use crate::potential::boundary::parting::parted;
use crate::potential::boundary::points::Rules;
use crate::potential::boundary::pressure::Pressure;
use crate::potential::boundary::rates::{Medium, layer_slope, of_surface};
use crate::potential::boundary::resolution::Resolution;
use crate::potential::boundary::setup::{Filling, Piece, ball};
use crate::potential::boundary::shape::amplitudes;
use crate::potential::boundary::state::{layout, packed, unpacked};
use crate::sample::{Sample, Surface, Watched};
use crate::solver::Solver;
use crate::start::Start;
use crate::stop::Stop;

/// Highest degree told of a star-shaped body.
const HIGHEST: usize = 16;
/// Pieces of the surface of one body nearer than this share of the finest length touch.
const TOUCH: f64 = 0.2;
/// Share of `h^(3/2)` in a step.
const WAVES: f64 = 0.4;

/// The solver.
#[derive(Debug)]
pub struct Boundary {
    liquid: Liquid,
    radius: f64,
    drivers: Drivers,
    resolution: Resolution,
    rules: Rules,
    degrees: Rule,
    spacing: Spacing,
    pressure: Pressure,
    begin: Vec<Body>,
    layout: Vec<usize>,
    known: Known,
    events: Vec<Event>,
}

/// The flow of the state that was solved last.
#[derive(Debug, Default)]
struct Known {
    state: Vec<f64>,
    flows: Vec<Vec<Spline>>,
    layers: Vec<Vec<Vec<f64>>>,
}

impl Boundary {
    /// For bodies, SI.
    ///
    /// # Errors
    /// [`InputError`] for properties, shapes and resolutions that make no sense.
    pub fn new(
        liquid: &Liquid,
        pieces: &[Piece],
        filling: Filling,
        drivers: &Drivers,
        resolution: Resolution,
    ) -> Result<Self, InputError> {
        liquid.check()?;
        resolution.check()?;
        for piece in pieces {
            piece.check()?;
        }
        let cube = |start: &Start| start.radius().powi(3);
        let cubes = pieces.iter().map(|piece| {
            cube(&piece.start) - piece.bubble.as_ref().map_or(0.0, |bubble| cube(&bubble.start))
        });
        let radius = cubes.sum::<f64>().cbrt();
        positive("radius of all liquid", radius, "m")?;
        let time = liquid.time(radius);
        let bodies: Result<Vec<Body>, InputError> = pieces
            .iter()
            .map(|piece| piece.body(radius, time, resolution.elements))
            .collect();
        let mut bodies = bodies?;
        sort(&mut bodies);
        for pair in bodies.windows(2) {
            if let Some(found) = gap(&pair[0], &pair[1]).filter(|gap| *gap < 0.0) {
                let (why, expected) = (
                    "overlaps the next body, gap between them in radii",
                    "no less than 0",
                );
                return Err(InputError::Shape { why, found, expected });
            }
        }
        Self::of_bodies(liquid, radius, bodies, filling, drivers, resolution)
    }

    /// For bodies whose lengths are in `radius` m and times in the capillary time of that radius.
    ///
    /// # Errors
    /// [`InputError`] for properties and resolutions that make no sense.
    pub fn of_bodies(
        liquid: &Liquid,
        radius: f64,
        mut bodies: Vec<Body>,
        filling: Filling,
        drivers: &Drivers,
        resolution: Resolution,
    ) -> Result<Self, InputError> {
        liquid.check()?;
        drivers.check()?;
        resolution.check()?;
        let rules = Rules::default();
        let calm = PI / resolution.elements as f64;
        let spacing = Spacing {
            calm,
            turn: 2.5 * calm,
        };
        for body in &mut bodies {
            spacing.improve(body, &rules);
        }
        sort(&mut bodies);
        let unit = liquid.tension / radius;
        Ok(Self {
            liquid: *liquid,
            radius,
            drivers: drivers.clone(),
            resolution,
            degrees: gauss_legendre(resolution.elements),
            spacing,
            pressure: Pressure::of(&bodies, drivers, filling, radius, unit, &rules),
            layout: layout(&bodies),
            begin: bodies,
            rules,
            known: Known::default(),
            events: Vec::new(),
        })
    }

    /// Radius of the ball of all liquid at the start, m.
    #[must_use]
    pub fn radius(&self) -> f64 {
        self.radius
    }

    /// Capillary time of that ball, s.
    #[must_use]
    pub fn unit_time(&self) -> f64 {
        self.liquid.time(self.radius)
    }

    fn bodies(&self, time: f64, state: &[f64]) -> Result<Vec<Body>, Stop> {
        let sound = state.iter().all(|x| x.is_finite());
        let bodies = if sound {
            unpacked(&self.layout, state)
        } else {
            None
        };
        bodies.ok_or_else(|| Stop::LostAccuracy {
            time,
            what: "a surface that is no more one, nodes".into(),
            found: state.len() as f64,
            allowed: self.layout.iter().sum::<usize>() as f64,
        })
    }

    /// Solves for the flow unless it is that of the state solved last.
    fn know(&mut self, time: f64, state: &[f64]) -> Result<Vec<Body>, Stop> {
        let bodies = self.bodies(time, state)?;
        if self.known.state == state {
            return Ok(bodies);
        }
        self.known = Known::default();
        let ohnesorge = self.liquid.ohnesorge(self.radius);
        for body in &bodies {
            let lost = |_| Stop::LostAccuracy {
                time,
                what: "the system of a surface, nodes".into(),
                found: body.nodes() as f64,
                allowed: 0.0,
            };
            let rubs = ohnesorge > 0.0;
            let influence = Influence::of(body, &self.rules, rubs);
            let flow = influence
                .flow(body, &self.rules, self.pressure.stiff())
                .map_err(lost)?;
            if rubs {
                let pairs = body.surfaces.iter().zip(&flow);
                let slopes: Vec<Vec<f64>> = pairs
                    .map(|(surface, flow)| layer_slope(surface, flow, ohnesorge))
                    .collect();
                self.known.layers.push(influence.harmonic(&slopes).map_err(lost)?);
            }
            self.known.flows.push(flow);
        }
        self.known.state = state.to_vec();
        Ok(bodies)
    }

    /// Cuts necks thinner than the finest; whether there was one.
    fn part(&mut self, time: f64, bodies: &mut Vec<Body>) -> Result<bool, Stop> {
        let before = self.events.len();
        let mut number = 0;
        while number < bodies.len() {
            let thin =
                thinnest(&bodies[number].surfaces[0]).filter(|neck| neck.radius < self.resolution.finest);
            let Some(neck) = thin else {
                number += 1;
                continue;
            };
            let parts = parted(&bodies[number], neck, &self.spacing, &self.rules).ok_or(Stop::PinchOff {
                time,
                neck: neck.radius * self.radius,
                resolution: self.resolution.finest * self.radius,
            })?;
            let height = bodies[number].surfaces[0].z[neck.node];
            self.tell(time, Kind::PinchOff, height, neck.radius);
            bodies.splice(number..=number, parts);
        }
        Ok(self.events.len() > before)
    }

    /// Joins neighbours whose poles have come nearer than the finest and do not part; whether there were any.
    fn join(&mut self, time: f64, state: &[f64], bodies: &mut Vec<Body>) -> bool {
        // Tips that have just parted are near each other.
        let calm = 20.0 * self.resolution.finest.powf(1.5) * self.unit_time();
        if bodies.len() < 2 || self.events.last().is_some_and(|event| time < event.time + calm) {
            return false;
        }
        sort(bodies);
        for number in 0..bodies.len() - 1 {
            let (upper, lower) = (&bodies[number], &bodies[number + 1]);
            let near = gap(upper, lower).filter(|gap| *gap < self.resolution.finest);
            if near.is_none() || self.parts_from(number, state) {
                continue;
            }
            if let Some(one) = joined(upper, lower, &self.spacing, &self.rules) {
                let height = lower.surfaces[0].z[0];
                let radius = thinnest(&one.surfaces[0]).map_or(0.0, |neck| neck.radius);
                self.tell(time, Kind::Merger, height, radius);
                bodies.splice(number..=number + 1, [one]);
                return true;
            }
        }
        false
    }

    /// Whether the poles of body `number` and the next one move apart.
    fn parts_from(&self, number: usize, state: &[f64]) -> bool {
        let flows = &self.known.flows;
        if self.known.state != state || number + 1 >= flows.len() {
            return false;
        }
        let (above, below) = (&flows[number][0], &flows[number + 1][0]);
        above.at_knot(above.intervals())[0] + below.at_knot(0)[0] < -1e-6
    }

    fn tell(&mut self, time: f64, kind: Kind, height: f64, radius: f64) {
        self.events.push(Event {
            time,
            kind,
            height: height * self.radius,
            radius: radius * self.radius,
        });
    }

    /// What has parted and joined so far.
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    fn sums(&self, bodies: &[Body]) -> Measures {
        let mut sum = Measures::default();
        for (body, flow) in bodies.iter().zip(&self.known.flows) {
            let one = body.measures(flow, &self.rules);
            sum.volume += one.volume;
            sum.area += one.area;
            sum.centre += one.centre * one.volume;
            sum.kinetic += one.kinetic;
            sum.momentum += one.momentum;
            sum.whirl += one.whirl;
        }
        sum.centre /= sum.volume;
        sum
    }

    /// Energy of the gas in all bubbles.
    fn gas_energy(&self, bodies: &[Body]) -> f64 {
        let walls = bodies.iter().flat_map(|body| &body.surfaces[1..]);
        let energies = walls
            .enumerate()
            .map(|(number, wall)| self.pressure.gas_energy(number, -wall.volume(&self.rules)));
        energies.sum()
    }

    /// The pressure at the nodes of every surface, less that of the ball.
    fn pressures(&self, time: f64, bodies: &[Body]) -> Vec<Vec<Vec<f64>>> {
        let presses = self.pressure.presses(time);
        let moments: Vec<[f64; 2]> = bodies.iter().map(|body| body.moments(&self.rules)).collect();
        let [volume, moment] = moments
            .iter()
            .fold([0.0; 2], |sum, one| [sum[0] + one[0], sum[1] + one[1]]);
        let centre = moment / volume;
        let outside = |node: &Node| {
            if !presses {
                return 0.0;
            }
            let (r, z) = (node.place.r, node.place.z - centre);
            // A pressure with an edge counts at a node as its mean over the reach of the node.
            let reach = node.arc / r.hypot(z);
            self.pressure.outside(r.atan2(z), reach, time)
        };
        let mut bubble = 0;
        let of_body = |body: &Body| {
            let of_surface = |(number, surface): (usize, &crate::potential::boundary::body::Surface)| {
                let nodes = surface.curve().nodes();
                if number == 0 {
                    return nodes.iter().map(|node| outside(node) - 2.0).collect();
                }
                let even = if self.pressure.stiff() {
                    // Any number would do: this one keeps the potential small.
                    -nodes
                        .iter()
                        .map(|node| node.curvatures[0] + node.curvatures[1])
                        .sum::<f64>()
                        / nodes.len() as f64
                } else {
                    self.pressure.gas(bubble, -surface.volume(&self.rules)) - 2.0
                };
                bubble += 1;
                vec![even; nodes.len()]
            };
            body.surfaces.iter().enumerate().map(of_surface).collect()
        };
        bodies.iter().map(of_body).collect()
    }
}

/// From the uppermost downwards.
fn sort(bodies: &mut [Body]) {
    bodies.sort_by(|a, b| b.surfaces[0].z[0].total_cmp(&a.surfaces[0].z[0]));
}

impl Solver for Boundary {
    fn name(&self) -> &'static str {
        "potential::boundary"
    }

    fn pair(&self) -> &'static Pair {
        &CLASSICAL
    }

    fn start(&self) -> Vec<f64> {
        packed(&self.begin)
    }

    fn layout(&self) -> Vec<usize> {
        self.layout.clone()
    }

    fn take_up(&mut self, layout: &[usize], state: &[f64]) -> bool {
        if unpacked(layout, state).is_none() {
            return false;
        }
        self.layout = layout.to_vec();
        self.known = Known::default();
        true
    }

    fn first_step(&self) -> f64 {
        0.5 * self.longest_step(&packed(&self.begin))
    }

    fn longest_step(&self, state: &[f64]) -> f64 {
        let mut shortest = f64::INFINITY;
        for body in unpacked(&self.layout, state).unwrap_or_default() {
            for surface in &body.surfaces {
                for (r, z) in surface.r.windows(2).zip(surface.z.windows(2)) {
                    shortest = shortest.min((r[1] - r[0]).hypot(z[1] - z[0]));
                }
            }
        }
        WAVES * shortest.powf(1.5) * self.unit_time()
    }

    fn scales(&self, state: &[f64]) -> Vec<f64> {
        vec![self.resolution.tolerance; state.len()]
    }

    fn rates(&mut self, time: f64, state: &[f64], rates: &mut [f64]) -> Result<(), Stop> {
        let bodies = self.know(time, state)?;
        let unit = self.unit_time();
        let medium = Medium {
            ohnesorge: self.liquid.ohnesorge(self.radius),
            rotation_squared: (self.drivers.rotation * unit).powi(2),
        };
        let pressures = self.pressures(time, &bodies);
        let mut found = Vec::with_capacity(rates.len());
        for (number, body) in bodies.iter().enumerate() {
            for (k, surface) in body.surfaces.iter().enumerate() {
                let mut pressure = pressures[number][k].clone();
                if let Some(layers) = self.known.layers.get(number) {
                    pressure
                        .iter_mut()
                        .zip(&layers[k])
                        .for_each(|(p, layer)| *p += layer);
                }
                let one = of_surface(surface, &self.known.flows[number][k], medium, &pressure);
                found.extend([one.r, one.z, one.phi].concat());
            }
        }
        for (rate, found) in rates.iter_mut().zip(found) {
            *rate = found / unit;
        }
        Ok(())
    }

    fn settle(&mut self, time: f64, state: &[f64]) -> Result<Option<Vec<f64>>, Stop> {
        let mut bodies = self.bodies(time, state)?;
        let mut changed = self.part(time, &mut bodies)?;
        changed |= self.join(time, state, &mut bodies);
        for body in &mut bodies {
            let allowed = TOUCH * self.resolution.finest;
            let found = closest(body);
            if found < allowed {
                return Err(Stop::OutOfRange {
                    time,
                    what: "distance of two pieces of the surface, radii,".into(),
                    found,
                    allowed,
                });
            }
            changed |= self.spacing.improve(body, &self.rules);
        }
        if !changed {
            return Ok(None);
        }
        sort(&mut bodies);
        self.layout = layout(&bodies);
        Ok(Some(packed(&bodies)))
    }

    fn next_edge(&self, time: f64) -> Option<f64> {
        self.drivers.next_edge(time, self.radius)
    }

    fn watch(&mut self, time: f64, state: &[f64]) -> Watched {
        let Ok(bodies) = self.know(time, state) else {
            return Watched {
                volume: f64::NAN,
                energy: f64::NAN,
                velocity: f64::NAN,
                centroid: f64::NAN,
            };
        };
        let sums = self.sums(&bodies);
        // Planes take up momentum: there the frame is theirs.
        let free = bodies.iter().all(|body| body.planes() == Planes::Neither);
        let velocity = if free { sums.momentum / sums.volume } else { 0.0 };
        let whirl = 0.5 * (self.drivers.rotation * self.unit_time()).powi(2) * sums.whirl;
        let energy = sums.kinetic - 0.5 * sums.volume * velocity * velocity + sums.area - whirl
            + self.gas_energy(&bodies);
        Watched {
            volume: sums.volume * self.radius.powi(3),
            energy: energy * self.liquid.tension * self.radius.powi(2),
            velocity: velocity * self.radius / self.unit_time(),
            centroid: sums.centre * self.radius,
        }
    }

    fn keeps_energy(&self) -> bool {
        self.liquid.viscosity == 0.0 && self.drivers.footprints.is_empty() && self.drivers.support.is_none()
    }

    fn sample(&mut self, time: f64, state: &[f64]) -> Sample {
        let bodies = self.bodies(time, state).unwrap_or_default();
        let watched = self.watch(time, state);
        let surfaces = bodies.iter().flat_map(|body| &body.surfaces).map(|surface| {
            let points = surface.r.iter().zip(&surface.z);
            let mut meridian: Vec<[f64; 2]> =
                points.map(|(r, z)| [z * self.radius, r * self.radius]).collect();
            let holds_liquid = meridian[0][0] > meridian[meridian.len() - 1][0];
            if !holds_liquid {
                meridian.reverse();
            }
            Surface {
                meridian,
                holds_liquid,
            }
        });
        let surfaces = surfaces.collect();
        let alone = match &bodies[..] {
            [body] if body.surfaces.len() == 1 && body.planes() == Planes::Neither => {
                let (curve, size) = (
                    body.surfaces[0].curve(),
                    ball(watched.volume / self.radius.powi(3)),
                );
                amplitudes(
                    &curve,
                    watched.centroid / self.radius,
                    size,
                    &self.degrees,
                    HIGHEST,
                )
            }
            _ => None,
        };
        Sample {
            time,
            origin: self.drivers.acceleration.moved(time),
            surfaces,
            amplitudes: alone.unwrap_or_default(),
            watched,
        }
    }
}
