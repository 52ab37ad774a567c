//! The experiment file as what a solver takes: liquid, gas, start, drivers; one room for each kind.
//!
//! What is not stated is assumed and said. The gas around counts only where the solver knows it.

pub mod column;
pub mod puff;
pub mod release;
pub mod shell;

use std::f64::consts::TAU;

use tremolet_matter::uncertain::Uncertain;
use tremolet_plan::given::Given;
use tremolet_record::experiment::faults::{Fault, Faults};
use tremolet_record::experiment::file::Kind;
use tremolet_report::input::Row;
use tremolet_simulate::driver::{Acceleration, Drivers};
use tremolet_simulate::liquid::{Gas, InputError, Liquid};
use tremolet_simulate::potential::boundary::setup::Bubble;
use tremolet_simulate::start::Start;
use tremolet_theory::modes::host::{Pair, root};

use crate::error::StudyError;

/// What is solved.
#[derive(Debug, Clone)]
pub struct Problem {
    /// The liquid.
    pub liquid: Liquid,
    /// The gas around.
    pub gas: Gas,
    /// The start for the solver of star-shaped bodies, or why it has none.
    pub star: Result<Start, Refusal>,
    /// The start for the solver of any shape.
    pub any: Start,
    /// A bubble inside.
    pub bubble: Option<Bubble>,
    /// What acts.
    pub drivers: Drivers,
    /// Radius of the ball of what the outer surface holds, m.
    pub radius: f64,
    /// Radius of the ball of all liquid, m.
    pub liquid_radius: f64,
    /// From when on nothing presses any more, s.
    pub free_from: f64,
    /// A swing of what is looked for, s.
    pub swing: f64,
    /// How long such a motion is looked at, s.
    pub lasts: f64,
    /// Highest degrees of the solver of star-shaped bodies, tried in this order.
    pub degrees: &'static [u64],
    /// Elements of the solver of any shape: enough, and too few.
    pub elements: [u64; 2],
    /// Whether the swing of a body tells its surface tension.
    pub tells_tension: bool,
    /// What went in, for the report.
    pub rows: Vec<Row>,
    /// What had to be taken for granted.
    pub assumptions: Vec<String>,
}

impl Problem {
    /// Whether it is one body without bubbles that is not meant to part.
    pub fn star_like(&self) -> bool {
        !matches!(self.star, Err(Refusal::Kind(_)))
    }
}

