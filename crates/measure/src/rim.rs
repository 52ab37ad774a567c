//! The edge of a body with a dark rim to a small part of a pixel, with its uncertainty.
//!
//! At each node of the border, with `z = (d - delta) / s`,
//!
//! ```text
//! level(d) = Phi(z) (o_0 + o_1 d) + (1 - Phi(z)) i_0 + i_1 shade(d - delta)
//! u(delta)^2 = variance / sum (part of d level / d delta that the levels cannot imitate)^2
//! ```
//! The widths of blur and rim are one for the whole outline; nodes whose residuals are out of proportion or that disagree with their
//! neighbours are left out: glints, clutter that ends there.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `d` | outward from the border | px |
//! | `o_k`, `i_k` | levels outside, inside and of the rim's shade | codes over the mean |
//!
//! Source: separable least squares \[GolubVanLoan2013\] section 5.3. For rims darker than what is outside.

use crate::edge::border::Border;
use crate::edge::strip::{Node, Sample, Strip};
use crate::edge::{Edge, Seen, View, border, placed};
use crate::locate::Coarse;
use crate::ring::{CONFIDENCE, closed};

pub mod profile;
pub mod smooth;

use profile::{Profile, RimShape};
use smooth::smooth;

/// Pixels outside and inside that are fitted, beyond three widths of the blur.
const BEYOND: [f64; 2] = [3.5, 7.5];

/// Rounds after the first.
const LAST: usize = 4;
/// Typical uncertainty of a node, px, above which what was followed is no edge of a body.
const VAGUE: f64 = 0.09;

