//! One direction of the picture: how well a path fits a record of acceleration that is shifted in time.
//!
//! ```text
//! x(t) = c0 + c1 u + c2 P_2(u) + lines + g D(t - o) + noise
//! L(o) = ln sum_l exp -1/2 [ ln det (I + l K) + ln det (X^T X) + (N - p) ln S^2 ]          g = 1
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `x`, `D` | path of the body, twice integrated record | m |
//! | `o` | clock offset | s |
//! | `g` | what the clip shows of the changes that the record holds; 1 when they agree | 1 |
//! | `c0`, `c1`, `c2` | place, speed and an even acceleration, which are left open | m |
//! | `l` | ratio of the two noises, see [`crate::logged::noise`] | 1/s^3 |
//! | `X`, `N`, `p`, `S` | whitened columns, samples, columns, whitened rest | - |
//!
//! Frames are averaged in blocks, path and record alike, just so long that the noise of the record is small beside its changes: else the
//! record, which takes the part of the known, would not be known, `g` would come out too small and the offset too sure.
//! The likelihood of what no column explains \[Harville1977\], summed over ratios from what the record's own noise makes likely to where it
//! tells nothing, each decade alike: so a record is not believed more than it should be.

use crate::logged::noise::Noise;
use crate::logged::record::{Record, second_differences};
use tremolet_numerics::dense::dot;

/// Ratios tried in each decade.
const A_DECADE: usize = 2;
/// Share of the variance of the record in a block that may be noise.
const NOISE: f64 = 0.01;
/// Share from which the noise is no small matter any more, and `g` is not told.
const MUCH: f64 = 0.25;
/// Fewest blocks.
const BLOCKS: usize = 30;

/// Columns whitened for one ratio and made orthonormal.
struct Weighed {
    ratio: f64,
    noise: Noise,
    columns: Vec<Vec<f64>>,
    /// `-1/2 [ln det (I + l K) + ln det (X^T X)]`.
    log_volume: f64,
}

/// The path of one direction with all that does not depend on the offset.
pub struct Axis<'a> {
    frames: &'a [f64],
    /// Frames in a block.
    block: usize,
    places: Vec<f64>,
    record: Record<'a>,
    /// Share of noise in what the record changes by from block to block.
    doubt: f64,
    weighed: Vec<Weighed>,
}

/// How much of the record the clip shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// `g`.
    pub value: f64,
    /// Its standard uncertainty; infinite where the record is mostly noise.
    pub u: f64,
    /// Density of the noise of the acceleration, m^2/s^3.
    pub density: f64,
    /// Standard deviation of a place, m.
    pub scatter: f64,
}

impl<'a> Axis<'a> {
    /// Of `places` (m) at `times` (s, ascending), beside which `lines` (angular frequency, decay rate) may show, and a record; nothing
    /// for places that do not determine the columns.
    pub fn new(times: &'a [f64], places: &[f64], lines: &[[f64; 2]], record: Record<'a>) -> Option<Self> {
        let columns = columns(times, lines)?;
        if times.len() != places.len() || places.len() < columns.len() + 10 {
            return None;
        }
        let block = block(times, &record).min(places.len() / (columns.len() + 10));
        let columns: Vec<Vec<f64>> = columns.iter().map(|c| means(c, block)).collect();
        let (places, frames, times) = (means(places, block), times, means(times, block));
        let least = record.density() / second_differences(&places).max(f64::MIN_POSITIVE);
        let weighed = ratios(&times, least)
            .into_iter()
            .map(|ratio| Weighed::of(&times, &columns, ratio));
        let weighed = weighed.collect::<Option<_>>()?;
        let span = frames[frames.len() - 1] - frames[0];
        let doubt = record
            .noise_share(span * block as f64 / frames.len() as f64)
            .min(0.5);
        Some(Self {
            doubt,
            frames,
            block,
            places,
            record,
            weighed,
        })
    }

