//! The edge of a body to a small part of a pixel, with its uncertainty.
//!
//! Nodes lie along a coarse border. Every pixel near the border belongs to the node whose stretch of the curve it faces,
//! once, so nothing is interpolated and the noise of the nodes is independent. At each node
//!
//! ```text
//! level(d) = light(x, y) [ i + (o - i) Phi((d - delta) / s) ],     d = n + kappa t^2 / 2
//! u(delta) = ( sum (d level / d delta)^2 / variance )^(-1/2)
//! ```
//! is fitted for `delta`; the levels vary smoothly along the outline and the width `s` is one for all of it. Blur pulls
//! a curved edge inward; the closed form of [`tremolet_optics::blur`] puts it back.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `n`, `t` | along the outward normal, along the tangent | px |
//! | `i`, `o` | level inside and outside over the light of the scene | - |
//! | `s` | width of the blur, pixel included | px |
//! | `kappa` | curvature of the border | 1/px |
//!
//! Source: least squares \[GolubVanLoan2013\] section 5.3. For bodies darker than their surroundings up to the edge.

use crate::locate::Coarse;
use crate::scene::Background;
use crate::settings::Masks;
use tremolet_clip::frame::{Levels, Plane};

pub mod border;
pub mod clipped;
pub mod doubt;
pub mod levels;
pub mod marks;
pub mod strip;

use border::Border;
use doubt::Doubt;
use levels::Sides;
use strip::Strip;

/// A point of the edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePoint {
    /// Rightwards, px.
    pub x: f64,
    /// Downwards, px.
    pub y: f64,
    /// Standard uncertainty along the normal, px.
    pub uncertainty: f64,
    /// Whether the edge was seen here; if not, the place is only near it.
    pub seen: Seen,
}

/// Whether the edge was seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seen {
    /// It was.
    Yes,
    /// Outside the picture or a mask.
    OutOfView,
    /// Something else is in the way.
    Disturbed,
    /// Something reaches away from the body here: a support, a wire across, another body.
    Held,
    /// Another body lies before it or behind it.
    Hidden,
}

/// How a body stands to others in the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Meeting {
    /// By itself.
    #[default]
    Alone,
    /// It has a neck.
    Necked,
    /// Another overlaps or touches it; its outline is its own arc.
    Overlaps,
    /// It cannot be told whether it is one body.
    Open,
}

/// The edge of one body in one frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// Points in order, turning from +x towards +y.
    pub points: Vec<EdgePoint>,
    /// Width of the blur, px.
    pub blur_px: f64,
    /// What all points have in common; nil for a rim, whose shape has a doubt of its own.
    pub doubt: Doubt,
    /// How the body stands to others.
    pub meeting: Meeting,
}

/// Where the edge is looked for.
#[derive(Debug, Clone, Copy)]
pub struct View<'a> {
    /// The frame.
    pub plane: &'a Plane,
    /// The light of the scene.
    pub background: &'a Background,
    /// Regions to leave alone.
    pub masks: Masks<'a>,
    /// Places where something else hides the edge.
    pub cuts: &'a [[f64; 2]],
    /// Distance from them within which the edge is not looked for, px.
    pub guard: f64,
}

impl View<'_> {
    /// Level over the light at a whole pixel.
    #[inline]
    pub(crate) fn ratio(&self, x: usize, y: usize) -> f64 {
        self.level(x, y) / self.background.at(x as f64, y as f64)
    }

    /// Level at a whole pixel, camera codes.
    #[inline]
    fn level(&self, x: usize, y: usize) -> f64 {
        let i = y * self.plane.width + x;
        match &self.plane.levels {
            Levels::Eight(levels) => f64::from(levels[i]),
            Levels::Sixteen(levels) => f64::from(levels[i]),
        }
    }

    /// Whether something else hides the edge here.
    fn covered(&self, [x, y]: [f64; 2]) -> bool {
        let near = |c: &[f64; 2]| (c[0] - x).powi(2) + (c[1] - y).powi(2) < self.guard * self.guard;
        self.cuts.iter().any(near)
    }
}

/// Fits along the border, each along the border that the one before found: at least so many, the first of which has no
/// noise to weigh by, and more while the edge strays from the border by a good part of the blur.
const ROUNDS: usize = 2;
const MOST_ROUNDS: usize = 5;
/// With more nodes than this, every second node is enough to climb, and every second line of pixels for the first fit.
const MANY: usize = 150;
const SETTLED: f64 = 0.2;

/// A fit that takes width and place side by side keeps a part of where it began; one that takes both as one ends it where that
/// leaves the edge and, within this share, the width.
const ALIKE: f64 = 0.1;

/// An edge that is followed and strays further than this many widths from where it was expected is lost.
const ASTRAY: f64 = 1.5;

/// An edge, and what following it to the next frame needs.
#[derive(Debug, Clone)]
pub struct Found {
    /// The edge.
    pub edge: Edge,
    /// The border that it was placed from, with its nodes.
    pub(crate) border: Border,
    pub(crate) nodes: Vec<strip::Node>,
    /// How far each node passed outward from the border that was given.
    pub(crate) passed: Vec<f64>,
    pub(crate) width: f64,
    pub(crate) noise: Noise,
    /// Mean level inside and outside, over the light.
    pub(crate) levels: [f64; 2],
    /// Pixels that were looked at.
    pub(crate) looked: usize,
}

