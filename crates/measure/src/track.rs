//! One body through the clip: joined over the frames by place and size, its axis over all frames, its shape about that
//! axis in each.
//!
//! A body goes on where its last step leads. Where another body hides part of it, its shape elsewhere in the clip stands in
//! for what is hidden.
//!
//! Source: least squares \[GolubVanLoan2013\] section 5.3; see [`crate::axis`]. Lengths in px. Knows no time.

use crate::alike::{alike, factor};
use crate::aside::Shelf;
use crate::axis::axis_of;
use crate::camera::Camera;
use crate::edge::Meeting;
use crate::edge::doubt::{self, Doubt};
use crate::edge::levels::middle;
use crate::measured::{BodyShape, BodyTrack, Taken};
use crate::sighting::{LOWEST_ORDER, Sighting, used, wanted};
use std::sync::Arc;
use tremolet_shape::expansion::{Belief, Expansion, expand, expand_believing};
use tremolet_shape::outline::{Outline, Point};
use tremolet_shape::revolution::{equivalent_radius, from_series};
use tremolet_shape::symmetry::{Harmonics, mirror_misfit};
use tremolet_shape::turned::about_own_axis;

/// A series that strays far more than the noise and more than a twentieth of a pixel does not hold.
fn holds(e: &Expansion) -> bool {
    e.star_shaped
        && (e.residual_rms < 0.05 || e.reduced_chi_squared < 9.0 || e.residual_rms < 2e-3 * e.coefficients[0])
}

/// The series of some points: with the usual highest degree, with more where an elongated body asks for more, and with what is
/// believed of the body where most of it is hidden.
fn series(points: &[Point], axis_angle: f64, max_degree: usize, beliefs: &[Belief]) -> Option<Expansion> {
    if !beliefs.is_empty() {
        return expand_believing(points, &wanted(axis_angle, max_degree), beliefs).filter(holds);
    }
    let usual = expand(points, &wanted(axis_angle, max_degree))?;
    if holds(&usual) {
        return Some(usual);
    }
    let longer = usual
        .star_shaped
        .then(|| expand(points, &wanted(axis_angle, LONGER * max_degree)));
    longer.flatten().filter(holds)
}

/// So many times the highest degree for elongated bodies.
const LONGER: usize = 2;

/// The shape of a sighting about an axis; `None` when its points make no outline. `beliefs` of the degrees from 2 on serve
/// where another body hides part of it; `clutter` is how much larger the variances of its coefficients are than its points say,
/// `alike` how large they are where neighbouring points err together.
pub fn shape(
    s: Sighting,
    axis_angle: f64,
    max_degree: usize,
    (clutter, alike): (f64, f64),
    beliefs: &[Belief],
) -> Option<BodyShape> {
    let points = used(&s);
    let coverage = points.len() as f64 / (points.len() + s.hidden.len()) as f64;
    let outline = Outline::new(points.clone(), s.hidden.is_empty()).ok()?;
    let walked = Outline::new(points.clone(), true).ok()?;
    let expansion = series(&points, axis_angle, max_degree, beliefs);
    let asymmetry = s.harmonics.as_ref().map_or(f64::NAN, |h| {
        let (sum, count) = mirror_misfit(std::slice::from_ref(h), axis_angle);
        sum / (count as f64).max(1.0)
    });
    // Without a series the body turns about the axis that this outline shows.
    let turned = expansion
        .is_none()
        .then(|| about_own_axis(&walked, s.open().then_some(axis_angle)));
    let centroid = walked.centroid();
    let solid = match (&expansion, &turned) {
        (Some(e), _) => from_series(&e.coefficients),
        (None, Some(turned)) => turned.solid,
        (None, None) => return None,
    };
    let radius = equivalent_radius(solid.volume);
    let coefficients = expansion
        .as_ref()
        .map_or_else(Vec::new, |e| e.coefficients.clone());
    Some(BodyShape {
        frame: s.frame,
        centre_px: expansion.as_ref().map_or(centroid, |e| e.centre),
        area_px2: match &expansion {
            Some(e) if !outline.is_closed() => area_of_series(&e.coefficients),
            _ => walked.area(),
        },
        volume_px3: solid.volume,
        surface_px2: solid.surface,
        equivalent_radius_px: radius,
        u_radius_px: match &expansion {
            Some(e) => {
                e.radius_uncertainty() * factor(e.reduced_chi_squared.max(1.0) * clutter, alike).sqrt()
            }
            None => turned.map_or(f64::NAN, |t| t.u_volume / (3.0 * solid.volume) * radius),
        }
        .hypot(s.doubt.levels_px),
        amplitude: coefficients.iter().skip(2).map(|c| c / radius).collect(),
        order: coefficients.len().saturating_sub(1),
        covariance: expansion.as_ref().map_or_else(Vec::new, |e| {
            let scale = factor(e.reduced_chi_squared.max(1.0) * clutter, alike);
            e.covariance.iter().map(|c| c * scale).collect()
        }),
        residual_rms_px: expansion.as_ref().map_or(f64::NAN, |e| e.residual_rms),
        reduced_chi_squared: expansion.as_ref().map_or(f64::NAN, |e| e.reduced_chi_squared),
        star_shaped: expansion.is_some(),
        coefficients_px: coefficients,
        asymmetry,
        harmonics: s.harmonics.clone().filter(|_| !s.open()),
        coverage,
        touches_frame: s.touches_frame,
        touched: s.touched,
        blur_px: s.blur_px,
        outline: s.outline,
        hidden: s.bridged,
    })
}

