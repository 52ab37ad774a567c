//! Small motions: drops, shells, threads, and their damping.

use std::f64::consts::{PI, TAU};

use tremolet_simulate::driver::Drivers;
use tremolet_simulate::potential::boundary::flow::Boundary;
use tremolet_simulate::potential::boundary::setup::{Bubble, Filling, Piece, Thread};
use tremolet_simulate::start::Start;
use tremolet_theory::column::balance::ColumnBalance;
use tremolet_theory::modes::inviscid::drop_unit;
use tremolet_theory::shell::body::Shell;
use tremolet_theory::shell::inviscid::{ShellMode, families};

use super::{UNIT, alone, let_go, mode, resolution, star, turning};
use crate::bench::{Bench, Effort};
use crate::case::{Failure, Outcome};

/// Amplitude of small swings.
const SMALL: f64 = 1e-3;
/// Steps at which a swing is told, over one and a quarter periods.
const TOLD: u32 = 160;

/// Amplitude of swings whose error is that of the mesh: the shift by the amplitude itself, some 1e-8, lies below all of them.
const SMALLER: f64 = 1e-4;

/// Share by which the frequency of a degree is off at an amplitude.
fn off(degree: usize, elements: usize, amplitude: f64) -> Result<f64, Failure> {
    let exact = drop_unit(degree as u32);
    let mut solver = alone(
        &UNIT,
        Piece::alone(star(&mode(degree, amplitude))),
        &Drivers::default(),
        elements,
    )?;
    let found = let_go(&mut solver, 1.3 * TAU / exact, TOLD)?;
    let omega = turning(&found, &|k| found.samples[k].amplitudes[degree]);
    omega
        .map(|omega| omega / exact - 1.0)
        .ok_or_else(|| Failure::Refused(format!("degree {degree} does not swing: {}", found.stop)))
}

/// Frequencies of degrees 2 to 8, and the order of convergence.
pub fn drops(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    for degree in 2..=8 {
        let what = format!("frequency of degree {degree}, amplitude 1e-3, 64 elements");
        outcome.within("drop", &what, Some(off(degree, 64, SMALL)?), 1e-4, "");
    }
    for degree in bench.pick(&[6][..], &[2, 3, 4, 5, 6, 7, 8]) {
        order(*degree, outcome)?;
    }
    Ok(())
}

/// Three meshes, each coarse enough for its error to stand clear of that of the steps.
fn order(degree: usize, outcome: &mut Outcome) -> Result<(), Failure> {
    let counts = [16, 22, 31];
    let mut errors = [0.0; 3];
    for (error, count) in errors.iter_mut().zip(counts) {
        *error = off(degree, count, SMALLER)?.abs();
    }
    let order = |k: usize| (errors[k] / errors[k + 1]).ln() / (counts[k + 1] as f64 / counts[k] as f64).ln();
    let orders = [order(0), order(1)];
    let [a, b, c] = errors;
    let found = format!("{a:.1e}, {b:.1e}, {c:.1e}: {:.1}, {:.1}", orders[0], orders[1]);
    let held = orders.iter().all(|order| *order >= 3.0);
    let what = format!("degree {degree}, amplitude 1e-4, with 16, 22, 31 elements: errors, orders");
    outcome.must("drop", &what, found, "order 3 or more", held);
    Ok(())
}

/// The two families of shells.
pub fn shells(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    let degrees: &[u32] = if bench.effort == Effort::Full {
        &[2, 3]
    } else {
        &[2]
    };
    for ratio in [0.3, 0.5, 0.8] {
        let shell = Shell {
            inner_radius: ratio,
            outer_radius: 1.0,
            density: 1.0,
            viscosity: 0.0,
            inner_tension: 1.0,
            outer_tension: 1.0,
            inner_gas: 0.0,
            outer_gas: 0.0,
        };
        for degree in degrees {
            let both = families(*degree, &shell).map_err(|why| Failure::Refused(why.to_string()))?;
            for (name, family) in [("slow", both.against), ("fast", both.together)] {
                let found = shell_off(*degree as usize, ratio, family)?;
                let what =
                    format!("frequency of degree {degree}, {name} family, bubble {ratio} of the radius");
                outcome.within("shell", &what, Some(found), 1e-3, "");
            }
        }
    }
    Ok(())
}

fn shell_off(degree: usize, ratio: f64, family: ShellMode) -> Result<f64, Failure> {
    // The wall that moves more moves by SMALL.
    let larger = family.inner_over_outer.abs().max(1.0);
    let outer = SMALL * ratio / larger;
    let wall = Start::Star {
        radius: ratio,
        shape: mode(degree, family.inner_over_outer * outer / ratio),
        velocity: Vec::new(),
    };
    let piece = Piece {
        bubble: Some(Bubble {
            start: wall,
            height: 0.0,
        }),
        ..Piece::alone(star(&mode(degree, outer)))
    };
    let mut solver = alone(&UNIT, piece, &Drivers::default(), 40)?;
    let found = let_go(&mut solver, 1.3 * TAU / family.angular_frequency, TOLD)?;
    // The pole of the surface that moves more, from where it rests.
    let (number, rest) = if family.inner_over_outer.abs() > 1.0 {
        (1, ratio)
    } else {
        (0, 1.0)
    };
    let omega = turning(&found, &|k| {
        found.samples[k].surfaces[number].meridian[0][0] - rest
    });
    omega
        .map(|omega| omega / family.angular_frequency - 1.0)
        .ok_or_else(|| Failure::Refused(format!("a shell that does not swing: {}", found.stop)))
}

/// Growth of waves on threads between planes.
pub fn threads(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    let numbers: &[f64] = if bench.effort == Effort::Full {
        &[0.1, 0.3, 0.5, 0.7, 0.9]
    } else {
        &[0.3, 0.7, 0.9]
    };
    let column = ColumnBalance {
        density: 1.0,
        viscosity: 0.0,
        host_density: 0.0,
        host_viscosity: 0.0,
    };
    for x in numbers {
        let rate = column.inviscid_square(*x).sqrt();
        let amplitude = 1e-4;
        let thread = Thread {
            radius: 1.0,
            length: PI / x,
            amplitude,
            waves: 0.5,
        };
        let elements = (16.0_f64).max(4.0 / x) as usize;
        let body = thread
            .body(elements)
            .map_err(|why| Failure::Refused(why.to_string()))?;
        let made = Boundary::of_bodies(
            &UNIT,
            1.0,
            vec![body],
            Filling::Stiff,
            &Drivers::default(),
            resolution(16),
        );
        let mut solver = made.map_err(|why| Failure::Refused(why.to_string()))?;
        let until = 1.5 / rate;
        let found = let_go(&mut solver, until, 2)?;
        let crest = |k: usize| found.samples.get(k).map(|s| s.surfaces[0].meridian[0][1] - 1.0);
        // Let go from rest, a wave grows as cosh(s t).
        let grown = crest(2)
            .zip(crest(0))
            .map(|(end, begin)| (end / begin).acosh() / until / rate - 1.0);
        outcome.within("thread", &format!("growth rate at k a = {x}"), grown, 5e-3, "");
    }
    Ok(())
}
