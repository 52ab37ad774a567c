//! The levels inside and outside along an outline, as smooth as the picture allows.
//!
//! ```text
//! outer(phi) = sum over k of a_k cos k phi + b_k sin k phi         inner(phi, d) = the same + slope d
//! ```
//! `phi` runs once round with the nodes. Each further term must explain more than chance would, so an even light
//! costs no precision; nodes that stray from the smooth levels are marked odd, and held where something dark reaches away
//! from the edge: a wire of a pixel takes little of an outline, but all the light along its length.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `d` | distance from the border, negative inside | px |
//!
//! Source: least squares \[GolubVanLoan2013\] section 5.3, number of terms by \[Schwarz1978\]. Levels are over the light of the scene.

use crate::edge::doubt::{self, Doubt};
use crate::edge::strip::Strip;
use std::f64::consts::PI;
use tremolet_shape::normal_equations::NormalEquations;

/// Levels on both sides of the outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Sides {
    /// Outside, node by node.
    pub outer: Vec<f64>,
    inner_at_edge: Vec<f64>,
    inner_slope: f64,
    /// Nodes whose own levels stray from the smooth ones.
    pub odd: Vec<bool>,
    /// Nodes from which something dark reaches away.
    pub held: Vec<bool>,
    /// What the levels leave open of the place of the edge; without the shape of the blur.
    pub doubt: Doubt,
}

/// Harmonics of the levels along the outline, at most.
const HARMONICS: usize = 6;

impl Sides {
    /// The level inside at node `j`, distance `d` (negative inside; not extrapolated outward).
    #[inline]
    pub fn inner(&self, j: usize, d: f64) -> f64 {
        self.inner_at_edge[j] + self.inner_slope * d.min(0.0)
    }

    /// Mean levels inside and outside at the edge.
    pub(crate) fn mean(&self) -> [f64; 2] {
        [mean(&self.inner_at_edge), mean(&self.outer)]
    }

    /// The levels of a strip whose edge has about the given width; `None` when one side is not seen.
    pub fn of(strip: &Strip, width: f64, spacing: f64) -> Option<Self> {
        let away = tremolet_optics::edge_limit::clear_of_edge(width, strip.reach);
        let bases = bases(strip.count());
        let [inner, outer] = means(strip, away);
        let beside = FRINGE / spacing;
        let none = vec![false; strip.count()];
        let mut outside = side(&outer, &bases, false, (&none, beside))?;
        let inner = side(&inner, &bases, true, (&outside.strays, beside))?;
        // What spoils one side spoils the other there.
        let more = |(a, b): (&bool, &bool)| *a && !*b;
        if inner.strays.iter().zip(&outside.strays).any(more) {
            outside = side(&outer, &bases, false, (&inner.strays, beside))?;
        }
        let outer = outside;
        let odd = outer.odd.iter().zip(&inner.odd).map(|(a, b)| *a || *b).collect();
        let contrast = (mean(&outer.level) - mean(&inner.level)).max(1e-9);
        let shift = |level: f64| doubt::shift(level / contrast, width);
        Some(Self {
            held: held(&outer, &inner, spacing),
            doubt: Doubt {
                levels_px: shift(outer.u_level.hypot(inner.u_level)),
                gradient_px: shift(outer.drift),
                mixed_px: doubt::shift(doubt::mixed(away, strip.reach, width), width),
                ..Doubt::default()
            },
            outer: outer.level,
            inner_at_edge: inner.level,
            inner_slope: inner.slope,
            odd,
        })
    }
}

/// What takes this share of the light between the body and its surroundings, near the edge and further out, holds or
/// touches the body. In clips of free drops coded with loss the worst place of a frame reached 0.015 (fine), 0.025 and 0.04
/// (very coarse); a dark wire of one pixel reached 0.12 and more.
const HELD: f64 = 0.08;
/// And it is this many times the scatter of the levels.
const CLEAR: f64 = 6.0;
/// Near and far part of a slanting thing lie at most so far apart along the outline, px.
const SLANT: f64 = 8.0;
/// Its blur spoils the edge so far to both sides, px.
const BESIDE: f64 = 6.0;

/// Nodes from which something dark reaches away through the outer side, and those beside them.
///
/// It is dark near the edge, and near and further out together twice as dark: where the border bends at its foot, the part
/// further out may face no node.
fn held(outer: &Side, inner: &Side, spacing: f64) -> Vec<bool> {
    let n = outer.level.len();
    let beside = |j: usize, length: f64| {
        let reach = ((length / spacing).ceil() as usize).min(n / 2);
        (0..=2 * reach).map(move |k| (j + n + k - reach) % n)
    };
    let through = |j: usize| {
        let bar = (HELD * (outer.level[j] - inner.level[j])).max(CLEAR * outer.scatter);
        let near = outer.short[j][0];
        near > bar && near + beside(j, SLANT).map(|k| outer.short[k][1]).fold(0.0, f64::max) > 2.0 * bar
    };
    let through: Vec<bool> = (0..n).map(through).collect();
    (0..n).map(|j| beside(j, BESIDE).any(|k| through[k])).collect()
}

