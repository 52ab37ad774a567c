//! The edge of a body with a dark rim to a small part of a pixel, with its uncertainty.
//!
//! At each node of the border, with `z = (d - delta) / s`,
//!
//! ```text
//! level(d) = Phi(z) (o_0 + o_1 d) e + (i_0 + i_2 x + i_3 x^2) [1 - Phi(z) - kappa shade(x)] + i_1 shade(x),   x = d - delta
//! ```
//! Levels and offset belong to the node; all but `o_0` and `i_0` are held near nil as the clip shows ([`belief`]). The shape of
//! `shade` and `kappa` are one for the whole clip; the widths of blur and rim are fitted anew in every frame. Nodes whose
//! residuals are out of proportion or that disagree with their neighbours are left out: glints, clutter that ends there.
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
//! | `kappa` | shade of the rim over the level inside | 1 |
//!
//! Source: separable least squares \[GolubVanLoan2013\] section 5.3. For rims darker than what is outside.

use crate::edge::border::Border;
use crate::edge::doubt::Doubt;
use crate::edge::strip::Node;
use crate::edge::{Edge, Meeting, Seen, View, border, placed};
use crate::locate::Coarse;
use crate::ring::{Near, closed};

pub mod belief;
pub mod node;
pub mod profile;
pub mod shape;
pub mod smooth;

use belief::{Belief, LEVELS};
use node::{Band, Pixel, node, projected, scatter};
use profile::{Profile, RimShape, SHAPE};
use shape::Votes;
use smooth::smooth;

/// Harmonics of the curve that tells strays, round by round: first an oval, so that a long detour is seen as one.
const HARMONICS: [usize; 5] = [3, 3, 5, 8, 8];
/// Rounds that are enough where the shape of the rim is known.
const FEWER: [usize; 3] = [3, 8, 8];
/// Share of the outline in view that must bear an edge.
const LEAST_SEEN: f64 = 0.5;
/// Rounds before the last where the border is good already.
const AGAIN: usize = 1;
/// Rounds for the shape of a clip, and the change of its numbers that ends them.
const ROUNDS: usize = 12;
const SETTLED: f64 = 3e-3;
/// Standard uncertainty of the edge from rims outside this family, over `s^2 / w`, which is how far blur moves a slope of that
/// width, for a rim as it is expected; the root of one and a third of [`RimShape::unlike`] more for others. Chosen: painted rims
/// of two other shapes came out within 0.06 px where `s^2 / w` is 0.2 to 0.3 px, within 0.33 px at 0.7 px.
const ALIKE: f64 = 0.15;

/// The rim of a body, followed and fitted.
#[derive(Debug, Clone)]
pub struct Followed {
    border: Border,
    band: Band,
    nodes: Vec<Node>,
    shape: RimShape,
    belief: Belief,
}

