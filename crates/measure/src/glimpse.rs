//! What was just seen, for somebody who watches while a clip is measured. Not what is found in the end: the axis is not yet known, and nothing is
//! corrected.
//!
//! ```text
//! r(phi) = r0 + A_2 cos 2 phi + B_2 sin 2 phi + ..
//! ```
//!
//! Lengths in px; `phi` in rad from image-up.

use crate::sighting::Sighting;

/// Points of an outline that are enough for the eye.
const POINTS: usize = 72;

/// The largest body of a frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Glimpse {
    /// Place in the clip.
    pub frame: u64,
    /// `[A_2, B_2]` over its mean radius, where a centre sees the whole outline: twice the mean of it in time is how far it swings.
    pub second: Option<[f64; 2]>,
    /// Outlines of all bodies, thinned; only for the last frame of a batch.
    pub outlines: Vec<Vec<[f32; 2]>>,
}

/// One glimpse for each frame of a batch that shows a body.
pub fn glimpses(batch: &[Vec<Sighting>]) -> Vec<Glimpse> {
    let last = batch.iter().rposition(|seen| !seen.is_empty());
    let of = |(place, seen): (usize, &Vec<Sighting>)| {
        let largest = seen.iter().max_by(|a, b| a.size.total_cmp(&b.size))?;
        let shown = if Some(place) == last { &seen[..] } else { &[] };
        Some(Glimpse {
            frame: largest.frame,
            second: second(largest),
            outlines: shown.iter().map(thinned).collect(),
        })
    };
    batch.iter().enumerate().filter_map(of).collect()
}

fn second(seen: &Sighting) -> Option<[f64; 2]> {
    let harmonics = seen.harmonics.as_ref()?;
    let mean = harmonics.cosine.first()?;
    Some([harmonics.cosine.get(2)? / mean, harmonics.sine.get(2)? / mean])
}

fn thinned(seen: &Sighting) -> Vec<[f32; 2]> {
    let points = seen.outline.get();
    let step = points.len().div_ceil(POINTS).max(1);
    points.iter().step_by(step).map(|[x, y, _]| [*x, *y]).collect()
}