struct Side {
    level: Vec<f64>,
    slope: f64,
    odd: Vec<bool>,
    /// Nodes whose level is spoilt, here or on the other side, or not seen.
    strays: Vec<bool>,
    /// How much light is missing in the near and the far half of each node, nil where they are not seen.
    short: Vec<[f64; 2]>,
    /// Standard deviation of the mean level of a node.
    scatter: f64,
    /// Standard uncertainty of the level at the edge, mean along the outline.
    u_level: f64,
    /// How far the level at the edge would be off if what the fit leaves of a slope went on to it.
    drift: f64,
}

const TERMS: usize = 2 + 2 * HARMONICS;

type Basis = [f64; TERMS];

/// The basis at every node, with depth nil.
fn bases(count: usize) -> Vec<Basis> {
    (0..count)
        .map(|j| {
            let (sin, cos) = (2.0 * PI * j as f64 / count as f64).sin_cos();
            let mut basis = [0.0; TERMS];
            basis[0] = 1.0;
            let (mut c, mut s) = (1.0, 0.0);
            for k in 1..=HARMONICS {
                (c, s) = (c * cos - s * sin, s * cos + c * sin);
                (basis[2 * k], basis[2 * k + 1]) = (c, s);
            }
            basis
        })
        .collect()
}

fn deep(basis: &Basis, depth: f64) -> Basis {
    let mut basis = *basis;
    basis[1] = depth;
    basis
}

/// Count, mean level and mean distance of the pixels in each half.
type Halves = [(f64, f64, f64); 2];

/// Means of every node inside and outside, `away` from the edge and further: near half and far half.
fn means(strip: &Strip, away: f64) -> [Vec<Halves>; 2] {
    let middle = (away + strip.reach) / 2.0;
    let mut sides = [
        Vec::with_capacity(strip.count()),
        Vec::with_capacity(strip.count()),
    ];
    for j in 0..strip.count() {
        let mut found: [Halves; 2] = [[(0.0, 0.0, 0.0); 2]; 2];
        for s in strip.of(j).iter().filter(|s| s.distance.abs() > away) {
            let side = &mut found[usize::from(s.distance > 0.0)];
            let half = &mut side[usize::from(s.distance.abs() > middle)];
            *half = (half.0 + 1.0, half.1 + s.ratio, half.2 + s.distance);
        }
        for (side, found) in sides.iter_mut().zip(found) {
            side.push(found.map(|(n, sum, d)| {
                if n > 0.0 {
                    (n, sum / n, d / n)
                } else {
                    (0.0, 0.0, 0.0)
                }
            }));
        }
    }
    sides
}

/// Fits of the levels, each to the nodes that agree with the one before; they settle in two or three.
const LOOPS: usize = 10;

/// A node that strays by so many scatters is not noise: what makes it stray has a fringe too faint to stray by itself, which would
/// lift the levels of the whole outline. It is given up over half as far again on both sides, and over this length at least, px.
const STRAYS: f64 = 6.0;
const FRINGE: f64 = 6.0;
/// Where fringes would take more of the outline than this share, it keeps them: levels drawn across so wide a gap are worse.
const SPARED: f64 = 0.3;

/// Nodes beside stretches that stray, and these stretches.
fn fringed(strays: &[bool], least: f64) -> Vec<bool> {
    let n = strays.len();
    let mut all = strays.to_vec();
    for start in (0..n).filter(|j| strays[*j] && !strays[(j + n - 1) % n]) {
        let length = (start..start + n).take_while(|j| strays[j % n]).count();
        let beside = ((length as f64 / 2.0).max(least).ceil() as usize).min(n / 4);
        (start + n - beside..start + n + length + beside).for_each(|j| all[j % n] = true);
    }
    all
}

