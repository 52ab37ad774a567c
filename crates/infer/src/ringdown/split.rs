//! Whether what looks like one damped line is several close ones that beat.
//!
//! ```text
//! y(t) = b0 + b1 u + b2 u^2 + e^{-g t} sum_i (C_i cos(w_i s) + S_i sin(w_i s)),     s = t + q (1 - e^{-2 g t}) / (2 g)
//! F = ((X_1 - X_2) / 3) / noise,      one line against two, and against three that are evenly spaced
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `w_i` | angular frequencies of the lines | rad/s |
//! | `g` | decay rate that they share | 1/s |
//! | `q` | relative shift of the frequency at the start by the size of the swing | 1 |
//! | `u` | time from -1 to 1 over the record | 1 |
//! | `X_1`, `X_2` | chi-square of one line and of more | 1 |
//!
//! Rotation and a body that is not round at rest split a degree into up to `2 n + 1` components that decay nearly alike \[Busse1984\]. They beat, and one
//! damped line fitted to a beat takes it for damping. Two lines, or three evenly spaced ones (a pattern that turns changes the height of what is seen), stand for however
//! many there are. A beat is looked
//! for where some line beside the fitted one would take a good part of the misfit; it counts when chance does not explain `F` and both
//! the second line and the misfit it removes are a good part of the first. Half a beat in the record can look like a line whose frequency
//! or decay drifts: the answer then is that the line is not one with a constant decay. The thresholds are chosen, no published source.

use tremolet_numerics::dense::{Matrix, dot};
use tremolet_numerics::least_squares::{Minimum, Prior, Residuals, Stop, minimise};
use tremolet_numerics::statistics::fisher_tail;

use std::f64::consts::TAU;

use crate::line::{BASELINE, PER_LINE, Series, Shape, Turn, ring, slowed, slowed_by_decay};
use crate::ringdown::noise::noise_at;
use crate::ringdown::result::Mode;
use crate::ringdown::settle::{Settled, gain, left};
use crate::ringdown::third::perhaps_product;

/// Largest distance of the lines over their frequency; neighbouring degrees are 1.2 apart and more.
const NEAR: f64 = 0.1;
/// Least amplitude of the smaller line over the larger.
const SECOND: f64 = 0.1;
/// Least root of the energy of the misfit that the second line removes, over that of the line.
const MISFIT: f64 = 0.01;
/// Largest probability that chance explains the second line.
const CHANCE: f64 = 1e-6;
/// Gain over the noise of a line beside the fitted one from which a beat is looked for: chance in 1e5.
const LOOKS: f64 = 23.0;
/// Beats in the record (while the line lasts) at which a second line is tried.
const BEATS: [f64; 7] = [0.35, 0.6, 1.0, 1.6, 2.6, 4.2, 6.8];
/// Relative standard uncertainty of the decay rate of a degree that is split: what is not known of its other components makes it of no
/// use.
const OF_NO_USE: f64 = 3.0;
/// Standard deviation of the place of the third of three lines from an even spacing, in rad over the record.
const UNEVEN: f64 = 0.1;
/// Unknowns beside the lines: baseline, shift, decay.
const COMMON: usize = BASELINE + 2;
/// Unknowns of a line: angular frequency, cosine, sine.
const OWN: usize = 3;

/// Close lines where one was fitted: the outermost two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Angular frequencies, rad/s, ascending.
    pub angular_frequencies: [f64; 2],
    /// Amplitudes at the first free sample, in the same order.
    pub amplitudes: [f64; 2],
    /// Amplitude and phase of all lines together at the first free sample; 1 and rad.
    pub together: [f64; 2],
    /// Decay rate that the two lines share, 1/s.
    pub decay_rate: f64,
    /// Standard uncertainty of the mean of the two frequencies, that of the noise only, rad/s.
    pub u_mean: f64,
    /// Standard uncertainty of the decay rate, that of the noise only, 1/s.
    pub u_decay_rate: f64,
}

impl Split {
    /// Mean of the angular frequencies, rad/s.
    pub fn mean(&self) -> f64 {
        0.5 * (self.angular_frequencies[0] + self.angular_frequencies[1])
    }

