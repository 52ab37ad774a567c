//! The edge of a body with a dark rim to a small part of a pixel, with its uncertainty.
//!
//! At each node of the border, with `z = (d - delta) / s`,
//!
//! ```text
//! level(d) = Phi(z) (o_0 + o_1 d) e + (1 - Phi(z)) i_0 + i_1 shade(d - delta)
//! ```
//! Levels and offset belong to the node; the shape of `shade` is one for the whole clip and comes from its first frames
//! with the body, only the widths of blur and rim are fitted anew in every frame. Nodes whose residuals are out of
//! proportion or that disagree with their neighbours are left out: glints, clutter that ends there.
//!
//! Where the edge lies against its picture rests on the shape of the rim: the uncertainty of the shape, judged by the
//! scatter over arcs of the outline, gives one uncertainty of the edge that all frames share.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `d` | outward from the border | px |
//! | `delta`, `s` | edge, width of the blur | px |
//! | `e` | level of the same pixel without the body where that is known, else 1 | codes over the mean |
//! | `o_k`, `i_k` | levels outside, inside and of the rim's shade | codes over the mean |
//!
//! Source: separable least squares \[GolubVanLoan2013\] section 5.3. For rims darker than what is outside.

use crate::edge::border::Border;
use crate::edge::doubt::Doubt;
use crate::edge::strip::Node;
use crate::edge::{Edge, Seen, View, border, placed};
use crate::locate::Coarse;
use crate::ring::{Near, closed};

pub mod node;
pub mod profile;
pub mod shape;
pub mod smooth;

use node::{Band, node};
use profile::{Profile, RimShape, SHAPE};
use shape::Votes;
use smooth::smooth;

/// Harmonics of the curve that tells strays, round by round: first an oval, so that a long detour is seen as one.
const HARMONICS: [usize; 5] = [3, 3, 5, 8, 8];
/// Rounds that are enough where the shape of the rim is known.
const FEWER: [usize; 3] = [3, 8, 8];
/// Share of the outline in view that must bear an edge.
const LEAST_SEEN: f64 = 0.5;
/// Rounds for the shape of a clip.
const ROUNDS: usize = 8;

/// The rim of a body, followed and fitted.
#[derive(Debug, Clone)]
pub struct Followed {
    border: Border,
    band: Band,
    nodes: Vec<Node>,
    shape: RimShape,
}

/// The rim that all frames of a clip share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rim {
    /// Its shape.
    pub shape: RimShape,
    /// Standard uncertainty of the edge that comes with the shape, the same way in all frames, px.
    pub u_edge: f64,
}

impl Followed {
    /// Whether enough of the outline bears an edge. Chosen: paths through 60 painted walls kept a quarter of their nodes at
    /// most; bodies of 100 px and more on 30 walls seven tenths at least; half is also what amplitudes need.
    pub fn holds(&self) -> bool {
        let count = |seen: &dyn Fn(Seen) -> bool| self.nodes.iter().filter(|n| seen(n.seen)).count() as f64;
        count(&|s| s == Seen::Yes) >= LEAST_SEEN * count(&|s| s != Seen::OutOfView).max(1.0)
    }

    /// Where it lies.
    pub fn near(&self) -> Near {
        let places = &self.border.places;
        let count = places.len() as f64;
        let sum = places.iter().fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
        Near {
            centre: sum.map(|s| s / count),
            radius: count * self.border.spacing / std::f64::consts::TAU,
        }
    }

    /// Residual variance of an ordinary node, times what is lost: with half the nodes twice as large.
    pub fn misfit(&self) -> f64 {
        let seen = self.nodes.iter().filter(|n| n.seen == Seen::Yes).count() as f64;
        typical(&self.nodes, |n| n.misfit) * self.nodes.len() as f64 / seen.max(1.0)
    }

