//! The axis of a body over its sightings.
//!
//! A body of revolution keeps its axis while it rings, so the axis is sought over the whole clip. Where two directions
//! a quarter turn apart explain the outlines alike (a body that swings in degree 2 alone), the one that keeps the volume
//! steadier is taken; where that does not tell either (a body at rest, longer than wide or flat), the longer one, with
//! the difference as an uncertainty.
//!
//! ```text
//! u(R) / R = |R_other / R - 1| / sqrt 2          R about one axis or the other, as likely as not
//! ```
//! Lengths in px, angles in rad. Source: [`tremolet_shape::symmetry`], [`tremolet_shape::turned`].

use crate::edge::Meeting;
use crate::sighting::{LOWEST_ORDER, Sighting, used, wanted};
use tremolet_shape::expansion::expand;
use tremolet_shape::outline::{Outline, Point};
use tremolet_shape::symmetry::{Axis, Harmonics, axes, mirror_misfit, volume_about};
use tremolet_shape::turned::about_own_axis;

/// The axis over all sightings: the caller's, or the best; and, where another would do as well, the standard uncertainty of the
/// radius that this leaves, relative.
pub fn axis_of(sightings: &[Sighting], given: Option<f64>) -> (Axis, f64) {
    if let Some(angle) = given {
        let axis = Axis {
            angle,
            uncertainty: 0.0,
            misfit: 1.0,
        };
        return (axis, 0.0);
    }
    let alone = |s: &&Sighting| s.meeting == Meeting::Alone && !s.touched;
    // Outlines that something spoils judge the axis only where there are hardly any others.
    let all = sightings.iter().filter(alone).count() < KNOWN;
    let judges: Vec<&Sighting> = sightings.iter().filter(|s| all || alone(s)).collect();
    let whole: Vec<Harmonics> = judges.iter().filter_map(|s| s.harmonics.clone()).collect();
    let lobed = |s: &&&Sighting| matches!(s.meeting, Meeting::Necked | Meeting::Open);
    if judges.iter().filter(lobed).count() * 2 > judges.len() {
        return (axis_of_necks(&judges), 0.0);
    }
    if judges.iter().filter(|s| s.open()).count() * 2 > judges.len() {
        // Harmonics of an open outline are tangled with each other: judge the axis by the series itself.
        return (axis_by_series(&judges), 0.0);
    }
    let found = axes(&whole);
    let Some(best) = found.first() else {
        let axis = Axis {
            angle: 0.0,
            uncertainty: std::f64::consts::PI,
            misfit: f64::NAN,
        };
        return (axis, 0.0);
    };
    let Some(other) = found.get(1) else {
        return (*best, 0.0);
    };
    let worse = mirror_misfit(&whole, other.angle).0 - mirror_misfit(&whole, best.angle).0;
    // Only odd harmonics tell the two apart; where there are none, chance alone makes their sums of squares differ.
    let many = if whole.len() < KNOWN { 0 } else { whole.len() };
    let odd = (many * (LOWEST_ORDER / 2 - 1)) as f64;
    let alike = worse < (12.0 + 3.0 * (4.0 * odd).sqrt()) * best.misfit.max(1.0);
    if !alike {
        return (*best, 0.0);
    }
    let [of_best, of_other] = [best, other].map(|axis| unsteadiness(&whole, axis.angle));
    let factor = if of_best.max(of_other) > SWINGS {
        STEADIER
    } else {
        MUCH_STEADIER
    };
    if of_other < of_best / factor {
        return (*other, 0.0);
    }
    if of_best < of_other / factor {
        return (*best, 0.0);
    }
    // The volume is as steady about both: liquid that is far from round is rather long than flat.
    let [long_best, long_other] = [best, other].map(|axis| elongation(&whole, axis.angle));
    let (axis, short) = if long_other > long_best {
        (other, best)
    } else {
        (best, other)
    };
    if long_best.max(long_other) < LONG {
        return (*axis, 0.0);
    }
    let volume = |angle: f64| whole.iter().map(|h| volume_about(h, angle)).sum::<f64>();
    // One of two radii, the other as likely as not: half their distance either way of the middle, from one end.
    let apart = (volume(short.angle) / volume(axis.angle)).cbrt() - 1.0;
    (*axis, apart.abs() / 2.0_f64.sqrt())
}

