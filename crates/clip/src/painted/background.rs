//! What lies behind the bodies: the lamp's uneven field, or a cluttered cabin wall.
//!
//! The clutter is our own invention: patches of grey on a coarse random grid joined smoothly, and on them plates, rods
//! and round knobs, all from the seed. It is a little out of focus, as a wall behind the subject is.

use std::ops::Range;

use crate::painted::coverage::{Coverage, Kernel};
use crate::painted::handling::View;
use crate::painted::noise::PaintedNoise;
use crate::painted::outline::Ring;
use crate::painted::recipe::{Bright, Lamp, Mark, Obstacle, PaintedScene, Recipe};

/// Streams of random numbers for the patches and the things.
const PATCH_STREAM: u64 = 0xC1A7;
const THING_STREAM: u64 = 0xC1A8;

/// Blur of the wall beyond the focus, px.
const WALL_BLUR: f64 = 1.8;

/// The lamp's light without flicker, row by row, fractions of full scale.
pub fn lamp_field(lamp: &Lamp, width: usize, height: usize) -> Vec<f32> {
    let across = |i: usize, size: usize| 2.0 * i as f64 / (size.max(2) - 1) as f64 - 1.0;
    let mut field = Vec::with_capacity(width * height);
    for y in 0..height {
        let v = across(y, height);
        field.extend((0..width).map(|x| across(x, width)).map(|u| {
            let fall = lamp.falloff * (u * u + v * v);
            (lamp.level * (1.0 - fall + lamp.slope[0] * u + lamp.slope[1] * v)) as f32
        }));
    }
    field
}

/// What lies behind the bodies on these rows, fractions of full scale: the lamp's field or the wall, the marks on it,
/// and the farther half of every hoop.
pub fn behind(recipe: &Recipe, lamp: &[f32], kernel: &Kernel, view: &View, rows: &Range<usize>) -> Vec<f32> {
    let part = &lamp[rows.start * recipe.width..rows.end * recipe.width];
    let mut light = match &recipe.scene {
        PaintedScene::Silhouette(_) => part.to_vec(),
        PaintedScene::Bright(bright) => clutter(bright, recipe, part, view, rows),
    };
    let mut plane = Coverage::new(recipe.width, recipe.height);
    plane.look_at(rows);
    let spacing = kernel.spacing();
    let marks = recipe.marks.iter().map(|mark| mark_ring(mark, spacing));
    let hoops = recipe.obstacles.iter().filter_map(|obstacle| match obstacle {
        Obstacle::Hoop(hoop) => Some((hoop.back(spacing), hoop.light)),
        Obstacle::Rod { .. } | Obstacle::Loop { .. } => None,
    });
    for (ring, level) in marks.chain(hoops) {
        plane.fill(&[(1.0, ring.seen(view))], kernel);
        for y in plane.rows() {
            let from = (y - rows.start) * recipe.width;
            let here = light[from..].iter_mut().zip(&part[from..]);
            for ((light, lamp), &share) in here.zip(plane.row(y)) {
                *light += share * (level as f32 * lamp - *light);
            }
        }
    }
    light
}

fn mark_ring(mark: &Mark, spacing: f64) -> (Ring, f64) {
    match *mark {
        Mark::Dot {
            centre,
            radius_px,
            light,
        } => (Ring::circle(centre, radius_px, spacing), light),
        Mark::Bar {
            from,
            to,
            width_px,
            light,
        } => (Ring::bar(from, to, width_px, spacing), light),
    }
}

/// A cluttered wall in the lamp's light, row by row, fractions of full scale.
fn clutter(bright: &Bright, recipe: &Recipe, lamp: &[f32], view: &View, rows: &Range<usize>) -> Vec<f32> {
    let (width, height) = (recipe.width, recipe.height);
    let mut wall = patches(bright, recipe, view, rows);
    let kernel = Kernel::new(WALL_BLUR);
    let mut plane = Coverage::new(width, height);
    plane.look_at(rows);
    for thing in 0..bright.things {
        let mut noise = PaintedNoise::new(recipe.seed, THING_STREAM, thing as u64);
        let level = noise.between(0.6 * bright.background[0], 1.15 * bright.background[1]) as f32;
        let ring = one_thing(&mut noise, width as f64, height as f64, &kernel);
        plane.fill(&[(1.0, ring.seen(view))], &kernel);
        for y in plane.rows() {
            for (grey, &share) in wall[(y - rows.start) * width..].iter_mut().zip(plane.row(y)) {
                *grey += share * (level - *grey);
            }
        }
    }
    let even = (recipe.lamp.level as f32).max(1e-6);
    wall.iter()
        .zip(lamp)
        .map(|(grey, light)| grey * light / even)
        .collect()
}

