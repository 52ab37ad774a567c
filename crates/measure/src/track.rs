//! One body through the clip: its axis over all frames, and its shape about that axis in each.
//!
//! A body of revolution keeps its axis while it rings, so the axis is sought over the whole clip. Where two directions
//! a quarter turn apart explain the outlines alike (a body that swings in degree 2 alone), the one that keeps the volume
//! steadier is taken.
//!
//! Source: [`tremolet_shape::symmetry`]. Lengths in px. Knows no time.

use crate::camera::Camera;
use crate::edge::doubt::{self, Doubt};
use crate::edge::{Edge, EdgePoint, Seen};
use crate::measured::{BodyShape, BodyTrack, Taken};
use tremolet_shape::expansion::{Wanted, expand};
use tremolet_shape::outline::{Outline, Point};
use tremolet_shape::revolution::{equivalent_radius, from_outline, from_series};
use tremolet_shape::symmetry::{Axis, Harmonics, axes, harmonics, mirror_misfit, volume_about};

/// A body in one frame before its axis is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Sighting {
    /// Place in the clip.
    pub frame: u64,
    /// Centre of the harmonics, or mean of the points.
    pub centre: [f64; 2],
    /// Mean distance of the points from it.
    pub size: f64,
    /// Used points as they are seen: x, y, uncertainty.
    pub outline: Vec<[f32; 3]>,
    /// The same as a perfect, level, still camera would show them all at one instant; none where that is where they are seen.
    pub straight: Option<Vec<[f32; 3]>>,
    /// Places left out.
    pub hidden: Vec<[f32; 2]>,
    /// Some of the hidden places are out of view.
    pub touches_frame: bool,
    /// Some of them are disturbed.
    pub touched: bool,
    /// Fourier coefficients of the outline, where a centre sees it all.
    pub harmonics: Option<Harmonics>,
    /// Width of the blur.
    pub blur_px: f64,
    /// What all points have in common.
    pub doubt: Doubt,
    /// Whether what lies behind and inside pushes the edge beyond the noise: the mirror misfit then judges the coefficients.
    pub cluttered: bool,
}

/// An outline with a larger share hidden has harmonics that are tangled with each other.
const OPEN: f64 = 0.04;

impl Sighting {
    fn open(&self) -> bool {
        let hidden = self.hidden.len() as f64;
        hidden > OPEN * (hidden + self.outline.len() as f64)
    }
}

/// Degrees that are always fitted; harmonics that judge the axis.
const LOWEST_ORDER: usize = 8;
/// A longer run of disturbed places, px, touches the body even where nothing is seen to reach away from it. Coding with loss
/// spoils blocks of 16 px: a diagonal through two of them is 45 px.
const DISTURBED: f64 = 46.0;

/// The longest run of neighbouring disturbed places around the outline.
pub(crate) fn longest_disturbed(edge: &Edge) -> usize {
    let spoilt = |p: &EdgePoint| matches!(p.seen, Seen::Disturbed | Seen::Held);
    longest_run(edge.points.iter().map(spoilt))
}

/// The longest run around a ring of places.
pub(crate) fn longest_run(ring: impl Iterator<Item = bool>) -> usize {
    let ring: Vec<bool> = ring.collect();
    let Some(start) = ring.iter().position(|s| !s) else {
        return ring.len();
    };
    let (mut run, mut longest) = (0, 0);
    for k in 0..ring.len() {
        run = if ring[(start + k) % ring.len()] {
            run + 1
        } else {
            0
        };
        longest = longest.max(run);
    }
    longest
}

/// Mean distance between neighbouring points.
fn spacing(edge: &Edge) -> f64 {
    let next = edge.points.iter().cycle().skip(1);
    let gap = |(a, b): (&EdgePoint, &EdgePoint)| (a.x - b.x).hypot(a.y - b.y);
    edge.points.iter().zip(next).map(gap).sum::<f64>() / edge.points.len().max(1) as f64
}

