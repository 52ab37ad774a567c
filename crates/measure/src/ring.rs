//! A transparent body before clutter, coarsely: the closed dark rim that is seen along most directions from one centre.
//!
//! ```text
//! valley(r) = min( g(r + 2) - g(r), max g(r - 2 .. r - 6) - g(r) ) / g(r + 2)      held to 0 .. 0.5
//! path: sum_j valley(r_j) - bend sum_j |r_(j+1) - r_j| -> max,   r closed
//! ```
//! A candidate is a centre and a radius whose directions find a valley near that radius; the best few get a closed path
//! by dynamic programming, and the best path stands if enough directions support it.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `g` | level of a cell | camera codes |
//! | `r` | distance from the centre | cells |
//!
//! Source: dynamic programming \[Bellman1957\]. Finds one body, its radius 8 to 48 % of the picture's smaller side. Does
//! not place the edge: see [`crate::rim`].

use crate::grid::Grid;
use crate::locate::Coarse;
use crate::settings::Masks;
use std::f64::consts::TAU;

/// Directions from a candidate centre, and from the chosen one.
const FEW: usize = 32;
const MANY: usize = 96;
/// Candidates that get a path, and cells between candidate centres.
const CANDIDATES: usize = 6;
const APART: usize = 3;
/// Depth of a valley that supports a direction; share of directions that must support a body.
const SUPPORT: f32 = 0.12;
/// Share of the directions below which there is no body.
pub const CONFIDENCE: f64 = 0.6;
/// Cost of one cell of radius between neighbouring directions, and most cells.
const BEND: f32 = 0.06;
const MOST: isize = 3;

/// A place and a size in the picture, px.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Near {
    /// Centre.
    pub centre: [f64; 2],
    /// Mean radius.
    pub radius: f64,
}

impl Coarse {
    /// Middle and mean radius of the border.
    pub fn near(&self) -> Near {
        let count = self.border.len().max(1) as f64;
        let sum = self
            .border
            .iter()
            .fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
        let centre = sum.map(|s| s / count);
        let away = self
            .border
            .iter()
            .map(|p| (p[0] - centre[0]).hypot(p[1] - centre[1]));
        Near {
            centre,
            radius: away.sum::<f64>() / count,
        }
    }
}

/// The rim, looked for in the whole picture; `None` below [`CONFIDENCE`].
pub fn locate_ring(grid: &Grid, masks: Masks<'_>) -> Option<Coarse> {
    let mut best: Option<Path> = None;
    // Longer outlines are supported less easily by chance: the length that is supported decides.
    let length = |p: &Path| p.support() * p.mean();
    for [x, y, r] in candidates(grid, masks) {
        let Some(found) = settled(grid, [x, y], r) else {
            continue;
        };
        if best.as_ref().is_none_or(|b| length(&found) > length(b)) {
            best = Some(found);
        }
    }
    Some(best?.coarse(grid))
}

/// The rim near a place; `None` below [`CONFIDENCE`].
pub fn ring_near(grid: &Grid, near: Near) -> Option<Coarse> {
    let size = grid.size as f64;
    let centre = near.centre.map(|c| (c - (size - 1.0) / 2.0) / size);
    Some(settled(grid, centre, near.radius / size)?.coarse(grid))
}

/// The path about a centre, and again about its own middle; `None` below [`CONFIDENCE`].
fn settled(grid: &Grid, centre: [f64; 2], radius: f64) -> Option<Path> {
    let first = path(grid, centre, radius, 0.35)?;
    path(grid, first.middle(), first.mean(), 0.35).filter(|p| p.support() >= CONFIDENCE)
}

/// Depth of the dark valley at every whole radius along one direction; 0 outside the picture.
fn valleys(grid: &Grid, centre: [f64; 2], angle: f64, out: &mut Vec<f32>) {
    let (sin, cos) = angle.sin_cos();
    let reach = grid.width.min(grid.height) * 6 / 10;
    let level = |r: usize| {
        let (x, y) = (centre[0] + r as f64 * cos, centre[1] + r as f64 * sin);
        let (i, j) = (x.round(), y.round());
        let within = i >= 0.0 && j >= 0.0 && i < grid.width as f64 && j < grid.height as f64;
        within.then(|| grid.values[j as usize * grid.width + i as usize])
    };
    let levels: Vec<f32> = (0..reach + 2).map_while(level).collect();
    out.clear();
    out.resize(reach, 0.0);
    for r in 6..levels.len().saturating_sub(2) {
        let (outer, here) = (levels[r + 2], levels[r]);
        let inner = levels[r - 6..r - 1]
            .iter()
            .copied()
            .fold(f32::NEG_INFINITY, f32::max);
        out[r] = ((outer - here).min(inner - here) / outer.max(1.0)).clamp(0.0, 0.5);
    }
}