    /// The edge; `None` when too little of the outline bears one.
    pub fn edge(mut self) -> Option<Edge> {
        if !self.holds() {
            return None;
        }
        if let Some(curve) = smooth(&self.border, &self.nodes, HARMONICS[HARMONICS.len() - 1]) {
            let more = curve.excess(&self.nodes).sqrt();
            self.nodes.iter_mut().for_each(|n| n.uncertainty *= more);
        }
        Some(Edge {
            points: placed(&self.border, &self.nodes, self.shape.blur),
            blur_px: self.shape.blur,
            doubt: Doubt::default(),
        })
    }
}

/// Follows the rim of a body from its coarse border, beginning with a shape where one is known.
///
/// `empty` is the same view without the body.
pub fn followed(
    view: &View<'_>,
    empty: Option<&View<'_>>,
    coarse: &Coarse,
    known: Option<RimShape>,
) -> Option<Followed> {
    let start = Border::around(&coarse.border, 2.0 * coarse.cell_px)?;
    let mut border = traced(&start, view, 2.5 * coarse.cell_px + 3.0)?;
    border = border::climbed(&border, view, 3.0, 1)?;
    let mut band = Band::along(&border, view, empty, known.map_or(1.5, |s| s.blur))?;
    let mut shape = known.unwrap_or_else(|| first_shape(&band));
    for harmonics in known.map_or(&HARMONICS[..], |_| &FEWER[..]) {
        let profile = Profile::of(shape);
        let mut nodes = judged(&band, &profile);
        let mut votes = Votes::none();
        votes.add(&band, &nodes, &profile);
        shape = votes.better(shape, 2).map_or(shape, |b| b.0);
        border = border.moved(&without_strays(&border, &mut nodes, *harmonics), 3.0)?;
        band = Band::along(&border, view, empty, shape.blur)?;
    }
    let mut nodes = judged(&band, &Profile::of(shape));
    without_strays(&border, &mut nodes, HARMONICS[HARMONICS.len() - 1]);
    Some(Followed {
        border,
        band,
        nodes,
        shape,
    })
}

/// The edge of a body with a dark rim; `None` when too little of it bears an edge.
pub fn refine_rim(view: &View<'_>, empty: Option<&View<'_>>, coarse: &Coarse, rim: &Rim) -> Option<Edge> {
    followed(view, empty, coarse, Some(rim.shape))?.edge()
}

/// The rim over several frames of a clip; `None` without any.
pub fn rim_of_clip(sample: &[Followed]) -> Option<Rim> {
    let mut widths: Vec<RimShape> = sample.iter().map(|f| f.shape).collect();
    widths.sort_by(|a, b| a.rim.total_cmp(&b.rim));
    let (mut shape, mut u_edge) = (*widths.get(widths.len() / 2)?, 0.0);
    for _ in 0..ROUNDS {
        let profile = Profile::of(shape);
        let mut votes = Votes::none();
        for f in sample {
            votes.add(&f.band, &f.refitted(&profile), &profile);
        }
        (shape, u_edge) = votes.better(shape, SHAPE)?;
    }
    Some(Rim { shape, u_edge })
}

impl Followed {
    /// The nodes fitted with another shape.
    fn refitted(&self, profile: &Profile) -> Vec<Node> {
        let again = |(j, n): (usize, &Node)| Node {
            seen: n.seen,
            ..node(&self.band, j, profile, n.offset)
        };
        self.nodes.iter().enumerate().map(again).collect()
    }
}

/// The border moved to the best closed path of rises outward within `reach`.
fn traced(border: &Border, view: &View<'_>, reach: f64) -> Option<Border> {
    let rays: Vec<Vec<f32>> = (0..border.places.len())
        .map(|j| {
            let profile = border::profile(border, j, view, reach);
            let rise = |w: &[Option<f64>]| Some((w[4]? - w[0]?) as f32);
            profile
                .windows(5)
                .map(|w| rise(w).unwrap_or(0.0).clamp(0.0, 0.4))
                .collect()
        })
        .collect();
    let middle = rays.first()?.len() as f64 / 2.0 - 0.5;
    let offsets: Vec<f64> = closed(&rays)?
        .iter()
        .map(|k| (*k as f64 - middle) / 2.0)
        .collect();
    border.moved(&offsets, 4.0)
}

