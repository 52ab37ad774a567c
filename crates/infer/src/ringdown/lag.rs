//! How far a lossy coding holds outlines back, as its key pictures show it, and the series without that lag.
//!
//! ```text
//! o(psi, t) = clamp(o(psi, t'), y - d, y + d),    o = y in key pictures,    y = sum_n a_n(t) P_n(cos psi) + x(t) . n(psi)
//! e_n(t) = (2n + 1)/2 mean over both sides of integral_0^pi (o - y) P_n sin psi dpsi
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `y`, `o` | place of the outline, and where the coded picture has it, over R | 1 |
//! | `t'` | the picture before | s |
//! | `d` | how far the coded outline may be off before the coder moves it | 1 |
//! | `e_n` | what that does to the amplitude of degree n | 1 |
//! | `x`, `n` | path of the centre over R, normal of the outline | 1 |
//!
//! A coder that codes differences leaves alone what is off by less than its coarseness: the outline follows like something pulled on a slack
//! rope, `d` behind wherever it moves (play, \[Visintin1994\]). A key picture is coded by itself and has no lag, so the outline jumps
//! there; `d` is what makes the amplitudes before and in key pictures one motion. Such a lag turns the phase by more and more as a swing
//! dies: it lowers frequencies and raises decay rates, and no residual shows it. Other coders do other things (pictures coded from both sides, lag that
//! only the last picture before a key one has): unless the pictures after a key one lag as those before, nothing is taken out. On painted films of two coders
//! a quarter of the error of frequencies and half of that of decay rates is left at most; these shares are in the uncertainty, chosen, no published source.

use tremolet_numerics::legendre::value;
use tremolet_numerics::quadrature::{Rule, gauss_legendre};
use tremolet_record::series::ModeSeries;

use crate::ringdown::analyse::analyse;
use crate::ringdown::result::{Options, Ringdown};

/// Points of the outline on each side.
const POINTS: usize = 24;
/// Pictures on each side of a key picture that it is held against.
const BESIDE: usize = 3;
/// Least key pictures between others.
const FEWEST: usize = 2;
/// Rounds in which lag and fit settle.
const ROUNDS: usize = 5;
/// Standard uncertainties at which a lag is taken as one.
const SURE: f64 = 4.0;
/// Largest lag over the scatter of an outline.
const LARGEST: f64 = 3.0;
/// Share of the lag before a key picture that those after it must have at least.
const ALSO_AFTER: f64 = 0.5;
/// What is known of the coding of a clip.
#[derive(Debug, Clone, Copy)]
pub struct Coding<'a> {
    /// Scatter of the points of an outline about its smooth shape, over R.
    pub scatter: f64,
    /// Frames that are key pictures, ascending.
    pub keys: &'a [u64],
    /// Path of the centre, along the axis and across, over R: one a sample of the series, or none.
    pub path: &'a [[f64; 2]],
}

/// A lag that was taken out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lag {
    /// `d`, over R.
    pub size: f64,
    /// Its standard uncertainty from the scatter of the amplitudes.
    pub u: f64,
    /// Key pictures that showed it.
    pub pictures: usize,
}

impl Lag {
    /// Shares of what scatter alone would put into the uncertainty of frequencies and of decay rates, once a lag was taken out: how an outline
    /// stands still where it turns is less well known than how far it lags.
    pub const LEFT: [f64; 2] = [0.25, 0.75];
}

/// Standard uncertainties of the shifts by the lag of frequencies and of decay rates, over these shifts.
const OF_SHIFT: [f64; 2] = [0.25, 0.5];

/// The outline as it follows: for each sample of the free interval the errors of all degrees, and those a key picture would have had.
struct Followed {
    first: usize,
    errors: Vec<Vec<f64>>,
    before_key: Vec<Option<Vec<f64>>>,
}

/// The modes of a series from a clip coded with loss: where key pictures show how outlines lag, `series` is freed of that lag first.
pub fn analyse_coded(
    series: &mut ModeSeries,
    options: &Options,
    coding: &Coding<'_>,
) -> (Ringdown, Option<Lag>) {
    let plain = analyse(series, options);
    let Some((size, step, motion)) = seen(series, &plain, options, coding) else {
        return (plain, None);
    };
    let Some((corrected, mut found)) = without(series, &motion, options, coding, size) else {
        return (plain, None);
    };
    let lag = Lag {
        size,
        u: step.u,
        pictures: step.pictures,
    };
    widen(&mut found, &plain, &lag);
    *series = corrected;
    (found, Some(lag))
}

