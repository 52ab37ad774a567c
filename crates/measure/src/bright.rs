//! The one bright body of a cluttered clip, batch by batch: where it was last, and the rim that all its frames share.
//!
//! The rim's shape comes from the first batch in which a body is found, and is kept: so the edge is found the same way in
//! every frame, and what the shape leaves open is one uncertainty of the whole clip. The body is looked for where it was
//! last; where it is not there, in the whole picture. Batches are the same whatever the number of threads.
//!
//! A view without the body makes what lies behind even, for the search and for the levels outside the rim. It is left out
//! where it has moved, shows something else or makes the residuals at the rim larger.
//!
//! Lengths in px. Source: see [`crate::ring`] and [`crate::rim`]. Finds one body.

use crate::bright::behind::Behind;
use crate::edge::View;
use crate::grid::Grid;
use crate::locate::Coarse;
use crate::measured::Lighting;
use crate::rim::{Followed, Rim, followed, refine_rim, rim_of_clip};
use crate::ring::{Near, locate_ring, ring_near};
use crate::scene::{Background, Scene};
use crate::settings::{Rect, Settings};
use crate::track::{Sighting, longest_disturbed, sighted};
use rayon::prelude::*;
use tremolet_clip::frame::{Frame, Plane};

pub mod behind;

/// Longest run of the rim that may be lost, share of the outline, before something is said to touch the body. Chosen: a thing
/// behind the body that ends at its rim hides a tenth at most in painted clips. A thin holder cannot be told from clutter.
const HELD_SHARE: f64 = 0.15;

/// Residual variance with the view without the body, over that without it, above which that view is wrong: its noise, softened,
/// adds a seventh to the noise of a pixel where there is nothing to explain.
const WORSE: f64 = 1.15;

/// Cells are made smaller until a body has at least this radius in them.
const FINE_CELLS: f64 = 24.0;

/// What is known of the body before the next batch.
#[derive(Debug, Clone)]
pub struct Bright {
    rim: Option<Rim>,
    near: Option<Near>,
    empty: Option<Behind>,
    doubt: Option<String>,
}

impl Bright {
    /// Nothing but the view without the body, where the caller gave it.
    pub fn of(settings: &Settings) -> Self {
        Self {
            rim: None,
            near: None,
            empty: settings.empty.as_ref().map(Behind::of),
            doubt: None,
        }
    }

    /// Looks for the rim in a batch unless it is known already; nothing in a back-lit scene.
    pub fn look(&mut self, batch: &[Frame], scene: &Scene, settings: &Settings) {
        if self.rim.is_some() || scene.lighting != Lighting::Cluttered {
            return;
        }
        let mut sample = self.sample(batch, scene, settings, None);
        if let Some(behind) = self.empty.take() {
            let with = self.sample(batch, scene, settings, Some(&behind));
            self.doubt = doubt(&behind, &with, &sample, batch, settings);
            if self.doubt.is_none() {
                sample = with;
                self.empty = Some(behind);
            }
        }
        self.near = sample.first().map(|s| s.1.near());
        let sample: Vec<Followed> = sample.into_iter().map(|s| s.1).collect();
        self.rim = rim_of_clip(&sample);
    }

    /// The rim followed in the frames of a batch, later ones where the first had it.
    fn sample(
        &self,
        batch: &[Frame],
        scene: &Scene,
        settings: &Settings,
        behind: Option<&Behind>,
    ) -> Vec<(usize, Followed)> {
        let seen = |frame: &Frame, near: Option<Near>| {
            Sight::of(frame, scene, settings, behind).found(near, |view, empty, coarse| {
                followed(view, empty, coarse, None).filter(Followed::holds)
            })
        };
        let first = |(i, frame)| Some((i, seen(frame, None)?));
        let Some((first, start)) = batch.iter().enumerate().find_map(first) else {
            return Vec::new();
        };
        let near = Some(start.near());
        let rest = (first + 1..batch.len()).into_par_iter();
        let rest: Vec<(usize, Followed)> = rest.filter_map(|i| Some((i, seen(&batch[i], near)?))).collect();
        std::iter::once((first, start)).chain(rest).collect()
    }

    /// Why the view without the body is not used.
    pub fn doubt(&self) -> Option<&str> {
        self.doubt.as_deref()
    }

