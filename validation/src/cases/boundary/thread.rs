//! A long thread until nothing more comes off: how many drops, of what size.

use std::f64::consts::{PI, TAU};
use std::time::Instant;

use tremolet_simulate::driver::Drivers;
use tremolet_simulate::event::Kind;
use tremolet_simulate::liquid::Liquid;
use tremolet_simulate::potential::boundary::flow::Boundary;
use tremolet_simulate::potential::boundary::resolution::Resolution;
use tremolet_simulate::potential::boundary::setup::{Filling, Thread};
use tremolet_simulate::run::Run;
use tremolet_simulate::start::volume;
use tremolet_theory::column::fastest::satellites;

use super::{UNIT, let_go};
use crate::bench::{Bench, Effort};
use crate::case::{Failure, Outcome};

/// Wave number of the fastest wave of a thread of radius 1 \[Rayleigh1879\].
const FASTEST: f64 = 0.697;

/// A thread and how it is followed.
struct Case {
    waves: f64,
    /// Of a slower wave on top, which lets the necks part at different times.
    uneven: f64,
    ohnesorge: f64,
    finest: f64,
    until: f64,
}

/// Drops at the end.
struct Drops {
    /// Radii of whole drops; halves on a plane count as halves.
    mains: Vec<f64>,
    satellites: Vec<f64>,
    count: [f64; 2],
    run: Run,
}

impl Drops {
    /// How many there are and what happened.
    fn told(&self) -> String {
        let events = &self.run.checkpoint.events;
        let parted = events.iter().filter(|event| event.kind == Kind::PinchOff).count();
        let [mains, satellites] = self.count;
        let joined = events.len() - parted;
        format!("{mains} and {satellites}, after {parted} pinch-offs and {joined} mergers")
    }
}

/// All of it.
pub fn all(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    let long = Case {
        waves: bench.pick(0.5, 2.0),
        uneven: bench.pick(0.0, 0.02),
        ohnesorge: 1e-2,
        finest: bench.pick(4e-2, 3e-2),
        until: bench.pick(8.6, 12.0),
    };
    drops(&long, outcome)?;
    if bench.effort == Effort::Full {
        sizes(1e-2, outcome)?;
        sizes(0.0, outcome)?;
        dry(outcome)?;
    }
    Ok(())
}

/// Count and sizes of a thread of several waves.
fn drops(case: &Case, outcome: &mut Outcome) -> Result<(), Failure> {
    let clock = Instant::now();
    let found = break_up(case)?;
    let seconds = clock.elapsed().as_secs_f64();
    let clip = format!("thread of {} waves, Oh {:e}", case.waves, case.ohnesorge);
    let told = found.told();
    let held = found.count == [case.waves; 2] && found.run.stop.is_end();
    let what = "main drops and satellites at the end";
    outcome.must(&clip, what, told, "one of each for each wave", held);
    // [Rayleigh1879]: one drop for each wave of the fastest growth has (3 pi / 2 x)^(1/3) = 1.891 radii of the thread.
    let one = (1.5 * PI / FASTEST).cbrt();
    let mean = |list: &[f64]| list.iter().sum::<f64>() / list.len() as f64;
    let (main, satellite) = (mean(&found.mains), mean(&found.satellites));
    let what = "radius of the main drops over Rayleigh's one drop for each wave, 1.891, less 1";
    outcome.within(&clip, what, Some(main / one - 1.0), 0.02, "");
    let known = satellites();
    let told = format!("{satellite:.3} over {main:.3}: {:.3}", satellite / main);
    let asked = format!("{} to {} (experiments)", known.least, known.most);
    let held = (known.least..=known.most).contains(&(satellite / main));
    outcome.must(
        &clip,
        "radius of satellites over that of main drops",
        told,
        &asked,
        held,
    );
    let (first, last) = (found.run.samples.first(), found.run.samples.last());
    let drift = first.zip(last).map(|(a, b)| b.watched.volume_drift(&a.watched));
    outcome.within(&clip, "drift of the volume", drift, 1e-3, "");
    let cost = format!("{seconds:.0} s, {} steps", found.run.effort.steps);
    outcome.tell(&clip, "time on the clock", cost);
    Ok(())
}

