//! Decays of small swings against exact roots, in vacuum and in air.

use std::f64::consts::TAU;

use tremolet_simulate::liquid::{Gas, Liquid};
use tremolet_theory::modes::host::{Pair, root};
use tremolet_theory::modes::viscous::{Motion, motion};

use super::swing::{rayleigh, series};
use super::tone::fit;
use super::{Drop, UNIT, instants};
use crate::bench::Bench;
use crate::case::{Failure, Outcome};

/// Swings before the fit: the layer needs some to settle.
const SETTLED: f64 = 3.0;

/// Degrees 2 to 4 at three Ohnesorge numbers.
pub fn vacuum(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    for &oh in bench.pick(&[1e-3, 1e-2][..], &[1e-4, 1e-3, 1e-2]) {
        for n in 2..=4_usize {
            let Motion::Swinging {
                decay,
                angular_frequency,
            } = motion(n as u32, oh)?
            else {
                continue;
            };
            let liquid = Liquid {
                viscosity: oh,
                ..UNIT
            };
            let drop = |shape| Drop {
                liquid,
                ..Drop::unit(shape, 8, 1e-11)
            };
            let lamb = ((n - 1) * (2 * n + 1)) as f64 * oh;
            let found = swing(&drop, n, TAU / rayleigh(n), [angular_frequency, decay])?;
            let clip = format!("Oh = {oh}");
            let what = format!(
                "decay of degree {n} (Lamb {:+.2} %)",
                100.0 * (lamb / decay - 1.0)
            );
            outcome.within(&clip, &what, Some(100.0 * (found[1] / decay - 1.0)), 1.0, " %");
            let what = format!("frequency of degree {n}");
            outcome.within(
                &clip,
                &what,
                Some(100.0 * (found[0] / angular_frequency - 1.0)),
                0.1,
                " %",
            );
        }
    }
    Ok(())
}

/// Water drops in air.
pub fn air(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    for &(radius, n) in bench.pick(
        &[(0.01, 2_usize)][..],
        &[(0.001, 2), (0.01, 2), (0.01, 3), (0.03, 2)],
    ) {
        let pair = Pair {
            radius,
            tension: 0.07274,
            density: 998.2,
            viscosity: 1.0016e-3,
            host_density: 1.204,
            host_viscosity: 1.82e-5,
        };
        let exact = root(n as u32, &pair)?;
        let liquid = Liquid {
            density: pair.density,
            tension: pair.tension,
            viscosity: pair.viscosity,
        };
        let gas = Some(Gas {
            density: pair.host_density,
            viscosity: pair.host_viscosity,
        });
        let drop = |shape| Drop {
            liquid,
            gas,
            radius,
            ..Drop::unit(shape, 8, 1e-11)
        };
        let period = TAU / exact.angular_frequency;
        let found = swing(&drop, n, period, [exact.angular_frequency, exact.decay])?;
        let clip = format!("water drop of {} mm in air", 2e3 * radius);
        let what = format!("decay of degree {n}");
        outcome.within(
            &clip,
            &what,
            Some(100.0 * (found[1] / exact.decay - 1.0)),
            1.0,
            " %",
        );
        let what = format!("frequency of degree {n}");
        outcome.within(
            &clip,
            &what,
            Some(100.0 * (found[0] / exact.angular_frequency - 1.0)),
            0.1,
            " %",
        );
    }
    Ok(())
}

/// Frequency and decay of a swing of 1e-4, after its first periods, over ten.
fn swing<'a>(
    drop: &dyn Fn(&'static [f64]) -> Drop<'a>,
    degree: usize,
    period: f64,
    near: [f64; 2],
) -> Result<[f64; 2], Failure> {
    const SHAPES: [&[f64]; 3] = [
        &[0.0, 0.0, 1e-4],
        &[0.0, 0.0, 0.0, 1e-4],
        &[0.0, 0.0, 0.0, 0.0, 1e-4],
    ];
    let run = drop(SHAPES[degree - 2]).let_go(instants((SETTLED + 10.0) * period, 390))?;
    let late: Vec<(f64, f64)> = series(&run, degree)
        .into_iter()
        .filter(|(t, _)| *t >= SETTLED * period)
        .map(|(t, a)| (t - SETTLED * period, a))
        .collect();
    let found = fit(&late, near[0], near[1], 0)?;
    Ok([found.omega, found.decay])
}