/// The rim that all frames of a clip share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rim {
    /// Its shape.
    pub shape: RimShape,
    /// What is held of levels and residuals.
    pub belief: Belief,
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

    /// The border as it is.
    pub fn border(&self) -> &Border {
        &self.border
    }

    /// The rim with the shape and levels that were found with it.
    pub fn profile(&self) -> Profile {
        Profile::of(self.shape, self.belief)
    }

    /// Offset and levels of every node that is seen.
    pub fn levels(&self, profile: &Profile) -> Vec<Option<(f64, [f64; LEVELS])>> {
        let one = |(j, n): (usize, &Node)| {
            let pixels: Vec<Pixel> = self.band.of(j, profile).collect();
            let found = projected(&pixels, n.offset, profile)?;
            (n.seen == Seen::Yes).then_some((n.offset, found.levels))
        };
        self.nodes.iter().enumerate().map(one).collect()
    }

    /// Residual variance of the levels near the edge of an ordinary node, times what is lost: with half the nodes twice as large.
    pub fn misfit(&self) -> f64 {
        let profile = self.profile();
        let seen: Vec<usize> = (0..self.nodes.len())
            .filter(|j| self.nodes[*j].seen == Seen::Yes)
            .collect();
        let mut all: Vec<f64> = seen
            .iter()
            .filter_map(|j| scatter(&self.band, *j, self.nodes[*j].offset, &profile))
            .collect();
        all.sort_by(f64::total_cmp);
        let middle = all.get(all.len() / 2).copied().unwrap_or(f64::INFINITY);
        middle * self.nodes.len() as f64 / (seen.len() as f64).max(1.0)
    }

    /// The edge; `None` when too little of the outline bears one.
    pub fn edge(&self) -> Option<Edge> {
        if !self.holds() {
            return None;
        }
        let mut nodes = self.nodes.clone();
        if let Some(curve) = smooth(&self.border, &nodes, HARMONICS[HARMONICS.len() - 1]) {
            let more = curve.excess(&nodes).sqrt();
            nodes.iter_mut().for_each(|n| n.uncertainty *= more);
        }
        Some(Edge {
            points: placed(&self.border, &nodes, self.shape.blur),
            blur_px: self.shape.blur,
            doubt: Doubt::default(),
            meeting: Meeting::Alone,
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
    known: Option<(RimShape, Belief)>,
) -> Option<Followed> {
    let start = Border::around(&coarse.border, 2.0 * coarse.cell_px)?;
    let mut border = traced(&start, view, 2.5 * coarse.cell_px + 3.0)?;
    border = border::climbed(&border, view, 3.0, 1)?;
    let mut band = Band::along(&border, view, empty, known.map_or(1.5, |s| s.0.blur))?;
    let (mut shape, mut belief) = known.unwrap_or_else(|| (first_shape(&band), Belief::usual()));
    let mut profile = Profile::of(shape, belief);
    for harmonics in known.map_or(&HARMONICS[..], |_| &FEWER[..]) {
        let mut nodes = judged(&band, &profile);
        if known.is_none() {
            let mut votes = Votes::none();
            votes.add(&band, &nodes, &profile, true);
            shape = votes.better(shape, 2).map_or(shape, |b| b.0);
            belief = votes.belief(belief);
            profile = Profile::of(shape, belief);
        }
        border = border.moved(&without_strays(&border, &mut nodes, *harmonics), 3.0)?;
        band = Band::along(&border, view, empty, shape.blur)?;
    }
    let mut nodes = judged(&band, &profile);
    without_strays(&border, &mut nodes, HARMONICS[HARMONICS.len() - 1]);
    Some(Followed {
        border,
        band,
        nodes,
        shape,
        belief,
    })
}

/// The rim fitted again from a border that is good to a part of a pixel.
///
/// Without `learn` the shape and levels are those `known`; with it they are adjusted.
pub fn again(
    view: &View<'_>,
    empty: Option<&View<'_>>,
    places: &[[f64; 2]],
    known: (RimShape, Belief),
) -> Option<Followed> {
    let (mut shape, belief) = known;
    let most = HARMONICS[HARMONICS.len() - 1];
    let mut border = Border::around(places, 3.0)?;
    for round in 0.. {
        let band = Band::along(&border, view, empty, shape.blur)?;
        let profile = Profile::of(shape, belief);
        let mut nodes = judged(&band, &profile);
        let offsets = without_strays(&border, &mut nodes, most);
        if round == AGAIN {
            return Some(Followed {
                border,
                band,
                nodes,
                shape,
                belief,
            });
        }
        let mut votes = Votes::none();
        votes.add(&band, &nodes, &profile, false);
        shape = votes.better(shape, 2).map_or(shape, |b| b.0);
        border = border.moved(&offsets, 3.0)?;
    }
    None
}

/// The rim of a clip followed in one frame; `None` when too little of it bears an edge.
pub fn refine_rim(view: &View<'_>, empty: Option<&View<'_>>, coarse: &Coarse, rim: &Rim) -> Option<Followed> {
    followed(view, empty, coarse, Some((rim.shape, rim.belief))).filter(Followed::holds)
}

/// The rim over several frames of a clip; `None` without any.
pub fn rim_of_clip(sample: &[Followed]) -> Option<Rim> {
    let mut widths: Vec<(RimShape, Belief)> = sample.iter().map(|f| (f.shape, f.belief)).collect();
    widths.sort_by(|a, b| a.0.rim.total_cmp(&b.0.rim));
    let ((mut shape, mut belief), mut u_edge) = (*widths.get(widths.len() / 2)?, 0.0);
    for _ in 0..ROUNDS {
        let profile = Profile::of(shape, belief);
        let mut votes = Votes::none();
        for f in sample {
            votes.add(&f.band, &f.refitted(&profile), &profile, true);
        }
        let before = shape;
        (shape, u_edge) = votes.better(shape, SHAPE)?;
        belief = votes.belief(belief);
        if shape.apart_from(before) < SETTLED {
            break;
        }
    }
    Some(Rim {
        shape,
        belief,
        u_edge: u_edge
            .hypot(ALIKE * shape.blur * shape.blur / shape.rim * (1.0 + shape.unlike() / 3.0).sqrt()),
    })
}

impl Followed {
    /// The nodes that are seen, fitted with another shape.
    fn refitted(&self, profile: &Profile) -> Vec<Node> {
        let again = |(j, n): (usize, &Node)| match n.seen {
            Seen::Yes => Node {
                seen: n.seen,
                ..node(&self.band, j, profile, n.offset)
            },
            _ => *n,
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
    let profile = Profile::of(shape, Belief::usual());
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
