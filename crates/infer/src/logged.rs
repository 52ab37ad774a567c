//! The path of a free body against the record of an accelerometer: the offset of their clocks, and whether they agree.
//!
//! ```text
//! p(o) ~ exp[ sum_axes L(o) - (o - o0)^2 / (2 u0^2) ],      u^2(o) = sum_i p_i [ s_i^2 + (o_i - o)^2 ]
//! u^2(a_log) = (10 / 7) q / T + (da_log / do)^2 u^2(o)
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `o`, `o0`, `u0` | clock offset; stated, its standard uncertainty | s |
//! | `L` | [`axis`] | 1 |
//! | `o_i`, `s_i`, `p_i` | summits of the likelihood, their widths, their shares | s, s, 1 |
//! | `a_log` | what the record says of the mean acceleration, taken from its path as from that of the body | m/s^2 |
//! | `q`, `T` | density of the record's noise, time compared | m^2/s^3, s |
//!
//! An even acceleration tells nothing of the clocks: only its changes do. Place, speed and an even acceleration of each direction are left
//! open where the offset is sought, so that a wrong zero of the accelerometer does not move it; the means are compared apart.
//! Summits are taken as normal distributions (Laplace's method \[Bishop2006\] section 4.4). 10/7 is the integral of the square of the weights
//! that a parabola by least squares gives the acceleration. Not here: an accelerometer away from the body on a rig that turns.

pub mod axis;
pub mod course;
pub mod hint;
pub mod noise;
pub mod record;

use crate::acceleration::acceleration;
use crate::logged::axis::{Axis, Share};
use tremolet_numerics::summit::golden;

/// Fewest samples that are compared.
const FEWEST: usize = 24;
/// Standard uncertainties of a stated offset within which it is sought.
const REACH: f64 = 5.0;
/// Steps of the search in the time that is compared, and fewest in all.
const STEPS: f64 = 60.0;
const LEAST_STEPS: f64 = 40.0;
/// Most steps of a search.
const MOST_STEPS: f64 = 4000.0;
/// Summits that are looked at.
const SUMMITS: usize = 8;
/// Share of what was known before down to which the data tell an offset.
const TOLD: f64 = 0.5;
/// Share of the range in which nothing was known.
const TOLD_OF_RANGE: f64 = 0.05;

/// Offset of the clocks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offset {
    /// To add to the time of the record, s.
    pub value: f64,
    /// Its standard uncertainty, s.
    pub u: f64,
    /// Whether the data tell it; if not, it is what was stated.
    pub told: bool,
}

/// Why path and record could not be compared.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Apart {
    /// Too few samples of the path lie inside the record; the span of the record on the clip's clock where an offset is stated, s.
    NotBeside(Option<(f64, f64)>),
    /// Nothing is stated of the offset, and the record is too long to seek it, or the data do not tell it.
    Unknown,
}

/// The samples of a path that a record covers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Covered {
    /// First sample.
    pub first: usize,
    /// The one after the last.
    pub end: usize,
    /// Least and greatest offset to try, s.
    pub range: (f64, f64),
}

/// Which samples at `times` (s, ascending) lie inside a record with this `span` (s) for all offsets around the stated one (value, standard
/// uncertainty), or, with none stated, for which offsets all do.
///
/// # Errors
/// Fewer than 24 lie inside.
pub fn covered(times: &[f64], span: (f64, f64), stated: Option<(f64, f64)>) -> Result<Covered, Apart> {
    let (Some(first), Some(last)) = (times.first(), times.last()) else {
        return Err(Apart::NotBeside(None));
    };
    let Some((value, u)) = stated else {
        let range = (last - span.1, first - span.0);
        let fits = range.0 < range.1 && times.len() >= FEWEST;
        let whole = Covered {
            first: 0,
            end: times.len(),
            range,
        };
        return if fits {
            Ok(whole)
        } else {
            Err(Apart::NotBeside(None))
        };
    };
    let range = (value - REACH * u, value + REACH * u);
    let first = times.partition_point(|t| *t < span.0 + range.1);
    let end = times.partition_point(|t| *t <= span.1 + range.0);
    if end < first + FEWEST {
        return Err(Apart::NotBeside(Some((span.0 + value, span.1 + value))));
    }
    Ok(Covered { first, end, range })
}

/// Where an offset is sought, and what is known of it before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sought {
    /// Least and greatest offset, s.
    pub range: (f64, f64),
    /// What is stated of it: value and standard uncertainty, s.
    pub stated: Option<(f64, f64)>,
    /// Time that is compared, s.
    pub time: f64,
}

impl Sought {
    /// Step and number of steps of the search; nothing where there are too many.
    fn steps(&self) -> Option<(f64, usize)> {
        let width = self.range.1 - self.range.0;
        let steps = (width * STEPS / self.time).ceil().max(LEAST_STEPS);
        (steps <= MOST_STEPS).then_some((width / steps, steps as usize))
    }

    /// Logarithm of what is believed of an offset before.
    fn belief(&self, offset: f64) -> f64 {
        match self.stated {
            Some((value, u)) if u > 0.0 => -0.5 * ((offset - value) / u).powi(2),
            _ => 0.0,
        }
    }

    /// Height of the highest summit of a likelihood.
    fn height(&self, likelihood: &dyn Fn(f64) -> f64) -> Option<f64> {
        let chance = |o: f64| likelihood(o) + self.belief(o);
        if let Some((value, 0.0)) = self.stated {
            return Some(chance(value));
        }
        let (step, steps) = self.steps()?;
        summits(&chance, self.range.0, step, steps)
            .first()
            .map(|top| top.1)
    }
}