/// How much larger the variances of the coefficients are than the points say, at least once: 1 without clutter.
///
/// What lies behind and inside a body pushes its edge the same way over many points and frames, so that neither their scatter
/// nor their number tells. A body of revolution is its own mirror image: what its outline shows of the contrary, in the
/// harmonics 2 to 8, is error, and what it shows of the same degrees otherwise is as wrong. Seven such numbers judge the
/// variance; a normal quantity whose variance rests on `v` numbers strays by `v / (v - 2)` more.
fn clutter(sightings: &[Sighting], axis_angle: f64) -> f64 {
    let those = sightings.iter().filter(|s| s.cluttered);
    let all: Vec<Harmonics> = those.filter_map(|s| s.harmonics.clone()).collect();
    let (sum, count) = mirror_misfit(&all, axis_angle);
    let numbers = LOWEST_ORDER as f64 - 1.0;
    (sum / (count as f64).max(1.0) * numbers / (numbers - 2.0)).max(1.0)
}

/// `int r^2 dtheta` over half a turn, by the mean of equal steps (exact for a finite series).
fn area_of_series(coefficients: &[f64]) -> f64 {
    let steps = 4 * coefficients.len() + 16;
    let step = std::f64::consts::PI / steps as f64;
    (0..steps)
        .map(|k| {
            let theta = (k as f64 + 0.5) * step;
            tremolet_numerics::legendre::series(coefficients, theta.cos()).powi(2) * step
        })
        .sum()
}

/// Body numbers: joins sightings over frames by place and size.
#[derive(Clone, Default)]
pub struct Tracks {
    tracks: Vec<Vec<Sighting>>,
    shelf: Option<Arc<dyn Shelf>>,
}

/// From one frame to the next a body's size changes by less than this, its logarithm; an outline that is cut by the border of the
/// picture or by another body by less than the second.
const GROWTH: f64 = 0.15;
const GROWTH_CUT: f64 = 0.3;
/// A body is looked for where its last step leads for so many frames.
const LED: u64 = 8;

/// How badly a sighting would go on a track; `None` when it cannot.
fn strangeness(track: &[Sighting], s: &Sighting) -> Option<f64> {
    let last = track.last()?;
    let gap = s.frame.checked_sub(last.frame).filter(|gap| *gap > 0)?;
    let step = match track {
        [.., before, _] if gap <= LED => {
            let frames = (last.frame - before.frame).max(1) as f64;
            [0, 1].map(|k| (last.centre[k] - before.centre[k]) / frames * gap as f64)
        }
        _ => [0.0; 2],
    };
    let apart = (last.centre[0] + step[0] - s.centre[0]).hypot(last.centre[1] + step[1] - s.centre[1]);
    let growth = (last.size / s.size).ln().abs();
    let whole = |s: &Sighting| s.meeting == Meeting::Alone && !s.touches_frame;
    let most = if whole(last) && whole(s) {
        GROWTH
    } else {
        GROWTH_CUT
    };
    (apart < 0.7 * last.size.max(s.size) && growth < most).then_some(apart + growth * s.size)
}

impl Tracks {
    /// No body yet; the points of outlines go on the shelf, or stay in memory without one.
    pub fn on(shelf: Option<Arc<dyn Shelf>>) -> Self {
        Self {
            tracks: Vec::new(),
            shelf,
        }
    }

    /// Adds the sightings of the next frame, largest first.
    pub fn add(&mut self, sightings: Vec<Sighting>) {
        let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
        for (i, s) in sightings.iter().enumerate() {
            let fits = self.tracks.iter().enumerate();
            pairs.extend(fits.filter_map(|(t, track)| Some((strangeness(track, s)?, t, i))));
        }
        // The surest pair first, so that bodies that pass each other keep their names.
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut of: Vec<Option<usize>> = vec![None; sightings.len()];
        for (_, t, i) in pairs {
            if of[i].is_none() && !of.contains(&Some(t)) {
                of[i] = Some(t);
            }
        }
        for (mut s, track) in sightings.into_iter().zip(of) {
            if let Some(shelf) = &self.shelf {
                s.put_aside(shelf);
            }
            match track {
                Some(t) => self.tracks[t].push(s),
                None => self.tracks.push(vec![s]),
            }
        }
    }