/// Refines the rim of a body; `None` when too little of it bears an edge.
pub fn refine_rim(view: &View<'_>, coarse: &Coarse) -> Option<Edge> {
    let start = Border::around(&coarse.border, 2.0 * coarse.cell_px)?;
    let mut border = traced(&start, view, 2.5 * coarse.cell_px + 3.0)?;
    border = border::climbed(&border, view, 3.0)?;
    let (mut shape, mut nodes) = (None, Vec::new());
    for round in 0..=LAST {
        let strip = Strip::along(&border, view, shape.map_or(1.5, |s: RimShape| s.blur))?;
        let better = better_shape(&strip, shape.unwrap_or_else(|| first_shape(&strip)));
        nodes = judged(&strip, &Profile::of(better));
        shape = Some(better);
        let offsets = without_strays(&border, &mut nodes);
        if round < LAST {
            border = border.moved(&offsets, 3.0)?;
        }
    }
    let width = shape?.blur;
    let seen = nodes.iter().filter(|n| n.seen == Seen::Yes).count() as f64;
    let in_view = nodes.iter().filter(|n| n.seen != Seen::OutOfView).count() as f64;
    (seen >= CONFIDENCE * in_view && typical(&nodes, |n| n.uncertainty) < VAGUE).then(|| Edge {
        points: placed(&border, &nodes, width),
        blur_px: width,
    })
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
fn without_strays(border: &Border, nodes: &mut [Node]) -> Vec<f64> {
    let Some(curve) = smooth(border, nodes) else {
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
fn typical(nodes: &[Node], of: impl Fn(&Node) -> f64) -> f64 {
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
fn judged(strip: &Strip, profile: &Profile) -> Vec<Node> {
    let mut nodes: Vec<Node> = (0..strip.count()).map(|j| node(strip, j, profile)).collect();
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

/// The fit at one node; its misfit is the residual variance.
fn node(strip: &Strip, j: usize, profile: &Profile) -> Node {
    let width = profile.shape.blur;
    let [outer, inner] = BEYOND.map(|b| 3.0 * width + b);
    let near = |s: &&Sample| s.distance <= outer && s.distance >= -inner;
    let samples: Vec<&Sample> = strip.of(j).iter().filter(near).collect();
    let (mut offset, mut last) = (0.0, None);
    for _ in 0..5 {
        last = projected(&samples, offset, profile);
        let Some(fit) = last else { break };
        offset =
            (offset + (fit.slope / fit.information).clamp(-width, width)).clamp(-3.0 * width, 3.0 * width);
    }
    let freedom = (samples.len() as f64 - 5.0).max(1.0);
    let lost = last.is_none_or(|f| f.contrast <= 0.0) || samples.len() < 12 || offset.abs() > 2.9 * width;
    let (misfit, information) = last.map_or((1.0, 1e-12), |f| (f.squares / freedom, f.information));
    Node {
        offset: if lost { 0.0 } else { offset },
        uncertainty: (misfit / information.max(1e-12)).sqrt(),
        misfit,
        seen: match (strip.in_view[j], lost) {
            (false, _) => Seen::OutOfView,
            (true, true) => Seen::Disturbed,
            (true, false) => Seen::Yes,
        },
    }
}

#[derive(Clone, Copy)]
struct Projected {
    slope: f64,
    information: f64,
    squares: f64,
    contrast: f64,
}

/// Linear fit of the levels at a given offset; what is left of the residual and of the slope by the offset.
fn projected(samples: &[&Sample], offset: f64, profile: &Profile) -> Option<Projected> {
    let (mut matrix, mut right) = ([[0.0; 4]; 4], [0.0; 4]);
    let known: Vec<([f64; 4], [f64; 4])> = samples
        .iter()
        .map(|s| profile.columns(s.distance, offset))
        .collect();
    for (s, (c, _)) in samples.iter().zip(&known) {
        for a in 0..4 {
            right[a] += c[a] * s.ratio;
            for b in 0..=a {
                matrix[a][b] += c[a] * c[b];
            }
        }
    }
    let factor = cholesky(matrix)?;
    let level = solved(&factor, right);
    let dot = |a: &[f64; 4], b: &[f64; 4]| (0..4).map(|k| a[k] * b[k]).sum::<f64>();
    let mut slopes = [0.0; 4];
    for (c, by_offset) in &known {
        let g = dot(by_offset, &level);
        (0..4).for_each(|a| slopes[a] += c[a] * g);
    }
    let share = solved(&factor, slopes);
    let (mut slope, mut information, mut squares) = (0.0, 0.0, 0.0);
    for (s, (c, by_offset)) in samples.iter().zip(&known) {
        let own = dot(by_offset, &level) - dot(c, &share);
        let off = s.ratio - dot(c, &level);
        slope += own * off;
        information += own * own;
        squares += off * off;
    }
    let contrast = level[0] + level[1] * offset - level[2] - level[3];
    (information > 0.0).then_some(Projected {
        slope,
        information,
        squares,
        contrast,
    })
}

fn cholesky(mut m: [[f64; 4]; 4]) -> Option<[[f64; 4]; 4]> {
    for a in 0..4 {
        for b in 0..=a {
            let sum: f64 = (0..b).map(|k| m[a][k] * m[b][k]).sum();
            let rest = m[a][b] - sum;
            m[a][b] = if a == b {
                if rest <= 1e-12 {
                    return None;
                }
                rest.sqrt()
            } else {
                rest / m[b][b]
            };
        }
    }
    Some(m)
}

fn solved(l: &[[f64; 4]; 4], mut v: [f64; 4]) -> [f64; 4] {
    for a in 0..4 {
        let sum: f64 = (0..a).map(|k| l[a][k] * v[k]).sum();
        v[a] = (v[a] - sum) / l[a][a];
    }
    for a in (0..4).rev() {
        let sum: f64 = (a + 1..4).map(|k| l[k][a] * v[k]).sum();
        v[a] = (v[a] - sum) / l[a][a];
    }
    v
}

/// Mean misfit of the best three quarters of every third node.
fn misfit(strip: &Strip, shape: RimShape) -> f64 {
    let profile = Profile::of(shape);
    let nodes = (0..strip.count()).step_by(3).map(|j| node(strip, j, &profile));
    let mut all: Vec<f64> = nodes
        .filter(|n| n.seen != Seen::OutOfView)
        .map(|n| n.misfit)
        .collect();
    all.sort_by(f64::total_cmp);
    let keep = (all.len() * 3 / 4).max(1);
    all.iter().take(keep).sum::<f64>() / keep as f64
}

/// The best of a coarse table of shapes, all darkest right at the edge and level there (power 2).
fn first_shape(strip: &Strip) -> RimShape {
    let mut best = (
        f64::INFINITY,
        RimShape {
            blur: 1.3,
            rim: 6.0,
            power: 2,
        },
    );
    for rim in [2.5, 4.0, 6.5, 10.0, 16.0] {
        let shape = RimShape { rim, ..best.1 };
        let off = misfit(strip, shape);
        if off < best.0 {
            best = (off, shape);
        }
    }
    best.1
}

/// The widths of blur and rim at the lowest misfit: a parabola through three for each.
fn better_shape(strip: &Strip, shape: RimShape) -> RimShape {
    let change = |of: &dyn Fn(f64) -> RimShape| {
        let [left, here, right] = [0.8, 1.0, 1.25].map(|f| misfit(strip, of(f)));
        let bend = left - 2.0 * here + right;
        let most = if bend > 0.0 {
            (left - right) / (2.0 * bend)
        } else {
            (left - right).signum()
        };
        1.25_f64.powf(most.clamp(-1.0, 1.0))
    };
    let blur = change(&|f| RimShape {
        blur: f * shape.blur,
        ..shape
    });
    let shape = RimShape {
        blur: (blur * shape.blur).clamp(0.5, 4.0),
        ..shape
    };
    let rim = change(&|f| RimShape {
        rim: f * shape.rim,
        ..shape
    });
    RimShape {
        rim: (rim * shape.rim).clamp(1.5, 40.0),
        ..shape
    }
}
