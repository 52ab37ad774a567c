//! The marks of a clip: chosen in the first frame away from the bodies, followed through the others.
//!
//! ```text
//! S = sum g g^T - (sum g)(sum g)^T / N        chosen where S has a large eigenvalue, best where it has two
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `g` | gradient of the levels in a window of three by three cells | codes/px |
//! | `S`, `N` | structure tensor of its scatter, so that a slope of the light is no structure; pixels | codes^2/px^2, 1 |
//!
//! The picture is looked at once, when the first frames are there; later only the windows are. Marks that a body covers are left out of a
//! frame. Where nothing has structure there are no marks, and nothing is done. Source: structure tensor \[ForstnerGulch1987\].

use crate::camera::mark::{HALF, Mark, Met, eigen, level};
use crate::settings::{Mask, Masks};
use crate::sighting::Sighting;
use tremolet_clip::frame::{Frame, Plane};

/// Side of a cell, px.
const CELL: usize = 8;
/// Most marks, and how far they are apart at least, px.
const MOST: usize = 16;
const APART: f64 = 28.0;
/// The gradient of a mark over the noise of gradients, and over the level, 1/px; both root mean squares.
const OVER_NOISE: f64 = 2.0;
const OVER_LIGHT: f64 = 0.012;
/// Least noise: that of rounding, camera codes.
const ROUNDING: f64 = 0.3;
/// What is nearer to a body than this is no mark: it may be its shadow or its light, px.
const MARGIN: f64 = 14.0;

/// The marks, and where every frame shows them.
#[derive(Debug, Clone, Default)]
pub struct Marks {
    marks: Vec<Mark>,
    near: Vec<[f64; 2]>,
    bodies: Vec<[f64; 4]>,
    /// For each frame its number and what was met of each mark.
    pub frames: Vec<(u64, Vec<Option<Met>>)>,
}

impl Marks {
    /// Looks for marks in the first of the first frames, whose bodies are `found`.
    pub fn of(first: &[Frame], found: &[Vec<Sighting>], masks: &[Mask]) -> Self {
        let [here, next, ..] = first else {
            return Self::default();
        };
        let bodies: Vec<[f64; 4]> = found.iter().flatten().map(extent).collect();
        let noise = noise(&here.plane, &next.plane);
        let marks = chosen(&here.plane, noise, |at| free(at, &bodies, Masks::ever(masks)));
        Self {
            near: vec![[0.0; 2]; marks.len()],
            marks,
            bodies: Vec::new(),
            frames: Vec::new(),
        }
    }

    /// Whether there is nothing to follow.
    pub fn is_empty(&self) -> bool {
        self.marks.is_empty()
    }

    /// Middles of the windows in the first frame, px.
    pub fn places(&self) -> Vec<[f64; 2]> {
        self.marks.iter().map(|m| m.centre.map(|c| c as f64)).collect()
    }

    /// Looks for the marks in the next frame, whose bodies are `found`.
    pub fn follow(&mut self, frame: &Frame, found: &[Sighting]) {
        if self.marks.is_empty() {
            return;
        }
        if !found.is_empty() {
            self.bodies = found.iter().map(extent).collect();
        }
        let met: Vec<Option<Met>> = self
            .marks
            .iter()
            .zip(&self.near)
            .map(|(mark, near)| {
                let at = [0, 1].map(|i| mark.centre[i] as f64 + near[i]);
                free(at, &self.bodies, Masks::default()).then(|| mark.met(&frame.plane, *near))?
            })
            .collect();
        // Marks that were lost go with the others.
        let moved: Vec<[f64; 2]> = met.iter().flatten().map(|m| m.shift).collect();
        let usual = [0, 1].map(|i| middle(moved.iter().map(|s| s[i]).collect()));
        for (near, met) in self.near.iter_mut().zip(&met) {
            *near = match (met, usual) {
                (Some(met), _) => met.shift,
                (None, [Some(x), Some(y)]) => [x, y],
                _ => *near,
            };
        }
        self.frames.push((frame.index, met));
    }
}

