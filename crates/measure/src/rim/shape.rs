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
use crate::rim::belief::{BINS, Belief, LEVELS, bin};
use crate::rim::node::{Band, Pixel, cholesky, dot, projected, solved};
use crate::rim::profile::{BEFORE, Profile, RimShape, SHAPE};
use crate::rim::typical;

/// Arcs of the outline whose scatter is compared.
pub const ARCS: usize = 12;
/// Levels and offset.
const OWN: usize = LEVELS + 1;
type Square = [[f64; SHAPE]; SHAPE];

/// What the nodes of an outline say of the shape.
#[derive(Debug, Clone)]
pub struct Votes {
    system: Square,
    arcs: [[f64; SHAPE]; ARCS],
    /// Mean change of the offset with the shape, and nodes.
    by_shape: [f64; SHAPE],
    weight: f64,
    learned: Learned,
}

/// What the nodes say of levels and residuals.
#[derive(Debug, Clone, Default)]
pub struct Learned {
    /// Nodes.
    pub count: f64,
    /// Of shade times level inside, and of its square.
    pub ratio: [f64; 2],
    /// Squares of the held levels, with their variances.
    pub squares: [f64; LEVELS],
    /// Squared residuals, and pixels less what was fitted, by depth.
    pub residuals: [[f64; 2]; BINS],
}

/// A pixel: distance, slopes by levels and offset, residual, weight.
struct Row {
    distance: f64,
    slopes: [f64; OWN],
    off: f64,
    weight: f64,
}

impl Learned {
    /// Adds a node with these levels, the factor of its system and its pixels.
    fn add(
        &mut self,
        levels: &[f64; LEVELS],
        factor: &[[f64; OWN]; OWN],
        profile: &Profile,
        rows: impl Iterator<Item = Row>,
    ) {
        for row in rows {
            let pulled = solved(factor, row.slopes);
            let leverage: f64 = (0..OWN).map(|k| row.slopes[k] * pulled[k]).sum::<f64>() * row.weight;
            let here = &mut self.residuals[bin(row.distance)];
            here[0] += row.off * row.off;
            here[1] += (1.0 - leverage).max(0.05);
        }
        self.count += 1.0;
        self.ratio[0] += (profile.belief.ratio * levels[2] - levels[3]) * levels[2];
        self.ratio[1] += levels[2] * levels[2];
        for k in 0..LEVELS {
            let mut unit = [0.0; OWN];
            unit[k] = 1.0;
            self.squares[k] += levels[k] * levels[k] + solved(factor, unit)[k];
        }
    }
}

impl Votes {
    /// None yet.
    pub fn none() -> Self {
        Self {
            system: [[0.0; SHAPE]; SHAPE],
            arcs: [[0.0; SHAPE]; ARCS],
            by_shape: [0.0; SHAPE],
            weight: 0.0,
            learned: Learned::default(),
        }
    }

    /// Adds every node of an outline that is seen; what its levels and residuals say too, where `learn` is set.
    pub fn add(&mut self, band: &Band, nodes: &[Node], profile: &Profile, learn: bool) {
        let typical = typical(nodes, |n| n.misfit);
        for (j, n) in nodes.iter().enumerate().filter(|(_, n)| n.seen == Seen::Yes) {
            let learned = learn.then_some(&mut self.learned);
            let Some((system, slope, by_shape)) = one(band, j, n.offset, profile, learned) else {
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

    /// What is held of levels and residuals after these votes.
    pub fn belief(&self, before: Belief) -> Belief {
        before.after(&self.learned)
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

/// Reduced system, reduced slope, and change of the offset with the shape, of one node.
fn one(
    band: &Band,
    j: usize,
    offset: f64,
    profile: &Profile,
    learned: Option<&mut Learned>,
) -> Option<(Square, [f64; SHAPE], [f64; SHAPE])> {
    let pixels: Vec<Pixel> = band.of(j, profile).collect();
    let levels = projected(&pixels, offset, profile)?.levels;
    let (mut own, mut cross, mut shape) = ([[0.0; OWN]; OWN], [[0.0; OWN]; SHAPE], [[0.0; SHAPE]; SHAPE]);
    let (mut own_right, mut right) = ([0.0; OWN], [0.0; SHAPE]);
    let rows = |s: &Pixel| {
        let (c, by_offset) = profile.columns(s.distance, offset, s.empty);
        let mut a = [0.0; OWN];
        a[..LEVELS].copy_from_slice(&c);
        a[LEVELS] = dot(&by_offset, &levels);
        let weight = profile.belief.weight(s.distance).powi(2);
        Row {
            distance: s.distance,
            slopes: a,
            off: s.ratio - dot(&c, &levels),
            weight,
        }
    };
    for s in &pixels {
        let Row {
            slopes: a,
            off,
            weight,
            ..
        } = rows(s);
        let d = profile.by_shape(s.distance, offset, &levels, s.empty);
        for p in 0..OWN {
            own_right[p] += weight * a[p] * off;
            (0..=p).for_each(|q| own[p][q] += weight * a[p] * a[q]);
        }
        for p in 0..SHAPE {
            right[p] += weight * d[p] * off;
            (0..OWN).for_each(|q| cross[p][q] += weight * d[p] * a[q]);
            (0..SHAPE).for_each(|q| shape[p][q] += weight * d[p] * d[q]);
        }
    }
    for (k, precision) in profile.belief.precisions().into_iter().enumerate() {
        own[k][k] += precision;
        own_right[k] -= precision * levels[k];
    }
    let factor = cholesky(own)?;
    if let Some(learned) = learned {
        learned.add(&levels, &factor, profile, pixels.iter().map(rows));
    }
    let inner = |a: &[f64; OWN], b: &[f64; OWN]| (0..OWN).map(|k| a[k] * b[k]).sum::<f64>();
    let moved = cross.map(|row| solved(&factor, row));
    for p in 0..SHAPE {
        right[p] -= inner(&moved[p], &own_right);
        (0..SHAPE).for_each(|q| shape[p][q] -= inner(&moved[p], &cross[q]));
    }
    Some((shape, right, moved.map(|m| -m[LEVELS])))
}
