//! The boundary solver: named steps from a state to its rates, and what is done between steps.
//!
//! ```text
//! rates:   unpack -> flow, gas and layer (known) -> pressures (pressure) -> kinematics and Bernoulli (rates), memories (layer)
//! settle:  part at necks, join over gaps (ties) -> re-mesh (mesh)
//! step  <= 0.4 min h^(3/2) sqrt(rho / sigma)             the shortest waves of the mesh turn by 2.2 rad a step
//! ```
//! Inside everything is in unit-drop units (rho = sigma = R = 1, R the radius of the ball of all liquid at the start); outside SI. The
//! frame falls with the liquid, so a uniform acceleration of free bodies moves the origin and nothing else.
//!
//! Source: as in the rooms named. Range: inertia well above viscosity (Oh below 0.03), a gas outside without a drag of its own.

use std::f64::consts::PI;

use tremolet_numerics::ode::{CLASSICAL, Pair};
use tremolet_numerics::quadrature::{Rule, gauss_legendre};

use crate::driver::Drivers;
use crate::event::Event;
use crate::liquid::{Gas, InputError, Liquid, positive};
use crate::potential::boundary::body::Body;
use crate::potential::boundary::images::Planes;
use crate::potential::boundary::influence::Influence;
use crate::potential::boundary::joining::gap;
use crate::potential::boundary::known::{Around, Known};
use crate::potential::boundary::layer::Layer;
use crate::potential::boundary::mesh::{Spacing, closest};
use crate::potential::boundary::points::Rules;
use crate::potential::boundary::pressure::Pressure;
use crate::potential::boundary::rates::Medium;
use crate::potential::boundary::resolution::Resolution;
use crate::potential::boundary::setup::{Filling, Piece};
use crate::potential::boundary::state::{layout, packed, unpacked};
use crate::potential::boundary::telling::Telling;
use crate::potential::boundary::ties::{Between, Ties, sort};
use crate::sample::{Sample, Watched};
use crate::solver::Solver;
use crate::start::Start;
use crate::stop::Stop;