    /// Whether a line at `angular_frequency` (rad/s) is one of those that beat.
    pub fn holds(&self, angular_frequency: f64) -> bool {
        (angular_frequency - self.mean()).abs() < NEAR * self.mean()
    }

    /// Half of their distance, rad/s.
    pub fn half(&self) -> f64 {
        0.5 * (self.angular_frequencies[1] - self.angular_frequencies[0])
    }
}

/// Gives modes that are split the numbers of both lines, and returns the `covariance` of all that goes with them; `span` of the record in
/// s. A second line that may be a product of third order is none of the degree's own.
pub fn of_both(modes: &mut [Mode], mut covariance: Vec<f64>, span: f64) -> Vec<f64> {
    let count = 2 * modes.len();
    for place in 0..modes.len() {
        let Some(split) = modes[place]
            .split
            .filter(|split| !is_product(modes, place, split, span))
        else {
            modes[place].split = None;
            continue;
        };
        let mode = &mut modes[place];
        mode.angular_frequency = split.mean();
        mode.u_angular_frequency = split.u_mean.hypot(split.half());
        mode.decay_rate = split.decay_rate;
        mode.u_decay_rate = OF_NO_USE * split.decay_rate.abs().max(1.0 / span);
        let [amplitude, phase] = split.together;
        mode.u_amplitude = mode.u_amplitude.hypot(amplitude - mode.amplitude);
        (mode.amplitude, mode.phase) = (amplitude, phase);
        for (i, u) in [
            (2 * place, mode.u_angular_frequency),
            (2 * place + 1, mode.u_decay_rate),
        ] {
            for k in 0..count {
                covariance[i * count + k] = 0.0;
                covariance[k * count + i] = 0.0;
            }
            covariance[i * count + i] = u * u;
        }
    }
    covariance
}

/// Whether the smaller line of a split mode may be a product of other modes.
fn is_product(modes: &[Mode], place: usize, split: &Split, span: f64) -> bool {
    let mut others = modes.to_vec();
    let smaller = usize::from(split.amplitudes[1] < split.amplitudes[0]);
    others[place] = Mode {
        amplitude: split.amplitudes[smaller],
        angular_frequency: split.angular_frequencies[smaller],
        u_decay_rate: OF_NO_USE * split.decay_rate.abs().max(1.0 / span),
        ..others[place].clone()
    };
    perhaps_product(&others, place, span).is_some()
}

/// Whether line `l` of a degree's final fit is two of which the smaller has at least the amplitude `least`.
pub fn split(series: &Series, settled: &Settled, l: usize, least: f64) -> Option<Split> {
    let noise = settled.noise[l]?.largest;
    let line = line_of(settled, l);
    let near: Vec<usize> = (0..settled.noise.len())
        .filter(|&j| j != l && (line_of(settled, j)[2] - line[2]).abs() < NEAR * line[2])
        .collect();
    if near.is_empty() && beside(series, settled, line) < LOOKS * noise {
        return None;
    }
    let own: Vec<usize> = near.iter().copied().chain([l]).collect();
    let beside = others(series, settled, &own);
    let problem = |lines| Close {
        series,
        lines,
        beside: &beside,
    };
    let size = line[0] * line[0];
    let prior = Prior {
        place: BASELINE,
        mean: settled.model.shifts[l].0 * size,
        deviation: (settled.model.shifts[l].1 * size).max(1e-9),
    };
    let even = Prior {
        place: COMMON + 2 * OWN,
        mean: 0.0,
        deviation: UNEVEN / series.span(),
    };
    let fitted = |lines: usize, from: &[f64]| {
        let priors = [prior, even];
        let priors = if lines == 3 { &priors[..] } else { &priors[..1] };
        let found = minimise(&problem(lines), from, priors, Stop::default()).ok()?;
        found.converged.then_some(found)
    };
    let one = fitted(
        1,
        &problem(1).with_amplitudes(start(line, &[line[2]], line[3]))?.1,
    )?;
    let known: Vec<f64> = near.iter().map(|&j| line_of(settled, j)[2]).collect();
    let best = |lines: usize| {
        let found = starts(&problem(lines), line, &known);
        let found = found.iter().filter_map(|from| fitted(lines, from));
        found.min_by(|a, b| a.chi_square.total_cmp(&b.chi_square))
    };
    let (two, three) = (best(2), best(3));
    let course = |(&t, d): (&f64, &f64)| own.iter().map(|&j| ring(line_of(settled, j), t)).sum::<f64>() / d;
    let parts: Vec<f64> = series.times.iter().zip(&series.deviations).map(course).collect();
    let energy = dot(&parts, &parts);
    let judged = |fewer: &Minimum, found: &Minimum, lines| {
        let material = fewer.chi_square - found.chi_square > MISFIT * MISFIT * energy;
        stands(series, fewer, found, lines, least).filter(|_| material)
    };
    let pair = two.as_ref().and_then(|two| judged(&one, two, 2));
    // Three lines do whatever two do: they count where two do not, or not as well.
    let fewer = two.as_ref().filter(|_| pair.is_some()).unwrap_or(&one);
    three.and_then(|three| judged(fewer, &three, 3)).or(pair)
}