    /// The sightings of every body.
    pub fn each(&self) -> impl Iterator<Item = &[Sighting]> {
        self.tracks.iter().map(Vec::as_slice)
    }

    /// Every body with its axis and shapes, what the camera did taken out; and at which instant of a frame each was taken.
    pub fn finished(
        self,
        given: Option<f64>,
        max_degree: usize,
        camera: &Camera<'_>,
    ) -> Vec<(BodyTrack, Taken)> {
        let number = |(i, mut sightings): (usize, Vec<Sighting>)| {
            let taken = camera.straighten(&mut sightings);
            let (axis, u_axis) = axis_of(&sightings, given);
            let doubts: Vec<Doubt> = sightings.iter().map(|s| s.doubt).collect();
            let shapes = shapes(sightings, axis.angle, max_degree);
            let radius = middle(shapes.iter().map(|s| s.equivalent_radius_px).collect());
            let track = BodyTrack {
                body: i as u32 + 1,
                axis_angle: axis.angle,
                axis_uncertainty: axis.uncertainty,
                u_axis_px: u_axis * radius.unwrap_or(0.0),
                u_edge_px: doubt::common(&doubts),
                clipped: doubt::clipped(&doubts),
                shapes,
            };
            (track, taken)
        };
        self.tracks.into_iter().enumerate().map(number).collect()
    }
}

/// The shapes of a body about its axis: first where it lies free, then, with what is believed of it from there, where another
/// hides part of it.
fn shapes(sightings: Vec<Sighting>, axis_angle: f64, max_degree: usize) -> Vec<BodyShape> {
    use rayon::prelude::*;
    let noise = (clutter(&sightings, axis_angle), alike(&sightings, axis_angle));
    let held: Vec<u64> = sightings.iter().filter(|s| s.held).map(|s| s.frame).collect();
    let (cut, free): (Vec<_>, Vec<_>) = sightings
        .into_iter()
        .partition(|s| s.meeting == Meeting::Overlaps);
    let mut found: Vec<BodyShape> = free
        .into_par_iter()
        .filter_map(|s| shape(s, axis_angle, max_degree, noise, &[]))
        .collect();
    if cut.is_empty() {
        steadied(&mut found, &held);
        return found;
    }
    let beliefs = beliefs(&found);
    let hidden = cut.into_par_iter();
    found.par_extend(hidden.filter_map(|s| shape(s, axis_angle, max_degree, noise, &beliefs)));
    found.sort_by_key(|shape| shape.frame);
    steadied(&mut found, &held);
    found
}

/// A support does not come and go from frame to frame: where something reaches away from the outline in most of the frames
/// around, a frame is touched too.
fn steadied(shapes: &mut [BodyShape], held: &[u64]) {
    const AROUND: usize = 6;
    const MOST: f64 = 0.6;
    let held: Vec<bool> = shapes
        .iter()
        .map(|s| held.binary_search(&s.frame).is_ok())
        .collect();
    for (k, shape) in shapes.iter_mut().enumerate() {
        let near = &held[k.saturating_sub(AROUND)..(k + AROUND + 1).min(held.len())];
        let share = near.iter().filter(|h| **h).count() as f64 / near.len() as f64;
        shape.touched |= share > MOST;
    }
}

/// Fewest shapes that tell what a body is like.
const KNOWN: usize = 8;
/// Without them a drop in degree n is this far from round, over the square of n / 2; least deviation with them.
const UNKNOWN: f64 = 0.1;
const LEAST: f64 = 1e-3;

/// What the free shapes of a body make one believe of `c_n / c_0` of the hidden ones.
fn beliefs(shapes: &[BodyShape]) -> Vec<Belief> {
    let free: Vec<&BodyShape> = shapes
        .iter()
        .filter(|s| s.star_shaped && !s.touched && !s.touches_frame && s.coverage > 0.9)
        .collect();
    let of = |n: usize| {
        let values: Vec<f64> = free
            .iter()
            .filter_map(|s| Some(s.coefficients_px.get(n)? / s.coefficients_px[0]))
            .collect();
        let count = values.len() as f64;
        if values.len() < KNOWN {
            return Belief {
                mean: 0.0,
                deviation: UNKNOWN * (2.0 / n as f64).powi(2),
            };
        }
        let mean = values.iter().sum::<f64>() / count;
        let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (count - 1.0);
        Belief {
            mean,
            deviation: variance.sqrt().hypot(LEAST),
        }
    };
    (2..=LOWEST_ORDER).map(of).collect()
}

#[cfg(test)]
mod tests;
