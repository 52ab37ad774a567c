//! What a free body keeps: volume, energy, centre of mass; and its shape in frames that fall and shake. What it costs.

use std::f64::consts::TAU;
use std::time::Instant;

use tremolet_simulate::driver::{Acceleration, Drivers, Tone};
use tremolet_simulate::sample::Sample;

use super::swing::rayleigh;
use super::{Drop, instants};
use crate::bench::Bench;
use crate::case::{Failure, Outcome};

/// r = 1 + a P_2 of aspect ratio x: (1 + a)/(1 - a/2) = x.
fn amplitude(aspect: f64) -> f64 {
    (aspect - 1.0) / (1.0 + aspect / 2.0)
}

/// Ten periods of degree 2 at aspect ratio 1.5 with three highest degrees; falling and shaking; the time that 1.6 takes.
pub fn all(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    let end = 10.0 * TAU / rayleigh(2);
    let shape = [0.0, 0.0, amplitude(1.5)];
    let finest = bench.pick(20, 24);
    let mut ends = Vec::new();
    for highest in [8, 12, 16, finest] {
        let run = Drop::unit(&shape, highest, 1e-8).let_go(instants(end, 200))?;
        let first = run.samples[0].watched;
        let most = |of: &dyn Fn(&tremolet_simulate::sample::Watched) -> f64| {
            run.samples
                .iter()
                .map(|s| of(&s.watched).abs())
                .fold(0.0, f64::max)
        };
        let clip = format!("aspect ratio 1.5, degrees to {highest}");
        let energy = most(&|w| w.energy_drift(&first));
        let told = format!("{:.1e}, {energy:.1e}", most(&|w| w.volume_drift(&first)));
        if highest == 16 {
            outcome.within(
                &clip,
                "drift of volume over ten periods",
                Some(most(&|w| w.volume_drift(&first))),
                1e-6,
                "",
            );
            outcome.within(&clip, "drift of energy over ten periods", Some(energy), 1e-4, "");
            outcome.within(
                &clip,
                "centre of mass, in R",
                Some(most(&|w| w.centroid)),
                1e-8,
                "",
            );
        } else {
            outcome.tell(&clip, "drifts of volume and energy", told);
        }
        ends.push((highest, run.samples.last().map_or(f64::NAN, |s| s.amplitudes[2])));
    }
    converges(outcome, &ends);
    lopsided(bench, outcome)?;
    frames(outcome)?;
    cost(outcome)
}

/// One end larger than the other: the centre, told from the surface alone, and what else must stay.
fn lopsided(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    let end = bench.pick(2.0, 10.0) * TAU / rayleigh(2);
    // With a_3 of 0.1 the harmonics no longer converge on every shape that it takes: told below.
    let mut drop = Drop::unit(&[0.0, 0.0, 0.285_714_3, 0.05], 20, 1e-8);
    drop.settings.meridian = 2000;
    let run = drop.let_go(instants(end, 60))?;
    let first = run.samples[0].watched;
    let most = |of: &dyn Fn(&Sample) -> f64| run.samples.iter().map(|s| of(s).abs()).fold(0.0, f64::max);
    let clip = "pear of aspect ratio 1.5, degrees to 20";
    let volume = most(&|s| s.watched.volume_drift(&first));
    let energy = most(&|s| s.watched.energy_drift(&first));
    outcome.within(clip, "drift of volume", Some(volume), 1e-6, "");
    outcome.within(clip, "drift of energy", Some(energy), 1e-4, "");
    let own = most(&|s| s.watched.centroid);
    outcome.within(clip, "centre of mass by the solver, in R", Some(own), 1e-8, "");
    let seen = most(&|s| middle(&s.surfaces[0].meridian));
    let what = "centre of mass from the meridians told (of 2000 chords), in R";
    outcome.within(clip, what, Some(seen), 1e-8, "");
    let steeper = Drop::unit(&[0.0, 0.0, 0.285_714_3, 0.1], 16, 1e-8).let_go(instants(end, 60))?;
    let first = steeper.samples[0].watched;
    let drift = |s: &Sample| s.watched.energy_drift(&first).abs();
    let energy = steeper.samples.iter().map(drift).fold(0.0, f64::max);
    let what = "drift of energy with a_3 of 0.1, degrees to 16 (beyond what harmonics about one centre hold)";
    outcome.tell(clip, what, format!("{energy:.1e}"));
    Ok(())
}

