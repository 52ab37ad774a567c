//! A body of clear liquid as a lens: where a sight line through it ends on the wall behind.
//!
//! A sight line at the height `u` (in radii) from the centre of a ball of index `n` meets the surface at
//! `sin alpha = u`, goes on at `sin beta = u / n`, leaves at the height `sin(2 beta - alpha)`, turned towards the
//! axis by `2 (alpha - beta)`, and meets a wall at the depth `L` (in radii, from the centre) at
//!
//! `y = sin(2 beta - alpha) - (L - cos(2 beta - alpha)) tan(2 (alpha - beta))`
//!
//! so the wall is seen upside down and small, crowded towards the rim. A body that is not a sphere is treated as one
//! with the radius of its outline in each direction: enough for looks, and nothing is measured inside.

use crate::painted::outline::Ring;

/// Depth of the wall behind the centre, in radii.
const WALL_DEPTH: f64 = 5.0;

/// Steps of the table over `u` from 0 to 1.
const STEPS: usize = 256;

/// The height on the wall for each height on the body, both in radii.
#[derive(Debug, Clone)]
pub struct Lens {
    heights: Vec<f64>,
    halvings: Vec<usize>,
}

impl Lens {
    /// The lens of a liquid of refractive index `index` (1 to 2).
    pub fn new(index: f64) -> Self {
        let heights: Vec<f64> = (0..=STEPS)
            .map(|i| wall_height(i as f64 / STEPS as f64, index))
            .collect();
        let reduced = |pair: &[f64]| ((pair[1] - pair[0]).abs() * STEPS as f64).max(1.0);
        let halvings = heights
            .windows(2)
            .map(|pair| reduced(pair).log2().round() as usize)
            .collect();
        Self { heights, halvings }
    }

    /// Height on the wall at the height `u`, and how many times the wall is halved in size there.
    #[inline]
    pub fn at(&self, u: f64) -> (f64, usize) {
        let place = u.clamp(0.0, 0.999) * STEPS as f64;
        let i = place as usize;
        let slope = self.heights[i + 1] - self.heights[i];
        (self.heights[i] + (place - i as f64) * slope, self.halvings[i])
    }
}

fn wall_height(u: f64, index: f64) -> f64 {
    let (alpha, beta) = (u.asin(), (u / index).asin());
    let turn = (2.0 * (alpha - beta)).min(1.5);
    (2.0 * beta - alpha).sin() - (WALL_DEPTH - (2.0 * beta - alpha).cos()) * turn.tan()
}

/// Radius of an outline by direction, for finding how far in a pixel lies.
#[derive(Debug, Clone)]
pub struct Rim {
    radii: Vec<f32>,
    /// The largest radius, px.
    pub largest: f64,
}

/// Directions of the table.
const DIRECTIONS: usize = 720;

impl Rim {
    /// The rim of a ring about `centre`.
    pub fn new(ring: &Ring, centre: [f64; 2]) -> Self {
        let mut radii = vec![0.0_f32; DIRECTIONS];
        let polar = |p: &[f64; 3]| {
            let (x, y) = (p[0] - centre[0], p[1] - centre[1]);
            (x.hypot(y), direction(x, y))
        };
        for (i, p) in ring.points.iter().enumerate() {
            let (from, a) = polar(p);
            let (to, b) = polar(&ring.points[(i + 1) % ring.points.len()]);
            let step =
                (b - a + 1.5 * DIRECTIONS as f64).rem_euclid(DIRECTIONS as f64) - 0.5 * DIRECTIONS as f64;
            let count = step.abs().ceil() as usize + 1;
            for k in 0..=count {
                let part = k as f64 / count as f64;
                let slot = (a + part * step).round().rem_euclid(DIRECTIONS as f64) as usize % DIRECTIONS;
                radii[slot] = radii[slot].max((from + part * (to - from)) as f32);
            }
        }
        let largest = radii.iter().fold(0.0_f32, |a, &b| a.max(b));
        Self {
            radii,
            largest: f64::from(largest),
        }
    }

    /// How far out `(x, y)` px from the centre lies: 0 in the middle, 1 at the outline.
    #[inline]
    pub fn share(&self, x: f64, y: f64) -> f64 {
        let place = direction(x, y);
        let i = place as usize % DIRECTIONS;
        let (a, b) = (
            f64::from(self.radii[i]),
            f64::from(self.radii[(i + 1) % DIRECTIONS]),
        );
        (x * x + y * y).sqrt() / (a + place.fract() * (b - a)).max(1e-6)
    }
}

fn direction(x: f64, y: f64) -> f64 {
    // Single precision is a thousandth of a step and twice as fast.
    let turn = f64::from((y as f32).atan2(x as f32)) / std::f64::consts::TAU;
    (if turn < 0.0 { turn + 1.0 } else { turn }) * DIRECTIONS as f64
}
