//! Bodies in one frame, coarsely: closed curves around what is dark before the light.
//!
//! A grid of cells is divided by the light of the scene; cells darker than the threshold are dark. Light that reaches
//! the border of the picture is outside; all that it does not reach, bright middles included, is a body, less the thin
//! things and the neighbours that [`crate::parts`] tells apart. The border of each is followed cell by cell; where it
//! was cut from something else it is marked. Each frame is looked at alone, so frames may come in any order.
//!
//! Source: threshold \[Otsu1979\]; border following is elementary. Does not place the edge: see [`crate::edge`].

use crate::grid::{Grid, threshold};
use crate::measured::Lighting;
use crate::parts::{Group, Mask};
use crate::scene::Scene;
use crate::settings::Masks;
use std::collections::VecDeque;
use tremolet_clip::frame::Plane;

/// A body's coarse border, in order, px; good to about one cell.
#[derive(Debug, Clone, PartialEq)]
pub struct Coarse {
    /// Places along the border, one cell apart, turning from +x towards +y.
    pub border: Vec<[f64; 2]>,
    /// Those of them where something else was cut off: no edge of the body.
    pub cuts: Vec<[f64; 2]>,
    /// Cells inside.
    pub cells: usize,
    /// Side of a cell, px.
    pub cell_px: f64,
    /// Whether the body reaches the border of the picture.
    pub touches_frame: bool,
    /// Where the border holds parts that hang together by necks: each of them by itself. Empty for a single body.
    pub kin: Vec<Self>,
}

/// Bodies smaller than this many cells are dust.
const SMALLEST_CELLS: usize = 24;
/// A body is at least this much darker than the light, relative.
const FAINTEST: f32 = 0.15;

/// A grid is made finer until its largest body has at least this radius, cells.
const FINE_CELLS: f64 = 32.0;

/// The bodies of a back-lit frame, largest first; none where nothing is dark.
pub fn locate(plane: &Plane, scene: &Scene, masks: Masks<'_>) -> Vec<Coarse> {
    if scene.lighting != Lighting::BackLit {
        return Vec::new();
    }
    let bodies = located(Grid::of(plane), scene, masks);
    match bodies.first() {
        Some(b) if b.cell_px >= 2.0 && (b.cells as f64 / std::f64::consts::PI).sqrt() < FINE_CELLS => {
            located(Grid::with(plane, b.cell_px as usize / 2), scene, masks)
        }
        _ => bodies,
    }
}

/// Gives cells under a mask the value of the nearest cell beside it, so that a wire across a body does not cut it in two.
fn bridge(grid: &mut Grid, masks: Masks<'_>) {
    let (width, count) = (grid.width, grid.values.len());
    let covered: Vec<bool> = (0..count)
        .map(|cell| {
            let (x, y) = grid.place(cell % width, cell / width);
            masks.hold(x, y) && !masks.beyond(x, y)
        })
        .collect();
    if !covered.contains(&true) {
        return;
    }
    let mut known: Vec<bool> = covered.iter().map(|covered| !covered).collect();
    let mut rim: VecDeque<usize> = (0..count).filter(|cell| known[*cell]).collect();
    while let Some(cell) = rim.pop_front() {
        let (i, j) = (cell % width, cell / width);
        let beside = [
            (i > 0).then(|| cell - 1),
            (i + 1 < width).then_some(cell + 1),
            (j > 0).then(|| cell - width),
            (cell + width < count).then_some(cell + width),
        ];
        for next in beside.into_iter().flatten() {
            if !known[next] {
                known[next] = true;
                grid.values[next] = grid.values[cell];
                rim.push_back(next);
            }
        }
    }
}

