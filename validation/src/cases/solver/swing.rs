//! Frequencies of small swings, shifts and shapes of finite ones.

use std::f64::consts::TAU;

use tremolet_simulate::run::Run;
use tremolet_theory::modes::amplitude::{second_order, shape, shift_coefficient};

use super::tone::fit;
use super::{Drop, instants};
use crate::bench::Bench;
use crate::case::{Failure, Outcome};

/// The amplitude of a degree over time.
pub fn series(run: &Run, degree: usize) -> Vec<(f64, f64)> {
    let one = |s: &tremolet_simulate::sample::Sample| (s.time, s.amplitudes[degree]);
    run.samples.iter().map(one).collect()
}

/// sqrt(n (n - 1)(n + 2)): Rayleigh 1879.
pub fn rayleigh(degree: usize) -> f64 {
    ((degree * (degree - 1) * (degree + 2)) as f64).sqrt()
}

/// Degrees 2 to 8 at 1e-3, over ten periods, with three errors of a step and three highest degrees.
pub fn small(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    let degrees: &[usize] = if bench.pick(true, false) {
        &[2, 3, 8]
    } else {
        &[2, 3, 4, 5, 6, 7, 8]
    };
    for &n in degrees {
        let off = |highest: usize, step_error: f64| -> Result<f64, Failure> {
            let mut start = vec![0.0; n + 1];
            start[n] = 1e-3;
            let omega = rayleigh(n);
            let run = Drop::unit(&start, highest, step_error).let_go(instants(10.0 * TAU / omega, 240))?;
            // The swing itself is slower by |k| eps^2, some 1e-6.
            Ok(fit(&series(&run, n), omega, 0.0, 1)?.omega / omega - 1.0)
        };
        let what = format!("frequency of degree {n} at 1e-3, relative");
        outcome.within("unit drop", &what, Some(off(12, 1e-9)?), 1e-5, "");
        if n == 2 {
            let steps = [1e-5, 1e-6, 1e-7].map(|error| off(8, error));
            let [a, b, c] = steps;
            let told = format!("{:+.2e}, {:+.2e}, {:+.2e}", a?, b?, c?);
            outcome.tell("unit drop", "the same with steps of 1e-5, 1e-6, 1e-7", told);
        }
    }
    Ok(())
}

/// Shifts of frequency at three amplitudes, drawn to zero, and the parts of second order.
pub fn finite(bench: &Bench, outcome: &mut Outcome) -> Result<(), Failure> {
    for (n, bound) in [(2_u32, 2.0), (3, 1.0), (4, 1.0)] {
        let known = shift_coefficient(n)?;
        let all = [0.05, 0.1, 0.15];
        let mut found = Vec::new();
        for &eps in &all {
            let (k, parts) = shift(bench, n, eps)?;
            found.push((eps * eps, k));
            if eps == 0.05 {
                second(outcome, n, eps, &parts)?;
            }
        }
        let told: Vec<String> = found.iter().map(|(_, k)| format!("{k:.4}")).collect();
        outcome.tell(
            "unit drop",
            &format!("degree {n}: (w/w_n - 1)/eps^2 at 0.05, 0.1, 0.15"),
            told.join(", "),
        );
        let what = format!("degree {n}: the same at eps = 0 (from 0.05 and 0.1), off {known:.4}");
        let [(x0, k0), (x1, k1)] = [found[0], found[1]];
        let limit = k0 - x0 * (k1 - k0) / (x1 - x0);
        outcome.within(
            "unit drop",
            &what,
            Some(100.0 * (limit / known - 1.0)),
            bound,
            " %",
        );
    }
    Ok(())
}

type Parts = Vec<(usize, Vec<[f64; 2]>)>;

/// `(w/w_n - 1)/eps^2` over ten periods, and the tones of every degree of second order.
fn shift(bench: &Bench, n: u32, eps: f64) -> Result<(f64, Parts), Failure> {
    let degree = n as usize;
    let mut start = shape(n, eps, 0.0)?;
    // The solver sets volume and place.
    (start[0], start[1]) = (1.0, 0.0);
    let omega = rayleigh(degree) * (1.0 + shift_coefficient(n)? * eps * eps);
    let highest = bench.pick(2 * degree + 8, 2 * degree + 10);
    let run = Drop::unit(&start, highest, 1e-9).let_go(instants(10.0 * TAU / omega, 480))?;
    let main = fit(&series(&run, degree), omega, 0.0, 2)?;
    let amplitude = main.parts[1][0].hypot(main.parts[1][1]);
    let mut parts = Vec::new();
    for m in (2..=2 * degree).step_by(2) {
        parts.push((m, fit(&series(&run, m), main.omega, 0.0, 3)?.parts));
    }
    Ok((
        (main.omega / rayleigh(degree) - 1.0) / (amplitude * amplitude),
        parts,
    ))
}

/// The parts of second order at one amplitude; what is left is of relative order eps^2 and, of degree 4 beside 2, its resonance.
fn second(outcome: &mut Outcome, n: u32, eps: f64, parts: &Parts) -> Result<(), Failure> {
    let known = second_order(n)?;
    let largest = known
        .iter()
        .fold(0.0_f64, |most, p| most.max(p.steady.abs()).max(p.double.abs()));
    let mut worst = 0.0_f64;
    for (degree, tones) in parts {
        let Some(part) = known.iter().find(|p| p.degree as usize == *degree) else {
            continue;
        };
        let share = eps * eps * largest;
        worst = worst.max((tones[0][0] - eps * eps * part.steady).abs() / share);
        worst = worst.max((tones[2][0] - eps * eps * part.double).abs() / share);
    }
    let what = format!("degree {n}: parts of second order at eps = {eps}, worst of the largest");
    outcome.within("unit drop", &what, Some(100.0 * worst), 5.0, " %");
    Ok(())
}