/// Size of the lag, what the last step said, and the motion; none where key pictures show no such lag.
fn seen(
    series: &ModeSeries,
    plain: &Ringdown,
    options: &Options,
    coding: &Coding<'_>,
) -> Option<(f64, Step, Ringdown)> {
    if plain.modes.is_empty() || coding.keys.len() < FEWEST || coding.scatter <= 0.0 {
        return None;
    }
    let (mut size, mut motion) = (coding.scatter, plain.clone());
    for round in 1..=ROUNDS {
        let (corrected, found) = without(series, &motion, options, coding, size)?;
        let step = step(&corrected, &found, coding, size)?;
        motion = found;
        let after = size + step.change_after;
        size += step.change;
        if size <= 0.0 {
            return None;
        }
        if round == ROUNDS || step.change.abs() < 0.3 * step.u {
            let same = after + 2.0 * step.u >= ALSO_AFTER * size;
            let held = size > SURE * step.u && size < LARGEST * coding.scatter && same;
            return (held && step.pictures >= FEWEST).then_some((size, step, motion));
        }
    }
    None
}

/// The series without a lag of this size in the `motion`, and what rings in it.
fn without(
    series: &ModeSeries,
    motion: &Ringdown,
    options: &Options,
    coding: &Coding<'_>,
    size: f64,
) -> Option<(ModeSeries, Ringdown)> {
    let mut corrected = series.clone();
    let followed = follow(series, motion, coding, size)?;
    for (sample, errors) in corrected.samples[followed.first..]
        .iter_mut()
        .zip(&followed.errors)
    {
        sample.amplitude.iter_mut().zip(errors).for_each(|(a, e)| *a -= e);
    }
    let found = analyse(&corrected, options);
    (!found.modes.is_empty()).then_some((corrected, found))
}

/// Points around an outline, and the polynomials there.
struct Around {
    rule: Rule,
    /// One row a degree of the series.
    values: Vec<Vec<f64>>,
}

impl Around {
    fn of(degrees: &[u32]) -> Self {
        let rule = gauss_legendre(POINTS);
        let row = |n: &u32| rule.nodes.iter().map(|x| value(*n as usize, *x)).collect();
        Self {
            values: degrees.iter().map(row).collect(),
            rule,
        }
    }

    /// Places of the outline, both sides of each point in turn.
    fn places(&self, motion: &[(usize, f64)], [along, across]: [f64; 2]) -> Vec<f64> {
        let place = |k: usize| {
            let x = self.rule.nodes[k];
            let shape: f64 = motion.iter().map(|(p, a)| a * self.values[*p][k]).sum();
            let aside = across * (1.0 - x * x).sqrt();
            [shape + along * x + aside, shape + along * x - aside]
        };
        (0..POINTS).flat_map(place).collect()
    }

    /// Amplitudes of `o - y` in each degree.
    fn project(&self, degrees: &[u32], o: &[f64], y: &[f64]) -> Vec<f64> {
        let off = |k: usize| 0.5 * (o[2 * k] - y[2 * k] + o[2 * k + 1] - y[2 * k + 1]);
        let one = |(p, n): (usize, &u32)| {
            let sum: f64 = (0..POINTS)
                .map(|k| self.rule.weights[k] * off(k) * self.values[p][k])
                .sum();
            (2 * n + 1) as f64 / 2.0 * sum
        };
        degrees.iter().enumerate().map(one).collect()
    }
}

/// The outline pulled along by the fitted motion; a record that does not begin with a key picture begins as if it did.
fn follow(series: &ModeSeries, motion: &Ringdown, coding: &Coding<'_>, size: f64) -> Option<Followed> {
    let inside = |time: f64| time >= motion.interval.0 && time <= motion.interval.1;
    let first = series.samples.iter().position(|s| inside(s.time))?;
    let around = Around::of(&series.degrees);
    let swings = |p: &usize| motion.modes.iter().any(|mode| mode.degree == series.degrees[*p]);
    let swinging: Vec<usize> = (0..series.degrees.len()).filter(swings).collect();
    let mut out = Followed {
        first,
        errors: Vec::new(),
        before_key: Vec::new(),
    };
    let mut state: Vec<f64> = Vec::new();
    let samples = series.samples.iter().enumerate().skip(first);
    for (i, sample) in samples.take_while(|(_, s)| inside(s.time)) {
        let at = |&p: &usize| Some((p, motion.curve(series.degrees[p], sample.time)?));
        let now: Vec<(usize, f64)> = swinging.iter().filter_map(at).collect();
        let y = around.places(&now, coding.path.get(i).copied().unwrap_or([0.0; 2]));
        let begins = state.is_empty();
        let pulled: Vec<f64> = if begins {
            y.clone()
        } else {
            state
                .iter()
                .zip(&y)
                .map(|(o, y)| o.clamp(y - size, y + size))
                .collect()
        };
        let key = coding.keys.binary_search(&sample.frame).is_ok();
        let errors = |o: &[f64]| around.project(&series.degrees, o, &y);
        out.before_key.push((key && !begins).then(|| errors(&pulled)));
        state = if key { y.clone() } else { pulled };
        out.errors.push(errors(&state));
    }
    Some(out)
}

