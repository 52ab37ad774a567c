//! The experiment file as what a solver takes: liquid, gas, start, drivers, instants.
//!
//! The clock is that of the camera where its rate is stated. What is not stated is assumed and said.

use std::f64::consts::TAU;

use tremolet_matter::uncertain::Uncertain;
use tremolet_plan::given::{Given, values};
use tremolet_plan::release::begun;
use tremolet_record::experiment::faults::{Fault, Faults};
use tremolet_record::experiment::file::Kind;
use tremolet_report::input::Row;
use tremolet_simulate::driver::{Acceleration, Drivers};
use tremolet_simulate::liquid::{Gas, InputError, Liquid};
use tremolet_simulate::potential::modal::{Modal, Settings};
use tremolet_simulate::start::Start;
use tremolet_theory::modes::host::root;

use crate::error::StudyError;

/// What is solved.
pub struct Body {
    /// The solver at its start.
    pub solver: Modal,
    /// How finely.
    pub settings: Settings,
    /// Instants to be told, s.
    pub times: Vec<f64>,
    /// Radius of the sphere of equal volume, m.
    pub radius: f64,
    /// What went in, for the report.
    pub rows: Vec<Row>,
    /// What had to be taken for granted.
    pub assumptions: Vec<String>,
}

/// Swings of degree 2 that are computed when nothing else ends the run.
const SWINGS: f64 = 10.0;
/// Instants in a swing when no capture rate is stated.
const INSTANTS: f64 = 60.0;
/// Highest degrees, tried in this order until one holds the start shape.
const HIGHEST: [usize; 3] = [16, 20, 24];
/// Error of a step, and of the start shape, as shares of the radius.
const STEP_ERROR: f64 = 1e-8;
const SHAPE_ERROR: f64 = 1e-3;
/// Steps of a meridian.
const MERIDIAN: usize = 120;

/// Sets up the solver.
///
/// # Errors
/// When the file lacks what a drop is made of, is of a kind that cannot be simulated yet, or the solver refuses.
pub fn body(given: &Given<'_>) -> Result<Body, StudyError> {
    if given.experiment.kind != Kind::Release {
        let found = given.experiment.kind.name().to_string();
        return Err(fault(
            given,
            "kind",
            found,
            "release: other kinds cannot be simulated yet",
        ));
    }
    let Some(pair) = given.pair() else {
        let lacking = given
            .drop_inputs()
            .iter()
            .filter(|(_, x)| x.is_none())
            .map(|(key, _)| *key)
            .collect::<Vec<_>>();
        return Err(fault(
            given,
            lacking.join(", ").as_str(),
            "nothing".into(),
            "a value",
        ));
    };
    debug_assert!(values(&given.drop_inputs()).is_some());
    let (start, _) =
        begun(given, &pair).map_err(|why| fault(given, "release", why.to_string(), "a start shape"))?;
    held(&start.amplitudes)?;
    let liquid = Liquid {
        density: pair.density,
        tension: pair.tension,
        viscosity: pair.viscosity,
    };
    let gas = Gas {
        density: pair.host_density,
        viscosity: pair.host_viscosity,
    };
    let star = Start::Star {
        radius: pair.radius,
        shape: start.amplitudes.clone(),
        velocity: Vec::new(),
    };
    let steady = given.acceleration.as_ref().map_or(0.0, Uncertain::value);
    let drivers = Drivers {
        acceleration: Acceleration {
            steady,
            jitter: Vec::new(),
        },
        ..Drivers::default()
    };
    let (solver, settings) = solver(&liquid, &gas, &star, &drivers)?;
    let frequency = root(2, &pair).map_or(liquid.time(pair.radius).recip(), |mode| {
        mode.angular_frequency / TAU
    });
    let mut assumptions = assumed(&liquid, pair.radius, steady);
    let times = instants(given, frequency, &mut assumptions);
    let rows = vec![
        Row::new("Kind", given.experiment.kind.name()),
        Row::new("Liquid", given.materials.liquid.name.clone()),
        Row::new(
            "Radius of the sphere of equal volume",
            format!("{:.4} mm", 1e3 * pair.radius),
        ),
        Row::new("Surface tension", format!("{:.3} mN/m", 1e3 * pair.tension)),
        Row::new("Dynamic viscosity", format!("{:.4} mPa s", 1e3 * pair.viscosity)),
        Row::new("Density", format!("{:.2} kg/m^3", pair.density)),
        Row::new(
            "Ohnesorge number",
            format!("{:.3e}", liquid.ohnesorge(pair.radius)),
        ),
        Row::new(
            "Amplitude of degree 2 at the start",
            format!("{:.4}", start.amplitudes[2]),
        ),
    ];
    Ok(Body {
        solver,
        settings,
        times,
        radius: pair.radius,
        rows,
        assumptions,
    })
}

