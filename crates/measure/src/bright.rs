//! The one bright body of a cluttered clip: found frame by frame, then fitted again in all frames with what lies behind.
//!
//! The rim's shape comes first from the first batch in which a body is found. The body is looked for where it was last; where
//! it is not there, in the whole picture. Of every frame the pixels near the rim are kept ([`cover`]), and what it shows of
//! the background is added up ([`uncovered`]). When all frames are through, or many are kept, the shape of the rim is judged
//! again over frames spread over them, and the rim is fitted again in each with the background known: so the edge is found the
//! same way in every frame, and what the shape leaves open is one uncertainty of the whole clip. A background that makes the
//! residuals at the rim larger is not used: it did not stand still. Batches are the same whatever the number of threads.
//!
//! A view without the body, where it is given, makes what lies behind even at first, and fills what is never uncovered. It is
//! left out where it has moved, shows something else or makes the residuals at the rim larger.
//!
//! Lengths in px. Source: see [`crate::ring`] and [`crate::rim`]. Finds one body.

use crate::aside::Shelf;
use crate::bright::behind::Behind;
use crate::bright::cover::{Belt, Cover};
use crate::bright::uncovered::{COVERED, Shown, UNIT, Uncovered};
use crate::edge::View;
use crate::grid::Grid;
use crate::locate::Coarse;
use crate::measured::Lighting;
use crate::rim::{Followed, Rim, again, followed, refine_rim, rim_of_clip};
use crate::ring::{Near, locate_ring, ring_near};
use crate::scene::{Background, Scene};
use crate::settings::{Masks, Settings};
use crate::sighting::{Sighting, longest_disturbed, sighted};
use rayon::prelude::*;
use std::sync::Arc;
use tremolet_clip::frame::{Frame, Plane};

pub mod behind;
pub mod cover;
pub mod holder;
pub mod uncovered;

/// Longest run of the rim that may be lost, share of the outline, before something is said to touch the body. Chosen: a thing
/// behind the body that ends at its rim hides a tenth at most in painted clips. A thin holder cannot be told from clutter.
const HELD_SHARE: f64 = 0.15;

/// Residual variance with the view without the body, over that without it, above which that view is wrong: its noise, softened,
/// adds a seventh to the noise of a pixel where there is nothing to explain.
const WORSE: f64 = 1.15;

/// Cells are made smaller until a body has at least this radius in them.
const FINE_CELLS: f64 = 24.0;

/// What is known of the body before the next batch.
#[derive(Clone)]
pub struct Bright {
    rim: Option<Rim>,
    near: Option<Near>,
    empty: Option<Behind>,
    doubt: Option<String>,
    uncovered: Option<Uncovered>,
    kept: Vec<Kept>,
    found: Vec<Sighting>,
    u_edge: f64,
    /// Something thin and dark ends at the rim.
    ends: bool,
    held: bool,
    shelf: Option<Arc<dyn Shelf>>,
}

/// What is kept of a frame until what lies behind is known.
#[derive(Debug, Clone)]
struct Kept {
    frame: u64,
    size: [usize; 2],
    /// Mean level of the frame.
    mean: f64,
    /// Places along the edge.
    places: Vec<[f64; 2]>,
    belt: Belt,
}