/// The levels of one side; nodes of `spoilt` are no better than those that stray, `beside` is the least fringe, nodes.
fn side(nodes: &[Halves], bases: &[Basis], sloped: bool, (spoilt, beside): (&[bool], f64)) -> Option<Side> {
    let count = nodes.len();
    let (mut terms, mut scatter) = (vec![middle_level(nodes)?, 0.0], f64::INFINITY);
    let mut off = vec![f64::NAN; count];
    let (mut keep, mut strays, mut u_level) = (Vec::new(), Vec::new(), 0.0);
    // Begun at the middle level: a fit to everything would bend to what hides the light, and hardly let go of it.
    for round in 0..LOOPS {
        for j in 0..count {
            off[j] = stray(&nodes[j], &terms, &bases[j], sloped);
        }
        scatter = 1.4826 * middle(off.iter().copied().filter(|v| v.is_finite()).collect())?;
        let far = |(v, spoilt): (&f64, &bool)| *spoilt || v.is_nan() || *v > STRAYS * scatter.max(1e-9);
        strays = off.iter().zip(spoilt).map(far).collect();
        let fringe = fringed(&strays, beside);
        let spared = fringe.iter().filter(|f| **f).count() as f64 <= SPARED * count as f64;
        let near =
            |(v, fringe): (&f64, bool)| v.is_finite() && *v < 4.0 * scatter.max(1e-9) && !(fringe && spared);
        let now: Vec<bool> = off.iter().zip(fringe).map(near).collect();
        if round > 0 && now == keep {
            break;
        }
        keep = now;
        match smooth(nodes, bases, &keep, sloped) {
            Some(found) => (terms, u_level) = found,
            None => break,
        }
    }
    let bar = (6.0 * scatter).max(0.02);
    let short = |j: usize| {
        nodes[j].map(|(n, mean, d)| {
            if n > 0.0 {
                value(&terms, &bases[j], if sloped { d } else { 0.0 }) - mean
            } else {
                0.0
            }
        })
    };
    Some(Side {
        short: (0..count).map(short).collect(),
        scatter,
        u_level,
        drift: drift(nodes, &keep, &short),
        level: bases.iter().map(|b| value(&terms, b, 0.0)).collect(),
        slope: terms[1],
        odd: off.iter().map(|v| v.is_finite() && *v > bar).collect(),
        strays,
    })
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// The slope of what is left, over the nodes that are kept, times the mean distance; `short` is the fit less the mean.
fn drift(nodes: &[Halves], keep: &[bool], short: &dyn Fn(usize) -> [f64; 2]) -> f64 {
    let kept = (0..nodes.len()).filter(|j| keep[*j]);
    let halves: Vec<(f64, f64, f64)> = kept
        .flat_map(|j| [0, 1].map(|k| (nodes[j][k].0, nodes[j][k].2, -short(j)[k])))
        .filter(|half| half.0 > 0.0)
        .collect();
    let all: f64 = halves.iter().map(|h| h.0).sum();
    let middle = halves.iter().map(|h| h.0 * h.1).sum::<f64>() / all.max(1.0);
    let (sum, squares) = halves.iter().fold((0.0, 0.0), |(sum, squares), (n, d, left)| {
        (sum + n * left * (d - middle), squares + n * (d - middle).powi(2))
    });
    sum / squares.max(1e-9) * middle
}

/// The smooth levels through the nodes that are kept, and the standard uncertainty of their mean at the edge.
fn smooth(nodes: &[Halves], bases: &[Basis], keep: &[bool], sloped: bool) -> Option<(Vec<f64>, f64)> {
    let mut sums = NormalEquations::new(TERMS);
    for j in (0..nodes.len()).filter(|j| keep[*j]) {
        let [near, far] = nodes[j];
        if sloped {
            for (n, mean, d) in [near, far].into_iter().filter(|m| m.0 > 0.0) {
                sums.add(&deep(&bases[j], d), n, mean);
            }
        } else if near.0 + far.0 > 0.0 {
            let all = near.0 + far.0;
            sums.add(&bases[j], all, (near.0 * near.1 + far.0 * far.1) / all);
        }
    }
    if !sloped {
        // The unused slope is pinned to nil so that the equations stay determined.
        sums.add(&deep(&[0.0; TERMS], 1.0), 1.0, 0.0);
    }
    let used = keep.iter().filter(|k| **k).count() as f64 * if sloped { 2.0 } else { 1.0 };
    Some(chosen(&sums.factored()?, sums.squares(), used))
}

fn middle_level(nodes: &[Halves]) -> Option<f64> {
    middle(
        nodes
            .iter()
            .flatten()
            .filter(|m| m.0 > 0.0)
            .map(|m| m.1)
            .collect(),
    )
}

/// The middle one of some values, the upper of two.
pub(crate) fn middle(mut values: Vec<f64>) -> Option<f64> {
    let half = values.len() / 2;
    (!values.is_empty()).then(|| *values.select_nth_unstable_by(half, f64::total_cmp).1)
}

/// Terms up to the last that explains more than chance, and the standard uncertainty of the first.
fn chosen(fit: &tremolet_shape::normal_equations::Factored, squares: f64, count: f64) -> (Vec<f64>, f64) {
    let z = fit.explained();
    let left = squares - z.iter().map(|z| z * z).sum::<f64>();
    let variance = left.max(0.0) / (count - z.len() as f64).max(1.0);
    let bar = 2.0 * count.ln() * variance;
    let last = (0..z.len()).rfind(|k| z[*k] * z[*k] > bar).unwrap_or(0);
    let mut terms = fit.solution(last + 1);
    terms.resize(terms.len().max(2), 0.0);
    (terms, (variance * fit.covariance(last + 1)[0]).sqrt())
}

fn value(terms: &[f64], basis: &Basis, depth: f64) -> f64 {
    deep(basis, depth).iter().zip(terms).map(|(b, t)| b * t).sum()
}

/// How far a node's own mean is from the smooth level; not finite where it has none.
fn stray(halves: &Halves, terms: &[f64], basis: &Basis, sloped: bool) -> f64 {
    let (mut off, mut n) = (0.0, 0.0);
    for (count, mean, d) in halves.iter().filter(|m| m.0 > 0.0) {
        off += count * (mean - value(terms, basis, if sloped { *d } else { 0.0 }));
        n += count;
    }
    (off / n).abs()
}