/// How the lag should change.
struct Step {
    /// By the pictures before key pictures.
    change: f64,
    /// By those after them.
    change_after: f64,
    u: f64,
    pictures: usize,
}

/// What the pictures around the key ones say of a lag of `size` that was taken out.
fn step(corrected: &ModeSeries, found: &Ringdown, coding: &Coding<'_>, size: f64) -> Option<Step> {
    let followed = follow(corrected, found, coding, size)?;
    let is_key = |i: usize| coding.keys.binary_search(&corrected.samples[i].frame).is_ok();
    let end = followed.first + followed.errors.len();
    let left = |i: usize, p: usize| {
        let sample = &corrected.samples[i];
        let usable = sample.free && sample.amplitude[p].is_finite();
        let curve = found
            .curve(corrected.degrees[p], sample.time)
            .filter(|_| usable)?;
        Some(sample.amplitude[p] - curve)
    };
    let mut sums = [[0.0; 2]; 2];
    let mut terms: Vec<[f64; 3]> = Vec::new();
    let mut pictures = 0;
    for i in followed.first + BESIDE..end.saturating_sub(BESIDE) {
        let Some(lag) = &followed.before_key[i - followed.first] else {
            continue;
        };
        let before: Vec<usize> = (i - BESIDE..i).collect();
        let after: Vec<usize> = (i + 1..=i + BESIDE).collect();
        if before.iter().chain(&after).any(|&j| is_key(j)) {
            continue;
        }
        pictures += 1;
        for mode in &found.modes {
            let p = corrected
                .degrees
                .iter()
                .position(|degree| *degree == mode.degree)?;
            let beside = |list: &[usize]| {
                let all: Option<Vec<f64>> = list.iter().map(|&j| left(j, p)).collect();
                all.map(|all| all.iter().sum::<f64>() / all.len() as f64)
            };
            let (Some(own), Some(b), Some(a)) = (left(i, p), beside(&before), beside(&after)) else {
                continue;
            };
            let inflation = found.residuals.iter().find(|r| r.degree == mode.degree);
            let inflation = inflation.map_or(1.0, |r| r.inflation.max(1.0));
            let variance = corrected.samples[i].variance(p) * inflation.powi(2) * (1.0 + 1.0 / BESIDE as f64);
            let slope = lag[p] / size;
            let next = followed.errors[i + BESIDE - 1 - followed.first][p] / size;
            sums[0][0] -= (own - b) * slope / variance;
            sums[0][1] += slope * slope / variance;
            sums[1][0] -= (own - a) * next / variance;
            sums[1][1] += next * next / variance;
            terms.push([own - b, slope, variance]);
        }
    }
    if terms.len() < 2 || sums.iter().any(|s| s[1] <= 0.0) {
        return None;
    }
    let change = sums[0][0] / sums[0][1];
    let square: f64 = terms.iter().map(|[k, g, v]| (k + change * g).powi(2) / v).sum();
    let excess = (square / (terms.len() as f64 - 1.0)).max(1.0);
    Some(Step {
        change,
        change_after: sums[1][0] / sums[1][1],
        u: (excess / sums[0][1]).sqrt(),
        pictures,
    })
}

/// Adds what the size of the lag leaves open, which all lines share.
fn widen(found: &mut Ringdown, plain: &Ringdown, lag: &Lag) {
    let count = 2 * found.modes.len();
    let mut moved = vec![0.0; count];
    for (i, mode) in found.modes.iter().enumerate() {
        let before = plain.modes.iter().find(|m| m.degree == mode.degree);
        if let Some(before) = before {
            let share = |left: f64| (lag.u / lag.size).hypot(left);
            moved[2 * i] = (mode.angular_frequency - before.angular_frequency) * share(OF_SHIFT[0]);
            moved[2 * i + 1] = (mode.decay_rate - before.decay_rate) * share(OF_SHIFT[1]);
        }
    }
    for i in 0..count {
        for j in 0..count {
            found.covariance[i * count + j] += moved[i] * moved[j];
        }
    }
    for (i, mode) in found.modes.iter_mut().enumerate() {
        mode.u_angular_frequency = mode.u_angular_frequency.hypot(moved[2 * i]);
        mode.u_decay_rate = mode.u_decay_rate.hypot(moved[2 * i + 1]);
    }
}

#[cfg(test)]
mod tests;
