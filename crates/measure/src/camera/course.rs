//! Slow changes of one body that a camera can make: of the width of its edge, and of its size.
//!
//! ```text
//! blocks of frames, each its mean;   change = largest - smallest,   real where it is more than SURE standard uncertainties of a mean
//! ```
//!
//! A focus that moves makes the edge wider or narrower, and as a rule the picture larger or smaller; a zoom, a way along the line of
//! sight and a loss of liquid change the size alone. Which of them it was a single view does not tell. Swings are shorter than a
//! block and do not count. Source: means, elementary.

use crate::measured::BodyTrack;

/// Blocks of a clip, and least frames of each.
const BLOCKS: usize = 8;
const LEAST: usize = 6;
/// Over the standard uncertainty of a block.
const SURE: f64 = 6.0;
/// Least changes, relative: of the width of the edge, of the radius.
const WIDTH: f64 = 0.08;
const RADIUS: f64 = 1e-3;

/// A slow change over the clip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Smallest and largest mean of a block.
    pub range: [f64; 2],
}

impl Change {
    /// Largest over smallest, less one.
    pub fn relative(&self) -> f64 {
        self.range[1] / self.range[0] - 1.0
    }
}

/// The slow change of the width of the edge, px.
pub fn of_width(track: &BodyTrack) -> Option<Change> {
    let all: Vec<f64> = whole(track).map(|s| s.blur_px).collect();
    change(&all, WIDTH)
}

/// The slow change of the volume-equivalent radius, px.
pub fn of_radius(track: &BodyTrack) -> Option<Change> {
    let all: Vec<f64> = whole(track).map(|s| s.equivalent_radius_px).collect();
    change(&all, RADIUS)
}

fn whole(track: &BodyTrack) -> impl Iterator<Item = &crate::measured::BodyShape> {
    let free = |s: &&crate::measured::BodyShape| s.star_shaped && !s.touched && !s.touches_frame;
    track.shapes.iter().filter(free)
}

fn change(all: &[f64], least: f64) -> Option<Change> {
    let length = all.len() / BLOCKS;
    if length < LEAST {
        return None;
    }
    let (mut low, mut high, mut noise) = (f64::INFINITY, f64::NEG_INFINITY, 0.0_f64);
    for block in all.chunks_exact(length).take(BLOCKS) {
        let count = block.len() as f64;
        let mean = block.iter().sum::<f64>() / count;
        let spread = block.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (count - 1.0);
        (low, high) = (low.min(mean), high.max(mean));
        noise = noise.max((spread / count).sqrt());
    }
    let range = [low, high];
    // Half of the scatter in a block is the change itself where it is steady: a block holds an eighth of it.
    let found = Change { range };
    (high - low > SURE * noise && found.relative() > least).then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn course(f: impl Fn(f64) -> f64) -> Vec<f64> {
        (0..200)
            .map(|k| f(f64::from(k) / 200.0) + 1e-3 * (f64::from(k * k) * 0.7).sin())
            .collect()
    }

    #[test]
    fn a_drift_is_seen_and_a_swing_is_not() {
        let drift = change(&course(|t| 1.2 + 0.3 * t), WIDTH).expect("a drift");
        assert!((drift.relative() - 0.2625 / 1.21875).abs() < 5e-3, "{drift:?}");
        assert_eq!(change(&course(|t| 1.2 + 0.3 * (60.0 * t).sin()), WIDTH), None);
        assert_eq!(change(&course(|_| 1.2), WIDTH), None);
        // One part in a thousand of a radius of 80 px.
        assert!(change(&course(|t| 80.0 + 0.16 * t), RADIUS).is_some());
        assert_eq!(change(&course(|t| 80.0 + 0.05 * t), RADIUS), None);
        assert_eq!(change(&[1.0; 20], WIDTH), None);
    }
}