/// Refuses a shape whose highest amplitudes say that more of them are cut off than the accuracy bears.
fn held(amplitudes: &[f64]) -> Result<(), InputError> {
    let last = &amplitudes[amplitudes.len().saturating_sub(2)..];
    let found = last.iter().fold(0.0_f64, |most, a| most.max(a.abs()));
    if found <= SHAPE_ERROR {
        return Ok(());
    }
    Err(InputError::Resolution {
        what: "amplitude of degree 11 or 12 of the start shape",
        found,
        expected: format!("at most {SHAPE_ERROR:e}"),
        advice: "a shape that is less drawn out and has rounder edges",
    })
}

fn solver(
    liquid: &Liquid,
    gas: &Gas,
    start: &Start,
    drivers: &Drivers,
) -> Result<(Modal, Settings), InputError> {
    let at = |highest: usize| {
        let settings = Settings {
            highest,
            step_error: STEP_ERROR,
            shape_error: SHAPE_ERROR,
            meridian: MERIDIAN,
        };
        Modal::new(liquid, Some(gas), start, drivers, settings).map(|solver| (solver, settings))
    };
    let [first, more @ ..] = HIGHEST;
    more.iter().fold(at(first), |best, highest| match best {
        Err(InputError::Resolution { .. }) => at(*highest),
        other => other,
    })
}

/// The frames of the camera, or sixty instants a swing, until weightlessness or ten swings are over.
fn instants(given: &Given<'_>, frequency: f64, assumptions: &mut Vec<String>) -> Vec<f64> {
    let camera = given.experiment.camera.as_ref();
    let stated = camera.and_then(|c| c.capture_rate.as_ref()).map(Uncertain::value);
    let rate_fps = stated.unwrap_or(INSTANTS * frequency);
    let swings = SWINGS / frequency;
    let until = given
        .time
        .as_ref()
        .map_or(swings, |time| time.value().min(swings));
    assumptions.push(format!(
        "computed over {until:.3} s, the shorter of the available time and {SWINGS} swings of degree 2"
    ));
    if stated.is_none() {
        assumptions.push(format!(
            "no capture rate is stated: told at {rate_fps:.1} instants per second"
        ));
    }
    (0..=(until * rate_fps).floor() as u64)
        .map(|k| k as f64 / rate_fps)
        .collect()
}

fn assumed(liquid: &Liquid, radius: f64, steady: f64) -> Vec<String> {
    let mut all = vec![
        "the drop is one of revolution, at rest when it is let go, and nothing touches it afterwards"
            .to_string(),
    ];
    if steady != 0.0 {
        all.push(format!("the residual acceleration of {steady} m/s^2 acts along the axis of the drop; being uniform, it moves the drop and leaves its shape"));
    }
    let oh = liquid.ohnesorge(radius);
    if oh > 0.03 {
        all.push(format!("the layer under the surface is taken as thin: at an Ohnesorge number of {oh:.3} it is not, and damping may be wrong by some {:.0} %", 100.0 * oh));
    }
    all
}

fn fault(given: &Given<'_>, key: &str, found: String, expected: &str) -> StudyError {
    Faults {
        faults: vec![Fault {
            file: given.experiment.file.clone(),
            line: 0,
            column: 0,
            key: key.into(),
            found,
            expected: expected.into(),
        }],
    }
    .into()
}
