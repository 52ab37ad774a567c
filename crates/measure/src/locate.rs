//! Bodies in one frame, coarsely: closed curves around what is dark before the light.
//!
//! A grid of cells is divided by the light of the scene; cells darker than the threshold are dark. Light that reaches
//! the border of the picture is outside; all that it does not reach, bright middles included, is a body. The border
//! between is followed cell by cell. Each frame is looked at alone, so frames may come in any order.
//!
//! Source: threshold \[Otsu1979\]; border following is elementary. Does not place the edge: see [`crate::edge`].

use crate::grid::{Grid, threshold};
use crate::measured::Lighting;
use crate::scene::Scene;
use crate::settings::Rect;
use tremolet_clip::frame::Plane;

/// A body's coarse border, in order, px; good to about one cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Coarse {
    /// Places along the border, one cell apart, turning from +x towards +y.
    pub border: Vec<[f64; 2]>,
    /// Cells inside.
    pub cells: usize,
    /// Side of a cell, px.
    pub cell_px: f64,
    /// Whether the body reaches the border of the picture.
    pub touches_frame: bool,
}

/// Bodies smaller than this many cells are dust.
const SMALLEST_CELLS: usize = 24;
/// Bodies smaller than this share of the largest are dust.
const SMALLEST_SHARE: f64 = 0.02;
/// A body is at least this much darker than the light, relative.
const FAINTEST: f32 = 0.15;

/// The bodies of a back-lit frame, largest first; none where nothing is dark.
pub fn locate(plane: &Plane, scene: &Scene, masks: &[Rect]) -> Vec<Coarse> {
    if scene.lighting != Lighting::BackLit {
        return Vec::new();
    }
    let mut grid = Grid::of(plane);
    for cell in 0..grid.values.len() {
        let (x, y) = grid.place(cell % grid.width, cell / grid.width);
        grid.values[cell] /= scene.background.at(x, y) as f32;
        if masks.iter().any(|m| m.holds(x, y)) {
            grid.values[cell] = 1.0;
        }
    }
    let Some((cut, dark, light)) = threshold(&grid.values) else {
        return Vec::new();
    };
    let below: Vec<bool> = grid.values.iter().map(|v| *v < cut).collect();
    let spread = scatter(&grid.values, &below, light);
    if light - dark < (8.0 * spread).max(FAINTEST * light) {
        return Vec::new();
    }
    let inside = without_outside(&below, grid.width, grid.height);
    let mut bodies = components(&inside, &grid);
    bodies.sort_by_key(|b| std::cmp::Reverse(b.cells));
    let largest = bodies.first().map_or(0, |b| b.cells);
    bodies.retain(|b| b.cells >= SMALLEST_CELLS && b.cells as f64 >= SMALLEST_SHARE * largest as f64);
    bodies
}

fn scatter(values: &[f32], below: &[bool], light: f32) -> f32 {
    let mut off: Vec<f32> = values
        .iter()
        .zip(below)
        .filter(|(_, dark)| !**dark)
        .map(|(v, _)| (v - light).abs())
        .collect();
    if off.is_empty() {
        return 0.0;
    }
    let middle = off.len() / 2;
    *off.select_nth_unstable_by(middle, f32::total_cmp).1 * 1.4826
}

/// Everything that bright cells connected to the border do not reach.
fn without_outside(dark: &[bool], width: usize, height: usize) -> Vec<bool> {
    let mut inside = vec![true; dark.len()];
    let mut open: Vec<usize> = (0..dark.len())
        .filter(|c| {
            let (i, j) = (c % width, c / width);
            !dark[*c] && (i == 0 || j == 0 || i + 1 == width || j + 1 == height)
        })
        .collect();
    open.iter().for_each(|c| inside[*c] = false);
    while let Some(c) = open.pop() {
        for n in neighbours(c, width, height) {
            if inside[n] && !dark[n] {
                inside[n] = false;
                open.push(n);
            }
        }
    }
    inside
}

fn neighbours(c: usize, width: usize, height: usize) -> impl Iterator<Item = usize> {
    let (i, j) = (c % width, c / width);
    [
        (i > 0).then(|| c - 1),
        (i + 1 < width).then(|| c + 1),
        (j > 0).then(|| c - width),
        (j + 1 < height).then(|| c + width),
    ]
    .into_iter()
    .flatten()
}

fn components(inside: &[bool], grid: &Grid) -> Vec<Coarse> {
    let mut label = vec![0u32; inside.len()];
    let (mut bodies, mut last) = (Vec::new(), 0);
    for start in 0..inside.len() {
        if !inside[start] || label[start] != 0 {
            continue;
        }
        last += 1;
        let (mut cells, mut open, mut touches) = (0, vec![start], false);
        label[start] = last;
        while let Some(c) = open.pop() {
            cells += 1;
            let (i, j) = (c % grid.width, c / grid.width);
            touches |= i == 0 || j == 0 || i + 1 == grid.width || j + 1 == grid.height;
            for n in neighbours(c, grid.width, grid.height) {
                if inside[n] && label[n] == 0 {
                    label[n] = last;
                    open.push(n);
                }
            }
        }
        if cells >= SMALLEST_CELLS {
            bodies.push(Coarse {
                border: followed(&label, last, start, grid),
                cells,
                cell_px: grid.size as f64,
                touches_frame: touches,
            });
        }
    }
    bodies
}

/// Follows the cracks between cells of `mark` and others, the body on the right hand of each step (y downwards).
fn followed(label: &[u32], mark: u32, start: usize, grid: &Grid) -> Vec<[f64; 2]> {
    let (width, height) = (grid.width as isize, grid.height as isize);
    let is = |i: isize, j: isize| {
        i >= 0 && j >= 0 && i < width && j < height && label[(j * width + i) as usize] == mark
    };
    // Corners of cells: corner (i, j) is the top left of cell (i, j). The first cell in reading order has its top free.
    let first = (start as isize % width, start as isize / width);
    let (mut at, mut heading, mut border) = (first, 0usize, Vec::new());
    const STEPS: [(isize, isize); 4] = [(1, 0), (0, 1), (-1, 0), (0, -1)];
    // Cells ahead of a corner for each heading: left hand, right hand.
    const AHEAD: [[(isize, isize); 2]; 4] = [
        [(0, -1), (0, 0)],
        [(0, 0), (-1, 0)],
        [(-1, 0), (-1, -1)],
        [(-1, -1), (0, -1)],
    ];
    loop {
        let (dx, dy) = STEPS[heading];
        let size = grid.size as f64;
        border.push([
            (at.0 as f64 + dx as f64 / 2.0) * size - 0.5,
            (at.1 as f64 + dy as f64 / 2.0) * size - 0.5,
        ]);
        at = (at.0 + dx, at.1 + dy);
        let cell = |k: usize| {
            let (i, j) = AHEAD[heading][k];
            is(at.0 + i, at.1 + j)
        };
        let (left, right) = (cell(0), cell(1));
        heading = match (left, right) {
            (true, true) => (heading + 3) % 4,
            (false, true) => heading,
            (_, false) => (heading + 1) % 4,
        };
        if at == first && heading == 0 {
            return border;
        }
    }
}