/// Height of the middle of a body of revolution between its points, by Simpson's rule over pairs of chords.
fn middle(meridian: &[[f64; 2]]) -> f64 {
    let (mut volume, mut moment) = (0.0, 0.0);
    // Points stand at even angles: r^4 mu and r^3 over the sine of the angle, as smooth as the surface.
    let step = std::f64::consts::PI / (meridian.len() - 1) as f64;
    for (k, [z, across]) in meridian.iter().enumerate() {
        let square = z * z + across * across;
        let edge = k == 0 || k + 1 == meridian.len();
        let weight = if edge {
            1.0
        } else if k % 2 == 1 {
            4.0
        } else {
            2.0
        };
        volume += weight * step / 3.0 * square * across * 2.0 / 3.0;
        moment += weight * step / 3.0 * square * across * z / 2.0;
    }
    moment / volume
}

/// The last amplitude against that of the finest; it must fall at least by half with every four degrees.
fn converges(outcome: &mut Outcome, ends: &[(usize, f64)]) {
    let Some((_, finest)) = ends.last() else { return };
    let errors: Vec<f64> = ends[..3].iter().map(|(_, a)| (a - finest).abs()).collect();
    let told = format!("{:.1e}, {:.1e}, {:.1e}", errors[0], errors[1], errors[2]);
    let held = errors.windows(2).all(|pair| pair[1] < pair[0] / 2.0);
    let what = "a_2 after ten periods, degrees to 8, 12, 16 against the finest";
    outcome.must(
        "aspect ratio 1.5",
        what,
        told,
        "each at most half of the one before",
        held,
    );
}

/// Any uniform acceleration leaves the shape as it is.
fn frames(outcome: &mut Outcome) -> Result<(), Failure> {
    let shape = [0.0, 0.0, 0.2, 0.08];
    let times = instants(5.0, 10);
    let still = Drop::unit(&shape, 12, 1e-8);
    let jitter = vec![
        Tone {
            amplitude: 4.0,
            frequency: 1.3,
            phase: 0.3,
        },
        Tone {
            amplitude: 2.0,
            frequency: 17.0,
            phase: 1.0,
        },
    ];
    let drivers = Drivers {
        acceleration: Acceleration { steady: 0.7, jitter },
        ..Drivers::default()
    };
    let shaken = Drop {
        drivers,
        ..Drop::unit(&shape, 12, 1e-8)
    };
    let (a, b) = (still.let_go(times.clone())?, shaken.let_go(times)?);
    let pairs = a.samples.iter().zip(&b.samples);
    let off = pairs.flat_map(|(a, b)| a.amplitudes.iter().zip(&b.amplitudes).map(|(a, b)| (a - b).abs()));
    let most = off.fold(0.0, f64::max);
    outcome.within(
        "falling and shaking frame",
        "change of any amplitude",
        Some(most),
        1e-14,
        "",
    );
    Ok(())
}

/// Seconds that this thread has been on a core, where the system tells; by the clock on the wall elsewhere.
fn on_core(begun: Instant) -> f64 {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|text| text.split(' ').next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| begun.elapsed().as_secs_f64(), |ns| 1e-9 * ns)
}

/// The time is told, for machines differ and are shared; the effort is held.
fn cost(outcome: &mut Outcome) -> Result<(), Failure> {
    let shape = [0.0, 0.0, amplitude(1.6)];
    let drop = Drop::unit(&shape, 16, 1e-7);
    let begun = Instant::now();
    let before = on_core(begun);
    let run = drop.let_go(instants(10.0 * TAU / rayleigh(2), 200))?;
    let took = on_core(begun) - before;
    let clip = "ten periods at aspect ratio 1.6";
    outcome.tell(
        clip,
        "time on one core (asked for: 0.5 s)",
        format!("{took:.2} s"),
    );
    let steps = run.effort.steps + run.effort.rejected;
    outcome.must(
        clip,
        "steps made and tried",
        steps.to_string(),
        "at most 4000",
        steps <= 4000,
    );
    Ok(())
}