/// Why the solver of star-shaped bodies is out of the question.
#[derive(Debug, Clone)]
pub enum Refusal {
    /// What is asked is no star-shaped body.
    Kind(&'static str),
    /// The start shape is too much for it.
    Shape(InputError),
}

/// Highest degrees for bodies that begin smooth.
const SMOOTH: &[u64] = &[16, 20, 24];
/// Elements for bodies without fine features: enough, and too few.
const PLAIN: [u64; 2] = [48, 16];
/// Swings that are looked at when nothing else ends the run.
pub const SWINGS: f64 = 10.0;

/// Sets the problem up.
///
/// # Errors
/// When the file lacks what the body is made of, states what cannot be, or is of a kind that cannot be simulated.
pub fn problem(given: &Given<'_>) -> Result<Problem, StudyError> {
    let kind = given.experiment.kind;
    if kind == Kind::Fizz {
        let why = "release, puff, column or shell: bubbles that are born, grow by what is dissolved and merge are no potential flow of one body; plan tells what is \
                   expected of a fizz";
        return Err(fault(given, "kind", kind.name(), why));
    }
    let Some(pair) = given.pair() else {
        let absent = given.drop_inputs().into_iter().filter(|(_, x)| x.is_none());
        let lacking = absent.map(|(key, _)| key).collect::<Vec<_>>().join(", ");
        return Err(fault(given, &lacking, "nothing", "a value"));
    };
    let mut set = match kind {
        Kind::Puff => puff::puff(given, &pair)?,
        Kind::Column => column::column(given, &pair)?,
        Kind::Shell => shell::shell(given, &pair)?,
        Kind::Release | Kind::Fizz => release::release(given, &pair)?,
    };
    let first = [
        Row::new("Kind", kind.name()),
        Row::new("Liquid", given.materials.liquid.name.clone()),
    ];
    set.rows.splice(0..0, first);
    turning(given, &mut set);
    shaking(given, &mut set);
    Ok(set)
}

/// A body at rest with nothing acting on it; `star` and `any` are its start.
fn at_rest(pair: &Pair, star: Result<Start, Refusal>, any: Start) -> Problem {
    let liquid = Liquid {
        density: pair.density,
        tension: pair.tension,
        viscosity: pair.viscosity,
    };
    let frequency = root(2, pair).map(|mode| mode.angular_frequency / TAU);
    let frequency = frequency.ok().filter(|f| *f > 0.0);
    let swing = frequency.map_or(liquid.time(pair.radius), f64::recip);
    let oh = liquid.ohnesorge(pair.radius);
    let mut assumptions = Vec::new();
    if oh > THIN {
        assumptions.push(format!("the layer under the surface is taken as thin: at an Ohnesorge number of {oh:.3} it is not, and damping may be wrong by some {:.0} %", 100.0 * oh));
    }
    Problem {
        liquid,
        gas: Gas {
            density: pair.host_density,
            viscosity: pair.host_viscosity,
        },
        star,
        any,
        bubble: None,
        drivers: Drivers::default(),
        radius: pair.radius,
        liquid_radius: pair.radius,
        free_from: 0.0,
        swing,
        lasts: SWINGS * swing,
        degrees: SMOOTH,
        elements: PLAIN,
        tells_tension: true,
        rows: vec![
            Row::new("Surface tension", format!("{:.3} mN/m", 1e3 * pair.tension)),
            Row::new("Dynamic viscosity", format!("{:.4} mPa s", 1e3 * pair.viscosity)),
            Row::new("Density", format!("{:.2} kg/m^3", pair.density)),
            Row::new("Ohnesorge number", format!("{oh:.3e}")),
        ],
        assumptions,
    }
}

/// Ohnesorge number beyond which the layer is not thin.
const THIN: f64 = 0.03;

/// The row of the size.
fn size(radius: f64) -> Row {
    Row::new(
        "Radius of the sphere of equal volume",
        format!("{:.4} mm", 1e3 * radius),
    )
}

/// Rotation about the axis.
fn turning(given: &Given<'_>, set: &mut Problem) {
    let stated = given.experiment.simulation.as_ref();
    let Some(rotation) = stated.and_then(|s| s.rotation.as_ref()).map(Uncertain::value) else {
        return;
    };
    set.drivers.rotation = rotation;
    if rotation > 0.0 {
        set.assumptions.push(format!(
            "the body turns about its axis at {rotation:.4} rad/s throughout: how the motion winds this up is not followed"
        ));
    }
}

/// The uniform acceleration, which moves a free body and leaves its shape.
fn shaking(given: &Given<'_>, set: &mut Problem) {
    let value = |x: &Option<Uncertain>| x.as_ref().map_or(0.0, Uncertain::value);
    let (steady, jitter) = (value(&given.acceleration), value(&given.jitter));
    set.drivers.acceleration = Acceleration {
        steady,
        jitter: Vec::new(),
    };
    if steady != 0.0 {
        set.assumptions.push(format!("the residual acceleration of {steady} m/s^2 acts along the axis: being uniform, it moves what is free and leaves its shape"));
    }
    if jitter != 0.0 {
        set.assumptions.push(format!("the jitter of {jitter} m/s^2 has no stated frequency and is left out: being uniform, it would move what is free and leave its shape"));
    }
}

/// A fault of the file at a key.
pub fn fault(given: &Given<'_>, key: &str, found: &str, expected: &str) -> StudyError {
    Faults {
        faults: vec![Fault {
            file: given.experiment.file.clone(),
            line: 0,
            column: 0,
            key: key.into(),
            found: found.into(),
            expected: expected.into(),
        }],
    }
    .into()
}

/// Points of a spheroid with these half axes, from its upper pole down.
fn spheroid(along: f64, across: f64) -> Vec<[f64; 2]> {
    let point = |k: u32| {
        let (sin, cos) = (std::f64::consts::PI * f64::from(k) / f64::from(POINTS)).sin_cos();
        [
            along * cos,
            if k == 0 || k == POINTS { 0.0 } else { across * sin },
        ]
    };
    (0..=POINTS).map(point).collect()
}

/// Steps of a start shape.
const POINTS: u32 = 360;
