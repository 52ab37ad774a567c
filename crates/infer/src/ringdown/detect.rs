//! The lines of one degree, found one after the other.
//!
//! Each pass scans what is left for the line that stands out most from its surroundings, fits it together with the lines
//! that are known, and keeps it if chance does not explain it:
//!
//! ```text
//! F = (decrease of chi-square) / (2 noise),    P(F_{2,d} > F) * trials < false alarm
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `d` | degrees of freedom of the noise estimate | 1 |
//! | `trials` | independent frequencies and decays of all degrees | 1 |
//!
//! Source: \[Scargle1982\] for the test. Whether a line is a mode of its degree is not decided here.

use std::f64::consts::{PI, TAU};

use tremolet_numerics::least_squares::{Minimum, Stop};
use tremolet_numerics::spectrum::transform;
use tremolet_numerics::statistics::{fisher_tail, median};

use crate::line::{BASELINE, Model, PER_LINE, Series, curve, fit, start};
use crate::ringdown::noise::noise_at;

/// Decay rates of the scan in units of 1 / record.
const DECAYS: [f64; 8] = [0.0, 0.7, 1.5, 3.0, 6.0, 12.0, 24.0, 48.0];
/// Fewest cycles of a line.
pub const FEWEST_CYCLES: f64 = 1.5;
/// Part of the energy that a line keeps at worst on the grid of the scan, with some to spare.
const ON_GRID: f64 = 0.7;
/// A line that is there takes about ten steps.
const STOP: Stop = Stop {
    steps: 40,
    tolerance: 1e-8,
};
/// Most lines that are tried together with one that does not stand alone.
const HIDDEN: usize = 1;
/// Share of the energy that is most of it.
const MOST: f64 = 0.5;
/// Share of chi-square that a line leaves which explains all.
pub(crate) const REST: f64 = 0.01;
/// Fewest degrees of freedom for that.
pub(crate) const FEWEST_REST: f64 = 40.0;
/// Lines that may fail one after the other before the search ends.
const PATIENCE: usize = 4;

/// When a line counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Test {
    /// Most lines.
    pub most: usize,
    /// Prior of `k`.
    pub shift: (f64, f64),
    /// Largest probability of one trial.
    pub probability: f64,
}

/// Cycles of a line (frequency in Hz) within the record while it is above a twentieth of its first amplitude.
pub fn cycles(frequency: f64, decay: f64, span: f64) -> f64 {
    frequency * span.min(3.0 / decay.max(1e-300))
}

/// Unknowns `[b0, b1, b2, A, phi, w, g, k, ...]` of the baseline and the lines of a series.
pub fn lines(series: &Series, test: Test) -> Option<Minimum> {
    let mut known = fit(series, &model(0, test), &[0.0; BASELINE], STOP).ok()?;
    let (mut refused, mut failures) = (Vec::new(), 0);
    while failures < PATIENCE && count(&known.parameters) < test.most {
        let residual = residual(series, &known.parameters);
        let Some(peak) = best_peak(series, &residual, &refused, test) else {
            break;
        };
        let mut from = known.parameters.clone();
        from.extend(start(series, &residual, peak.frequency, peak.decay, test.shift.0));
        let found = fit(series, &model(count(&from), test), &from, STOP).ok();
        let found = found.map(|f| settled_slowly(series, &known, f, test));
        let found = found.filter(|f| f.converged && possible(series, f) && stayed(series, f, peak.frequency));
        let kept = match found {
            Some(found) if stands(series, &known, &found, test) => Some(found),
            Some(found) => with_others(series, found, &refused, test),
            None => None,
        };
        match kept {
            Some(found) => {
                known = found;
                failures = 0;
            }
            None => {
                refused.push(peak.frequency);
                failures += 1;
            }
        }
    }
    known.parameters[BASELINE..]
        .chunks_exact_mut(PER_LINE)
        .for_each(upright);
    Some(known)
}

/// Whether the last line lies near the peak (Hz) that it was begun at: within a quarter, which no slowing by size exceeds, or two
/// widths of the record. Fits of a line far above the noise have other minima.
fn stayed(series: &Series, found: &Minimum, peak: f64) -> bool {
    let frequency = found.parameters[found.parameters.len() - PER_LINE + 2].abs() / TAU;
    (frequency - peak).abs() < (0.25 * peak).max(2.0 / series.span())
}

