//! Bodies of a back-lit clip, frame after frame: a body that stands alone is followed instead of sought again.
//!
//! ```text
//! next place of a node = place + (offset + speed + gain) normal
//! speed <- speed + gain + offset,     gain <- gain + offset / 2       for the offset from where the edge was expected
//! ```
//! Frames come in short runs, each begun with a look at the whole frame, so that runs can be measured side by side. Along a
//! run the edge is looked for only where it is expected; the rest of the picture is seen at the points of a coarse lattice.
//! As soon as anything is not as expected (dark points elsewhere, a node that something holds, an edge that is not found or
//! not convex), the frame is looked at as a whole again.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `offset` | outward from where the edge was expected | px |
//! | `speed`, `gain` | outward motion from frame to frame, and its growth | px |
//!
//! Source: elementary. The edge itself is placed by [`crate::edge`] in the same way whether sought or followed.

use crate::edge::border::Border;
use crate::edge::{Found, Noise, Seen, View, followed};
use crate::joint;
use crate::locate::{Coarse, is_convex, locate};
use crate::scene::Scene;
use crate::settings::{Masks, Settings};
use crate::sighting::{Sighting, longest_run, sighted};
use tremolet_clip::frame::Frame;

/// Frames of a run: the first is looked at as a whole.
pub const RUN: usize = 16;

/// The edge is not looked for so near to where something was cut from a body: cells, and px for the blur.
const GUARD_CELLS: f64 = 1.5;
const GUARD_PX: f64 = 5.0;
/// So many dark points of the lattice are dust: a body covers four times as many.
const DUST: usize = 6;
/// Points of the lattice nearer to the edge than this, px, are the edge's.
const MARGIN: f64 = 8.0;
/// Nodes on either side over which a speed is smooth.
const SMOOTH: isize = 3;
/// Share of the nodes that noise of coding may spoil, and the longest stretch of them, px and nodes: blocks have 16 px.
const LOST: f64 = 0.15;
const LOST_PX: f64 = 26.0;
const LOST_NODES: f64 = 8.0;

/// The bodies of the frames of a run, in order, and the pixels looked at while following.
pub fn run(frames: &[Frame], scene: &Scene, settings: &Settings) -> (Vec<Vec<Sighting>>, usize) {
    let (mut trail, mut looked): (Option<Trail>, usize) = (None, 0);
    let mut due = None;
    let one = |frame: &Frame| {
        // Where frames are left out nothing is followed.
        if due.replace(frame.index + 1) != Some(frame.index) {
            trail = None;
        }
        let view = View {
            plane: &frame.plane,
            background: &scene.background,
            masks: Masks::of(&settings.masks, frame.index),
            cuts: &[],
            guard: 0.0,
        };
        if let Some((found, next)) = trail.take().and_then(|trail| trail.next(&view)) {
            looked += next.looked;
            trail = Some(next);
            return sighted(frame.index, &found.edge).into_iter().collect();
        }
        let (sightings, next) = whole(frame, scene, settings);
        trail = next;
        sightings
    };
    (frames.iter().map(one).collect(), looked)
}

/// The bodies of a frame that is looked at as a whole, and the trail of one that stands alone.
pub fn whole(frame: &Frame, scene: &Scene, settings: &Settings) -> (Vec<Sighting>, Option<Trail>) {
    let all = locate(&frame.plane, scene, Masks::of(&settings.masks, frame.index));
    let (mut trail, mut edges) = (None, Vec::new());
    for coarse in &all {
        let (found, whole) = joint::edges(
            &|coarse: &Coarse| View {
                plane: &frame.plane,
                background: &scene.background,
                masks: Masks::of(&settings.masks, frame.index),
                cuts: &coarse.cuts,
                guard: GUARD_CELLS * coarse.cell_px + GUARD_PX,
            },
            coarse,
        );
        edges.extend(found);
        let alone = whole.filter(|_| all.len() == 1);
        trail = alone.and_then(|whole| Trail::begun(coarse, &whole));
    }
    if edges.len() > 1 {
        let view = View {
            plane: &frame.plane,
            background: &scene.background,
            masks: Masks::of(&settings.masks, frame.index),
            cuts: &[],
            guard: 0.0,
        };
        edges = joint::thread::joined(&view, edges);
    }
    joint::kept_apart(&mut edges);
    let sightings = edges.iter().filter_map(|edge| sighted(frame.index, edge));
    (sightings.collect(), trail)
}

