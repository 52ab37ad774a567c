//! The shape of the rim, one for a whole outline or a whole clip, from the pixels of many nodes.
//!
//! Levels and offset of every node are eliminated; what is left is a small system for the numbers of the shape:
//!
//! ```text
//! S = sum_j (C - B^T N^-1 B) / m_j,   g = sum_j (D^T r - B^T N^-1 A^T r) / m_j,   (S / f + P) step = g / f - P (now - prior)
//! f = mean over the shape of  (S^-1 (sum_arcs g_a g_a^T) S^-1) / S^-1
//! ```
//! | symbol | meaning |
//! |---|---|
//! | `A`, `D`, `r` | slopes by the unknowns of a node, by the shape; residuals |
//! | `N`, `B`, `C` | `A^T A`, `A^T D`, `D^T D` |
//! | `m_j` | residual variance of the node |
//! | `f` | how much more arcs of the outline scatter than their residuals say: clutter and texture are no noise |
//! | `P` | what is held of the shape before: level at the edge within a third of a rim's width |
//!
//! Source: block elimination \[GolubVanLoan2013\] section 5.3; scatter over groups \[White1980\].

use crate::edge::Seen;
use crate::edge::strip::Node;
use crate::rim::node::{Band, cholesky, dot, projected, solved};
use crate::rim::profile::{BEFORE, Profile, RimShape, SHAPE};
use crate::rim::typical;

/// Arcs of the outline whose scatter is compared.
pub const ARCS: usize = 12;
type Square = [[f64; SHAPE]; SHAPE];

/// What the nodes of an outline say of the shape.
#[derive(Debug, Clone)]
pub struct Votes {
    system: Square,
    arcs: [[f64; SHAPE]; ARCS],
    /// Mean change of the offset with the shape, and nodes.
    by_shape: [f64; SHAPE],
    weight: f64,
}

impl Votes {
    /// None yet.
    pub fn none() -> Self {
        Self {
            system: [[0.0; SHAPE]; SHAPE],
            arcs: [[0.0; SHAPE]; ARCS],
            by_shape: [0.0; SHAPE],
            weight: 0.0,
        }
    }

    /// Adds every node of an outline that is seen.
    pub fn add(&mut self, band: &Band, nodes: &[Node], profile: &Profile) {
        let typical = typical(nodes, |n| n.misfit);
        for (j, n) in nodes.iter().enumerate().filter(|(_, n)| n.seen == Seen::Yes) {
            let Some((system, slope, by_shape)) = one(band, j, n.offset, profile) else {
                continue;
            };
            let share = 1.0 / n.misfit.max(typical);
            let sure = 1.0 / n.uncertainty.powi(2).max(1e-6);
            for a in 0..SHAPE {
                self.arcs[j * ARCS / nodes.len()][a] += share * slope[a];
                self.by_shape[a] += sure * by_shape[a];
                (0..SHAPE).for_each(|b| self.system[a][b] += share * system[a][b]);
            }
            self.weight += sure;
        }
    }

    /// The better shape with only the first `free` numbers changed, and the standard uncertainty of the edge, px, that comes
    /// with it; `None` when nothing is determined.
    pub fn better(&self, shape: RimShape, free: usize) -> Option<(RimShape, f64)> {
        let now = [shape.slope, shape.flat, shape.apart];
        let mut slope = [0.0; SHAPE];
        for arc in &self.arcs {
            (0..free).for_each(|a| slope[a] += arc[a]);
        }
        let excess = self.excess(free, &slope)?;
        let system = with_before(self.system.map(|row| row.map(|v| v / excess)), free);
        let mut right = slope.map(|s| s / excess);
        for (a, [before, u]) in (2..free).zip(BEFORE) {
            right[a] -= (now[a - 2] - before) * u.powi(-2);
        }
        let factor = cholesky(system)?;
        let mut by = self.by_shape.map(|b| b / self.weight);
        by[free..].fill(0.0);
        let spread = solved(&factor, by);
        let variance: f64 = (0..SHAPE).map(|a| by[a] * spread[a]).sum();
        Some((shape.stepped(solved(&factor, right)), variance.max(0.0).sqrt()))
    }

    /// How much more the arcs scatter than the residuals say, at least once.
    fn excess(&self, free: usize, sum: &[f64; SHAPE]) -> Option<f64> {
        let factor = cholesky(with_before(self.system, free))?;
        let arcs = ARCS as f64;
        let apart = self.arcs.iter().map(|arc| {
            let mut off = [0.0; SHAPE];
            (0..free).for_each(|a| off[a] = arc[a] - sum[a] / arcs);
            let moved = solved(&factor, off);
            (0..free).map(|a| off[a] * moved[a]).sum::<f64>()
        });
        Some((apart.sum::<f64>() * arcs / ((arcs - 1.0) * free as f64)).max(1.0))
    }
}

/// The system with what is held before, and with the numbers from `free` on fixed.
fn with_before(mut m: Square, free: usize) -> Square {
    for (a, [_, u]) in (2..free).zip(BEFORE) {
        m[a][a] += u.powi(-2);
    }
    for (a, row) in m.iter_mut().enumerate() {
        for (b, v) in row.iter_mut().enumerate().filter(|(b, _)| a.max(*b) >= free) {
            *v = if a == b { 1.0 } else { 0.0 };
        }
    }
    m
}

/// The levels of the columns where the view behind is not even.
fn with_empty(levels: [f64; 4], empty: f64) -> [f64; 4] {
    [levels[0] * empty, levels[1] * empty, levels[2], levels[3]]
}

/// Reduced system, reduced slope, and change of the offset with the shape, of one node.
fn one(
    band: &Band,
    j: usize,
    offset: f64,
    profile: &Profile,
) -> Option<(Square, [f64; SHAPE], [f64; SHAPE])> {
    let levels = projected(band.of(j, profile), offset, profile)?.levels;
    let (mut own, mut cross, mut shape) = ([[0.0; 5]; 5], [[0.0; 5]; SHAPE], [[0.0; SHAPE]; SHAPE]);
    let (mut own_right, mut right) = ([0.0; 5], [0.0; SHAPE]);
    for s in band.of(j, profile) {
        let (c, by_offset) = profile.columns(s.distance, offset, s.empty);
        let a = [c[0], c[1], c[2], c[3], dot(&by_offset, &levels)];
        let d = profile.by_shape(s.distance, offset, &with_empty(levels, s.empty));
        let off = s.ratio - dot(&c, &levels);
        for p in 0..5 {
            own_right[p] += a[p] * off;
            (0..=p).for_each(|q| own[p][q] += a[p] * a[q]);
        }
        for p in 0..SHAPE {
            right[p] += d[p] * off;
            (0..5).for_each(|q| cross[p][q] += d[p] * a[q]);
            (0..SHAPE).for_each(|q| shape[p][q] += d[p] * d[q]);
        }
    }
    let factor = cholesky(own)?;
    let inner = |a: &[f64; 5], b: &[f64; 5]| (0..5).map(|k| a[k] * b[k]).sum::<f64>();
    let moved = cross.map(|row| solved(&factor, row));
    for p in 0..SHAPE {
        right[p] -= inner(&moved[p], &own_right);
        (0..SHAPE).for_each(|q| shape[p][q] -= inner(&moved[p], &cross[q]));
    }
    Some((shape, right, moved.map(|m| -m[4])))
}