/// A sighting from an edge; `None` when hardly anything of it was seen.
pub fn sighted(frame: u64, edge: &Edge) -> Option<Sighting> {
    let used: Vec<Point> = edge
        .points
        .iter()
        .filter(|p| p.seen == Seen::Yes)
        .map(|p| Point {
            x: p.x,
            y: p.y,
            uncertainty: p.uncertainty,
        })
        .collect();
    let count = |seen: Seen| edge.points.iter().filter(|p| p.seen == seen).count() as f64;
    let all = edge.points.len() as f64;
    if count(Seen::Yes) < 0.25 * all || used.len() < 16 {
        return None;
    }
    let n = used.len() as f64;
    let mean = [
        used.iter().map(|p| p.x).sum::<f64>() / n,
        used.iter().map(|p| p.y).sum::<f64>() / n,
    ];
    let found = harmonics(&used, LOWEST_ORDER);
    let centre = found.as_ref().map_or(mean, |h| h.centre);
    Some(Sighting {
        frame,
        centre,
        size: used
            .iter()
            .map(|p| (p.x - centre[0]).hypot(p.y - centre[1]))
            .sum::<f64>()
            / n,
        outline: used
            .iter()
            .map(|p| [p.x as f32, p.y as f32, p.uncertainty as f32])
            .collect(),
        straight: None,
        hidden: edge
            .points
            .iter()
            .filter(|p| p.seen != Seen::Yes)
            .map(|p| [p.x as f32, p.y as f32])
            .collect(),
        touches_frame: count(Seen::OutOfView) > 0.0,
        touched: count(Seen::Held) > 0.0 || longest_disturbed(edge) as f64 * spacing(edge) > DISTURBED,
        harmonics: found,
        blur_px: edge.blur_px,
        doubt: edge.doubt,
        cluttered: false,
    })
}

/// The axis over all sightings: the caller's, or the best.
pub fn axis_of(sightings: &[Sighting], given: Option<f64>) -> Axis {
    if let Some(angle) = given {
        return Axis {
            angle,
            uncertainty: 0.0,
            misfit: 1.0,
        };
    }
    let whole: Vec<Harmonics> = sightings.iter().filter_map(|s| s.harmonics.clone()).collect();
    if sightings.iter().filter(|s| s.open()).count() * 2 > sightings.len() {
        // Harmonics of an open outline are tangled with each other: judge the axis by the series itself.
        return axis_by_series(sightings);
    }
    let found = axes(&whole);
    let Some(best) = found.first() else {
        return Axis {
            angle: 0.0,
            uncertainty: std::f64::consts::PI,
            misfit: f64::NAN,
        };
    };
    let Some(other) = found.get(1) else { return *best };
    let alike = mirror_misfit(&whole, other.angle).0 - mirror_misfit(&whole, best.angle).0
        < 12.0 * best.misfit.max(1.0);
    if alike && unsteadiness(&whole, other.angle) < unsteadiness(&whole, best.angle) {
        return *other;
    }
    *best
}

/// Sightings that judge an axis by their series.
const JUDGES: usize = 40;
/// Of these, every so many judge while the direction is only roughly known.
const FEWER: usize = 4;