    /// The body in one frame.
    pub fn sighting(&self, frame: &Frame, scene: &Scene, settings: &Settings) -> Option<Sighting> {
        let rim = self.rim.as_ref()?;
        let sight = Sight::of(frame, scene, settings, self.empty.as_ref());
        let edge = sight.found(self.near, |view, empty, coarse| {
            refine_rim(view, empty, coarse, rim)
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

/// What speaks against the view without the body: the frames around the body, or larger residuals at its rim.
fn doubt(
    behind: &Behind,
    with: &[(usize, Followed)],
    plain: &[(usize, Followed)],
    batch: &[Frame],
    settings: &Settings,
) -> Option<String> {
    let middle = |sample: &[(usize, Followed)]| {
        let mut all: Vec<f64> = sample.iter().map(|s| s.1.misfit()).collect();
        all.sort_by(f64::total_cmp);
        all.get(all.len() / 2).copied()
    };
    let around = plain
        .first()
        .or(with.first())
        .and_then(|(i, f)| behind.doubt(&batch[*i].plane, f.near(), &settings.masks));
    let larger = || {
        let (with, plain) = (middle(with), middle(plain)?);
        match with {
            None => Some("no rim is found with it".to_owned()),
            Some(with) if with > WORSE * plain => {
                let times = (with / plain).sqrt();
                Some(format!(
                    "residuals at the rim are {times:.2} times as large with it"
                ))
            }
            _ => None,
        }
    };
    let why = around.or_else(larger)?;
    Some(format!("the view without the body is not used: {why}"))
}

/// A frame as it is looked at: levels over its mean, and beside it what lies behind.
struct Sight<'a> {
    frame: &'a Plane,
    behind: Option<&'a Behind>,
    masks: &'a [Rect],
    grid: Grid,
    light: Background,
    light_behind: Background,
}

fn mean(grid: &Grid) -> f64 {
    let sum: f64 = grid.values.iter().map(|v| f64::from(*v)).sum();
    (sum / grid.values.len().max(1) as f64).max(1e-9)
}

impl<'a> Sight<'a> {
    fn of(frame: &'a Frame, scene: &Scene, settings: &'a Settings, behind: Option<&'a Behind>) -> Self {
        let grid = Grid::of(&frame.plane);
        Self {
            frame: &frame.plane,
            behind,
            masks: &settings.masks,
            light: scene.background.flat(mean(&grid)),
            light_behind: scene.background.flat(behind.map_or(1.0, |b| mean(&b.grid))),
            grid,
        }
    }

    fn view<'b>(&'b self, plane: &'b Plane, light: &'b Background) -> View<'b> {
        View {
            plane,
            background: light,
            masks: self.masks,
            cuts: &[],
            guard: 0.0,
        }
    }

    /// What `find` makes of the body: where it was last, else anywhere.
    fn found<T>(
        &self,
        near: Option<Near>,
        find: impl Fn(&View<'_>, Option<&View<'_>>, &Coarse) -> Option<T>,
    ) -> Option<T> {
        let view = self.view(self.frame, &self.light);
        let behind = self.behind.map(|b| self.view(&b.plane, &self.light_behind));
        let find = |coarse: &Coarse| find(&view, behind.as_ref(), coarse);
        let grid = self.over_behind(self.grid.size);
        let there = near.and_then(|near| find(&self.finer(ring_near(&grid, near)?)));
        there.or_else(|| find(&self.finer(locate_ring(&grid, self.masks)?)))
    }

    /// A small ring found again in smaller cells, where it is there too.
    fn finer(&self, mut coarse: Coarse) -> Coarse {
        while coarse.cell_px >= 2.0 && coarse.near().radius < FINE_CELLS * coarse.cell_px {
            let grid = self.over_behind(coarse.cell_px as usize / 2);
            match ring_near(&grid, coarse.near()) {
                Some(finer) => coarse = finer,
                None => break,
            }
        }
        coarse
    }

    /// Cells of `size` px over those without the body, so that what lies behind is even.
    fn over_behind(&self, size: usize) -> Grid {
        let mut grid = Grid::with(self.frame, size);
        if let Some(behind) = self.behind {
            let scale = mean(&grid) as f32;
            for (cell, empty) in grid
                .values
                .iter_mut()
                .zip(&Grid::with(&behind.plane, size).values)
            {
                *cell *= scale / empty.max(1.0);
            }
        }
        grid
    }
}