    /// The record.
    pub fn record(&self) -> &Record<'a> {
        &self.record
    }

    fn ways(&self, record: &Record<'_>, offset: f64) -> Vec<f64> {
        means(&record.ways(self.frames, offset), self.block)
    }

    fn freedom(&self) -> f64 {
        (self.places.len() - self.weighed[0].columns.len()) as f64
    }

    /// `L(o)` up to a constant.
    pub fn likelihood(&self, offset: f64) -> f64 {
        self.likelihood_beside(&self.record, offset)
    }

    /// The same beside another record than its own.
    pub fn likelihood_beside(&self, record: &Record<'_>, offset: f64) -> f64 {
        let ways = self.ways(record, offset);
        let rest: Vec<f64> = self.places.iter().zip(&ways).map(|(x, d)| x - d).collect();
        let one = |weighed: &Weighed| {
            let left = weighed.left(&rest);
            weighed.log_volume - 0.5 * self.freedom() * dot(&left, &left).max(f64::MIN_POSITIVE).ln()
        };
        let all: Vec<f64> = self.weighed.iter().map(one).collect();
        log_sum(&all)
    }

    /// `g` at an offset, with the noises as they are without the record being believed.
    pub fn share(&self, offset: f64) -> Option<Share> {
        let ways = self.ways(&self.record, offset);
        let freedom = self.freedom() - 1.0;
        let one = |weighed: &Weighed| {
            let (way, place) = (weighed.left(&ways), weighed.left(&self.places));
            let square = dot(&way, &way);
            let value = dot(&way, &place) / square;
            let rest: f64 = place.iter().zip(&way).map(|(x, d)| (x - value * d).powi(2)).sum();
            let chance =
                weighed.log_volume - 0.5 * (square.ln() + freedom * rest.max(f64::MIN_POSITIVE).ln());
            (chance, value, rest / freedom / square, rest / freedom)
        };
        let all: Vec<_> = self
            .weighed
            .iter()
            .map(one)
            .filter(|found| found.1.is_finite())
            .collect();
        let whole = log_sum(&all.iter().map(|found| found.0).collect::<Vec<_>>());
        let weights: Vec<f64> = all.iter().map(|found| (found.0 - whole).exp()).collect();
        let mean = |of: &dyn Fn(usize) -> f64| -> f64 { (0..all.len()).map(|i| weights[i] * of(i)).sum() };
        let value = mean(&|i| all[i].1);
        let variance = mean(&|i| all[i].2 + (all[i].1 - value).powi(2));
        // Noise in what is taken as known makes the share too small by its share of the variance.
        let grown = value / (1.0 - self.doubt);
        let found = Share {
            value: grown,
            u: if self.doubt < MUCH {
                variance.sqrt().hypot(grown - value)
            } else {
                f64::INFINITY
            },
            density: mean(&|i| self.weighed[i].ratio * all[i].3),
            scatter: (mean(&|i| all[i].3) * self.block as f64).sqrt(),
        };
        (all.len() == self.weighed.len() && !found.u.is_nan() && found.value.is_finite()).then_some(found)
    }
}

impl Weighed {
    fn of(times: &[f64], columns: &[Vec<f64>], ratio: f64) -> Option<Self> {
        let noise = Noise::new(times, ratio);
        let mut log_volume = -0.5 * noise.log_determinant;
        let mut found = Self {
            ratio,
            noise,
            columns: Vec::new(),
            log_volume,
        };
        for column in columns {
            let mut left = found.left(column);
            // Twice is enough for orthogonality to rounding.
            found.take_out(&mut left);
            let (length, before) = (dot(&left, &left).sqrt(), dot(column, column).sqrt());
            if length.is_nan() || length <= 1e-12 * before {
                return None;
            }
            left.iter_mut().for_each(|x| *x /= length);
            log_volume -= length.ln();
            found.columns.push(left);
        }
        found.log_volume = log_volume;
        Some(found)
    }

    fn take_out(&self, values: &mut [f64]) {
        for column in &self.columns {
            let part = dot(column, values);
            values.iter_mut().zip(column).for_each(|(x, c)| *x -= part * c);
        }
    }

    /// The values whitened, less what the columns hold of them.
    fn left(&self, values: &[f64]) -> Vec<f64> {
        let mut white = self.noise.whitened(values);
        self.take_out(&mut white);
        white
    }
}

/// Place, speed, even acceleration, and a cosine and a sine for each line.
pub(super) fn columns(times: &[f64], lines: &[[f64; 2]]) -> Option<Vec<Vec<f64>>> {
    let (first, last) = (*times.first()?, *times.last()?);
    let u = |t: f64| 2.0 * (t - first) / (last - first) - 1.0;
    let of = |f: &dyn Fn(f64) -> f64| times.iter().map(|t| f(*t)).collect::<Vec<f64>>();
    let mut columns = vec![of(&|_| 1.0), of(&u), of(&|t| 0.5 * (3.0 * u(t).powi(2) - 1.0))];
    for [w, g] in lines {
        let fade = |t: f64| (-g * (t - first)).exp();
        columns.push(of(&|t| fade(t) * (w * (t - first)).cos()));
        columns.push(of(&|t| fade(t) * (w * (t - first)).sin()));
    }
    Some(columns)
}

/// Means of neighbours, `count` by `count`; those that are left over at the end are left out.
fn means(values: &[f64], count: usize) -> Vec<f64> {
    let mean = |some: &[f64]| some.iter().sum::<f64>() / count as f64;
    values.chunks_exact(count).map(mean).collect()
}

/// Frames in a block: as few as leave little noise of the record in it.
fn block(times: &[f64], record: &Record<'_>) -> usize {
    let step = (times[times.len() - 1] - times[0]) / (times.len() - 1) as f64;
    let most = (times.len() / BLOCKS).max(1);
    let quiet = |count: &usize| record.noise_share(step * *count as f64) < NOISE;
    (1..most).find(quiet).unwrap_or(most)
}

/// From `least`, or none where it hides in the noise of the clip even at the end, to where the noise of the record outdoes that of the
/// clip at each step.
fn ratios(times: &[f64], least: f64) -> Vec<f64> {
    let span = times[times.len() - 1] - times[0];
    let step = span / (times.len() - 1) as f64;
    let hidden = span.powi(-3);
    let low = least.clamp(hidden, 10.0 * step.powi(-3)).log10();
    let count = ((2.0 - 3.0 * step.log10() - low) * A_DECADE as f64).ceil() as usize;
    let some = (0..=count).map(|k| 10f64.powf(low + k as f64 / A_DECADE as f64));
    let none = (least <= hidden).then_some(0.0);
    none.into_iter().chain(some).collect()
}

/// `ln sum exp`.
fn log_sum(logs: &[f64]) -> f64 {
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most + logs.iter().map(|x| (x - most).exp()).sum::<f64>().ln()
}