fn located(mut grid: Grid, scene: &Scene, masks: Masks<'_>) -> Vec<Coarse> {
    for cell in 0..grid.values.len() {
        let (x, y) = grid.place(cell % grid.width, cell / grid.width);
        grid.values[cell] /= scene.background.at(x, y) as f32;
        if masks.beyond(x, y) {
            grid.values[cell] = 1.0;
        }
    }
    bridge(&mut grid, masks);
    let Some((cut, dark, light)) = threshold(&grid.values) else {
        return Vec::new();
    };
    let below: Vec<bool> = grid.values.iter().map(|v| *v < cut).collect();
    let spread = scatter(&grid.values, &below, light);
    if light - dark < (8.0 * spread).max(FAINTEST * light) {
        return Vec::new();
    }
    let inside = Mask {
        cells: without_outside(&below, grid.width, grid.height),
        width: grid.width,
        height: grid.height,
    };
    let mut bodies = alone(&inside, &grid).map_or_else(
        || {
            let groups = inside.groups(SMALLEST_CELLS);
            groups
                .iter()
                .flat_map(|group| grouped(group, &inside, &grid))
                .collect()
        },
        |body| vec![body],
    );
    bodies.sort_by_key(|b| std::cmp::Reverse(b.cells));
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

/// Walls thinner than this share of the radius of the light that they enclose are loops of wire, if anything is
/// this many times thicker.
const LOOP: f64 = 0.12;
const THICKER: f64 = 3.0;

/// Everything that bright cells connected to the border do not reach, even through the wire of a loop.
fn without_outside(dark: &[bool], width: usize, height: usize) -> Vec<bool> {
    let bright = Mask {
        width,
        height,
        cells: dark.iter().map(|d| !d).collect(),
    };
    let border: Vec<usize> = (0..dark.len())
        .filter(|c| bright.cells[*c] && bright.at_border(*c))
        .collect();
    let mut inside = vec![true; dark.len()];
    flooded(&mut inside, &bright, border);
    if (0..dark.len()).any(|c| inside[c] && bright.cells[c]) {
        without_loops(&mut inside, &bright);
    }
    inside
}

/// Takes from `inside` the bright cells that `open` reaches, and lists them.
fn flooded(inside: &mut [bool], bright: &Mask, mut open: Vec<usize>) -> Vec<usize> {
    let mut found = open.clone();
    open.iter().for_each(|c| inside[*c] = false);
    while let Some(c) = open.pop() {
        for n in bright.neighbours(c) {
            if inside[n] && bright.cells[n] {
                inside[n] = false;
                found.push(n);
                open.push(n);
            }
        }
    }
    found
}

/// Opens the light inside loops of wire.
fn without_loops(inside: &mut [bool], bright: &Mask) {
    let mut left = inside.to_vec();
    let mut holes = Vec::new();
    for c in 0..left.len() {
        if left[c] && bright.cells[c] {
            let hole = flooded(&mut left, bright, vec![c]);
            let radius = (hole.len() as f64 / std::f64::consts::PI).sqrt();
            if !walled(inside, bright, &hole, LOOP * radius) {
                holes.push((hole, radius));
            }
        }
    }
    if holes.is_empty() {
        return;
    }
    let wall = bright.distance(&|c| !inside[c]);
    let depth = bright.distance(&|c| bright.cells[c]);
    let thickest = f64::from(depth.iter().copied().fold(0.0, f32::max));
    for (hole, radius) in holes {
        let thin = f64::from(hole.iter().map(|k| wall[*k]).fold(f32::INFINITY, f32::min));
        if thin < LOOP * radius && thickest > THICKER * thin {
            hole.iter().for_each(|k| inside[*k] = false);
        }
    }
}

/// Whether the rectangle around a hole and `least` cells of wall on every side of it hold nothing from outside: a short
/// answer for the bright middle of a body, which saves the distances.
fn walled(inside: &[bool], grid: &Mask, hole: &[usize], least: f64) -> bool {
    let least = least.ceil() as usize + 1;
    let span = |along: &dyn Fn(usize) -> usize, most: usize| {
        let (low, high) = hole.iter().fold((usize::MAX, 0), |(low, high), c| {
            (low.min(along(*c)), high.max(along(*c)))
        });
        (low >= least && high + least < most).then(|| low - least..=high + least)
    };
    let columns = span(&|c| c % grid.width, grid.width);
    let rows = span(&|c| c / grid.width, grid.height);
    let (Some(columns), Some(mut rows)) = (columns, rows) else {
        return false;
    };
    rows.all(|j| columns.clone().all(|i| inside[j * grid.width + i]))
}

/// The one body of a picture that holds nothing but a convex thing, at most dust beside it: no neck, nothing thin, so
/// that there is nothing to tell apart.
fn alone(inside: &Mask, grid: &Grid) -> Option<Coarse> {
    let all = inside.pieces();
    let part = all.iter().max_by_key(|part| part.len())?;
    let dust = |other: &Vec<usize>| other.len() < SMALLEST_CELLS;
    if dust(part) || all.iter().any(|other| !std::ptr::eq(other, part) && !dust(other)) {
        return None;
    }
    let body = coarse(part, inside, grid);
    is_convex(&body.border, body.cell_px).then_some(body)
}

/// Cells along a border over which a turn is judged, and how far, in cells, a convex border may sag for its steps.
const CHORD: usize = 8;
const SAG: f64 = 1.1;

/// Whether a border of steps turns one way only, and is not much longer than wide.
pub(crate) fn is_convex(border: &[[f64; 2]], cell: f64) -> bool {
    let n = border.len();
    if n < 4 * CHORD {
        return false;
    }
    let turns = (0..n).all(|k| {
        let [a, b, c] = [border[k], border[(k + CHORD) % n], border[(k + 2 * CHORD) % n]];
        let chord = [c[0] - a[0], c[1] - a[1]];
        let length = chord[0].hypot(chord[1]).max(cell);
        // Positive where `b` lies inside of the chord.
        let sag = ((b[1] - a[1]) * chord[0] - (b[0] - a[0]) * chord[1]) / length;
        sag < SAG * cell
    });
    let extent = |axis: usize| {
        let along = border.iter().map(|p| p[axis]);
        along.clone().fold(f64::MIN, f64::max) - along.fold(f64::MAX, f64::min)
    };
    let (wide, high) = (extent(0), extent(1));
    turns && wide < 1.6 * high && high < 1.6 * wide
}

/// The parts of a group as one border with its kin, where they can be.
fn grouped(group: &Group, inside: &Mask, grid: &Grid) -> Vec<Coarse> {
    let parts = group.parts.iter().map(|part| coarse(part, inside, grid));
    match &group.whole {
        Some(whole) => vec![Coarse {
            kin: parts.collect(),
            ..coarse(whole, inside, grid)
        }],
        None => parts.collect(),
    }
}

fn coarse(part: &[usize], inside: &Mask, grid: &Grid) -> Coarse {
    let mut own = Mask {
        width: inside.width,
        height: inside.height,
        cells: vec![false; inside.cells.len()],
    };
    part.iter().for_each(|c| own.cells[*c] = true);
    let first = part.iter().copied().min().unwrap_or(0);
    let (border, cuts) = followed(&own, inside, first, grid.size as f64);
    Coarse {
        border,
        cuts,
        cells: part.len(),
        cell_px: grid.size as f64,
        touches_frame: part.iter().any(|c| inside.at_border(*c)),
        kin: Vec::new(),
    }
}

/// Follows the cracks between cells of `own` and others, the body on the right hand of each step (y downwards); second,
/// those of them with other cells of `inside` on the left.
fn followed(own: &Mask, inside: &Mask, start: usize, size: f64) -> (Vec<[f64; 2]>, Vec<[f64; 2]>) {
    let (width, height) = (own.width as isize, own.height as isize);
    let is = |mask: &Mask, i: isize, j: isize| {
        i >= 0 && j >= 0 && i < width && j < height && mask.cells[(j * width + i) as usize]
    };
    // Corners of cells: corner (i, j) is the top left of cell (i, j). The first cell in reading order has its top free.
    let first = (start as isize % width, start as isize / width);
    let (mut at, mut heading, mut border, mut cuts) = (first, 0usize, Vec::new(), Vec::new());
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
        let place = [
            (at.0 as f64 + dx as f64 / 2.0) * size - 0.5,
            (at.1 as f64 + dy as f64 / 2.0) * size - 0.5,
        ];
        border.push(place);
        let (i, j) = AHEAD[heading][0];
        if is(inside, at.0 + i, at.1 + j) {
            cuts.push(place);
        }
        at = (at.0 + dx, at.1 + dy);
        let cell = |k: usize| {
            let (i, j) = AHEAD[heading][k];
            is(own, at.0 + i, at.1 + j)
        };
        let (left, right) = (cell(0), cell(1));
        heading = match (left, right) {
            (true, true) => (heading + 3) % 4,
            (false, true) => heading,
            (_, false) => (heading + 1) % 4,
        };
        if at == first && heading == 0 {
            return (border, cuts);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A grid of 96 cells and a mask of the places inside.
    fn seen(inside: impl Fn(f64, f64) -> bool) -> (Mask, Grid) {
        let cells = (0..96 * 96).map(|c| inside((c % 96) as f64 - 47.3, (c / 96) as f64 - 46.8));
        let mask = Mask {
            width: 96,
            height: 96,
            cells: cells.collect(),
        };
        let levels = vec![0; 192 * 192];
        (mask, Grid::with(&Plane::eight(192, 192, levels), 2))
    }

    #[test]
    fn the_short_way_of_a_convex_body_leads_where_the_long_one_does() {
        for (a, b) in [(33.0, 33.0), (36.0, 25.0), (20.0, 28.0)] {
            let (mask, grid) =
                seen(|x, y| (x / a).powi(2) + (y / b).powi(2) < 1.0 || x.hypot(y - 45.0) < 1.5);
            let short = alone(&mask, &grid).expect("convex, and a speck");
            let groups = mask.groups(SMALLEST_CELLS);
            assert_eq!((groups.len(), groups[0].parts.len(), short.cuts.len()), (1, 1, 0));
            assert_eq!(short, coarse(&groups[0].parts[0], &mask, &grid));
        }
    }

    #[test]
    fn a_bright_middle_stays_and_the_light_inside_a_loop_is_opened() {
        // Dark where a ring or a disc is; the hole of the wide ring has a thick wall, that of the wire a thin one.
        let ring = |x: f64, y: f64, from: f64, to: f64| (from..to).contains(&x.hypot(y));
        let lit = |x: f64, y: f64| !ring(x + 22.0, y, 7.0, 20.0) && !ring(x - 24.0, y, 18.0, 19.5);
        let (bright, _) = seen(lit);
        let dark: Vec<bool> = bright.cells.iter().map(|b| !b).collect();
        let inside = without_outside(&dark, 96, 96);
        let at = |x: f64, y: f64| inside[(y + 46.8).round() as usize * 96 + (x + 47.3).round() as usize];
        assert!(at(-22.0, 0.0) && at(-35.0, 0.0) && !at(24.0, 0.0) && !at(0.0, 40.0));
        // The same wide ring with a hole up to its wall needs the distances, and gives the same.
        let (bright, _) = seen(|x, y| !ring(x, y, 30.0, 36.0) && !ring(x, y, 0.0, 12.0));
        let dark: Vec<bool> = bright.cells.iter().map(|b| !b).collect();
        let inside = without_outside(&dark, 96, 96);
        assert!(inside[47 * 96 + 47 + 20]);
    }

    #[test]
    fn what_may_have_to_be_told_apart_takes_the_long_way() {
        let disc = |x: f64, y: f64| x.hypot(y) < 25.0;
        let wires: [&dyn Fn(f64, f64) -> bool; 4] = [
            &|x, _| x.abs() < 0.6,
            &|x, y| (x - y).abs() < 1.0 && x > 0.0,
            &|x, y| (y + 24.0).abs() < 0.6 && x.abs() < 40.0,
            &|x, y| (x - 33.0).hypot(y) < 10.0,
        ];
        for wire in wires {
            let (mask, grid) = seen(|x, y| disc(x, y) || wire(x, y));
            assert_eq!(alone(&mask, &grid), None);
        }
        let (mask, grid) = seen(|x, y| disc(x + 18.0, y) || (x - 38.0).hypot(y) < 6.0);
        assert_eq!(alone(&mask, &grid), None);
        let (mask, grid) = seen(|x, y| x.abs() < 40.0 && y.abs() < 12.0);
        assert_eq!(alone(&mask, &grid), None);
    }
}