/// Marks nodes off the smooth curve through most; offsets of the rest, and of that curve where nothing is seen.
fn without_strays(border: &Border, nodes: &mut [Node], harmonics: usize) -> Vec<f64> {
    let Some(curve) = smooth(border, nodes, harmonics) else {
        return nodes.iter().map(|n| n.offset).collect();
    };
    for (node, at) in nodes.iter_mut().zip(&curve.offsets) {
        if node.seen == Seen::Yes && (node.offset - at).abs() > curve.bar {
            node.seen = Seen::Disturbed;
        }
    }
    let pairs = nodes.iter().zip(&curve.offsets);
    pairs
        .map(|(n, at)| if n.seen == Seen::Yes { n.offset } else { *at })
        .collect()
}

/// Median over the nodes that are seen; infinite without any.
pub(crate) fn typical(nodes: &[Node], of: impl Fn(&Node) -> f64) -> f64 {
    let mut all: Vec<f64> = nodes.iter().filter(|n| n.seen == Seen::Yes).map(of).collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(f64::INFINITY)
}

/// Median of the offsets seen near node `j`, itself left out, and the median distance from it.
fn middle_near(nodes: &[Node], j: usize) -> Option<(f64, f64)> {
    let n = nodes.len();
    let near = (n - 8..n).chain(n + 1..n + 9).map(|k| &nodes[(j + k) % n]);
    let mut found: Vec<f64> = near.filter(|m| m.seen == Seen::Yes).map(|m| m.offset).collect();
    if found.len() < 5 {
        return None;
    }
    found.sort_by(f64::total_cmp);
    let middle = found[found.len() / 2];
    found.iter_mut().for_each(|f| *f = (*f - middle).abs());
    found.sort_by(f64::total_cmp);
    Some((middle, found[found.len() / 2]))
}

/// All nodes, those that cannot be trusted marked.
fn judged(band: &Band, profile: &Profile) -> Vec<Node> {
    let mut nodes: Vec<Node> = (0..band.count()).map(|j| node(band, j, profile, 0.0)).collect();
    let typical = typical(&nodes, |n| n.misfit);
    for node in nodes.iter_mut().filter(|n| n.seen == Seen::Yes) {
        if node.misfit > 3.0 * typical || node.uncertainty > 0.25 {
            node.seen = Seen::Disturbed;
        }
    }
    let astray: Vec<bool> = (0..nodes.len())
        .map(|j| {
            middle_near(&nodes, j).is_none_or(|(middle, spread)| {
                (nodes[j].offset - middle).abs() > (6.0 * spread).max(5.0 * nodes[j].uncertainty).max(0.1)
            })
        })
        .collect();
    for (node, _) in nodes
        .iter_mut()
        .zip(astray)
        .filter(|(n, a)| *a && n.seen == Seen::Yes)
    {
        node.seen = Seen::Disturbed;
    }
    nodes
}

/// Mean misfit of the best three quarters of every third node.
fn misfit(band: &Band, shape: RimShape) -> f64 {
    let profile = Profile::of(shape);
    let nodes = (0..band.count()).step_by(3).map(|j| node(band, j, &profile, 0.0));
    let mut all: Vec<f64> = nodes
        .filter(|n| n.seen != Seen::OutOfView)
        .map(|n| n.misfit)
        .collect();
    all.sort_by(f64::total_cmp);
    let keep = (all.len() * 3 / 4).max(1);
    all.iter().take(keep).sum::<f64>() / keep as f64
}

/// The best of a coarse table of shapes.
fn first_shape(band: &Band) -> RimShape {
    let shapes = [2.5, 4.0, 6.5, 10.0, 16.0].map(RimShape::usual);
    let mut best = (f64::INFINITY, shapes[0]);
    for shape in shapes {
        let off = misfit(band, shape);
        if off < best.0 {
            best = (off, shape);
        }
    }
    best.1
}
