//! The one bright body of a cluttered clip, batch by batch: where it was last, and the rim that all its frames share.
//!
//! The rim's shape comes from the first batch in which a body is found, and is kept: so the edge is found the same way in
//! every frame, and what the shape leaves open is one uncertainty of the whole clip. The body is looked for where it was
//! last; where it is not there, in the whole picture. Batches are the same whatever the number of threads.
//!
//! Lengths in px. Source: see [`crate::ring`] and [`crate::rim`]. Finds one body.

use crate::edge::View;
use crate::grid::Grid;
use crate::locate::Coarse;
use crate::measured::Lighting;
use crate::rim::{Followed, Rim, followed, refine_rim, rim_of_clip};
use crate::ring::{Near, locate_ring};
use crate::scene::Scene;
use crate::settings::Settings;
use crate::track::{Sighting, longest_disturbed, sighted};
use rayon::prelude::*;
use tremolet_clip::frame::Frame;

/// Longest run of the rim that may be lost, share of the outline, before something is said to touch the body. Chosen: a thing
/// behind the body that ends at its rim hides a tenth at most in painted clips. A thin holder cannot be told from clutter.
const HELD_SHARE: f64 = 0.15;

/// What is known of the body before the next batch.
#[derive(Debug, Clone, Default)]
pub struct Bright {
    rim: Option<Rim>,
    near: Option<Near>,
}

impl Bright {
    /// Looks for the rim in a batch unless it is known already; nothing in a back-lit scene.
    pub fn look(&mut self, batch: &[Frame], scene: &Scene, settings: &Settings) {
        if self.rim.is_some() || scene.lighting != Lighting::Cluttered {
            return;
        }
        let seen = |frame: &Frame, near: Option<Near>| {
            found(frame, scene, settings, near, |view, coarse| {
                followed(view, coarse, None).filter(Followed::holds)
            })
        };
        let Some((first, start)) = batch
            .iter()
            .enumerate()
            .find_map(|(i, frame)| Some((i, seen(frame, None)?)))
        else {
            return;
        };
        self.near = Some(start.near());
        let rest = batch[first + 1..]
            .par_iter()
            .filter_map(|frame| seen(frame, self.near));
        let sample: Vec<Followed> = std::iter::once(start).chain(rest.collect::<Vec<_>>()).collect();
        self.rim = rim_of_clip(&sample);
    }

    /// The body in one frame.
    pub fn sighting(&self, frame: &Frame, scene: &Scene, settings: &Settings) -> Option<Sighting> {
        let rim = self.rim.as_ref()?;
        let edge = found(frame, scene, settings, self.near, |view, coarse| {
            refine_rim(view, coarse, rim)
        })?;
        let touched = longest_disturbed(&edge) as f64 > HELD_SHARE * edge.points.len() as f64;
        Some(Sighting {
            touched,
            ..sighted(frame.index, &edge)?
        })
    }

    /// Takes note of where the body was.
    pub fn follow(&mut self, sightings: &[Sighting]) {
        if let Some(s) = sightings.first().filter(|_| self.rim.is_some()) {
            self.near = Some(Near {
                centre: s.centre,
                radius: s.size,
            });
        }
    }

    /// Standard uncertainty of the edge that all frames share, px.
    pub fn u_edge(&self) -> f64 {
        self.rim.map_or(0.0, |rim| rim.u_edge)
    }
}

/// What `find` makes of the body in a frame; levels are taken over the mean of the frame.
fn found<T>(
    frame: &Frame,
    scene: &Scene,
    settings: &Settings,
    near: Option<Near>,
    find: impl Fn(&View<'_>, &Coarse) -> Option<T>,
) -> Option<T> {
    let grid = Grid::of(&frame.plane);
    let mean = grid.values.iter().map(|v| f64::from(*v)).sum::<f64>() / grid.values.len().max(1) as f64;
    let background = scene.background.flat(mean.max(1e-9));
    let view = View {
        plane: &frame.plane,
        background: &background,
        masks: &settings.masks,
        cuts: &[],
        guard: 0.0,
    };
    let there = near.and_then(|near| find(&view, &crate::ring::ring_near(&grid, near)?));
    there.or_else(|| find(&view, &locate_ring(&grid, &settings.masks)?))
}