fn line_of(settled: &Settled, l: usize) -> &[f64] {
    let first = BASELINE + PER_LINE * l;
    &settled.minimum.parameters[first..first + PER_LINE]
}

/// Seconds for which a line lasts in a record.
fn lasts(series: &Series, decay: f64) -> f64 {
    series.span().min(3.0 / decay.max(1e-300))
}

/// Largest decrease of chi-square by a line beside `line`.
fn beside(series: &Series, settled: &Settled, line: &[f64]) -> f64 {
    let apart = TAU / lasts(series, line[3]);
    let shape = |beats: f64| course(line, line[2] + beats * apart);
    let places = [-3.0, -1.5, -0.7, 0.7, 1.5, 3.0];
    let gains = places.map(|beats| gain(series, &settled.minimum, &shape(beats)));
    gains.into_iter().fold(0.0, f64::max)
}

/// Cosine and sine of all that is fitted beside the lines `own`: other lines of the degree and shapes from elsewhere, each with its course kept.
fn others(series: &Series, settled: &Settled, own: &[usize]) -> Matrix {
    let mut shapes = settled.model.shapes.clone();
    for j in (0..settled.noise.len()).filter(|j| !own.contains(j)) {
        let line = line_of(settled, j);
        shapes.push(course(line, line[2]));
    }
    let places: Vec<(&Shape, usize)> = shapes
        .iter()
        .flat_map(|shape| (0..shape.unknowns()).map(move |i| (shape, i)))
        .collect();
    Matrix::from_fn(series.times.len(), places.len(), |i, j| {
        let (shape, part) = places[j];
        shape.at(series.times[i])[part]
    })
}

/// The course of `line` at another angular frequency.
fn course(line: &[f64], angular_frequency: f64) -> Shape {
    Shape {
        decay: line[3],
        turns: vec![Turn {
            angular_frequency,
            decay: line[3],
            shift: line[4] * line[0] * line[0],
            owner: 0,
        }],
    }
}

/// Unknowns for lines at these angular frequencies that share amplitude and phase of `line`.
fn start(line: &[f64], frequencies: &[f64], decay: f64) -> Vec<f64> {
    let share = line[0] / frequencies.len() as f64;
    let mut from = vec![0.0; BASELINE];
    from.extend([line[4] * line[0] * line[0], decay]);
    for w in frequencies {
        from.extend([*w, share * line[1].cos(), -share * line[1].sin()]);
    }
    from
}

