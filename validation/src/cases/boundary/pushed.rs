//! A short push on a cap: what each degree and the whole get from it, against impulse theory.

use tremolet_simulate::driver::{Drivers, End, Footprint, Form, Pulse};
use tremolet_simulate::potential::boundary::setup::Piece;
use tremolet_theory::drop::FreeDrop;
use tremolet_theory::modes::inviscid::drop_unit;
use tremolet_theory::puff::blow::Blow;
use tremolet_theory::puff::footprint::Footprint as Known;

use super::{UNIT, alone, let_go, star};
use crate::bench::Bench;
use crate::case::{Failure, Outcome};

/// All of it.
pub fn all(_: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    let (peak, half_angle, lasts) = (0.002, 30_f64.to_radians(), 0.08);
    let footprint = Footprint {
        peak,
        half_angle,
        end: End::Upper,
        form: Form::Cap,
        begins: 0.0,
        lasts,
        pulse: Pulse::Even,
    };
    let drivers = Drivers {
        footprints: vec![footprint],
        ..Drivers::default()
    };
    let mut solver = alone(&UNIT, Piece::alone(star(&[])), &drivers, 64)?;
    let found = let_go(&mut solver, 0.24, 3)?;
    let drop = FreeDrop {
        radius: 1.0,
        tension: 1.0,
        density: 1.0,
        viscosity: 0.0,
    };
    let blow = Blow {
        footprint: Known::Cap {
            pressure: peak,
            half_angle,
        },
        duration: lasts,
    };
    let starts = blow
        .starts(&drop, 6)
        .map_err(|why| Failure::Refused(why.to_string()))?;
    let last = found.samples.last();
    let speed = last.map(|s| s.watched.velocity / starts[1].speed - 1.0);
    outcome.within("push on a cap", "speed of the whole", speed, 0.005, "");
    for start in &starts[2..] {
        let degree = start.degree as usize;
        let omega = drop_unit(start.degree);
        // The pulse counts from its middle.
        let known = start.speed / omega * start.pulse_factor * (omega * (0.24 - lasts / 2.0)).sin();
        let share = last.map(|s| s.amplitudes[degree] / known - 1.0);
        let what = format!("amplitude of degree {degree} after the push");
        outcome.within("push on a cap", &what, share, 0.01, "");
    }
    Ok(())
}
