//! What is held of the levels at a node before its pixels speak, and how far pixels stray at each depth.
//!
//! ```text
//! misfit = sum_i (level_i - model_i)^2 / v(d_i) + sum_k l_k^2 / s_k^2
//! s_k^2 = mean over nodes of (l_k^2 + var l_k),   v(d) = sum r^2 / sum (1 - h)    at that depth
//! ```
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `l_k` | levels that are held near nil: slope outside, shade beyond the ratio, slope and bend inside | codes over the mean |
//! | `s_k` | their standard deviations over the nodes | the same |
//! | `v(d)` | variance of the residuals `r` at the distance `d` | the same, squared |
//! | `h` | leverage of a pixel: how much of it the fit follows | 1 |
//!
//! Both are learned from the clip: even surroundings hold the levels firmly, clutter leaves them free. What is refracted into
//! the body is sharper and brighter the deeper it lies, so pixels there weigh less. Source: expectation and maximisation
//! \[Dempster1977\]. One set of numbers for the whole outline.

use crate::rim::shape::Learned;

/// Levels of a node.
pub const LEVELS: usize = 6;
/// Depths at which the scatter of the residuals is kept, one px each, the first at `DEEPEST`.
pub const BINS: usize = 26;
const DEEPEST: f64 = -15.0;

/// See the module.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    /// Shade of the rim over the level inside.
    pub ratio: f64,
    /// Standard deviations over the nodes: slope outside, shade beyond the ratio, slope inside.
    pub spread: [f64; 4],
    /// Inverse standard deviation of the residuals by depth.
    pub(crate) weights: [f64; BINS],
}

/// The bin of a distance from the edge.
pub fn bin(distance: f64) -> usize {
    ((distance - DEEPEST).max(0.0) as usize).min(BINS - 1)
}

impl Belief {
    /// Before anything is seen.
    pub fn usual() -> Self {
        let mut weights = [50.0; BINS];
        for (k, w) in weights.iter_mut().enumerate() {
            if DEEPEST + (k as f64) < -4.0 {
                *w = 17.0;
            }
        }
        Self {
            ratio: 0.7,
            spread: [0.05, 0.3, 0.05, 0.01],
            weights,
        }
    }

    /// Root of the weight of a pixel.
    #[inline]
    pub fn weight(&self, distance: f64) -> f64 {
        self.weights[bin(distance)]
    }

    /// What the levels are held by.
    pub fn precisions(&self) -> [f64; LEVELS] {
        let [outside, shade, inside, bend] = self.spread.map(|s| s.powi(-2));
        [0.0, outside, 0.0, shade, inside, bend]
    }

    /// With what the nodes of some outlines say.
    #[must_use]
    pub fn after(self, learned: &Learned) -> Self {
        if learned.count < 30.0 {
            return self;
        }
        let spread = |k: usize, least: f64| (learned.squares[k] / learned.count).sqrt().max(least);
        let mut weights = self.weights;
        for (weight, [squares, count]) in weights.iter_mut().zip(learned.residuals) {
            if count > 30.0 {
                *weight = (squares / count).max(1e-6).sqrt().recip();
            }
        }
        Self {
            ratio: (learned.ratio[0] / learned.ratio[1].max(1e-9)).clamp(0.0, 1.5),
            spread: [spread(1, 1e-3), spread(3, 0.01), spread(4, 1e-3), spread(5, 1e-4)],
            weights,
        }
    }
}
