//! Frames that are worth showing, kept as they pass so that the clip need not be decoded again for them.
//!
//! ```text
//! e = Z_2 / Z_0,     furthest along psi : largest Re(e exp(-i psi)),     psi = 0, 90, 180, 270 deg
//! ```
//! A body that swings about a fixed axis moves `e` to and fro on a line, and both ends of the line are furthest along some of
//! the four directions whatever its slope. Kept are also the first and the last frame with a body.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `Z_k` | Fourier coefficients of the outline of the largest body, see [`tremolet_shape::symmetry`] | px |
//!
//! Source: elementary. Does not say which of the frames are shown; holds at most [`MOST`] of them.

use crate::sighting::Sighting;
use tremolet_clip::frame::Frame;

/// Directions of the elongation that are compared.
const DIRECTIONS: [[f64; 2]; 4] = [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]];

/// Most frames that are held.
pub const MOST: usize = DIRECTIONS.len() + 2;

/// What is known of a frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glance {
    /// Place in the clip.
    pub frame: u64,
    /// Elongation of the largest body, where it has one.
    pub elongation: Option<[f64; 2]>,
}

impl Glance {
    /// Of the bodies of a frame, largest first; `None` without any.
    pub fn of(sightings: &[Sighting]) -> Option<Self> {
        let body = sightings.first()?;
        let elongation = body.harmonics.as_ref();
        let elongation = elongation.filter(|h| h.cosine.len() > 2 && h.cosine[0] > 0.0);
        Some(Self {
            frame: body.frame,
            elongation: elongation.map(|h| [h.cosine[2], h.sine[2]].map(|z| z / h.cosine[0])),
        })
    }
}

/// The frames that are kept so far.
#[derive(Debug, Clone, Default)]
pub struct Views {
    first: Option<u64>,
    last: Option<u64>,
    furthest: [Option<(f64, u64)>; DIRECTIONS.len()],
    frames: Vec<Frame>,
}

impl Views {
    /// Takes what is worth it from the next frames, `glances` telling of those with a body.
    pub fn take(&mut self, frames: Vec<Frame>, glances: &[Glance]) {
        for glance in glances {
            self.first.get_or_insert(glance.frame);
            self.last = Some(glance.frame);
            let Some([a, b]) = glance.elongation else { continue };
            for (furthest, [u, v]) in self.furthest.iter_mut().zip(DIRECTIONS) {
                let along = a * u + b * v;
                if furthest.is_none_or(|(best, _)| along > best) {
                    *furthest = Some((along, glance.frame));
                }
            }
        }
        let ends = self.first.into_iter().chain(self.last);
        let wanted: Vec<u64> = ends.chain(self.furthest.iter().flatten().map(|f| f.1)).collect();
        self.frames.extend(frames);
        self.frames.retain(|frame| wanted.contains(&frame.index));
    }

    /// The frames, in order.
    pub fn into_frames(self) -> Vec<Frame> {
        self.frames
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_clip::frame::Plane;

    fn frame(index: u64) -> Frame {
        Frame {
            index,
            stamp: None,
            plane: Plane::eight(1, 1, vec![7]),
        }
    }

    /// A swing along a line of any slope, which dies away: its widest frame on either side is kept, and never many.
    #[test]
    fn both_ends_of_a_swing_and_of_the_clip_are_kept() {
        for slope in [0.0_f64, 0.4, 1.1, 2.5] {
            let swing = |k: u64| (-(k as f64) / 300.0).exp() * (k as f64 / 7.0).cos();
            let mut views = Views::default();
            for batch in 0..20_u64 {
                let frames = batch * 16..(batch + 1) * 16;
                let glance = |k: u64| Glance {
                    frame: k,
                    elongation: Some([0.02 + swing(k) * slope.cos(), 0.01 + swing(k) * slope.sin()]),
                };
                // No body in the first and last frames.
                let seen: Vec<Glance> = frames
                    .clone()
                    .filter(|k| (5..310).contains(k))
                    .map(glance)
                    .collect();
                views.take(frames.map(frame).collect(), &seen);
                assert!(views.frames.len() <= MOST);
            }
            let kept: Vec<u64> = views.into_frames().iter().map(|f| f.index).collect();
            let extreme = |sign: f64| {
                let by = |a: &u64, b: &u64| (sign * swing(*a)).total_cmp(&(sign * swing(*b)));
                (5..310).max_by(by).expect("some")
            };
            for due in [5, 309, extreme(1.0), extreme(-1.0)] {
                assert!(kept.contains(&due), "{due} of {kept:?} at {slope}");
            }
            assert!(kept.is_sorted());
        }
    }

    #[test]
    fn frames_without_a_body_are_not_kept() {
        let mut views = Views::default();
        views.take((0..16).map(frame).collect(), &[]);
        assert!(views.into_frames().is_empty());
        assert_eq!(Glance::of(&[]), None);
    }
}
