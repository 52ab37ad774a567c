//! Where the ringing breaks off: struck or touched while it rings, a body begins another ring, and one fit of both is wrong.
//!
//! Around an instant `tau` the lines of a degree, free to change slowly, are fitted to both sides together and to each side alone:
//!
//! ```text
//! y(t) = b + c s + sum_l e^{-g_l s} ((p_l + q_l s) cos(w_l s) + (u_l + v_l s) sin(w_l s)),     s = t - tau
//! F = ((X_together - X_apart) / 4 L) / (X_apart / (n - 8 L - 4))
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `w_l`, `g_l` | angular frequency at `tau` and decay rate of line l, as found in the whole record | rad/s, 1/s |
//! | `b`, `c` | baseline, of each side alone in either fit | 1, 1/s |
//! | `X` | chi-square of the `n` samples of both sides | 1 |
//! | `L` | lines, at most two | 1 |
//!
//! A break counts when chance does not explain `F` and the largest line jumps by a good part of itself. Beating and slow changes
//! of frequency or decay do not jump. Source: \[Chow1960\] for the test; the thresholds and the length of a side (three cycles) are
//! chosen. A knock that changes phase and amplitude by less than the threshold is not seen.

use std::f64::consts::TAU;

use tremolet_numerics::dense::{Matrix, dot};
use tremolet_numerics::statistics::fisher_tail;

use crate::line::Series;
use crate::ringdown::attribute::Candidate;

/// Cycles of the slowest line on each side.
const CYCLES: f64 = 3.0;
/// Most lines of a degree.
const LINES: usize = 2;
/// Largest probability of a break by chance at one instant.
const CHANCE: f64 = 1e-10;
/// Least jump of the largest line over its larger side.
const JUMP: f64 = 0.3;
/// Least jump over its standard uncertainty.
const SURE: f64 = 15.0;
/// Most breaks that are looked for.
const MOST: usize = 8;

/// A break between two neighbouring samples of a degree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Break {
    /// Times of the samples before and after, s since the first sample.
    pub between: [f64; 2],
    /// How much better two rings are than one: n ln(X_together / X_apart).
    gain: f64,
    /// A cycle of the slowest line, s.
    cycle: f64,
}

/// Breaks in a record whose degrees are `all` (series and lines of each), ascending in time.
pub fn breaks(all: &[(&Series, Vec<&Candidate>)]) -> Vec<Break> {
    let probes: Vec<Probe<'_>> = all
        .iter()
        .filter_map(|(series, lines)| Probe::new(series, lines))
        .collect();
    let mut found: Vec<Break> = Vec::new();
    let mut parts = vec![(f64::NEG_INFINITY, f64::INFINITY)];
    while let Some((from, to)) = parts.pop() {
        let best = probes.iter().filter_map(|probe| probe.best(from, to));
        let Some(best) = best.max_by(|a, b| a.gain.total_cmp(&b.gain)) else {
            continue;
        };
        found.push(best);
        if found.len() == MOST {
            break;
        }
        parts.extend([(from, best.between[0]), (best.between[1], to)]);
    }
    found.sort_by(|a, b| a.between[0].total_cmp(&b.between[0]));
    found
}

/// The longest part without a break of a record from 0 to `span` (s), half a cycle away from each.
pub fn longest_quiet(breaks: &[Break], span: f64) -> [f64; 2] {
    let mut starts = vec![0.0];
    let mut ends: Vec<f64> = Vec::new();
    for found in breaks {
        ends.push(found.between[0] - 0.5 * found.cycle);
        starts.push(found.between[1] + 0.5 * found.cycle);
    }
    ends.push(span);
    let parts = starts.into_iter().zip(ends).map(|(from, to)| [from, to]);
    parts
        .max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])))
        .unwrap_or([0.0, span])
}

/// One degree to be probed.
struct Probe<'a> {
    series: &'a Series,
    lines: Vec<&'a Candidate>,
    /// Samples of a side.
    side: usize,
    cycle: f64,
}

/// Normal equations of one side.
struct Side {
    normal: Matrix,
    right: Vec<f64>,
    square: f64,
}

