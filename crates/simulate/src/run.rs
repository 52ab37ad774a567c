//! Runs a solver along a list of instants: step, sample, settle, watch.
//!
//! Samples come from the interpolant of the step that holds their instant, so that asking for them changes nothing of the motion.
//! Whatever ends a run, what it has is kept.
//!
//! Source: \[HairerNorsettWanner1993\] (see [`tremolet_numerics::ode`]).

use tremolet_numerics::ode::{Effort, OdeError, Stepper};

use crate::checkpoint::{Checkpoint, fresh};
use crate::sample::{Sample, Watched};
use crate::solver::Solver;
use crate::stop::Stop;

/// Share of the time within which an instant counts as the same.
const NEXT_TO: f64 = 1e-13;

/// What is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Instants to be told, s, ascending; the last ends the run.
    pub times: Vec<f64>,
    /// Change of the volume, as a share, beyond which a run has lost its accuracy.
    pub volume_drift: f64,
    /// The same of the energy, where nothing drives and nothing rubs.
    pub energy_drift: f64,
}

impl Course {
    /// The instants with the usual limits: 1e-5 of the volume, 1e-3 of the energy.
    #[must_use]
    pub fn along(times: Vec<f64>) -> Self {
        Self {
            times,
            volume_drift: 1e-5,
            energy_drift: 1e-3,
        }
    }
}

/// How far a run has come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress<'a> {
    /// s.
    pub time: f64,
    /// s.
    pub until: f64,
    /// The sample just told, if this step told one.
    pub sample: Option<&'a Sample>,
}

/// What came of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// At the asked instants, as far as it came.
    pub samples: Vec<Sample>,
    /// Why it ended.
    pub stop: Stop,
    /// Where it stands.
    pub checkpoint: Checkpoint,
    /// What it cost.
    pub effort: Effort,
}

/// The checkpoint of a solver at its start, at time 0.
pub fn begin(solver: &mut dyn Solver) -> Checkpoint {
    let state = solver.start();
    let first = solver.watch(0.0, &state);
    Checkpoint {
        solver: solver.name().into(),
        time: 0.0,
        step: solver.first_step(),
        pace: fresh(),
        layout: solver.layout(),
        state,
        first,
        events: Vec::new(),
    }
}

/// Runs from a checkpoint along a course; `None` when the checkpoint is not of this solver and these settings.
///
/// Cut short by `on` and gone on from its checkpoint it does, bit for bit, what it would have done at one stroke.
/// `on` is told of every step and ends the run by answering false. Instants before the checkpoint are left out.
pub fn run(
    solver: &mut dyn Solver,
    from: &Checkpoint,
    course: &Course,
    on: &mut dyn FnMut(Progress<'_>) -> bool,
) -> Option<Run> {
    if from.solver != solver.name() || !solver.take_up(&from.layout, &from.state) {
        return None;
    }
    solver.recall(&from.events);
    let scales = solver.scales(&from.state);
    let mut ode = Stepper::new(solver.pair(), from.time, from.state.clone(), scales, from.step);
    ode.keep_pace(from.pace);
    let mut under_way = UnderWay {
        solver,
        ode,
        course,
        first: from.first,
        samples: Vec::new(),
        next: 0,
        at_edge: false,
    };
    let stop = under_way.until_it_ends(from.time, on);
    let checkpoint = Checkpoint {
        time: under_way.ode.time(),
        step: under_way.ode.step(),
        pace: under_way.ode.pace(),
        layout: under_way.solver.layout(),
        state: under_way.ode.state().to_vec(),
        events: under_way.solver.events().to_vec(),
        ..from.clone()
    };
    let effort = under_way.ode.effort();
    Some(Run {
        samples: under_way.samples,
        stop,
        checkpoint,
        effort,
    })
}

struct UnderWay<'a> {
    solver: &'a mut dyn Solver,
    ode: Stepper,
    course: &'a Course,
    first: Watched,
    samples: Vec<Sample>,
    next: usize,
    at_edge: bool,
}

impl UnderWay<'_> {
    fn until_it_ends(&mut self, from: f64, on: &mut dyn FnMut(Progress<'_>) -> bool) -> Stop {
        self.next = self.course.times.partition_point(|time| *time < from);
        let Some(until) = self.course.times.last().copied() else {
            return Stop::End;
        };
        self.tell();
        while self.ode.time() < until {
            if let Err(stop) = self.step(until) {
                return stop;
            }
            let told = self.tell();
            if let Err(stop) = self.settle() {
                return stop;
            }
            let sample = self.samples.last().filter(|_| told > 0);
            let time = self.ode.time();
            if !on(Progress { time, until, sample }) {
                return Stop::Cancelled { time };
            }
        }
        Stop::End
    }

    fn step(&mut self, until: f64) -> Result<(), Stop> {
        if self.at_edge {
            // What acts changes here at one stroke: the slope at the end of the last step is not that of the next.
            let state = self.ode.state().to_vec();
            let scales = self.solver.scales(&state);
            self.ode.replace(state, scales);
            self.at_edge = false;
        }
        let time = self.ode.time();
        let beyond = time + NEXT_TO * time.abs();
        let edge = self.solver.next_edge(beyond).unwrap_or(f64::INFINITY);
        let before = edge - NEXT_TO * edge.abs();
        let solver = &mut *self.solver;
        self.ode.limit(solver.longest_step(self.ode.state()));
        // The step that ends at an edge sees what acts before it.
        let made = self.ode.advance(edge.min(until), &mut |t, y, rates| {
            let t = if t < before || t > edge { t } else { before };
            solver.rates(t, y, rates)
        });
        self.at_edge = self.ode.time() >= before;
        made.map_err(|why| match why {
            OdeError::Rates(stop) => stop,
            OdeError::StepTooSmall { time, step } => {
                let what = "the step that the stated error needs, in s,".into();
                Stop::LostAccuracy {
                    time,
                    what,
                    found: step,
                    allowed: self.solver.first_step() * 1e-6,
                }
            }
        })
    }

    /// Samples the instants that the last step passed; returns how many.
    fn tell(&mut self) -> usize {
        let before = self.samples.len();
        let mut state = self.ode.state().to_vec();
        while let Some(time) = self
            .course
            .times
            .get(self.next)
            .filter(|time| **time <= self.ode.time())
        {
            self.ode.within(*time, &mut state);
            self.samples.push(self.solver.sample(*time, &state));
            self.next += 1;
        }
        self.samples.len() - before
    }

    fn settle(&mut self) -> Result<(), Stop> {
        let time = self.ode.time();
        if let Some(state) = self.solver.settle(time, self.ode.state())? {
            let scales = self.solver.scales(&state);
            self.ode.replace(state, scales);
        }
        let now = self.solver.watch(time, self.ode.state());
        let volume = now.volume_drift(&self.first);
        let energy = if self.solver.keeps_energy() {
            now.energy_drift(&self.first)
        } else {
            0.0
        };
        let limits = [
            ("change of the volume", volume, self.course.volume_drift),
            ("change of the energy", energy, self.course.energy_drift),
        ];
        let lost = limits
            .iter()
            .find(|(_, found, allowed)| found.is_nan() || found.abs() > *allowed);
        lost.map_or(Ok(()), |(what, found, allowed)| {
            Err(Stop::LostAccuracy {
                time,
                what: (*what).into(),
                found: *found,
                allowed: *allowed,
            })
        })
    }
}

#[cfg(test)]
mod tests;