fn middle(mut all: Vec<f64>) -> Option<f64> {
    let half = all.len() / 2;
    (!all.is_empty()).then(|| *all.select_nth_unstable_by(half, f64::total_cmp).1)
}

/// Left, top, right and bottom of a body with what is beside it, px.
fn extent(s: &Sighting) -> [f64; 4] {
    let (used, hidden) = (s.outline.get(), s.hidden.get());
    let points = used.iter().map(|p| [p[0], p[1]]).chain(hidden.iter().copied());
    let start = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    let [left, top, right, bottom] = points.fold(start, |[l, t, r, b], [x, y]| {
        let (x, y) = (f64::from(x), f64::from(y));
        [l.min(x), t.min(y), r.max(x), b.max(y)]
    });
    [left - MARGIN, top - MARGIN, right + MARGIN, bottom + MARGIN]
}

/// Whether the window about a place touches no body and no mask.
fn free([x, y]: [f64; 2], bodies: &[[f64; 4]], masks: Masks<'_>) -> bool {
    let half = HALF as f64 + 1.0;
    let apart = |[left, top, right, bottom]: &[f64; 4]| {
        x + half < *left || x - half > *right || y + half < *top || y - half > *bottom
    };
    bodies.iter().all(apart) && !masks.touch([x - half, y - half, x + half, y + half])
}

/// Standard deviation of the levels from frame to frame, camera codes; rounding is the least.
fn noise(a: &Plane, b: &Plane) -> f64 {
    const SOME: usize = 97;
    let count = a.width * a.height;
    let off = (0..count).step_by(SOME).map(|i| {
        let (x, y) = (i % a.width, i / a.width);
        (level(a, x, y) - level(b, x, y)).abs()
    });
    (middle(off.collect()).unwrap_or(0.0) / (0.6745 * 2.0_f64.sqrt())).max(ROUNDING)
}

/// Sums over a cell: pixels, levels, gradient, its squares.
type Cell = [f64; 7];