/// Centres and radii, cells, whose directions see a valley near the radius, best first and apart from each other.
fn candidates(grid: &Grid, masks: Masks<'_>) -> Vec<[f64; 3]> {
    let side = grid.width.min(grid.height) as f64;
    let radii: Vec<f64> = std::iter::successors(Some(0.08 * side), |r| Some(r * 1.12))
        .take_while(|r| *r <= 0.48 * side)
        .collect();
    let (mut found, mut ray) = (Vec::new(), Vec::new());
    for j in (APART..grid.height - APART).step_by(APART) {
        for i in (APART..grid.width - APART).step_by(APART) {
            let (x, y) = grid.place(i, j);
            if masks.hold(x, y) {
                continue;
            }
            let mut sums = vec![0.0_f32; radii.len()];
            for k in 0..FEW {
                valleys(grid, [i as f64, j as f64], TAU * k as f64 / FEW as f64, &mut ray);
                for (sum, r) in sums.iter_mut().zip(&radii) {
                    let (low, high) = ((r * 0.88) as usize, ((r * 1.12) as usize + 1).min(ray.len()));
                    let deepest = ray[low.min(high)..high].iter().copied().fold(0.0, f32::max);
                    *sum += deepest.min(0.25);
                }
            }
            found.extend(
                sums.iter()
                    .zip(&radii)
                    .map(|(s, r)| (*s, [i as f64, j as f64, *r])),
            );
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut apart: Vec<[f64; 3]> = Vec::new();
    for (_, c) in found {
        let near =
            |a: &[f64; 3]| (a[0] - c[0]).hypot(a[1] - c[1]) < 0.3 * a[2] && (a[2] / c[2]).ln().abs() < 0.3;
        if !apart.iter().any(near) {
            apart.push(c);
        }
        if apart.len() == CANDIDATES {
            break;
        }
    }
    apart
}

/// A closed path about a centre, cells.
struct Path {
    centre: [f64; 2],
    radii: Vec<usize>,
    depth: Vec<f32>,
}

impl Path {
    fn support(&self) -> f64 {
        self.depth.iter().filter(|d| **d > SUPPORT).count() as f64 / self.depth.len() as f64
    }

    fn place(&self, k: usize) -> [f64; 2] {
        let (sin, cos) = (TAU * k as f64 / self.radii.len() as f64).sin_cos();
        let r = self.radii[k] as f64;
        [self.centre[0] + r * cos, self.centre[1] + r * sin]
    }

    fn middle(&self) -> [f64; 2] {
        let n = self.radii.len();
        let sum = (0..n)
            .map(|k| self.place(k))
            .fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
        sum.map(|s| s / n as f64)
    }

    fn mean(&self) -> f64 {
        self.radii.iter().sum::<usize>() as f64 / self.radii.len() as f64
    }

    fn coarse(&self, grid: &Grid) -> Coarse {
        let (size, half) = (grid.size as f64, (grid.size as f64 - 1.0) / 2.0);
        let places: Vec<[f64; 2]> = (0..self.radii.len())
            .map(|k| self.place(k).map(|c| c * size + half))
            .collect();
        let area: f64 = self.radii.iter().map(|r| (*r as f64).powi(2)).sum::<f64>() * TAU
            / (2.0 * self.radii.len() as f64);
        Coarse {
            border: places,
            cells: area as usize,
            cell_px: size,
            touches_frame: false,
            cuts: Vec::new(),
            kin: Vec::new(),
        }
    }
}

/// The best closed path with radii within `share` of `radius`: dynamic programming, twice around so that it closes.
fn path(grid: &Grid, centre: [f64; 2], radius: f64, share: f64) -> Option<Path> {
    let low = ((radius * (1.0 - share)) as usize).max(6);
    let high = (radius * (1.0 + share)) as usize + 1;
    let mut rays = Vec::with_capacity(MANY);
    let mut ray = Vec::new();
    for k in 0..MANY {
        valleys(grid, centre, TAU * k as f64 / MANY as f64, &mut ray);
        rays.push(ray.get(low..high.min(ray.len()))?.to_vec());
    }
    let radii = closed(&rays)?;
    let depth = radii.iter().zip(&rays).map(|(r, ray)| ray[*r]).collect();
    Some(Path {
        centre,
        radii: radii.iter().map(|r| r + low).collect(),
        depth,
    })
}

/// The closed path of largest reward through `rays` of equal length: the middle turn of three.
pub fn closed(rays: &[Vec<f32>]) -> Option<Vec<usize>> {
    let (n, width) = (rays.len(), rays.first()?.len());
    if width < 3 {
        return None;
    }
    let mut total = vec![0.0_f32; width];
    let mut from: Vec<Vec<usize>> = Vec::with_capacity(3 * n);
    for k in 0..3 * n {
        let mut next = vec![0.0; width];
        let mut came = vec![0; width];
        for r in 0..width {
            let near = (-MOST..=MOST).filter_map(|d| {
                let before = r.checked_add_signed(d).filter(|b| *b < width)?;
                Some((before, total[before] - BEND * d.unsigned_abs() as f32))
            });
            let best = near.max_by(|a, b| a.1.total_cmp(&b.1))?;
            came[r] = best.0;
            next[r] = best.1 + rays[k % n][r];
        }
        total = next;
        from.push(came);
    }
    let mut at = (0..width).max_by(|a, b| total[*a].total_cmp(&total[*b]))?;
    let mut radii = vec![0; n];
    for k in (0..3 * n).rev() {
        if (n..2 * n).contains(&k) {
            radii[k - n] = at;
        }
        at = from[k][at];
    }
    Some(radii)
}
