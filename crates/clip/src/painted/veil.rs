//! What stands still in front of everything: wires, tubes, loops, dust.
//!
//! All of it is one pair of planes, made once for a still camera: `seen = keep * behind + add * light`.

use std::ops::Range;

use crate::painted::coverage::{Coverage, Kernel};
use crate::painted::handling::View;
use crate::painted::noise::PaintedNoise;
use crate::painted::outline::Ring;
use crate::painted::recipe::{Dust, Obstacle, Recipe};

/// The two planes, row by row.
#[derive(Debug, Clone)]
pub struct Veil {
    /// Share of what lies behind that is seen.
    pub keep: Vec<f32>,
    /// Light of the things themselves, as a share of the lamp's there.
    pub add: Vec<f32>,
}

/// Stream of random numbers for the dust.
const DUST_STREAM: u64 = 0xD057;

impl Veil {
    /// The veil of a recipe, right on these rows, or `None` when nothing is in front.
    pub fn new(recipe: &Recipe, kernel: &Kernel, view: &View, rows: &Range<usize>) -> Option<Self> {
        if recipe.obstacles.is_empty() && recipe.dust.specks == 0 {
            return None;
        }
        let count = recipe.width * recipe.height;
        let mut veil = Self {
            keep: vec![1.0; count],
            add: vec![0.0; count],
        };
        let mut plane = Coverage::new(recipe.width, recipe.height);
        plane.look_at(rows);
        for obstacle in &recipe.obstacles {
            for (light, rings) in layers(obstacle, kernel.spacing()) {
                let rings: Vec<_> = rings
                    .iter()
                    .map(|(weight, ring)| (*weight, ring.seen(view)))
                    .collect();
                plane.fill(&rings, kernel);
                veil.lay(&plane, light as f32, recipe.width);
            }
        }
        veil.dust(recipe, &recipe.dust);
        Some(veil)
    }

    fn lay(&mut self, plane: &Coverage, light: f32, width: usize) {
        for row in plane.rows() {
            for (x, &share) in plane.row(row).iter().enumerate() {
                let i = row * width + x;
                self.keep[i] *= 1.0 - share;
                self.add[i] = self.add[i] * (1.0 - share) + light * share;
            }
        }
    }

    /// Soft round specks: `1 - (1 - light) exp(-(d / radius)^4)`, not sharp because the window is out of focus.
    fn dust(&mut self, recipe: &Recipe, dust: &Dust) {
        for speck in 0..dust.specks {
            let mut noise = PaintedNoise::new(recipe.seed, DUST_STREAM, speck as u64);
            let place = [
                noise.between(0.0, recipe.width as f64),
                noise.between(0.0, recipe.height as f64),
            ];
            let radius = noise.between(dust.radius_px[0], dust.radius_px[1]);
            let light = noise.between(dust.light[0], dust.light[1]);
            let around = |centre: f64, size: usize| {
                let low = (centre - 2.0 * radius).floor().max(0.0) as usize;
                let high = (centre + 2.0 * radius).ceil().min(size as f64) as usize;
                low.min(high)..high
            };
            for y in around(place[1], recipe.height) {
                for x in around(place[0], recipe.width) {
                    let distance = (x as f64 - place[0]).hypot(y as f64 - place[1]);
                    let share = 1.0 - (1.0 - light) * (-(distance / radius).powi(4)).exp();
                    self.keep[y * recipe.width + x] *= share as f32;
                    self.add[y * recipe.width + x] *= share as f32;
                }
            }
        }
    }
}

/// The layers of an obstacle from back to front: light and filled rings.
fn layers(obstacle: &Obstacle, spacing: f64) -> Vec<(f64, Vec<(f64, Ring)>)> {
    match *obstacle {
        Obstacle::Rod {
            from,
            to,
            width_px,
            light,
            middle,
        } => {
            let bar = |width, light| (light, vec![(1.0, Ring::bar(from, to, width, spacing))]);
            let core = middle.map(|light| bar(0.5 * width_px, light));
            std::iter::once(bar(width_px, light)).chain(core).collect()
        }
        Obstacle::Hoop(hoop) => vec![(hoop.light, vec![(1.0, hoop.front(spacing))])],
        Obstacle::Loop {
            centre,
            radius_px,
            width_px,
            light,
        } => {
            let edge = |sign: f64| {
                (
                    sign,
                    Ring::circle(centre, radius_px + sign * 0.5 * width_px, spacing),
                )
            };
            vec![(light, vec![edge(1.0), edge(-1.0)])]
        }
    }
}
