//! The boundary solver against frequencies, growth rates and laws that are known, and against what must not change.

mod ends;
mod kept;
mod necks;
mod pushed;
mod ringing;
mod small;
mod thread;

use std::f64::consts::TAU;

use tremolet_simulate::driver::Drivers;
use tremolet_simulate::liquid::Liquid;
use tremolet_simulate::potential::boundary::flow::Boundary;
use tremolet_simulate::potential::boundary::resolution::Resolution;
use tremolet_simulate::potential::boundary::setup::{Filling, Piece};
use tremolet_simulate::potential::modal::{Modal, Settings};
use tremolet_simulate::run::{Course, Run, begin, run};
use tremolet_simulate::start::Start;

use crate::bench::Bench;
use crate::case::{Case, Failure, Outcome};
use crate::cases::solver::UNIT;

/// See the module.
pub const CASE: Case = Case {
    name: "boundary",
    question: "The boundary flow solver against what is known of drops, shells and threads",
    method: "Bodies of unit density, tension and radius are let go by `potential::boundary`. Small swings of drops and shells and small waves on threads \
             against the frequencies and rates of linear theory, damped swings against exact roots, swings in a gas against two fluids; a swing of aspect ratio 1.5 against its own volume, energy and centre; a short \
             push on a cap against impulse theory; a shaken drop against one at rest; a thread followed until its neck is thin against the law of \
             pinch-off, others until nothing more comes off against counts and sizes; a ligament that draws back and two drops that merge against published \
             speeds. Elements are counted on half a turn of the unit ball. Theory and solver share no code.",
    version: 5,
    run: all,
};

fn all(bench: &Bench) -> Result<Outcome, Failure> {
    let mut outcome = Outcome::default();
    small::drops(bench, &mut outcome)?;
    small::shells(bench, &mut outcome)?;
    small::threads(bench, &mut outcome)?;
    ringing::all(bench, &mut outcome)?;
    kept::all(bench, &mut outcome)?;
    pushed::all(bench, &mut outcome)?;
    ends::all(bench, &mut outcome)?;
    necks::all(bench, &mut outcome)?;
    thread::all(bench, &mut outcome)?;
    Ok(outcome)
}

/// A ball of radius 1 with these amplitudes.
fn star(shape: &[f64]) -> Start {
    Start::Star {
        radius: 1.0,
        shape: shape.to_vec(),
        velocity: Vec::new(),
    }
}

/// `amplitude P_n` alone.
fn mode(degree: usize, amplitude: f64) -> Vec<f64> {
    let mut shape = vec![0.0; degree + 1];
    shape[degree] = amplitude;
    shape
}

fn resolution(elements: usize) -> Resolution {
    Resolution {
        elements,
        ..Resolution::default()
    }
}

/// The solver of one body.
fn alone(liquid: &Liquid, piece: Piece, drivers: &Drivers, elements: usize) -> Result<Boundary, Failure> {
    let made = Boundary::new(liquid, &[piece], Filling::Stiff, drivers, resolution(elements));
    made.map_err(|why| Failure::Refused(why.to_string()))
}

/// Lets go and tells `count` steps from 0 to `until`; drifts are left to the rows.
fn let_go(solver: &mut Boundary, until: f64, count: u32) -> Result<Run, Failure> {
    let from = begin(solver);
    let step = |k| until * f64::from(k) / f64::from(count);
    let course = Course {
        volume_drift: 1e-3,
        energy_drift: 1e-1,
        ..Course::along((0..=count).map(step).collect())
    };
    let found = run(solver, &from, &course, &mut |_| true);
    found.ok_or_else(|| Failure::Refused("a checkpoint of its own".into()))
}

/// The same start by the modal solver with degrees to `highest`, at the instants of a run.
fn modal(liquid: &Liquid, start: &Start, like: &Run, highest: usize) -> Result<Run, Failure> {
    let settings = Settings {
        highest,
        meridian: 0,
        ..Settings::default()
    };
    let made = Modal::new(liquid, None, start, &Drivers::default(), settings);
    let mut modal = made.map_err(|why| Failure::Refused(why.to_string()))?;
    let from = begin(&mut modal);
    let course = Course::along(like.samples.iter().map(|s| s.time).collect());
    let found = run(&mut modal, &from, &course, &mut |_| true);
    found.ok_or_else(|| Failure::Refused("a checkpoint of its own".into()))
}

/// Angular frequency from crossings of nil that are one period apart; `None` with less than three.
fn turning(run: &Run, value: &dyn Fn(usize) -> f64) -> Option<f64> {
    let mut crossings = Vec::new();
    for k in 1..run.samples.len() {
        let (before, now) = (value(k - 1), value(k));
        if before * now < 0.0 {
            let (from, to) = (run.samples[k - 1].time, run.samples[k].time);
            crossings.push(from + before / (before - now) * (to - from));
        }
    }
    let periods = crossings.len().checked_sub(1)? / 2;
    (periods > 0).then(|| TAU * periods as f64 / (crossings[2 * periods] - crossings[0]))
}