/// A line that already explains most of what was left gets more steps: one that stands ten thousand times above the noise, and
/// slows by its own size, has a long way to go.
fn settled_slowly(series: &Series, known: &Minimum, found: Minimum, test: Test) -> Minimum {
    if found.converged || found.chi_square > (1.0 - MOST) * known.chi_square {
        return found;
    }
    let more = Stop { steps: 400, ..STOP };
    let again = fit(
        series,
        &model(count(&found.parameters), test),
        &found.parameters,
        more,
    );
    again.unwrap_or(found)
}

fn count(parameters: &[f64]) -> usize {
    (parameters.len() - BASELINE) / PER_LINE
}

fn residual(series: &Series, parameters: &[f64]) -> Vec<f64> {
    let span = series.span();
    let pairs = series.times.iter().zip(&series.values);
    pairs.map(|(&t, y)| y - curve(parameters, t, span)).collect()
}

/// Amplitude and frequency positive, phase from -pi to pi.
pub fn upright(line: &mut [f64]) {
    if line[2] < 0.0 {
        line[2] = -line[2];
        line[1] = -line[1];
    }
    if line[0] < 0.0 {
        line[0] = -line[0];
        line[1] += PI;
    }
    line[1] -= TAU * (line[1] / TAU).round();
}

/// Lines that hide each other: the last of `tentative` with up to [`HIDDEN`] more, if all of them then stand.
fn with_others(series: &Series, mut tentative: Minimum, refused: &[f64], test: Test) -> Option<Minimum> {
    let first = count(&tentative.parameters) - 1;
    for _ in 0..HIDDEN {
        let rest = residual(series, &tentative.parameters);
        let peak = best_peak(series, &rest, refused, test)?;
        let mut from = tentative.parameters.clone();
        from.extend(start(series, &rest, peak.frequency, peak.decay, test.shift.0));
        tentative = fit(series, &model(count(&from), test), &from, STOP).ok()?;
        if !tentative.converged || !possible(series, &tentative) {
            return None;
        }
        if all_stand(series, &tentative, first, test) {
            return Some(tentative);
        }
    }
    None
}

/// Whether each line from `first` on is there, by its amplitude over its standard uncertainty.
fn all_stand(series: &Series, found: &Minimum, first: usize, test: Test) -> bool {
    let left = residual(series, &found.parameters);
    let stands = |l: usize| {
        let place = BASELINE + PER_LINE * l;
        let gain = found.parameters[place].powi(2) / found.covariance[(place, place)];
        surprises(
            series,
            &left,
            &found.parameters[place..place + PER_LINE],
            gain,
            test,
        )
    };
    (first..count(&found.parameters)).all(stands)
}

fn model(count: usize, test: Test) -> Model {
    Model {
        shifts: vec![test.shift; count],
        shapes: Vec::new(),
    }
}

/// Whether all lines are such as a drop can have.
fn possible(series: &Series, found: &Minimum) -> bool {
    let deviation = |l: usize| {
        let place = BASELINE + PER_LINE * l + 3;
        found.covariance[(place, place)].sqrt()
    };
    let mut lines = found.parameters[BASELINE..].chunks_exact(PER_LINE).enumerate();
    lines.all(|(l, line)| is_ringing(series, line, deviation(l)))
}

/// Whether a line has cycles enough, lies below half the sampling rate and does not grow; `deviation` of its decay rate.
pub fn is_ringing(series: &Series, line: &[f64], deviation: f64) -> bool {
    let span = series.span();
    let highest = 0.5 * (series.times.len() - 1) as f64 / span;
    let (frequency, decay) = (line[2].abs() / TAU, line[3]);
    let growing = decay + 3.0 * deviation < 0.0 || decay * span < -2.0;
    !growing && frequency < highest && cycles(frequency, decay, span) >= FEWEST_CYCLES
}

/// Whether the last line of `found` is there.
fn stands(series: &Series, known: &Minimum, found: &Minimum, test: Test) -> bool {
    let left = residual(series, &found.parameters);
    let line = &found.parameters[found.parameters.len() - PER_LINE..];
    explains_all(known, found) || surprises(series, &left, line, known.chi_square - found.chi_square, test)
}

/// Whether the last line leaves hardly anything of what was there: of a line of three cycles the few frequencies beside it do not say enough of the noise for
/// the test, however large it is, but no noise is one damped line to a hundredth of its energy.
fn explains_all(known: &Minimum, found: &Minimum) -> bool {
    found.chi_square < REST * known.chi_square && found.degrees_of_freedom > FEWEST_REST
}