fn chosen(plane: &Plane, noise: f64, free: impl Fn([f64; 2]) -> bool) -> Vec<Mark> {
    let (width, height) = (plane.width / CELL, plane.height / CELL);
    let cells: Vec<Cell> = (0..width * height)
        .map(|k| cell(plane, k % width, k / width))
        .collect();
    let mut found: Vec<(f64, [usize; 2])> = Vec::new();
    for j in 1..height.saturating_sub(1) {
        for i in 1..width.saturating_sub(1) {
            let around = (j - 1..=j + 1).flat_map(|j| (i - 1..=i + 1).map(move |i| j * width + i));
            let sum = around.fold([0.0; 7], |s, k| std::array::from_fn(|n| s[n] + cells[k][n]));
            let at = [i * CELL + CELL / 2, j * CELL + CELL / 2];
            if let Some(worth) = worth(&sum, noise)
                && free(at.map(|c| c as f64))
            {
                found.push((worth, at));
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut taken: Vec<Mark> = Vec::new();
    for (_, at) in found {
        let apart =
            |m: &Mark| (m.centre[0] as f64 - at[0] as f64).hypot(m.centre[1] as f64 - at[1] as f64) > APART;
        if taken.len() < MOST && taken.iter().all(apart) {
            taken.extend(Mark::at(plane, at));
        }
    }
    taken
}

fn cell(plane: &Plane, i: usize, j: usize) -> Cell {
    let mut sum = [0.0; 7];
    for y in (j * CELL).max(1)..((j + 1) * CELL).min(plane.height - 1) {
        for x in (i * CELL).max(1)..((i + 1) * CELL).min(plane.width - 1) {
            let gx = 0.5 * (level(plane, x + 1, y) - level(plane, x - 1, y));
            let gy = 0.5 * (level(plane, x, y + 1) - level(plane, x, y - 1));
            let add = [1.0, level(plane, x, y), gx, gy, gx * gx, gx * gy, gy * gy];
            sum = std::array::from_fn(|n| sum[n] + add[n]);
        }
    }
    sum
}

/// How good a window is as a mark; none when it is not.
fn worth([n, levels, gx, gy, xx, xy, yy]: &Cell, noise: f64) -> Option<f64> {
    let scatter = [xx - gx * gx / n, xy - gx * gy / n, yy - gy * gy / n];
    let ([low, high], _) = eigen(scatter);
    let rough = (high / n).sqrt();
    // A gradient over two pixels has the noise of a level over the root of two.
    let enough = rough > OVER_NOISE * noise / 2.0_f64.sqrt() && rough > OVER_LIGHT * levels / n;
    enough.then_some(low + 0.05 * high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use tremolet_shape::area::Area;

    /// Uneven light with soft dots at `dots`, and a little noise that differs from frame to frame.
    fn frame(index: u64, dots: &[[f64; 2]], shift: [f64; 2]) -> Frame {
        let mut state = index + 7;
        let mut noise = || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as f64 / 2.0_f64.powi(30) - 1.0
        };
        let levels = (0..256 * 256).map(|k| {
            let (x, y) = ((k % 256) as f64, (k / 256) as f64);
            let dot = |d: &[f64; 2]| {
                let away = (x - shift[0] - d[0]).powi(2) + (y - shift[1] - d[1]).powi(2);
                (-0.5 * away / 7.0).exp()
            };
            let dark: f64 = dots.iter().map(dot).sum();
            let light = 180.0 + 0.1 * x - 0.0004 * (y - 128.0).powi(2);
            (light * (1.0 - 0.7 * dark.min(1.0)) + 1.5 * noise()).round() as u8
        });
        Frame {
            index,
            stamp: None,
            plane: Plane::eight(256, 256, levels.collect()),
        }
    }

    const DOTS: [[f64; 2]; 3] = [[40.0, 50.0], [210.0, 44.0], [60.0, 200.0]];

    #[test]
    fn marks_are_where_the_structure_is_and_are_followed() {
        let first = [frame(0, &DOTS, [0.0; 2]), frame(1, &DOTS, [0.4, 0.0])];
        let mut marks = Marks::of(&first, &[], &[]);
        assert_eq!(marks.places().len(), 3, "{:?}", marks.places());
        let moves = [[0.0, 0.0], [0.4, 0.0], [3.7, -2.1], [9.2, -6.3]];
        for (k, d) in moves.iter().enumerate() {
            marks.follow(&frame(k as u64, &DOTS, *d), &[]);
        }
        for ((_, met), d) in marks.frames.iter().zip(&moves) {
            assert!(met.iter().all(|m| {
                let s = m.expect("met").shift;
                (s[0] - d[0]).hypot(s[1] - d[1]) < 0.1
            }));
        }
    }

    #[test]
    fn even_light_and_noise_hold_no_marks() {
        let first = [frame(0, &[], [0.0; 2]), frame(1, &[], [0.0; 2])];
        let mut marks = Marks::of(&first, &[], &[]);
        assert!(marks.is_empty());
        marks.follow(&first[0], &[]);
        assert!(marks.frames.is_empty());
        assert!(Marks::of(&first[..1], &[], &[]).is_empty());
    }

    #[test]
    fn masks_hide_marks() {
        let first = [frame(0, &DOTS, [0.0; 2]), frame(1, &DOTS, [0.0; 2])];
        let left = Mask::of(Area::within(vec![
            [0.0, 0.0],
            [127.0, 0.0],
            [127.0, 255.0],
            [0.0, 255.0],
        ]));
        assert_eq!(Marks::of(&first, &[], &[left]).places().len(), 1);
    }
}