/// Where a body that stands alone is expected next.
#[derive(Debug, Clone)]
pub struct Trail {
    border: Border,
    speed: Vec<f64>,
    gain: Vec<f64>,
    width: f64,
    noise: Noise,
    /// Over the light: darker is dark.
    bar: f64,
    /// Spacing of the lattice, px.
    cell: usize,
    /// No motion is known yet.
    first: bool,
    /// Pixels looked at in the frame before.
    looked: usize,
}

impl Trail {
    /// From a frame that was looked at as a whole.
    fn begun(coarse: &Coarse, found: &Found) -> Option<Self> {
        let alone = coarse.cuts.is_empty() && !coarse.touches_frame;
        let cell = (coarse.cell_px as usize).max(1);
        let still = vec![0.0; found.nodes.len()];
        let convex = is_convex(&coarse.border, coarse.cell_px);
        (alone && convex).then(|| Self::ahead(found, still.clone(), still, cell))?
    }

    /// The trail ahead of an edge that was found; `None` where something is odd about it.
    fn ahead(found: &Found, speed: Vec<f64>, gain: Vec<f64>, cell: usize) -> Option<Self> {
        if !found.is_clear() {
            return None;
        }
        let motion = speed.iter().zip(&gain).map(|(speed, gain)| speed + gain);
        let nodes = found.nodes.iter().zip(motion);
        let step: Vec<f64> = nodes.map(|(node, motion)| node.offset + motion).collect();
        let border = found.border.moved(&step, 3.0)?;
        let [inner, outer] = found.levels;
        is_convex(&border.places, cell as f64).then_some(Self {
            speed: resampled(&speed, border.places.len()),
            gain: resampled(&gain, border.places.len()),
            border,
            width: found.width,
            noise: found.noise,
            bar: (inner + outer) / 2.0,
            cell,
            first: true,
            looked: 0,
        })
    }

    /// The edge in the next frame, and the trail ahead of it; `None` where anything is not as expected.
    fn next(&self, view: &View<'_>) -> Option<(Found, Self)> {
        let points = self.elsewhere(view)?;
        let found = followed(view, self.border.clone(), self.width, self.noise)?;
        let count = found.passed.len();
        let (mut speed, mut gain) = (resampled(&self.speed, count), resampled(&self.gain, count));
        for ((speed, gain), more) in speed.iter_mut().zip(&mut gain).zip(smooth(&found.passed)) {
            *speed += *gain + more;
            *gain = if self.first { 0.0 } else { *gain + more / 2.0 };
        }
        let looked = points + found.looked;
        let next = Self {
            looked,
            first: false,
            ..Self::ahead(&found, speed, gain, self.cell)?
        };
        Some((found, next))
    }

    /// The points of the lattice away from the body; `None` when something dark is among them.
    fn elsewhere(&self, view: &View<'_>) -> Option<usize> {
        let (mut dark, mut looked) = (0, 0);
        let (half, width) = (self.cell / 2, view.plane.width);
        let columns = width.saturating_sub(half).div_ceil(self.cell);
        let column = |x: f64| (x - half as f64) / self.cell as f64;
        for (j, (from, to)) in self.spans(view.plane.height).into_iter().enumerate() {
            let y = half + j * self.cell;
            // Casts cut at nil and at the largest; an empty span leaves all columns on its left.
            let left = (column(from).ceil() as usize).min(columns);
            let right = (column(to).floor() as usize + 1).clamp(left, columns);
            for i in (0..left).chain(right..columns) {
                let x = half + i * self.cell;
                looked += 1;
                if view.ratio(x, y) < self.bar {
                    dark += usize::from(!view.masks.hold(x as f64, y as f64));
                }
            }
            if dark > DUST {
                return None;
            }
        }
        Some(looked)
    }

    /// For every line of the lattice the first and last column that belong to the body and its edge.
    fn spans(&self, height: usize) -> Vec<(f64, f64)> {
        let lines = height.saturating_sub(self.cell / 2).div_ceil(self.cell);
        let mut spans = vec![(f64::INFINITY, f64::NEG_INFINITY); lines];
        let cell = self.cell as f64;
        let reach = MARGIN.max(cell);
        let line = |y: f64| (y - (self.cell / 2) as f64) / cell;
        for [x, y] in &self.border.places {
            let first = line(y - reach).ceil().max(0.0) as usize;
            let last = line(y + reach).floor();
            for span in spans.iter_mut().enumerate().skip(first) {
                if span.0 as f64 > last {
                    break;
                }
                span.1.0 = span.1.0.min(x - reach);
                span.1.1 = span.1.1.max(x + reach);
            }
        }
        spans
    }
}