/// The size of the satellite with three finest lengths.
fn sizes(ohnesorge: f64, outcome: &mut Outcome) -> Result<(), Failure> {
    let mut radii = Vec::new();
    for finest in [8e-2, 4e-2, 2e-2] {
        let case = Case {
            waves: 0.5,
            uneven: 0.0,
            ohnesorge,
            finest,
            until: 8.4,
        };
        let found = break_up(&case)?;
        radii.push(found.satellites.first().copied().unwrap_or(f64::NAN));
    }
    let clip = format!("thread of 0.5 waves, Oh {ohnesorge:e}");
    let told = format!("{:.4}, {:.4}, {:.4}", radii[0], radii[1], radii[2]);
    let held = (radii[2] / radii[1] - 1.0).abs() < 0.02;
    let what = "radius of the satellite with necks cut and waves smoothed at 0.08, 0.04, 0.02";
    outcome.must(&clip, what, told, "the last two within 2 %", held);
    Ok(())
}

/// Without viscosity: what the smoothing costs, and how far it carries.
fn dry(outcome: &mut Outcome) -> Result<(), Failure> {
    let case = Case {
        waves: 1.0,
        uneven: 0.0,
        ohnesorge: 0.0,
        finest: 4e-2,
        until: 11.0,
    };
    let found = break_up(&case)?;
    let clip = "thread of 1 wave, no viscosity, smoothed at 0.04";
    outcome.tell(clip, "how it ended", found.run.stop.to_string());
    outcome.tell(clip, "main drops and satellites", found.told());
    let (first, last) = (found.run.samples.first(), found.run.samples.last());
    let lost = first.zip(last).map(|(a, b)| b.watched.energy_drift(&a.watched));
    let told = lost.map_or("absent".into(), |lost| format!("{lost:+.2e}"));
    outcome.tell(clip, "energy that cutting and smoothing took, as a share", told);
    Ok(())
}

/// Follows a thread and sorts what it becomes: satellites are less than half as large as the largest.
fn break_up(case: &Case) -> Result<Drops, Failure> {
    let elements = 16;
    let refused = |why: tremolet_simulate::liquid::InputError| Failure::Refused(why.to_string());
    let thread = Thread {
        radius: 1.0,
        length: TAU * case.waves / FASTEST,
        amplitude: 0.1,
        waves: case.waves,
    };
    let mut body = thread.body((case.waves * 48.0) as usize).map_err(refused)?;
    let surface = &mut body.surfaces[0];
    for (r, z) in surface.r.iter_mut().zip(&surface.z) {
        *r += case.uneven * (PI * z / thread.length).cos();
    }
    let resolution = Resolution {
        elements,
        tolerance: 1e-7,
        finest: case.finest,
    };
    let liquid = Liquid {
        viscosity: case.ohnesorge,
        ..UNIT
    };
    let bodies = vec![body];
    let made = Boundary::of_bodies(
        &liquid,
        1.0,
        bodies,
        Filling::Stiff,
        &Drivers::default(),
        resolution,
    );
    let mut solver = made.map_err(refused)?;
    let run = let_go(&mut solver, case.until, 40)?;
    let mut radii = Vec::new();
    for surface in run.samples.last().map_or(&[][..], |s| &s.surfaces) {
        let points = &surface.meridian;
        let on_plane = points[0][1] > 0.0 || points[points.len() - 1][1] > 0.0;
        let share = if on_plane { 0.5 } else { 1.0 };
        radii.push(((volume(points) / share * 0.75 / PI).cbrt(), share));
    }
    let largest = radii.iter().fold(0.0_f64, |most, (r, _)| most.max(*r));
    let (mains, small): (Vec<_>, Vec<_>) = radii.into_iter().partition(|(r, _)| *r > 0.5 * largest);
    let count = |list: &[(f64, f64)]| list.iter().map(|(_, share)| share).sum::<f64>();
    Ok(Drops {
        count: [count(&mains), count(&small)],
        mains: mains.into_iter().map(|(r, _)| r).collect(),
        satellites: small.into_iter().map(|(r, _)| r).collect(),
        run,
    })
}