/// Refines the coarse border of a body; `None` when no edge is there.
pub fn refine(view: &View<'_>, coarse: &Coarse) -> Option<Edge> {
    sought(view, coarse).map(|found| found.edge)
}

/// The edge near the coarse border of a body; `None` when no edge is there.
pub(crate) fn sought(view: &View<'_>, coarse: &Coarse) -> Option<Found> {
    let mut border = Border::around(&coarse.border, 2.0 * coarse.cell_px)?;
    let every = if border.places.len() > MANY { 2 } else { 1 };
    for reach in [1.5 * coarse.cell_px + 4.0, 5.0] {
        border = border::climbed(&border, view, reach, every)?;
    }
    let width = border::width(&border, view)?;
    settled(view, border, width, None)
}

/// The edge near `border`, where it is expected with this width and noise; `None` when it is not there.
pub(crate) fn followed(view: &View<'_>, border: Border, width: f64, noise: Noise) -> Option<Found> {
    settled(view, border, width, Some(noise))
}

/// Fits until the edge lies on the border; noise is `None` where it is not known beforehand.
fn settled(view: &View<'_>, mut border: Border, mut width: f64, known: Option<Noise>) -> Option<Found> {
    let mut noise = known.unwrap_or_default();
    let (mut passed, mut looked) = (vec![0.0; border.places.len()], 0);
    for round in 1..=MOST_ROUNDS {
        let first = round == 1 && known.is_none();
        let every = if first && border.places.len() > MANY { 2 } else { 1 };
        let strip = Strip::thinned(&border, view, width, every)?;
        let sides = Sides::of(&strip, width, border.spacing)?;
        let mut nodes = strip::fitted(&strip, &sides, &mut width, &mut noise, known.is_some());
        looked += strip.len();
        if known.is_none() && round >= ROUNDS && strayed(&nodes) < SETTLED * width {
            let mut ended = (width, noise);
            let together = strip::fitted(&strip, &sides, &mut ended.0, &mut ended.1, true);
            if strayed(&together) < SETTLED * width && (ended.0 / width - 1.0).abs() < ALIKE {
                (nodes, width, noise) = (together, ended.0, ended.1);
            }
        }
        for (passed, node) in passed.iter_mut().zip(&nodes) {
            *passed += node.offset;
        }
        let astray = strayed(&nodes) / width;
        let last = round == MOST_ROUNDS;
        if known.is_some() && (astray > ASTRAY || (last && astray > SETTLED)) {
            return None;
        }
        let enough = known.is_some() || round >= ROUNDS;
        if (enough && astray < SETTLED) || last {
            let radius = border.places.len() as f64 * border.spacing / (2.0 * std::f64::consts::PI);
            passed.resize(nodes.len(), 0.0);
            marks::marked(view, &border, &sides, &mut nodes);
            let levels = sides.mean();
            let ends = clipped::shares(view, &border, &nodes, width);
            return Some(Found {
                edge: Edge {
                    points: placed(&border, &nodes, width),
                    blur_px: width,
                    doubt: Doubt {
                        shape_px: doubt::shape(width, radius),
                        clipped: ends,
                        clipped_px: noise.cut(levels, ends, width),
                        ..sides.doubt
                    },
                    meeting: Meeting::Alone,
                },
                levels,
                border,
                nodes,
                passed,
                width,
                noise,
                looked,
            });
        }
        border = border.moved(&nodes.iter().map(|n| n.offset).collect::<Vec<_>>(), 3.0)?;
    }
    None
}

/// Root mean square of how far the edge lies from the border, over the nodes that see it.
fn strayed(nodes: &[strip::Node]) -> f64 {
    let seen = nodes.iter().filter(|n| n.seen == Seen::Yes);
    let (sum, count) = seen.fold((0.0, 0.0), |(s, c), n| (s + n.offset * n.offset, c + 1.0));
    (sum / f64::max(count, 1.0)).sqrt()
}

/// Variance of a pixel over the light: `floor + slope * level`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Part that does not depend on the level.
    pub floor: f64,
    /// Part that grows with the level.
    pub slope: f64,
}

impl Noise {
    /// Standard uncertainty of the edge from pixels cut off at the ends of the scale (see [`clipped`]).
    fn cut(&self, [inner, outer]: [f64; 2], ends: [f64; 2], width: f64) -> f64 {
        let scatter = |level: f64| (self.floor + self.slope * level).max(0.0).sqrt();
        let beside = clipped::Beside {
            scatter: [scatter(outer), scatter(inner)],
            contrast: outer - inner,
            width,
        };
        clipped::doubt(ends, &beside)
    }
}

impl Default for Noise {
    fn default() -> Self {
        Self {
            floor: 1e-4,
            slope: 0.0,
        }
    }
}

pub(crate) fn placed(border: &Border, nodes: &[strip::Node], width: f64) -> Vec<EdgePoint> {
    (0..nodes.len())
        .map(|j| {
            let out = nodes[j].offset + tremolet_optics::blur::edge_shift(border.curvature[j], width);
            EdgePoint {
                x: border.places[j][0] + out * border.normals[j][0],
                y: border.places[j][1] + out * border.normals[j][1],
                uncertainty: nodes[j].uncertainty,
                seen: nodes[j].seen,
            }
        })
        .collect()
}
