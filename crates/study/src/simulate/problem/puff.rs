//! A puff: a drop at rest, and the pressure of a jet on one side of it for as long as the puff lasts.
//!
//! The jet is that of the plan (`plan::puff`): a round one whose pressure is a bell of the distance from its axis. It does not follow the crater.

use tremolet_plan::given::Given;
use tremolet_plan::puff::blow;
use tremolet_report::input::Row;
use tremolet_simulate::driver::{End, Footprint, Form, Pulse};
use tremolet_simulate::start::Start;
use tremolet_theory::modes::host::Pair;
use tremolet_theory::puff::footprint::Footprint as Pressed;

use super::{Problem, at_rest, fault, size};
use crate::error::StudyError;

/// A puff stirs short waves.
const DEGREES: &[u64] = &[24, 32, 40];
/// Elements over the half width of the footprint: enough, and too few.
const OVER_WIDTH: [f64; 2] = [3.0, 1.0];
/// Elements at least and at most, when none are stated.
const ELEMENTS: [f64; 2] = [48.0, 96.0];

/// The problem of a puff.
///
/// # Errors
/// When the file does not say what is blown.
pub fn puff(given: &Given<'_>, pair: &Pair) -> Result<Problem, StudyError> {
    let stated = given.experiment.puff.as_ref();
    let Some(blow) = stated.and_then(|stated| blow(given, stated)) else {
        let due = "volume, duration, nozzle and distance of the puff";
        return Err(fault(given, "puff", "not all of them", due));
    };
    let (peak, half_angle, form) = match blow.footprint {
        Pressed::Cap { pressure, half_angle } => (pressure, half_angle, Form::Cap),
        Pressed::Bell { pressure, width } => (pressure, width / pair.radius, Form::Beam),
    };
    let ball = Start::Star {
        radius: pair.radius,
        shape: Vec::new(),
        velocity: Vec::new(),
    };
    let mut set = at_rest(pair, Ok(ball.clone()), ball);
    set.drivers.footprints.push(Footprint {
        peak,
        half_angle,
        end: End::Upper,
        form,
        begins: 0.0,
        lasts: blow.duration,
        pulse: Pulse::Even,
    });
    set.free_from = blow.duration;
    set.degrees = DEGREES;
    let over = |share: f64| (share * std::f64::consts::PI / half_angle).ceil();
    set.elements = [
        over(OVER_WIDTH[0]).clamp(ELEMENTS[0], ELEMENTS[1]) as u64,
        over(OVER_WIDTH[1]) as u64,
    ];
    set.rows.insert(0, size(pair.radius));
    set.rows.extend([
        Row::new("Pressure in the middle of the puff", format!("{peak:.3} Pa")),
        Row::new(
            "Half width of the puff",
            format!("{:.3} mm", 1e3 * half_angle * pair.radius),
        ),
        Row::new("Duration of the puff", format!("{:.2} ms", 1e3 * blow.duration)),
    ]);
    set.assumptions.extend([
        "the drop is a sphere at rest before the puff, which meets it along its axis from above".to_string(),
        "the puff presses on the same part of the drop throughout and does not follow the crater; gas that speeds past sucks nowhere".to_string(),
    ]);
    Ok(set)
}