/// A plate, a rod or a knob somewhere.
fn one_thing(noise: &mut PaintedNoise, width: f64, height: f64, kernel: &Kernel) -> Ring {
    let size = width.min(height);
    let place = [noise.between(0.0, width), noise.between(0.0, height)];
    let kind = noise.even();
    let turn = noise.between(0.0, std::f64::consts::TAU);
    if kind < 0.4 {
        let length = noise.between(0.1, 0.5) * size;
        let to = [place[0] + length * turn.cos(), place[1] + length * turn.sin()];
        Ring::bar(
            place,
            to,
            noise.between(0.006, 0.03) * size + 2.0,
            kernel.spacing(),
        )
    } else if kind < 0.8 {
        let (half_x, half_y) = (noise.between(0.03, 0.16) * size, noise.between(0.03, 0.12) * size);
        let (sin, cos) = (
            0.2 * turn.sin(),
            (0.2 * turn.sin()).mul_add(-0.2 * turn.sin(), 1.0).sqrt(),
        );
        let corner = |a: f64, b: f64| {
            [
                place[0] + a * half_x * cos - b * half_y * sin,
                place[1] + a * half_x * sin + b * half_y * cos,
            ]
        };
        Ring::polygon(
            &[
                corner(-1.0, -1.0),
                corner(1.0, -1.0),
                corner(1.0, 1.0),
                corner(-1.0, 1.0),
            ],
            kernel.spacing(),
        )
    } else {
        Ring::circle(place, noise.between(0.01, 0.05) * size + 1.0, kernel.spacing())
    }
}

/// Patches of grey about a ninth of the frame wide, joined smoothly.
fn patches(bright: &Bright, recipe: &Recipe, view: &View, rows: &Range<usize>) -> Vec<f32> {
    let cell = recipe.width.max(recipe.height) as f64 / 9.0;
    let grey = |column: f64, row: f64| {
        let mut noise = PaintedNoise::new(recipe.seed, PATCH_STREAM, (row as u64) << 32 | column as u64);
        noise.between(bright.background[0], bright.background[1])
    };
    let ease = |part: f64| part * part * (3.0 - 2.0 * part);
    let place = |v: f64| ((v / cell).floor(), ease(v / cell - (v / cell).floor()));
    let mut wall = Vec::with_capacity(recipe.width * rows.len());
    for y in rows.clone() {
        for x in 0..recipe.width {
            let [x, y] = view.behind([x as f64, y as f64]);
            let ((row, v), (column, u)) = (place(y), place(x));
            let mix = |row: f64| grey(column, row) * (1.0 - u) + grey(column + 1.0, row) * u;
            wall.push((mix(row) * (1.0 - v) + mix(row + 1.0) * v) as f32);
        }
    }
    wall
}

/// A picture at falling sharpness, for looking at it much reduced.
#[derive(Debug, Clone)]
pub struct Pyramid {
    levels: Vec<(usize, usize, Vec<f32>)>,
}

impl Pyramid {
    /// The picture, halved until it is a few pixels wide.
    pub fn new(width: usize, height: usize, picture: &[f32]) -> Self {
        let mut levels = vec![(width, height, picture.to_vec())];
        while let Some(&(w, h, _)) = levels.last() {
            if w < 8 || h < 8 {
                break;
            }
            levels.push(halve(&levels[levels.len() - 1]));
        }
        Self { levels }
    }

    /// The picture at `(x, y)` px of full size, averaged over about `2^level` px; beyond the frame it is mirrored.
    pub fn at(&self, x: f64, y: f64, level: usize) -> f32 {
        let level = level.min(self.levels.len() - 1);
        let (w, h, grey) = &self.levels[level];
        let shrink = 1.0 / f64::from(1_u32 << level);
        let place = |v: f64, size: usize| {
            let v = fold((v + 0.5) * shrink - 0.5, size as f64 - 1.0);
            let i = (v as usize).min(size - 2);
            (i, (v - i as f64) as f32)
        };
        let ((i, u), (j, v)) = (place(x, *w), place(y, *h));
        let row = |j: usize| grey[j * w + i] * (1.0 - u) + grey[j * w + i + 1] * u;
        row(j) * (1.0 - v) + row(j + 1) * v
    }
}

/// `v` mirrored at 0 and `top` until it lies between.
fn fold(v: f64, top: f64) -> f64 {
    if (0.0..=top).contains(&v) {
        return v;
    }
    let turns = v / (2.0 * top);
    let whole = turns as i64 as f64;
    let turned = 2.0 * top * (turns - whole).abs();
    turned.min(2.0 * top - turned)
}

fn halve((width, height, grey): &(usize, usize, Vec<f32>)) -> (usize, usize, Vec<f32>) {
    let (w, h) = (width / 2, height / 2);
    let pair = |x: usize, y: usize| grey[y * width + x] + grey[y * width + x + 1];
    let half = (0..w * h)
        .map(|i| (2 * (i % w), 2 * (i / w)))
        .map(|(x, y)| 0.25 * (pair(x, y) + pair(x, y + 1)));
    (w, h, half.collect())
}