impl Bright {
    /// Nothing but the view without the body, where the caller gave it, and where outlines are put aside.
    pub fn of(settings: &Settings, shelf: Option<Arc<dyn Shelf>>) -> Self {
        Self {
            shelf,
            rim: None,
            near: None,
            empty: settings.empty.as_ref().map(Behind::of),
            doubt: None,
            uncovered: None,
            kept: Vec::new(),
            found: Vec::new(),
            u_edge: 0.0,
            ends: false,
            held: false,
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

    /// Looks for the body in the frames of a batch and keeps what is near its rim; the body as it looks at first in each.
    pub fn take(&mut self, batch: &[Frame], scene: &Scene, settings: &Settings) -> Vec<Vec<Sighting>> {
        let seen: Vec<Option<First>> = batch.par_iter().map(|f| self.kept(f, scene, settings)).collect();
        let looks = |first: &Option<First>| first.iter().map(|f| f.sighting.clone()).collect();
        let found = seen.iter().map(looks).collect();
        for first in seen.into_iter().flatten() {
            let [width, height] = first.kept.size;
            self.uncovered
                .get_or_insert_with(|| Uncovered::none(width, height))
                .add(&first.shown);
            self.near = Some(first.near);
            self.kept.push(first.kept);
        }
        let bytes: usize = self.kept.iter().map(|k| k.belt.bytes()).sum();
        if bytes > KEPT {
            self.settle(scene, settings);
        }
        found
    }

    /// The body in one frame, what is kept of it and what the frame shows of the background.
    fn kept(&self, frame: &Frame, scene: &Scene, settings: &Settings) -> Option<First> {
        let rim = self.rim.as_ref()?;
        let sight = Sight::of(frame, scene, settings, self.empty.as_ref());
        let found = sight.found(self.near, |view, empty, coarse| {
            refine_rim(view, empty, coarse, rim)
        })?;
        let mean = mean(&sight.grid);
        let border = found.border();
        let size = [frame.plane.width, frame.plane.height];
        let cover = Cover::of(&border.places, &border.normals)?;
        let shown = shown(&found, &cover, &frame.plane, mean);
        let kept = Kept {
            frame: frame.index,
            size,
            mean,
            places: cover.ahead().iter().map(|j| border.places[*j]).collect(),
            belt: Belt::of(&frame.plane, &cover, BELT),
        };
        Some(First {
            sighting: sighted(frame.index, &found.edge()?)?,
            near: found.near(),
            kept,
            shown,
        })
    }

    /// Fits the rim again in all frames that are kept, with what they show of the background.
    fn settle(&mut self, scene: &Scene, settings: &Settings) {
        let (Some(rim), Some(uncovered)) = (self.rim, &self.uncovered) else {
            return;
        };
        let kept = std::mem::take(&mut self.kept);
        let empty = self.empty.as_ref().map(|e| &e.plane);
        let behind = uncovered.view(|at| {
            let plane = empty?;
            Some(f64::from(behind::level(
                plane,
                at % plane.width,
                at / plane.width,
            )))
        });
        let light_behind = scene.background.flat(UNIT);
        let fit = |kept: &Kept, rim: &Rim, used: bool| {
            let plane = kept.belt.laid(kept.size[0], kept.size[1]);
            let light = scene.background.flat(kept.mean);
            let of = |plane, background| View {
                plane,
                background,
                masks: Masks::of(&settings.masks, kept.frame),
                cuts: &[],
                guard: 0.0,
            };
            again(
                &of(&plane, &light),
                used.then(|| of(&behind, &light_behind)).as_ref(),
                &kept.places,
                (rim.shape, rim.belief),
            )
            .filter(Followed::holds)
        };
        let stride = kept.len().div_ceil(JUDGES).max(1);
        let sample = |used: bool| -> Vec<Followed> {
            let those = (0..kept.len()).into_par_iter().step_by(stride);
            those.filter_map(|k| fit(&kept[k], &rim, used)).collect()
        };
        let (with, plain) = (sample(true), sample(false));
        let used = middle_misfit(&with)
            .is_some_and(|with| middle_misfit(&plain).is_none_or(|plain| with < WORSE * plain));
        let sample = if used { with } else { plain };
        let rim = rim_of_clip(&sample).unwrap_or(rim);
        let around = View {
            plane: &behind,
            background: &light_behind,
            masks: Masks::ever(&settings.masks),
            cuts: &[],
            guard: 0.0,
        };
        let middle = kept.get(kept.len() / 2);
        self.ends |= middle.is_some_and(|kept| holder::at_rim(&around, &kept.places));
        self.u_edge = self.u_edge.max(rim.u_edge);
        let all: Vec<Option<Sighting>> = kept
            .par_iter()
            .map(|k| {
                let edge = fit(k, &rim, used)?.edge()?;
                let touched = longest_disturbed(&edge) as f64 > HELD_SHARE * edge.points.len() as f64;
                Some(Sighting {
                    touched,
                    cluttered: true,
                    ..sighted(k.frame, &edge)?
                })
            })
            .collect();
        for mut sighting in all.into_iter().flatten() {
            if let Some(shelf) = &self.shelf {
                sighting.put_aside(shelf);
            }
            self.found.push(sighting);
        }
    }

    /// The body in all frames that have it.
    pub fn finished(&mut self, scene: &Scene, settings: &Settings) -> Vec<Sighting> {
        self.settle(scene, settings);
        let mut found = std::mem::take(&mut self.found);
        self.held = self.ends && holder::stays(&found);
        found.iter_mut().for_each(|s| s.touched |= self.held);
        found
    }

    /// Whether something may hold the body: see [`holder`].
    pub fn held(&self) -> bool {
        self.held
    }

    /// Standard uncertainty of the edge that all frames share, px.
    pub fn u_edge(&self) -> f64 {
        self.u_edge
    }
}

/// Bytes of pixels that are kept until the background is put together.
const KEPT: usize = 48 << 20;
/// Pixels are kept within this distance of the edge.
const BELT: f64 = 16.0;
/// Frames from which the rim is judged with the background.
const JUDGES: usize = 16;
/// The background is taken from pixels up to this far outside.
const AROUND: f64 = 24.0;

/// What a frame shows of the background near the body.
fn shown(found: &Followed, cover: &Cover, plane: &Plane, mean: f64) -> Vec<Shown> {
    let profile = found.profile();
    let levels = found.levels(&profile);
    let mut shown = Vec::new();
    cover.pixels([plane.width, plane.height], 3.0, AROUND, |x, y, d, j| {
        let at = y * plane.width + x;
        let level = f64::from(behind::level(plane, x, y)) / mean;
        let (covered, light) = match levels[j] {
            Some((offset, levels)) => profile.covered(d - offset, &levels),
            None if d > 6.0 => (0.0, 0.0),
            None => (1.0, 0.0),
        };
        if covered < COVERED {
            let free = 1.0 - covered;
            shown.push((at as u32, ((level - light) / free) as f32, (free * free) as f32));
        }
    });
    shown
}

/// The body in a frame before all frames are known.
struct First {
    sighting: Sighting,
    near: Near,
    kept: Kept,
    /// What the frame shows of the background.
    shown: Vec<Shown>,
}

/// What speaks against the view without the body: the frames around the body, or larger residuals at its rim.
fn doubt(
    behind: &Behind,
    with: &[(usize, Followed)],
    plain: &[(usize, Followed)],
    batch: &[Frame],
    settings: &Settings,
) -> Option<String> {
    let around = plain.first().or(with.first()).and_then(|(i, f)| {
        let masks = Masks::of(&settings.masks, batch[*i].index);
        behind.doubt(&batch[*i].plane, f.near(), masks)
    });
    let larger = || {
        let (with, plain) = (
            middle_misfit(with.iter().map(|s| &s.1)),
            middle_misfit(plain.iter().map(|s| &s.1))?,
        );
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

/// The residual variance of an ordinary frame.
fn middle_misfit<'a>(sample: impl IntoIterator<Item = &'a Followed>) -> Option<f64> {
    let mut all: Vec<f64> = sample.into_iter().map(Followed::misfit).collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied()
}

/// A frame as it is looked at: levels over its mean, and beside it what lies behind.
struct Sight<'a> {
    frame: &'a Plane,
    behind: Option<&'a Behind>,
    masks: Masks<'a>,
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
            masks: Masks::of(&settings.masks, frame.index),
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