/// Starts of two lines, the three best on a grid of distances and decays; `known` are lines found near.
fn starts(problem: &Close<'_>, line: &[f64], known: &[f64]) -> Vec<Vec<f64>> {
    let series = problem.series;
    let (w, g, apart) = (line[2], line[3], TAU / lasts(series, line[3]));
    let mut all_of: Vec<Vec<f64>> = Vec::new();
    let distances = BEATS
        .map(|beats| beats * apart)
        .into_iter()
        .filter(|d| *d < NEAR * w);
    if problem.lines == 3 {
        all_of.extend(distances.map(|d| vec![w, d, 0.0]));
    } else {
        all_of.extend(known.iter().map(|other| vec![w, *other]));
        all_of
            .extend(distances.flat_map(|d| [vec![w, w + d], vec![w - d, w], vec![w - 0.5 * d, w + 0.5 * d]]));
    }
    let decays = [g, 0.5 * g.max(0.0), 1.5 * g.max(0.2 / series.span())];
    let mut all: Vec<(f64, Vec<f64>)> = Vec::new();
    for pair in &all_of {
        for decay in decays {
            all.extend(problem.with_amplitudes(start(line, pair, decay)));
        }
    }
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all.into_iter().take(3).map(|(_, from)| from).collect()
}

/// How the frequency of line `i` of `lines` answers to the frequencies among the unknowns: of three, a middle, a distance, and what the third
/// is off an even spacing.
fn tie(lines: usize, i: usize) -> [f64; 3] {
    match (lines, i) {
        (3, 1) => [1.0, 1.0, 0.0],
        (3, 2) => [1.0, -1.0, 1.0],
        (3, _) | (_, 0) => [1.0, 0.0, 0.0],
        _ => [0.0, 1.0, 0.0],
    }
}

/// Angular frequency of line `i` of `lines` for the unknowns `p`, rad/s.
fn frequency(p: &[f64], lines: usize, i: usize) -> f64 {
    let tie = tie(lines, i);
    (0..lines).map(|k| tie[k] * p[COMMON + OWN * k]).sum()
}

/// The outermost of `lines` close ones that are a good part of the largest, if they are there and `fewer` lines do not do as well.
fn stands(series: &Series, fewer: &Minimum, found: &Minimum, lines: usize, least: f64) -> Option<Split> {
    let p = &found.parameters;
    let amplitude = |i: usize| p[COMMON + OWN * i + 1].hypot(p[COMMON + OWN * i + 2]);
    let largest = (0..lines).map(amplitude).fold(0.0, f64::max);
    let mut there: Vec<(f64, usize)> = (0..lines)
        .filter(|&i| amplitude(i) > least.max(SECOND * largest))
        .map(|i| (frequency(p, lines, i), i))
        .collect();
    there.sort_by(|a, b| a.0.total_cmp(&b.0));
    let [(low, i), .., (high, j)] = there[..] else {
        return None;
    };
    let decay = p[COMMON - 1];
    let noise = noise_at(series, &left(series, found), 0.5 * (low + high) / TAU, decay)?;
    let gain = fewer.chi_square - found.chi_square;
    // Of three lines one frequency is all but given.
    let more = (p.len() - fewer.parameters.len()) as f64 - if lines == 3 { 1.0 } else { 0.0 };
    let chance = fisher_tail(gain / (more * noise.largest), more, noise.degrees_of_freedom);
    let mean: Vec<f64> = (0..lines)
        .map(|k| 0.5 * (tie(lines, i)[k] + tie(lines, j)[k]))
        .collect();
    let covariance = |k: usize, m: usize| found.covariance[(COMMON + OWN * k, COMMON + OWN * m)];
    let variance: f64 = (0..lines)
        .flat_map(|k| (0..lines).map(move |m| (k, m)))
        .map(|(k, m)| mean[k] * mean[m] * covariance(k, m))
        .sum();
    let u_decay_rate = (noise.middle * found.covariance[(COMMON - 1, COMMON - 1)]).sqrt();
    let close = low > 0.0 && high - low < NEAR * high && decay + 3.0 * u_decay_rate > 0.0;
    let all = |k: usize| (0..lines).map(|i| p[COMMON + OWN * i + k]).sum::<f64>();
    (chance < CHANCE && close).then(|| Split {
        angular_frequencies: [low, high],
        amplitudes: [amplitude(i), amplitude(j)],
        together: [all(1).hypot(all(2)), (-all(2)).atan2(all(1))],
        decay_rate: decay,
        u_mean: (noise.middle * variance).sqrt(),
        u_decay_rate,
    })
}