impl Found {
    /// Whether nothing but noise hides the edge.
    fn is_clear(&self) -> bool {
        let seen = || self.nodes.iter().map(|n| n.seen);
        let in_the_way = |seen| matches!(seen, Seen::Held | Seen::OutOfView);
        let lost = seen().filter(|seen| *seen == Seen::Disturbed).count() as f64;
        let stretch = longest_run(seen().map(|seen| seen != Seen::Yes)) as f64;
        !seen().any(in_the_way)
            && lost < LOST * self.nodes.len() as f64
            && stretch <= LOST_NODES.max(LOST_PX / self.border.spacing)
    }
}

/// As many values along the same closed curve.
fn resampled(values: &[f64], count: usize) -> Vec<f64> {
    if values.len() == count {
        return values.to_vec();
    }
    (0..count).map(|j| values[j * values.len() / count]).collect()
}

/// Means over neighbours, twice: of once, waves somewhat shorter than the span come out upside down, and would grow.
fn smooth(values: &[f64]) -> Vec<f64> {
    means(&means(values))
}

fn means(values: &[f64]) -> Vec<f64> {
    let n = values.len() as isize;
    let at = |j: isize| values[j.rem_euclid(n) as usize];
    let mean = |j: isize| (-SMOOTH..=SMOOTH).map(|k| at(j + k)).sum::<f64>() / (2 * SMOOTH + 1) as f64;
    (0..n).map(mean).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_clip::frame::Plane;

    const SIDE: usize = 192;

    /// A disc of 60 px, softly edged, with noise that grows with the level.
    fn disc() -> Frame {
        let mut state = 7_u64;
        let mut normal = || {
            let mut uniform = || {
                state = state
                    .wrapping_mul(6364136223846793005)
                    .wrapping_add(1442695040888963407);
                (state >> 11) as f64 / (1_u64 << 53) as f64
            };
            (0..12).map(|_| uniform()).sum::<f64>() - 6.0
        };
        let levels = (0..SIDE * SIDE).map(|i| {
            let r = ((i % SIDE) as f64 - 95.7).hypot((i / SIDE) as f64 - 96.2) - 60.0;
            let level = 40_000.0 * (1.0 - 0.8 / (1.0 + (r / 0.72).exp()));
            (level + normal() * (2.0 * level).sqrt()).round() as u16
        });
        Frame {
            index: 0,
            stamp: None,
            plane: Plane::sixteen(SIDE, SIDE, levels.collect()),
        }
    }

    /// Where noise grows with the level, width and place of an edge hang together: a fit that took them one by one would keep some
    /// six per cent of an error of the place where it began.
    #[test]
    fn the_edge_lies_where_it_lies_from_wherever_it_is_sought() {
        let (frame, settings) = (disc(), Settings::default());
        let scene = Scene::of(&[&frame.plane], None);
        let trail = whole(&frame, &scene, &settings).1.expect("a disc alone");
        let view = View {
            plane: &frame.plane,
            background: &scene.background,
            masks: Masks::default(),
            cuts: &[],
            guard: 0.0,
        };
        let radius = |off: f64| {
            let count = trail.border.places.len();
            let moved = Trail {
                border: trail.border.moved(&vec![off; count], 3.0).expect("a circle"),
                ..trail.clone()
            };
            let (found, _) = moved.next(&view).expect("followed");
            let all = found.edge.points.iter();
            all.map(|p| (p.x - 95.7).hypot(p.y - 96.2)).sum::<f64>() / found.edge.points.len() as f64
        };
        let (inner, outer) = (radius(-0.15), radius(0.15));
        assert!((outer - inner).abs() < 0.004, "{inner} and {outer}");
        assert!((inner - 60.0).abs() < 0.02, "{inner}");
    }

    #[test]
    fn smoothing_turns_no_wave_upside_down() {
        for waves in [1, 7, 19, 30, 45, 64] {
            let wave: Vec<f64> = (0..128)
                .map(|j| (std::f64::consts::TAU * f64::from(waves * j) / 128.0).cos())
                .collect();
            let kept = smooth(&wave).iter().zip(&wave).map(|(a, b)| a * b).sum::<f64>();
            assert!(kept > -1e-9, "{waves}: {kept}");
        }
        assert_eq!(resampled(&[1.0, 2.0, 3.0, 4.0], 2), [1.0, 3.0]);
    }
}