impl<'a> Probe<'a> {
    fn new(series: &'a Series, lines: &[&'a Candidate]) -> Option<Self> {
        let slowest = lines
            .iter()
            .map(|line| line.line[2])
            .fold(f64::INFINITY, f64::min);
        let cycle = TAU / slowest;
        let step = series.span() / (series.times.len() - 1) as f64;
        let mut kept: Vec<&Candidate> = Vec::new();
        let mut sorted = lines.to_vec();
        sorted.sort_by(|a, b| b.line[0].total_cmp(&a.line[0]));
        for line in sorted {
            let apart = |other: &&Candidate| (other.line[2] - line.line[2]).abs() * CYCLES * cycle > TAU;
            if kept.len() < LINES && kept.iter().all(apart) {
                kept.push(line);
            }
        }
        let unknowns = 4 * kept.len() + 2;
        let side = ((CYCLES * cycle / step).ceil() as usize).max(2 * unknowns);
        (!kept.is_empty() && 2 * side <= series.times.len()).then_some(Self {
            series,
            lines: kept,
            side,
            cycle,
        })
    }

    /// The clearest break between two times.
    fn best(&self, from: f64, to: f64) -> Option<Break> {
        let times = &self.series.times;
        let first = times.partition_point(|t| *t < from) + self.side;
        let last = times.partition_point(|t| *t <= to).checked_sub(self.side)?;
        let stride = (self.side / 12).max(1);
        let coarse = (first..=last).step_by(stride).filter_map(|i| self.at(i));
        let best = coarse.max_by(|a, b| a.1.gain.total_cmp(&b.1.gain))?;
        let near = best.0.saturating_sub(stride).max(first)..=(best.0 + stride).min(last);
        let fine = near.filter_map(|i| self.at(i));
        fine.max_by(|a, b| a.1.gain.total_cmp(&b.1.gain))
            .map(|(_, found)| found)
    }

    /// The break just before sample `i`, when there is one.
    fn at(&self, i: usize) -> Option<(usize, Break)> {
        let times = &self.series.times;
        let tau = 0.5 * (times[i - 1] + times[i]);
        let (before, after) = (self.side(i - self.side..i, tau), self.side(i..i + self.side, tau));
        let (x, y) = (before.solved()?, after.solved()?);
        let apart = before.rest(&x.1) + after.rest(&y.1);
        let together = together(&before, &after, 4 * self.lines.len())?;
        let unknowns = 4.0 * self.lines.len() as f64;
        let freedom = 2.0 * self.side as f64 - 2.0 * unknowns - 4.0;
        let ratio = (together - apart) / unknowns / (apart / freedom);
        let noise = (apart / freedom).max(1.0);
        let jump = (y.1[0] - x.1[0]).hypot(y.1[1] - x.1[1]);
        let size = x.1[0].hypot(x.1[1]).max(y.1[0].hypot(y.1[1]));
        let known = (0..2).map(|k| x.0[(k, k)] + y.0[(k, k)]).sum::<f64>() * noise;
        let counts = fisher_tail(ratio, unknowns, freedom) < CHANCE
            && jump > JUMP * size
            && jump > SURE * known.sqrt();
        counts.then(|| {
            let found = Break {
                between: [times[i - 1], times[i]],
                gain: 2.0 * self.side as f64 * (together / apart).ln(),
                cycle: self.cycle,
            };
            (i, found)
        })
    }

    fn side(&self, samples: std::ops::Range<usize>, tau: f64) -> Side {
        let n = 4 * self.lines.len() + 2;
        let mut side = Side {
            normal: Matrix::zeros(n, n),
            right: vec![0.0; n],
            square: 0.0,
        };
        let scale = 1.0 / (CYCLES * self.cycle);
        let mut row = vec![0.0; n];
        for j in samples {
            let s = self.series.times[j] - tau;
            let weight = 1.0 / self.series.deviations[j];
            for (line, row) in self.lines.iter().zip(row.chunks_exact_mut(4)) {
                let [amplitude, _, w, decay, k] = line.line;
                let local = w * (1.0 + k * (amplitude * (-decay * tau).exp()).powi(2));
                // A decay that a broken record suggests may be absurd; it must not blow up a side.
                let factor = weight * (-decay * s).clamp(-3.0, 3.0).exp();
                let (sin, cos) = (local * s).sin_cos();
                let turn = [factor * cos, factor * sin];
                row.copy_from_slice(&[turn[0], turn[1], scale * s * turn[0], scale * s * turn[1]]);
            }
            row[n - 2] = weight;
            row[n - 1] = weight * scale * s;
            side.add(&row, weight * self.series.values[j]);
        }
        side
    }
}

impl Side {
    fn add(&mut self, row: &[f64], value: f64) {
        for (i, x) in row.iter().enumerate() {
            self.right[i] += x * value;
            for (sum, y) in self.normal.row_mut(i).iter_mut().zip(row) {
                *sum += x * y;
            }
        }
        self.square += value * value;
    }

    /// Covariance and unknowns.
    fn solved(&self) -> Option<(Matrix, Vec<f64>)> {
        let covariance = self.normal.inverse_positive().ok()?;
        let unknowns = covariance.times(&self.right);
        Some((covariance, unknowns))
    }

    /// Chi-square that is left.
    fn rest(&self, unknowns: &[f64]) -> f64 {
        // Values without noise leave nothing but rounding.
        (self.square - dot(&self.right, unknowns)).max(1e-12 * self.square)
    }
}

/// Chi-square of both sides with the first `shared` unknowns in common and the others of each side alone.
fn together(before: &Side, after: &Side, shared: usize) -> Option<f64> {
    let own = before.right.len() - shared;
    let n = shared + 2 * own;
    let place = |side: usize, i: usize| if i < shared { i } else { i + side * own };
    let mut both = Side {
        normal: Matrix::zeros(n, n),
        right: vec![0.0; n],
        square: before.square + after.square,
    };
    for (k, side) in [before, after].into_iter().enumerate() {
        for i in 0..shared + own {
            both.right[place(k, i)] += side.right[i];
            for j in 0..shared + own {
                both.normal[(place(k, i), place(k, j))] += side.normal[(i, j)];
            }
        }
    }
    let (_, unknowns) = both.solved()?;
    Some(both.rest(&unknowns))
}