/// Whether chance does not explain that a line decreases chi-square by `gain`, with the residual `left`.
fn surprises(series: &Series, left: &[f64], line: &[f64], gain: f64, test: Test) -> bool {
    let Some(noise) = noise_at(series, left, line[2].abs() / TAU, line[3]) else {
        return false;
    };
    let ratio = gain / (2.0 * noise.largest);
    fisher_tail(ratio, 2.0, noise.degrees_of_freedom) < test.probability
}

struct Peak {
    frequency: f64,
    decay: f64,
    energy: f64,
    index: usize,
    /// Half octave in which it lies.
    band: usize,
}

/// The peak that stands out most from the octave on either side of it.
fn best_peak(series: &Series, residual: &[f64], refused: &[f64], test: Test) -> Option<Peak> {
    let (step, even) = even(series, residual);
    let size = (4 * even.len()).next_power_of_two();
    let spacing = 1.0 / (size as f64 * step);
    let first = (FEWEST_CYCLES / series.span() / spacing).ceil().max(1.0) as usize;
    let bands: Vec<usize> = (0..=size / 2).map(half_octave).collect();
    let mut peaks: Vec<Peak> = Vec::new();
    let mut flat = Vec::new();
    for times in DECAYS {
        let decay = times / series.span();
        let energy = energies(&even, step, decay, size);
        for (index, &energy) in energy.iter().enumerate().skip(first) {
            let frequency = index as f64 * spacing;
            let near = |f: &f64| (f - frequency).abs() * series.span() < 1.0;
            let cycles = cycles(frequency, decay, series.span());
            if cycles < FEWEST_CYCLES || refused.iter().any(near) {
                continue;
            }
            keep(
                &mut peaks,
                Peak {
                    frequency,
                    decay,
                    energy,
                    index,
                    band: bands[index],
                },
            );
        }
        if times == 0.0 {
            flat = energy;
        }
    }
    let stated = median(&series.deviations).powi(2);
    let least = -2.0 * test.probability.ln() * ON_GRID * stated;
    peaks.retain(|p| p.energy > least);
    // A line that explains most of what is left is the next one, however far its own wings reach.
    let total: f64 = even.iter().map(|y| y * y).sum();
    let strongest = (0..peaks.len()).max_by(|a, b| peaks[*a].energy.total_cmp(&peaks[*b].energy));
    if let Some(strongest) = strongest.filter(|k| peaks[*k].energy > MOST * total) {
        return Some(peaks.swap_remove(strongest));
    }
    let height = |p: Peak| (p.energy / around(&flat, p.index).max(2.0 * stated), p);
    let heights = peaks.into_iter().map(height);
    heights.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, peak)| peak)
}

fn half_octave(index: usize) -> usize {
    (2.0 * (index as f64).log2()) as usize
}

fn keep(peaks: &mut Vec<Peak>, peak: Peak) {
    match peaks.iter_mut().find(|p| p.band == peak.band) {
        Some(best) if best.energy >= peak.energy => {}
        Some(best) => *best = peak,
        None => peaks.push(peak),
    }
}

/// Median energy from half to twice a frequency, brought to a mean.
fn around(flat: &[f64], index: usize) -> f64 {
    let last = (2 * index).min(flat.len() - 1);
    median(&flat[index / 2..=last]) / std::f64::consts::LN_2
}

/// Energy of a damped line at each frequency of the transform.
fn energies(even: &[f64], step: f64, decay: f64, size: usize) -> Vec<f64> {
    let ratio = (-decay * step).exp();
    let (mut factor, mut norm) = (1.0, 0.0);
    let mut damped = Vec::with_capacity(even.len());
    for y in even {
        damped.push(y * factor);
        norm += factor * factor;
        factor *= ratio;
    }
    let bins = transform(&damped, size);
    bins.iter().map(|z| 2.0 * z.norm_sqr() / norm).collect()
}

/// The residual at the usual spacing by linear interpolation, so that gaps do not look like lines.
fn even(series: &Series, residual: &[f64]) -> (f64, Vec<f64>) {
    let times = &series.times;
    let gaps: Vec<f64> = times.windows(2).map(|w| w[1] - w[0]).collect();
    let step = median(&gaps).max(series.span() / (8 * times.len()) as f64);
    let count = (series.span() / step * (1.0 + 1e-9)) as usize + 1;
    let mut k = 0;
    let value = |j: usize| {
        let t = j as f64 * step;
        while k + 2 < times.len() && times[k + 1] < t {
            k += 1;
        }
        let share = ((t - times[k]) / (times[k + 1] - times[k])).clamp(0.0, 1.0);
        residual[k] + share * (residual[k + 1] - residual[k])
    };
    (step, (0..count).map(value).collect())
}