/// Pieces of the surface of one body nearer than this share of the finest length touch.
const TOUCH: f64 = 0.2;
/// Share of `h^(3/2)` in a step.
const WAVES: f64 = 0.4;
/// Error of what layers remember beside that of positions.
const MEMORY: f64 = 30.0;

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
    around: Around,
    planes: Between,
    known: Known,
    events: Vec<Event>,
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
        let around = Around {
            layer: Layer::new(liquid.ohnesorge(radius), resolution.elements),
            gas: 0.0,
            stiff: filling == Filling::Stiff,
        };
        let calm = PI / resolution.elements as f64;
        let spacing = Spacing {
            calm,
            turn: 2.5 * calm,
        };
        for body in &mut bodies {
            spacing.improve(body, &rules);
            let surfaces = std::mem::take(&mut body.surfaces).into_iter();
            body.surfaces = surfaces.map(|s| s.with_layers(around.layer.each())).collect();
        }
        sort(&mut bodies);
        let planes = Between::of(&bodies);
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
            around,
            planes,
            known: Known::default(),
            events: Vec::new(),
        })
    }

    /// The same with a gas around that takes part by its inertia: for one body without bubbles and free of planes. Its viscosity
    /// and its weight in an acceleration are left out; parts of a body that has parted have their gas each for itself.
    ///
    /// # Errors
    /// [`InputError`] for properties that make no sense and bodies that are not such.
    pub fn with_gas(mut self, gas: &Gas) -> Result<Self, InputError> {
        gas.check()?;
        let alone =
            matches!(&self.begin[..], [body] if body.surfaces.len() == 1 && body.planes() == Planes::Neither);
        if !alone {
            return Err(InputError::Shape {
                why: "is more than one free body without bubbles, which a gas around cannot be added to, bodies",
                found: self.begin.len() as f64,
                expected: "one",
            });
        }
        self.around.gas = gas.density / self.liquid.density;
        for body in &mut self.begin {
            // At the start the potential is that of the liquid.
            let influence = Influence::of(body, &self.rules, true);
            let outside = influence.gas(0.0).map_err(|_| InputError::Shape {
                why: "has no flow of gas around it, nodes",
                found: body.nodes() as f64,
                expected: "a surface that nowhere touches itself",
            })?;
            for (i, phi) in body.surfaces[0].phi.iter_mut().enumerate() {
                *phi -= self.around.gas * outside.at_knot(i)[0];
            }
        }
        Ok(self)
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
            unpacked(&self.layout, state, self.around.layer.each())
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
        for body in &bodies {
            let found = self.known.add(body, &self.around, &self.rules);
            found.map_err(|_| Stop::LostAccuracy {
                time,
                what: "the system of a surface, nodes".into(),
                found: body.nodes() as f64,
                allowed: 0.0,
            })?;
        }
        self.known.state = state.to_vec();
        Ok(bodies)
    }

    fn ties(&self) -> Ties<'_> {
        Ties {
            spacing: &self.spacing,
            rules: &self.rules,
            finest: self.resolution.finest,
            radius: self.radius,
            unit_time: self.unit_time(),
        }
    }

    fn telling(&self) -> Telling<'_> {
        Telling {
            liquid: &self.liquid,
            drivers: &self.drivers,
            pressure: &self.pressure,
            rules: &self.rules,
            radius: self.radius,
        }
    }
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
        if unpacked(layout, state, self.around.layer.each()).is_none() {
            return false;
        }
        self.layout = layout.to_vec();
        self.known = Known::default();
        true
    }

    fn events(&self) -> &[Event] {
        &self.events
    }

    fn recall(&mut self, events: &[Event]) {
        self.events = events.to_vec();
    }

    fn first_step(&self) -> f64 {
        0.5 * self.longest_step(&packed(&self.begin))
    }

    fn longest_step(&self, state: &[f64]) -> f64 {
        let mut shortest = f64::INFINITY;
        for body in unpacked(&self.layout, state, self.around.layer.each()).unwrap_or_default() {
            for surface in &body.surfaces {
                for (r, z) in surface.r.windows(2).zip(surface.z.windows(2)) {
                    shortest = shortest.min((r[1] - r[0]).hypot(z[1] - z[0]));
                }
            }
        }
        WAVES * shortest.powf(1.5) * self.unit_time()
    }

    fn scales(&self, _: &[f64]) -> Vec<f64> {
        let lists = 3 + self.around.layer.each();
        let of_surface = |count: &usize| {
            let nodes = count / lists;
            // What layers remember moves the rest by its viscosity's share.
            let scale = move |k: usize| if k < 3 * nodes { 1.0 } else { MEMORY };
            (0..*count).map(move |k| self.resolution.tolerance * scale(k))
        };
        self.layout.iter().flat_map(of_surface).collect()
    }

    fn rates(&mut self, time: f64, state: &[f64], rates: &mut [f64]) -> Result<(), Stop> {
        let bodies = self.know(time, state)?;
        let unit = self.unit_time();
        let medium = Medium {
            ohnesorge: self.liquid.ohnesorge(self.radius),
            rotation_squared: (self.drivers.rotation * unit).powi(2),
            // Tips that draw back send out waves of every length, which a liquid without viscosity keeps.
            smoothed: if self.events.is_empty() {
                0.0
            } else {
                self.resolution.finest
            },
        };
        let pressures = self.pressure.on(&bodies, &self.rules, time);
        let mut found = Vec::with_capacity(rates.len());
        for (number, body) in bodies.iter().enumerate() {
            for (k, surface) in body.surfaces.iter().enumerate() {
                let outside = &pressures[number][k];
                found.extend(
                    self.known
                        .rates([number, k], surface, &self.around, medium, outside),
                );
            }
        }
        for (rate, found) in rates.iter_mut().zip(found) {
            *rate = found / unit;
        }
        Ok(())
    }

    fn settle(&mut self, time: f64, state: &[f64]) -> Result<Option<Vec<f64>>, Stop> {
        let mut bodies = self.bodies(time, state)?;
        let known = Some(&self.known.flows).filter(|_| self.known.state == state);
        let mut events = std::mem::take(&mut self.events);
        let parted = self.ties().part(time, &mut bodies, &mut events);
        let joined = parted.is_ok()
            && self
                .ties()
                .join(time, known.map(Vec::as_slice), &mut bodies, &mut events);
        self.events = events;
        let mut changed = parted? || joined;
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
            if let Some(found) = self.planes.beyond(body) {
                return Err(Stop::OutOfRange {
                    time,
                    what: "way of a body that has come loose through the plane of its image, radii,".into(),
                    found,
                    allowed: 0.0,
                });
            }
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
        self.telling().watched(&bodies, &self.known.flows)
    }

    fn keeps_energy(&self) -> bool {
        self.liquid.viscosity == 0.0 && self.drivers.footprints.is_empty() && self.drivers.support.is_none()
    }

    fn sample(&mut self, time: f64, state: &[f64]) -> Sample {
        let bodies = self.bodies(time, state).unwrap_or_default();
        let watched = self.watch(time, state);
        self.telling().sample(time, &bodies, watched, &self.degrees)
    }
}
