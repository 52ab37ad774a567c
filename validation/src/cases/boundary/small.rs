//! Small motions: drops, shells, threads, and their damping.

use std::f64::consts::{PI, TAU};

use tremolet_simulate::driver::Drivers;
use tremolet_simulate::liquid::Liquid;
use tremolet_simulate::potential::boundary::flow::Boundary;
use tremolet_simulate::potential::boundary::setup::{Bubble, Filling, Piece, Thread};
use tremolet_simulate::start::Start;
use tremolet_theory::column::balance::ColumnBalance;
use tremolet_theory::modes::inviscid::drop_unit;
use tremolet_theory::modes::viscous;
use tremolet_theory::shell::body::Shell;
use tremolet_theory::shell::inviscid::{ShellMode, families};

use super::{UNIT, alone, let_go, mode, resolution, star, turning};
use crate::bench::{Bench, Effort};
use crate::case::{Failure, Outcome};

/// Amplitude of small swings.
const SMALL: f64 = 1e-3;
/// Steps at which a swing is told, over one and a quarter periods.
const TOLD: u32 = 160;

/// Share by which the frequency of a degree is off.
fn off(degree: usize, elements: usize) -> Result<f64, Failure> {
    let exact = drop_unit(degree as u32);
    let mut solver = alone(
        &UNIT,
        Piece::alone(star(&mode(degree, SMALL))),
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
        outcome.within("drop", &what, Some(off(degree, 64)?), 1e-4, "");
    }
    let degrees: &[usize] = if bench.effort == Effort::Full {
        &[4, 6, 8]
    } else {
        &[6]
    };
    for degree in degrees {
        let errors = [12, 18, 27].map(|count| off(*degree, count + 4));
        let [a, b, c] = errors.map(|error| error.map(f64::abs));
        let (a, b, c) = (a?, b?, c?);
        let orders = [
            (a / b).ln() / (22.0_f64 / 16.0).ln(),
            (b / c).ln() / (31.0_f64 / 22.0).ln(),
        ];
        let found = format!("{a:.1e}, {b:.1e}, {c:.1e}: {:.1}, {:.1}", orders[0], orders[1]);
        let held = orders.iter().all(|order| *order >= 3.0);
        let what = format!("degree {degree} with 16, 22, 31 elements: errors, orders");
        outcome.must("drop", &what, found, "order 3 or more", held);
    }
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

/// Decay against the exact roots, with the share that the order of the method leaves.
pub fn damping(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    let numbers: &[f64] = if bench.effort == Effort::Full {
        &[1e-4, 1e-3, 1e-2]
    } else {
        &[1e-3]
    };
    for ohnesorge in numbers {
        for degree in [2_usize, 3] {
            let exact = viscous::motion(degree as u32, *ohnesorge).map_err(Failure::Mode)?;
            let lamb = viscous::irrotational_decay(degree as u32, *ohnesorge);
            let viscous::Motion::Swinging { decay, .. } = exact else {
                continue;
            };
            let liquid = Liquid {
                viscosity: *ohnesorge,
                ..UNIT
            };
            let omega = drop_unit(degree as u32);
            let mut solver = alone(
                &liquid,
                Piece::alone(star(&mode(degree, SMALL))),
                &Drivers::default(),
                32,
            )?;
            let periods = 2.0;
            let found = let_go(&mut solver, periods * TAU / omega, 2)?;
            let measured = found
                .samples
                .get(2)
                .map(|s| -(s.amplitudes[degree] / SMALL).ln() * omega / (periods * TAU));
            let clip = format!("drop, Oh {ohnesorge:e}");
            let what = format!("decay of degree {degree} over Lamb's, which the method holds");
            let bound = 0.01 + 0.5 * lamb / omega;
            outcome.within(&clip, &what, measured.map(|m| m / lamb - 1.0), bound, "");
            let told = measured.map_or("absent".into(), |m| {
                format!("{:+.2} %", 100.0 * (m / decay - 1.0))
            });
            let what = format!(
                "decay of degree {degree} over the exact root; Lamb's own is off by {:+.2} %",
                100.0 * (lamb / decay - 1.0)
            );
            outcome.tell(&clip, &what, told);
        }
    }
    Ok(())
}
