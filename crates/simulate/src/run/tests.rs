use super::{Course, Progress, begin, run};
use crate::event::Event;
use crate::sample::{Sample, Watched};
use crate::solver::Solver;
use crate::stop::Stop;

/// A pendulum of unit frequency whose "volume" and "energy" can be made to drift, and which may part at a time.
struct Pendulum {
    leak: f64,
    parts_at: f64,
    parts: usize,
}

impl Pendulum {
    fn new() -> Self {
        Self {
            leak: 0.0,
            parts_at: f64::INFINITY,
            parts: 1,
        }
    }
}

impl Solver for Pendulum {
    fn name(&self) -> &'static str {
        "pendulum"
    }
    fn start(&self) -> Vec<f64> {
        vec![1.0, 0.0]
    }
    fn layout(&self) -> Vec<usize> {
        vec![2; self.parts]
    }
    fn take_up(&mut self, layout: &[usize], state: &[f64]) -> bool {
        self.parts = layout.len();
        state.len() == 2 * layout.len()
    }
    fn events(&self) -> &[Event] {
        &[]
    }
    fn recall(&mut self, _: &[Event]) {}
    fn first_step(&self) -> f64 {
        0.1
    }
    fn scales(&self, state: &[f64]) -> Vec<f64> {
        vec![1e-10; state.len()]
    }
    fn rates(&mut self, _: f64, state: &[f64], rates: &mut [f64]) -> Result<(), Stop> {
        for (rate, pair) in rates.chunks_mut(2).zip(state.chunks(2)) {
            (rate[0], rate[1]) = (pair[1], -pair[0]);
        }
        Ok(())
    }
    fn settle(&mut self, time: f64, state: &[f64]) -> Result<Option<Vec<f64>>, Stop> {
        if time < self.parts_at || self.parts == 2 {
            return Ok(None);
        }
        self.parts = 2;
        Ok(Some([state, state].concat()))
    }
    fn next_edge(&self, time: f64) -> Option<f64> {
        Some(self.parts_at).filter(|edge| *edge > time && edge.is_finite())
    }
    fn watch(&mut self, time: f64, state: &[f64]) -> Watched {
        let energy = state[0] * state[0] + state[1] * state[1];
        Watched {
            volume: 1.0 + self.leak * time,
            energy,
            ..Watched::default()
        }
    }
    fn keeps_energy(&self) -> bool {
        true
    }
    fn sample(&mut self, time: f64, state: &[f64]) -> Sample {
        let watched = self.watch(time, state);
        Sample {
            time,
            origin: 0.0,
            surfaces: Vec::new(),
            amplitudes: state.to_vec(),
            watched,
        }
    }
}

fn instants() -> Vec<f64> {
    (0..=50).map(|k| 0.1 * f64::from(k)).collect()
}

fn on(_: Progress<'_>) -> bool {
    true
}

#[test]
fn samples_lie_on_the_asked_instants_and_on_the_motion() {
    let mut solver = Pendulum::new();
    let from = begin(&mut solver);
    let found = run(&mut solver, &from, &Course::along(instants()), &mut on).expect("its own checkpoint");
    assert_eq!(found.stop, Stop::End);
    assert_eq!(found.samples.len(), 51);
    for sample in &found.samples {
        assert!((sample.amplitudes[0] - sample.time.cos()).abs() < 1e-7);
    }
    assert!(found.effort.steps < 200, "{:?}", found.effort);
}

