//! The levels inside and outside along an outline, as smooth as the picture allows.
//!
//! ```text
//! outer(phi) = sum over k of a_k cos k phi + b_k sin k phi         inner(phi, d) = the same + slope d
//! ```
//! `phi` runs once round with the nodes. Each further term must explain more than chance would, so an even light
//! costs no precision; nodes that stray from the smooth levels are marked odd.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `d` | distance from the border, negative inside | px |
//!
//! Source: least squares \[GolubVanLoan2013\] section 5.3, number of terms by \[Schwarz1978\]. Levels are over the light of the scene.

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
}

/// Harmonics of the levels along the outline, at most.
const HARMONICS: usize = 6;

impl Sides {
    /// The level inside at node `j`, distance `d` (negative inside; not extrapolated outward).
    #[inline]
    pub fn inner(&self, j: usize, d: f64) -> f64 {
        self.inner_at_edge[j] + self.inner_slope * d.min(0.0)
    }

    /// The levels of a strip whose edge has about the given width; `None` when one side is not seen.
    pub fn of(strip: &Strip, width: f64) -> Option<Self> {
        let away = (3.5 * width).min(0.75 * strip.reach);
        let outer = side(strip, away, 1.0)?;
        let inner = side(strip, away, -1.0)?;
        let odd = outer.odd.iter().zip(&inner.odd).map(|(a, b)| *a || *b).collect();
        Some(Self {
            outer: outer.level,
            inner_at_edge: inner.level,
            inner_slope: inner.slope,
            odd,
        })
    }
}

struct Side {
    level: Vec<f64>,
    slope: f64,
    odd: Vec<bool>,
}

fn basis(phi: f64, depth: f64) -> Vec<f64> {
    let mut basis = vec![1.0, depth];
    for k in 1..=HARMONICS {
        let (sin, cos) = (k as f64 * phi).sin_cos();
        basis.extend([cos, sin]);
    }
    basis
}

/// Means of a node on one side, `away` from the edge and further: near half and far half.
fn means(strip: &Strip, j: usize, away: f64, sign: f64) -> [(f64, f64, f64); 2] {
    let mut halves = [(0.0, 0.0, 0.0); 2];
    let middle = (away + strip.reach) / 2.0;
    for s in strip.of(j).iter().filter(|s| s.distance * sign > away) {
        let half = &mut halves[usize::from(s.distance * sign > middle)];
        *half = (half.0 + 1.0, half.1 + s.ratio, half.2 + s.distance);
    }
    halves.map(|(n, sum, d)| {
        if n > 0.0 {
            (n, sum / n, d / n)
        } else {
            (0.0, 0.0, 0.0)
        }
    })
}

fn side(strip: &Strip, away: f64, sign: f64) -> Option<Side> {
    let sloped = sign < 0.0;
    let count = strip.count();
    let nodes: Vec<[(f64, f64, f64); 2]> = (0..count).map(|j| means(strip, j, away, sign)).collect();
    let phi = |j: usize| 2.0 * PI * j as f64 / count as f64;
    let mut keep = vec![true; count];
    let (mut terms, mut scatter) = (vec![middle_level(&nodes)?, 0.0], f64::INFINITY);
    for _ in 0..4 {
        let mut sums = NormalEquations::new(2 + 2 * HARMONICS);
        for j in (0..count).filter(|j| keep[*j]) {
            for (n, mean, d) in nodes[j].iter().filter(|m| m.0 > 0.0) {
                sums.add(&basis(phi(j), if sloped { *d } else { 0.0 }), *n, *mean);
            }
            if !sloped {
                // The unused slope is pinned to nil so that the equations stay determined.
                let mut pin = vec![0.0; 2 + 2 * HARMONICS];
                pin[1] = 1.0;
                sums.add(&pin, 1.0, 0.0);
            }
        }
        let Some(fit) = sums.factored() else { break };
        let used = keep.iter().filter(|k| **k).count() as f64 * 2.0;
        terms = chosen(&fit, sums.squares(), used);
        let off: Vec<f64> = (0..count)
            .map(|j| stray(&nodes[j], &terms, phi(j), sloped))
            .collect();
        let mut sorted: Vec<f64> = off.iter().copied().filter(|v| v.is_finite()).collect();
        sorted.sort_by(f64::total_cmp);
        scatter = 1.4826 * sorted.get(sorted.len() / 2)?;
        for j in 0..count {
            keep[j] = off[j].is_finite() && off[j] < 4.0 * scatter.max(1e-9);
        }
    }
    let level = (0..count).map(|j| value(&terms, phi(j), 0.0)).collect();
    let odd = (0..count)
        .map(|j| {
            let off = stray(&nodes[j], &terms, phi(j), sloped);
            off.is_finite() && off > (6.0 * scatter).max(0.02)
        })
        .collect();
    Some(Side {
        level,
        slope: terms[1],
        odd,
    })
}

fn middle_level(nodes: &[[(f64, f64, f64); 2]]) -> Option<f64> {
    let mut all: Vec<f64> = nodes
        .iter()
        .flatten()
        .filter(|m| m.0 > 0.0)
        .map(|m| m.1)
        .collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied()
}

/// Terms up to the last that explains more than chance.
fn chosen(fit: &tremolet_shape::normal_equations::Factored, squares: f64, count: f64) -> Vec<f64> {
    let z = fit.explained();
    let left = squares - z.iter().map(|z| z * z).sum::<f64>();
    let bar = 2.0 * count.ln() * left.max(0.0) / (count - z.len() as f64).max(1.0);
    let last = (0..z.len()).rfind(|k| z[*k] * z[*k] > bar).unwrap_or(0);
    let mut terms = fit.solution(last + 1);
    terms.resize(terms.len().max(2), 0.0);
    terms
}

fn value(terms: &[f64], phi: f64, depth: f64) -> f64 {
    basis(phi, depth).iter().zip(terms).map(|(b, t)| b * t).sum()
}

/// How far a node's own mean is from the smooth level; not finite where it has none.
fn stray(halves: &[(f64, f64, f64); 2], terms: &[f64], phi: f64, sloped: bool) -> f64 {
    let (mut off, mut n) = (0.0, 0.0);
    for (count, mean, d) in halves.iter().filter(|m| m.0 > 0.0) {
        off += count * (mean - value(terms, phi, if sloped { *d } else { 0.0 }));
        n += count;
    }
    (off / n).abs()
}