/// Fewest outlines that nothing spoils, for the others to be left out.
const KNOWN: usize = 8;
/// One of two axes keeps the volume steadier when it does by this factor where the body swings, so that its volume seems to
/// vary by this share about one of them; otherwise noise alone may make a factor of two, and more is asked.
const STEADIER: f64 = 1.3;
const SWINGS: f64 = 0.005;
const MUCH_STEADIER: f64 = 3.0;
/// A mean second harmonic of this share of the radius makes the choice of the axis matter.
const LONG: f64 = 0.01;

/// Mean second harmonic along an axis, over the radius.
fn elongation(outlines: &[Harmonics], angle: f64) -> f64 {
    let (sin, cos) = (2.0 * angle).sin_cos();
    let long = |h: &Harmonics| (h.cosine[2] * cos + h.sine[2] * sin) / h.cosine[0];
    outlines.iter().map(long).sum::<f64>() / outlines.len().max(1) as f64
}

/// The mean of the axes that necked outlines show by themselves, and its standard uncertainty.
fn axis_of_necks(sightings: &[&Sighting]) -> Axis {
    let outlines = sightings.iter().filter_map(|s| Outline::new(used(s), true).ok());
    let doubled = outlines.map(|o| (2.0 * about_own_axis(&o, None).axis_angle).sin_cos());
    let (mut sin, mut cos, mut count) = (0.0, 0.0, 0.0);
    for (s, c) in doubled {
        (sin, cos, count) = (sin + s, cos + c, count + 1.0);
    }
    let length = f64::hypot(sin, cos) / f64::max(count, 1.0);
    Axis {
        angle: 0.5 * sin.atan2(cos),
        uncertainty: 0.5 * (2.0 * (1.0 - length)).max(1e-6).sqrt(),
        misfit: f64::NAN,
    }
}

/// Sightings that judge an axis by their series.
const JUDGES: usize = 40;
/// Of these, every so many judge while the direction is only roughly known.
const FEWER: usize = 4;

/// The axis about which the series fit best, over some of the sightings.
fn axis_by_series(sightings: &[&Sighting]) -> Axis {
    let stride = sightings.len().div_ceil(JUDGES).max(1);
    let sample: Vec<Vec<Point>> = sightings.iter().step_by(stride).map(|s| used(s)).collect();
    let freedom: f64 = sample
        .iter()
        .map(|p| p.len() as f64 - LOWEST_ORDER as f64 - 2.0)
        .sum();
    let misfit_of = |angle: f64, stride: usize| -> f64 {
        let one = |p: &Vec<Point>| {
            let count = p.len() as f64 - LOWEST_ORDER as f64 - 2.0;
            expand(p, &wanted(angle, LOWEST_ORDER)).map_or(1e6, |e| e.reduced_chi_squared) * count
        };
        sample.iter().step_by(stride).map(one).sum()
    };
    let misfit = |angle: f64| misfit_of(angle, 1);
    const GRID: i32 = 60;
    let spacing = std::f64::consts::PI / f64::from(GRID);
    let coarse = (0..GRID).map(|i| spacing * f64::from(i - GRID / 2));
    let mut angle = coarse
        .map(|angle| (angle, misfit_of(angle, FEWER)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map_or(0.0, |found| found.0);
    let (mut step, mut bend, mut here) = (spacing / 2.0, 0.0, misfit(angle));
    for _ in 0..7 {
        let (left, right) = (misfit(angle - step), misfit(angle + step));
        bend = (left - 2.0 * here + right) / (step * step);
        if bend > 0.0 {
            angle -= ((right - left) / (2.0 * step) / bend).clamp(-step, step);
        }
        here = misfit(angle);
        step = (step / 2.0).max(2e-3);
    }
    let ratio = here / freedom;
    // The sample stands for all sightings, each as good.
    let share = sample.len() as f64 / sightings.len() as f64;
    Axis {
        angle,
        uncertainty: (2.0 * share * ratio.max(1.0) / bend.max(1e-12)).sqrt(),
        misfit: ratio,
    }
}

/// Standard deviation of the volume over the clip about a given axis, relative.
fn unsteadiness(outlines: &[Harmonics], angle: f64) -> f64 {
    let stride = outlines.len().div_ceil(200).max(1);
    let volumes: Vec<f64> = outlines
        .iter()
        .step_by(stride)
        .map(|h| volume_about(h, angle))
        .collect();
    let n = volumes.len() as f64;
    let mean = volumes.iter().sum::<f64>() / n;
    (volumes.iter().map(|v| (v / mean - 1.0).powi(2)).sum::<f64>() / n).sqrt()
}