#[test]
fn a_run_cut_in_two_ends_where_the_whole_one_does_and_can_be_cancelled() {
    let mut solver = Pendulum::new();
    let from = begin(&mut solver);
    let course = Course::along(instants());
    let whole = run(&mut solver, &from, &course, &mut on).expect("whole");
    let cut = run(&mut solver, &from, &course, &mut |p: Progress<'_>| p.time < 2.0).expect("cut");
    assert!(matches!(cut.stop, Stop::Cancelled { time } if (2.0..2.5).contains(&time)));
    let rest = run(&mut solver, &cut.checkpoint, &course, &mut on).expect("rest");
    assert_eq!(cut.samples.len() + rest.samples.len(), 51);
    let (a, b) = (
        whole.samples[50].amplitudes[0],
        rest.samples.last().expect("some").amplitudes[0],
    );
    assert!((a - b).abs() < 1e-8);
    let mut other = cut.checkpoint.clone();
    other.solver = "clock".into();
    assert!(run(&mut solver, &other, &course, &mut on).is_none());
}

#[test]
fn what_must_not_change_ends_a_run_that_changes_it_and_what_it_has_is_kept() {
    let mut solver = Pendulum {
        leak: 1e-5,
        ..Pendulum::new()
    };
    let from = begin(&mut solver);
    let found = run(&mut solver, &from, &Course::along(instants()), &mut on).expect("a run");
    assert!(
        matches!(&found.stop, Stop::LostAccuracy { what, .. } if what.contains("volume")),
        "{}",
        found.stop
    );
    assert!((5..20).contains(&found.samples.len()));
}

#[test]
fn a_body_that_parts_goes_on_as_two() {
    let mut solver = Pendulum {
        parts_at: 1.23,
        ..Pendulum::new()
    };
    let from = begin(&mut solver);
    let course = Course {
        energy_drift: 10.0,
        ..Course::along(instants())
    };
    let found = run(&mut solver, &from, &course, &mut on).expect("a run");
    assert_eq!(found.checkpoint.layout, [2, 2]);
    assert_eq!(found.samples[12].amplitudes.len(), 2);
    assert_eq!(found.samples[13].amplitudes.len(), 4);
    assert!((found.samples[50].amplitudes[2] - 5f64.cos()).abs() < 1e-7);
}

/// A mass that is pushed evenly from 0.5 to 0.8.
struct Pushed;

impl Solver for Pushed {
    fn name(&self) -> &'static str {
        "pushed"
    }
    fn start(&self) -> Vec<f64> {
        vec![0.0]
    }
    fn layout(&self) -> Vec<usize> {
        vec![1]
    }
    fn take_up(&mut self, _: &[usize], state: &[f64]) -> bool {
        state.len() == 1
    }
    fn events(&self) -> &[Event] {
        &[]
    }
    fn recall(&mut self, _: &[Event]) {}
    fn first_step(&self) -> f64 {
        0.07
    }
    fn longest_step(&self, _: &[f64]) -> f64 {
        0.07
    }
    fn scales(&self, _: &[f64]) -> Vec<f64> {
        vec![1.0]
    }
    fn rates(&mut self, time: f64, _: &[f64], rates: &mut [f64]) -> Result<(), Stop> {
        rates[0] = f64::from(u8::from((0.5..0.8).contains(&time)));
        Ok(())
    }
    fn settle(&mut self, _: f64, _: &[f64]) -> Result<Option<Vec<f64>>, Stop> {
        Ok(None)
    }
    fn next_edge(&self, time: f64) -> Option<f64> {
        [0.5, 0.8].into_iter().find(|edge| *edge > time)
    }
    fn watch(&mut self, _: f64, _: &[f64]) -> Watched {
        Watched {
            volume: 1.0,
            ..Watched::default()
        }
    }
    fn keeps_energy(&self) -> bool {
        false
    }
    fn sample(&mut self, time: f64, state: &[f64]) -> Sample {
        Sample {
            time,
            origin: 0.0,
            surfaces: Vec::new(),
            amplitudes: state.to_vec(),
            watched: Watched::default(),
        }
    }
}

#[test]
fn a_push_that_begins_and_ends_at_one_stroke_gives_its_impulse_to_rounding() {
    let from = begin(&mut Pushed);
    let found = run(&mut Pushed, &from, &Course::along(vec![0.0, 2.0]), &mut on).expect("a run");
    let speed = found.samples[1].amplitudes[0];
    assert!((speed - 0.3).abs() < 1e-12, "{speed}");
}