/// Unknowns `[b0, b1, b2, q, g, w, C, S, ...]`, then those of what is fitted beside.
struct Close<'a> {
    series: &'a Series,
    lines: usize,
    /// What else is fitted, one column an unknown.
    beside: &'a Matrix,
}

impl Close<'_> {
    fn unknowns(&self) -> usize {
        COMMON + OWN * self.lines + self.beside.columns()
    }

    /// All that enters linearly set to what fits best for the frequencies and the decay rate of `from`, with what is left of chi-square.
    fn with_amplitudes(&self, mut from: Vec<f64>) -> Option<(f64, Vec<f64>)> {
        from.resize(self.unknowns(), 0.0);
        let last = COMMON + OWN * self.lines;
        let linear =
            |j: &usize| *j < BASELINE || *j >= last || (*j >= COMMON && !(*j - COMMON).is_multiple_of(OWN));
        let places: Vec<usize> = (0..from.len()).filter(linear).collect();
        let mut slopes = Matrix::zeros(self.count(), from.len());
        self.jacobian(&from, &mut slopes);
        let columns = Matrix::from_fn(slopes.rows(), places.len(), |i, j| slopes[(i, places[j])]);
        let pairs = self.series.values.iter().zip(&self.series.deviations);
        let values: Vec<f64> = pairs.map(|(y, d)| y / d).collect();
        let right: Vec<f64> = (0..places.len())
            .map(|j| dot(&columns.column(j), &values))
            .collect();
        let found = columns.gram().solve_positive(&right).ok()?;
        places.iter().zip(&found).for_each(|(&j, x)| from[j] = *x);
        Some((dot(&values, &values) - dot(&found, &right), from))
    }

    /// The curve at a sample and its change by the unknowns.
    fn at(&self, p: &[f64], sample: usize, slopes: &mut [f64]) -> f64 {
        let t = self.series.times[sample];
        let (u, q, g) = (2.0 * t / self.series.span() - 1.0, p[BASELINE], p[BASELINE + 1]);
        let factor = (-g * t).exp();
        let slow = slowed(g, t);
        let s = t + q * slow;
        let (mut sum, mut by_time) = (0.0, 0.0);
        slopes.fill(0.0);
        for i in 0..self.lines {
            let place = COMMON + OWN * i;
            let (w, c, d) = (frequency(p, self.lines, i), p[place + 1], p[place + 2]);
            let (sin, cos) = (w * s).sin_cos();
            let turned = factor * (d * cos - c * sin);
            slopes[place + 1] = factor * cos;
            slopes[place + 2] = factor * sin;
            for (k, share) in tie(self.lines, i).into_iter().enumerate().take(self.lines) {
                slopes[COMMON + OWN * k] += share * turned * s;
            }
            sum += factor * (c * cos + d * sin);
            by_time += turned * w;
        }
        let last = COMMON + OWN * self.lines;
        let columns = self.beside.row(sample);
        slopes[last..].copy_from_slice(columns);
        slopes[..BASELINE].copy_from_slice(&[1.0, u, u * u]);
        slopes[BASELINE] = by_time * slow;
        slopes[BASELINE + 1] = by_time * q * slowed_by_decay(g, t, factor) - t * sum;
        p[0] + p[1] * u + p[2] * u * u + sum + dot(&p[last..], columns)
    }
}

impl Residuals for Close<'_> {
    fn count(&self) -> usize {
        self.series.times.len()
    }

    fn residuals(&self, p: &[f64], out: &mut [f64]) {
        let mut slopes = vec![0.0; p.len()];
        for (i, r) in out.iter_mut().enumerate() {
            let found = self.at(p, i, &mut slopes);
            *r = (found - self.series.values[i]) / self.series.deviations[i];
        }
    }

    fn jacobian(&self, p: &[f64], out: &mut Matrix) -> usize {
        for (i, deviation) in self.series.deviations.iter().enumerate() {
            let row = out.row_mut(i);
            self.at(p, i, row);
            row.iter_mut().for_each(|d| *d /= deviation);
        }
        1
    }
}

#[cfg(test)]
mod tests;
