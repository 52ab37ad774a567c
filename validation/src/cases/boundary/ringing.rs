//! Ringing that a layer damps or a gas makes heavier, against exact roots and the two-fluid formula; what a layer remembers at large swings.

use std::f64::consts::TAU;

use tremolet_simulate::driver::Drivers;
use tremolet_simulate::liquid::{Gas, Liquid};
use tremolet_simulate::potential::boundary::setup::Piece;
use tremolet_theory::modes::inviscid::{drop_unit, two_fluids};
use tremolet_theory::modes::viscous::{Motion, motion};

use super::{UNIT, alone, let_go, modal, mode, star, turning};
use crate::bench::{Bench, Effort};
use crate::case::{Failure, Outcome};
use crate::cases::solver::tone::fit;

/// Amplitude of swings.
const SMALL: f64 = 1e-3;
/// Swings before the fit: the layer needs some to settle.
const SETTLED: f64 = 3.0;
/// Swings of the fit.
const FITTED: f64 = 4.0;

/// All of it.
pub fn all(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    let cases = [
        (1e-4, 2),
        (1e-4, 3),
        (1e-4, 4),
        (1e-3, 2),
        (1e-3, 3),
        (1e-3, 4),
        (1e-2, 2),
        (1e-2, 3),
        (1e-2, 4),
    ];
    for (ohnesorge, degree) in bench.pick(&[(1e-3, 2), (1e-2, 3)][..], &cases) {
        damped(*ohnesorge, *degree, outcome)?;
    }
    let gases = [
        (1.2e-3, 2),
        (1.2e-3, 3),
        (0.1, 2),
        (0.1, 3),
        (0.1, 4),
        (1.0, 2),
        (1.0, 3),
        (1.0, 4),
    ];
    for (density, degree) in bench.pick(&[(0.1, 3)][..], &gases) {
        heavier(*density, *degree, outcome)?;
    }
    if bench.effort == Effort::Full {
        beside(outcome)?;
    }
    Ok(())
}

/// Decay of a small swing after the layer has settled.
fn damped(ohnesorge: f64, degree: usize, outcome: &mut Outcome) -> Result<(), Failure> {
    let Motion::Swinging {
        decay,
        angular_frequency,
    } = motion(degree as u32, ohnesorge)?
    else {
        return Ok(());
    };
    let liquid = Liquid {
        viscosity: ohnesorge,
        ..UNIT
    };
    let drop = Piece::alone(star(&mode(degree, SMALL)));
    let mut solver = alone(&liquid, drop, &Drivers::default(), 32)?;
    let period = TAU / angular_frequency;
    let found = let_go(&mut solver, (SETTLED + FITTED) * period, 210)?;
    let from = SETTLED * period;
    let late: Vec<(f64, f64)> = found
        .samples
        .iter()
        .filter(|s| s.time >= from)
        .map(|s| (s.time - from, s.amplitudes[degree]))
        .collect();
    let tone = fit(&late, angular_frequency, decay, 0)?;
    let clip = format!("drop, Oh {ohnesorge:e}");
    let lamb = ((degree - 1) * (2 * degree + 1)) as f64 * ohnesorge;
    let what = format!(
        "decay of degree {degree}, 32 elements (Lamb {:+.2} %)",
        100.0 * (lamb / decay - 1.0)
    );
    let off = 100.0 * (tone.decay / decay - 1.0);
    outcome.within(&clip, &what, Some(off), 1.0, " %");
    let off = 100.0 * (tone.omega / angular_frequency - 1.0);
    outcome.within(
        &clip,
        &format!("frequency of degree {degree}"),
        Some(off),
        0.1,
        " %",
    );
    Ok(())
}

/// Frequency with a gas around against that of two fluids \[Lamb1932\].
fn heavier(density: f64, degree: usize, outcome: &mut Outcome) -> Result<(), Failure> {
    let exact = two_fluids(degree as u32, 1.0, density, 1.0, 1.0)?;
    let drop = Piece::alone(star(&mode(degree, 1e-4)));
    let gas = Gas {
        density,
        viscosity: 0.0,
    };
    let made = alone(&UNIT, drop, &Drivers::default(), 32)?.with_gas(&gas);
    let mut solver = made.map_err(|why| Failure::Refused(why.to_string()))?;
    let found = let_go(&mut solver, 1.3 * TAU / exact, 160)?;
    let omega = turning(&found, &|k| found.samples[k].amplitudes[degree]);
    let clip = format!("drop in a gas of {density} of its density");
    let shift = exact / drop_unit(degree as u32) - 1.0;
    let what = format!(
        "frequency of degree {degree}, 32 elements (gas {:+.3} %)",
        100.0 * shift
    );
    outcome.within(&clip, &what, omega.map(|omega| omega / exact - 1.0), 1e-4, "");
    Ok(())
}

/// A viscous swing of aspect ratio 1.5 by both solvers: here the layer goes along with the surface, there it is remembered by degree.
fn beside(outcome: &mut Outcome) -> Result<(), Failure> {
    let liquid = Liquid {
        viscosity: 5e-3,
        ..UNIT
    };
    let start = star(&[0.0, 0.0, 0.285_714_3]);
    let until = 5.0 * TAU / drop_unit(2);
    let mut solver = alone(&liquid, Piece::alone(start.clone()), &Drivers::default(), 40)?;
    let found = let_go(&mut solver, until, 100)?;
    let other = modal(&liquid, &start, &found, 20)?;
    let pairs = found.samples.iter().zip(&other.samples);
    let off = pairs.map(|(a, b)| (a.amplitudes[2] - b.amplitudes[2]).abs());
    let told = format!("{:.1e}", off.fold(0.0, f64::max));
    let clip = "aspect ratio 1.5, Oh 5e-3, 5 periods";
    outcome.tell(clip, "distance of a_2 from that of the modal solver, most", told);
    Ok(())
}