/// The offset from all directions together.
///
/// # Errors
/// Nothing is stated and the data do not tell it.
pub fn offset(axes: &[Axis<'_>], sought: &Sought) -> Result<Offset, Apart> {
    if let Some((value, 0.0)) = sought.stated {
        let told = false;
        return Ok(Offset { value, u: 0.0, told });
    }
    let chance = |o: f64| axes.iter().map(|axis| axis.likelihood(o)).sum::<f64>() + sought.belief(o);
    let (step, steps) = sought.steps().ok_or(Apart::Unknown)?;
    let summits = summits(&chance, sought.range.0, step, steps);
    let width = sought.range.1 - sought.range.0;
    let before = sought.stated.map(|s| s.1);
    let (value, u) = together(&chance, &summits, step, before.unwrap_or(width / 12.0_f64.sqrt()));
    let told = u < before.map_or(TOLD_OF_RANGE * width, |before| TOLD * before);
    if before.is_none() && !told {
        return Err(Apart::Unknown);
    }
    Ok(Offset { value, u, told })
}

/// Places and heights of the highest summits on a grid, each found again between its neighbours; the highest first.
fn summits(chance: &dyn Fn(f64) -> f64, from: f64, step: f64, steps: usize) -> Vec<(f64, f64)> {
    let at = |k: usize| from + step * k as f64;
    let grid: Vec<f64> = (0..=steps).map(|k| chance(at(k))).collect();
    let higher = |k: usize, other: Option<&f64>| other.is_none_or(|o| grid[k] >= *o);
    let is =
        |k: &usize| higher(*k, k.checked_sub(1).and_then(|j| grid.get(j))) && higher(*k, grid.get(k + 1));
    let mut tops: Vec<usize> = (0..=steps).filter(is).collect();
    tops.sort_by(|a, b| grid[*b].total_cmp(&grid[*a]));
    tops.truncate(SUMMITS);
    let again = |k: usize| {
        let top = golden(chance, at(k.saturating_sub(1)), at((k + 1).min(steps)));
        let height = chance(top);
        if height > grid[k] {
            (top, height)
        } else {
            (at(k), grid[k])
        }
    };
    let mut found: Vec<(f64, f64)> = tops.into_iter().map(again).collect();
    found.sort_by(|a, b| b.1.total_cmp(&a.1));
    found
}

/// The highest summit with the standard uncertainty that all together leave; none is wider than `most`.
fn together(chance: &dyn Fn(f64) -> f64, summits: &[(f64, f64)], step: f64, most: f64) -> (f64, f64) {
    let Some(&(best, top)) = summits.first() else {
        return (f64::NAN, f64::INFINITY);
    };
    let parts: Vec<(f64, f64, f64)> = summits
        .iter()
        .map(|&(place, height)| {
            let width = width(chance, place, height, step, most);
            (place, width, width * (height - top).exp())
        })
        .collect();
    let whole: f64 = parts.iter().map(|part| part.2).sum();
    let variance = parts
        .iter()
        .map(|(place, width, share)| share / whole * (width * width + (place - best).powi(2)));
    (best, variance.sum::<f64>().sqrt())
}

/// Width of a summit: where the likelihood is lower by a half, both ways together.
fn width(chance: &dyn Fn(f64) -> f64, place: f64, height: f64, step: f64, most: f64) -> f64 {
    let mut width = (0.5 * step).min(most);
    for _ in 0..6 {
        let fall = height - 0.5 * (chance(place - width) + chance(place + width));
        let next = if fall > 0.0 {
            width / (2.0 * fall).sqrt()
        } else {
            most
        };
        let next = next.clamp(0.1 * width, 10.0 * width).min(most);
        if (next / width - 1.0).abs() < 0.02 {
            return next;
        }
        width = next;
    }
    width
}

/// What path and record say of one direction at an offset.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compared {
    /// What the clip shows of the record's changes.
    pub share: Share,
    /// Standard uncertainty of that share with the offset's.
    pub u_share: f64,
    /// Mean acceleration as the record has it, m/s^2.
    pub mean: f64,
    /// Its standard uncertainty from the noise of the record, m/s^2.
    pub u_noise: f64,
    /// Its change with the offset, m/s^3.
    pub by_offset: f64,
}

/// Compares one direction at an offset; `times` and `lines` are those that the axis was made with.
pub fn compared(axis: &Axis<'_>, times: &[f64], lines: &[[f64; 2]], offset: &Offset) -> Option<Compared> {
    let share = axis.share(offset.value)?;
    let mean = |o: f64| acceleration(times, &axis.record().ways(times, o), lines).map(|found| found.value);
    let (mut by_offset, mut share_by_offset) = (0.0, 0.0);
    if offset.u > 0.0 {
        let (low, high) = (offset.value - offset.u, offset.value + offset.u);
        by_offset = (mean(high)? - mean(low)?) / (2.0 * offset.u);
        share_by_offset = (axis.share(high)?.value - axis.share(low)?.value) / 2.0;
    }
    let time = times.last()? - times.first()?;
    Some(Compared {
        share,
        u_share: share.u.hypot(share_by_offset),
        mean: mean(offset.value)?,
        u_noise: (10.0 / 7.0 * share.density.max(axis.record().density()) / time).sqrt(),
        by_offset,
    })
}

#[cfg(test)]
mod tests;
