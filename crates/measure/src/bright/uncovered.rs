//! What lies behind the body, put together from the frames in which it does not hide it.
//!
//! ```text
//! b(x) = sum_t w (I - L) / (1 - C) / sum_t w,   w = (1 - C)^2   where C < 0.12
//! ```
//! Near what was seen the view is carried on under the body by a plane through the seen pixels around, nearer ones counting
//! for more.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `b`, `I` | level without the body, in a frame | over the frame's mean |
//! | `C`, `L` | share of the pixel that the body covers, and its light | 1, over the frame's mean |
//!
//! Source: weighted means; moving least squares \[GolubVanLoan2013\] section 5.3. For a view that stands still.

use crate::rim::node::cholesky;
use crate::rim::node::solved;
use tremolet_clip::frame::Plane;

/// Level 1 in the plane that comes out.
pub const UNIT: f64 = 16384.0;
/// A pixel is covered when more than this share of it is.
pub const COVERED: f64 = 0.12;
/// A pixel seen less often is not known.
const LEAST: f32 = 1.5;
/// The view is carried on so far, px.
const REACH: isize = 5;
/// A slope is held to nil as by this weight of pixels one px away.
const STIFF: f64 = 0.2;
/// Width of the weights by which it is, px.
const NEAR: f64 = 2.0;

/// Sums over the frames.
#[derive(Debug, Clone)]
pub struct Uncovered {
    width: usize,
    height: usize,
    weights: Vec<f32>,
    sums: Vec<f32>,
}

/// A pixel that a frame shows: place in the picture, level without the body, weight.
pub type Shown = (u32, f32, f32);

impl Uncovered {
    /// Of pictures of this size, none yet.
    pub fn none(width: usize, height: usize) -> Self {
        Self {
            width,
            height,
            weights: vec![0.0; width * height],
            sums: vec![0.0; width * height],
        }
    }

    /// Adds what a frame shows.
    pub fn add(&mut self, shown: &[Shown]) {
        for (at, level, weight) in shown {
            self.weights[*at as usize] += weight;
            self.sums[*at as usize] += weight * level;
        }
    }

    /// The view without the body as far as it is known, [`UNIT`] for 1; elsewhere `empty` at a pixel, in light like that of the
    /// frames, else 1.
    pub fn view(&self, empty: impl Fn(usize) -> Option<f64>) -> Plane {
        let both = (0..self.weights.len()).filter_map(|at| Some((self.known(at)?, empty(at)?)));
        let (product, square) = both.fold((0.0, 1e-12), |(p, s), (known, empty)| {
            (p + known * empty, s + empty * empty)
        });
        let filled = |at: usize| Some(empty(at)? * product / square);
        let level = |at: usize| {
            let known = self.known(at).or_else(|| filled(at)).or_else(|| self.carried(at));
            (known.unwrap_or(1.0) * UNIT).clamp(0.0, 65535.0).round() as u16
        };
        let levels = (0..self.weights.len()).map(level).collect();
        Plane::sixteen(self.width, self.height, levels)
    }

    fn known(&self, at: usize) -> Option<f64> {
        (self.weights[at] >= LEAST).then(|| f64::from(self.sums[at] / self.weights[at]))
    }

    /// The plane through the known pixels around, at pixel `at`.
    fn carried(&self, at: usize) -> Option<f64> {
        let (x, y) = ((at % self.width) as isize, (at / self.width) as isize);
        let (mut matrix, mut right) = ([[0.0; 3]; 3], [0.0; 3]);
        for v in -REACH..=REACH {
            for u in -REACH..=REACH {
                let (i, j) = (x + u, y + v);
                if i < 0 || j < 0 || i >= self.width as isize || j >= self.height as isize {
                    continue;
                }
                let Some(level) = self.known(j as usize * self.width + i as usize) else {
                    continue;
                };
                let (u, v) = (u as f64, v as f64);
                let weight = (-0.5 * (u * u + v * v) / (NEAR * NEAR)).exp();
                let row = [1.0, u, v];
                for a in 0..3 {
                    right[a] += weight * row[a] * level;
                    (0..3).for_each(|b| matrix[a][b] += weight * row[a] * row[b]);
                }
            }
        }
        if matrix[0][0] < 1e-3 {
            return None;
        }
        matrix[1][1] += STIFF;
        matrix[2][2] += STIFF;
        Some(solved(&cholesky(matrix)?, right)[0])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIDE: usize = 64;

    fn wall(x: f64, y: f64) -> f64 {
        0.8 + 0.004 * x - 0.002 * y
    }

    /// A disc of 20 px that hides a slanting wall in three frames, shifted by two pixels in one of them.
    fn seen() -> Uncovered {
        let mut sums = Uncovered::none(SIDE, SIDE);
        for shift in [0.0, 0.0, 2.0] {
            let free = |at: usize| {
                let (x, y) = ((at % SIDE) as f64, (at / SIDE) as f64);
                let out = (x - 30.0 - shift).hypot(y - 31.0) > 20.0;
                out.then(|| (at as u32, wall(x, y) as f32, 1.0))
            };
            let shown: Vec<Shown> = (0..SIDE * SIDE).filter_map(free).collect();
            sums.add(&shown);
        }
        sums
    }

    #[test]
    fn what_two_frames_show_is_known_and_a_slope_goes_on_under_the_body() {
        let view = seen().view(|_| None);
        let at = |x: usize, y: usize| f64::from(crate::bright::behind::level(&view, x, y)) / UNIT;
        assert!((at(5, 31) - wall(5.0, 31.0)).abs() < 1e-4);
        // 3 px inside the left border: carried on, a part of the slope is given up.
        assert!((at(13, 31) - wall(13.0, 31.0)).abs() < 5e-3, "{}", at(13, 31));
        assert_eq!(at(30, 31), 1.0, "nothing is known in the middle");
    }

    #[test]
    fn a_view_without_the_body_fills_what_is_hidden_whatever_its_light() {
        let view = seen().view(|at| Some(1.7 * wall((at % SIDE) as f64, (at / SIDE) as f64)));
        let at = |x: usize, y: usize| f64::from(crate::bright::behind::level(&view, x, y)) / UNIT;
        for (x, y) in [(30, 31), (5, 31), (22, 40)] {
            assert!((at(x, y) - wall(x as f64, y as f64)).abs() < 1e-4, "{x} {y}");
        }
    }

    #[test]
    fn what_one_frame_alone_shows_is_not_known() {
        let mut sums = Uncovered::none(SIDE, SIDE);
        sums.add(&[(7, 0.3, 1.0)]);
        assert_eq!(sums.known(7), None);
        sums.add(&[(7, 0.5, 1.0)]);
        assert!(sums.known(7).is_some_and(|level| (level - 0.4).abs() < 1e-6));
    }
}