/// The axis about which the series fit best, over some of the sightings.
fn axis_by_series(sightings: &[Sighting]) -> Axis {
    let stride = sightings.len().div_ceil(JUDGES).max(1);
    let sample: Vec<Vec<Point>> = sightings.iter().step_by(stride).map(used).collect();
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

fn wanted(axis_angle: f64, highest_order: usize) -> Wanted {
    Wanted {
        axis_angle,
        lowest_order: LOWEST_ORDER.min(highest_order),
        highest_order,
    }
}

fn point([x, y, u]: &[f32; 3]) -> Point {
    Point {
        x: f64::from(*x),
        y: f64::from(*y),
        uncertainty: f64::from(*u),
    }
}

/// The points of a sighting as they are seen.
pub fn points(s: &Sighting) -> Vec<Point> {
    s.outline.iter().map(point).collect()
}

/// The points that make its shape.
pub fn used(s: &Sighting) -> Vec<Point> {
    s.straight
        .as_ref()
        .unwrap_or(&s.outline)
        .iter()
        .map(point)
        .collect()
}

/// Gives a sighting the `straight` points, one for each that is seen, to make its shape of.
pub fn renewed(s: &mut Sighting, straight: Vec<Point>) {
    s.harmonics = harmonics(&straight, LOWEST_ORDER);
    if let Some(h) = &s.harmonics {
        s.centre = h.centre;
    }
    let single = |p: &Point| [p.x as f32, p.y as f32, p.uncertainty as f32];
    s.straight = Some(straight.iter().map(single).collect());
}

/// The shape of a sighting about an axis; `None` when its points make no outline.
///
/// `clutter` is how much larger the variances of its coefficients are than its points say.
pub fn shape(s: Sighting, axis_angle: f64, max_degree: usize, clutter: f64) -> Option<BodyShape> {
    let points = used(&s);
    let coverage = points.len() as f64 / (points.len() + s.hidden.len()) as f64;
    let outline = Outline::new(points.clone(), s.hidden.is_empty()).ok()?;
    let walked = Outline::new(points.clone(), true).ok()?;
    let expansion = expand(&points, &wanted(axis_angle, max_degree)).filter(|e| {
        // A series that strays far more than the noise and more than a twentieth of a pixel does not hold.
        e.star_shaped
            && (e.residual_rms < 0.05
                || e.reduced_chi_squared < 9.0
                || e.residual_rms < 2e-3 * e.coefficients[0])
    });
    let asymmetry = s.harmonics.as_ref().map_or(f64::NAN, |h| {
        let (sum, count) = mirror_misfit(std::slice::from_ref(h), axis_angle);
        sum / (count as f64).max(1.0)
    });
    let centroid = walked.centroid();
    let solid = match &expansion {
        Some(e) => from_series(&e.coefficients),
        None => from_outline(&walked, axis_angle, centroid),
    };
    let radius = equivalent_radius(solid.volume);
    let coefficients = expansion
        .as_ref()
        .map_or_else(Vec::new, |e| e.coefficients.clone());
    let mean_u = points.iter().map(|p| p.uncertainty).sum::<f64>() / points.len() as f64;
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
            Some(e) => e.radius_uncertainty() * (e.reduced_chi_squared.max(1.0) * clutter).sqrt(),
            None => mean_u / (points.len() as f64).sqrt(),
        }
        .hypot(s.doubt.levels_px),
        amplitude: coefficients.iter().skip(2).map(|c| c / radius).collect(),
        order: coefficients.len().saturating_sub(1),
        covariance: expansion.as_ref().map_or_else(Vec::new, |e| {
            let scale = e.reduced_chi_squared.max(1.0) * clutter;
            e.covariance.iter().map(|c| c * scale).collect()
        }),
        residual_rms_px: expansion.as_ref().map_or(f64::NAN, |e| e.residual_rms),
        reduced_chi_squared: expansion.as_ref().map_or(f64::NAN, |e| e.reduced_chi_squared),
        star_shaped: expansion.is_some(),
        coefficients_px: coefficients,
        asymmetry,
        coverage,
        touches_frame: s.touches_frame,
        touched: s.touched,
        blur_px: s.blur_px,
        outline: s.outline,
        hidden: s.hidden,
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
#[derive(Debug, Clone, Default)]
pub struct Tracks {
    tracks: Vec<Vec<Sighting>>,
}

impl Tracks {
    /// Adds the sightings of the next frame, largest first.
    pub fn add(&mut self, sightings: Vec<Sighting>) {
        let Some(frame) = sightings.first().map(|s| s.frame) else {
            return;
        };
        for s in sightings {
            let near = |t: &Vec<Sighting>| {
                let last = t.last()?;
                let apart = (last.centre[0] - s.centre[0]).hypot(last.centre[1] - s.centre[1]);
                let growth = (last.size / s.size).ln().abs();
                (last.frame < frame && apart < 0.7 * last.size.max(s.size) && growth < 0.3)
                    .then_some(apart + growth * s.size)
            };
            let best = self
                .tracks
                .iter_mut()
                .filter_map(|t| Some((near(t)?, t)))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            match best {
                Some((_, track)) => track.push(s),
                None => self.tracks.push(vec![s]),
            }
        }
    }

    /// Every body with its axis and shapes, what the camera did taken out; and at which instant of a frame each was taken.
    pub fn finished(
        self,
        given: Option<f64>,
        max_degree: usize,
        camera: &Camera<'_>,
    ) -> Vec<(BodyTrack, Taken)> {
        use rayon::prelude::*;
        let number = |(i, mut sightings): (usize, Vec<Sighting>)| {
            let taken = camera.straighten(&mut sightings);
            let axis = axis_of(&sightings, given);
            let clutter = clutter(&sightings, axis.angle);
            let doubts: Vec<Doubt> = sightings.iter().map(|s| s.doubt).collect();
            let track = BodyTrack {
                body: i as u32 + 1,
                axis_angle: axis.angle,
                axis_uncertainty: axis.uncertainty,
                u_edge_px: doubt::common(&doubts),
                shapes: sightings
                    .into_par_iter()
                    .filter_map(|s| shape(s, axis.angle, max_degree, clutter))
                    .collect(),
            };
            (track, taken)
        };
        self.tracks.into_iter().enumerate().map(number).collect()
    }
}
