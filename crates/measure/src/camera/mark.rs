//! A mark on what lies behind the bodies: a small window with structure, and where later frames show it.
//!
//! ```text
//! sum (I(x + d) - a T(x) - b)^2 -> min over d, a, b;    step d = - G^-1 sum g e / a,    G = sum g g^T,   u^2(d) = s^2 G^-1 / a^2
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `T`, `I` | levels in the window of the first frame, of a later one | camera codes |
//! | `d` | where the mark has moved to | px |
//! | `a`, `b` | light over that of the first frame, and offset: steps of the exposure do not move a mark | 1, codes |
//! | `g`, `e`, `s` | gradient of `T`, what is left, its root mean square | codes/px, codes |
//!
//! Between pixels a picture is Lagrange's polynomial through six. Source: least squares on gradients \[LucasKanade1981\]; interpolation
//! \[AbramowitzStegun1972\] 25.2. A window with structure in one direction only tells that direction.

use tremolet_clip::frame::{Levels, Plane};

/// Pixels on each side of the middle of a window.
pub const HALF: usize = 11;
const SIDE: usize = 2 * HALF + 1;
/// Pixels of the polynomial before and after the window.
const BEFORE: usize = 2;
const AFTER: usize = 3;
/// Steps, and the last one's length, px.
const STEPS: usize = 12;
const SETTLED: f64 = 1e-3;
/// Longest step, px; how far a lost mark is looked for.
const STRIDE: f64 = 2.0;
const SEARCH: i64 = 8;
/// Least share of the window's variance that must be met.
const ALIKE: f64 = 0.8;
/// What interpolation leaves, px.
const FLOOR: f64 = 0.003;

/// A window of the first frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Its middle, a whole pixel.
    pub centre: [usize; 2],
    levels: Vec<f64>,
    gradient: Vec<[f64; 2]>,
    mean: f64,
    squares: f64,
    structure: Symmetric,
}

/// Where a mark is met in a frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Met {
    /// From where it was in the first frame, px.
    pub shift: [f64; 2],
    /// Inverse of the covariance of the shift, 1/px^2; nil in a direction without structure.
    pub weight: Symmetric,
    /// Its light over that in the first frame.
    pub light: f64,
}

/// A symmetric matrix of two rows: `xx`, `xy`, `yy`.
pub type Symmetric = [f64; 3];

/// Smaller and larger eigenvalue, and the direction of the larger one.
pub fn eigen([xx, xy, yy]: Symmetric) -> ([f64; 2], [f64; 2]) {
    let (mean, half) = (0.5 * (xx + yy), 0.5 * (xx - yy));
    let root = half.hypot(xy);
    let angle = 0.5 * xy.atan2(half);
    ([mean - root, mean + root], [angle.cos(), angle.sin()])
}

pub(super) fn level(plane: &Plane, x: usize, y: usize) -> f64 {
    let i = y * plane.width + x;
    match &plane.levels {
        Levels::Eight(levels) => f64::from(levels[i]),
        Levels::Sixteen(levels) => f64::from(levels[i]),
    }
}

impl Mark {
    /// The window around a pixel; none where it does not lie in the picture.
    pub fn at(plane: &Plane, [x, y]: [usize; 2]) -> Option<Self> {
        let room = |v: usize, size: usize| v > HALF && v + HALF + 1 < size;
        if !(room(x, plane.width) && room(y, plane.height)) {
            return None;
        }
        let place = |k: usize| (x - HALF + k % SIDE, y - HALF + k / SIDE);
        let levels: Vec<f64> = (0..SIDE * SIDE)
            .map(place)
            .map(|(x, y)| level(plane, x, y))
            .collect();
        let slope = |(x, y): (usize, usize)| {
            [
                0.5 * (level(plane, x + 1, y) - level(plane, x - 1, y)),
                0.5 * (level(plane, x, y + 1) - level(plane, x, y - 1)),
            ]
        };
        let gradient: Vec<[f64; 2]> = (0..SIDE * SIDE).map(place).map(slope).collect();
        let sum = |f: &dyn Fn(&[f64; 2]) -> f64| gradient.iter().map(f).sum::<f64>();
        let mean = levels.iter().sum::<f64>() / levels.len() as f64;
        Some(Self {
            centre: [x, y],
            squares: levels.iter().map(|v| (v - mean).powi(2)).sum(),
            structure: [
                sum(&|g| g[0] * g[0]),
                sum(&|g| g[0] * g[1]),
                sum(&|g| g[1] * g[1]),
            ],
            mean,
            levels,
            gradient,
        })
    }

    /// Where a frame shows it, looked for `near` a shift; none where it is not seen or not alike.
    pub fn met(&self, plane: &Plane, near: [f64; 2]) -> Option<Met> {
        self.settled(plane, near).or_else(|| {
            let [x, y] = near.map(f64::round);
            let tried = (-SEARCH..=SEARCH)
                .flat_map(|j| (-SEARCH..=SEARCH).map(move |i| [x + i as f64, y + j as f64]));
            let best = tried
                .filter_map(|d| Some((self.coarse(plane, d)?, d)))
                .min_by(|a, b| a.0.total_cmp(&b.0))?;
            self.settled(plane, best.1)
        })
    }

    fn settled(&self, plane: &Plane, near: [f64; 2]) -> Option<Met> {
        let [xx, xy, yy] = self.structure;
        // Without structure across an edge, no step is taken along it.
        let damp = 1e-3 * (xx + yy);
        let (a, b, c) = (xx + damp, xy, yy + damp);
        let determinant = a * c - b * b;
        let mut shift = near;
        for _ in 0..STEPS {
            let fit = self.compared(&window(plane, self.centre, shift)?)?;
            let [p, q] = fit.pull.map(|v| -v / fit.light);
            let step = [(c * p - b * q) / determinant, (a * q - b * p) / determinant];
            let length = step[0].hypot(step[1]);
            let share = (STRIDE / length.max(1e-12)).min(1.0);
            shift = [0, 1].map(|i| shift[i] + share * step[i]);
            if length < SETTLED {
                return self.judged(&fit, shift);
            }
        }
        None
    }

    fn judged(&self, fit: &Fit, shift: [f64; 2]) -> Option<Met> {
        if !(fit.light > 0.1 && fit.left < (1.0 - ALIKE) * fit.light * fit.light * self.squares) {
            return None;
        }
        let variance = (fit.left / (SIDE * SIDE - 4) as f64).max(1e-12) / (fit.light * fit.light);
        let (values, [cos, sin]) = eigen(self.structure);
        let [low, high] = values.map(|v| {
            let weight = v.max(0.0) / variance;
            weight / (1.0 + FLOOR * FLOOR * weight)
        });
        Some(Met {
            shift,
            weight: [
                high * cos * cos + low * sin * sin,
                (high - low) * cos * sin,
                high * sin * sin + low * cos * cos,
            ],
            light: fit.light,
        })
    }

    /// Least squares of a window against this one.
    fn compared(&self, seen: &[f64]) -> Option<Fit> {
        let mean = seen.iter().sum::<f64>() / seen.len() as f64;
        let both = seen.iter().zip(&self.levels);
        let together: f64 = both.clone().map(|(s, t)| (s - mean) * (t - self.mean)).sum();
        let light = together / self.squares;
        if light.is_nan() || light <= 0.05 {
            return None;
        }
        let (mut pull, mut left) = ([0.0; 2], 0.0);
        for ((s, t), g) in both.zip(&self.gradient) {
            let e = (s - mean) - light * (t - self.mean);
            pull = [pull[0] + g[0] * e, pull[1] + g[1] * e];
            left += e * e;
        }
        Some(Fit { light, pull, left })
    }

    /// What is left at a whole shift, over every second pixel.
    fn coarse(&self, plane: &Plane, shift: [f64; 2]) -> Option<f64> {
        let [x, y] = [0, 1].map(|i| self.centre[i] as f64 + shift[i]);
        let room = |v: f64, size: usize| v >= HALF as f64 && v + (HALF as f64) < size as f64;
        if !(room(x, plane.width) && room(y, plane.height)) {
            return None;
        }
        let (x, y) = (x as usize - HALF, y as usize - HALF);
        let some: Vec<(f64, f64)> = (0..SIDE)
            .step_by(2)
            .flat_map(|j| (0..SIDE).step_by(2).map(move |i| (i, j)))
            .map(|(i, j)| (level(plane, x + i, y + j), self.levels[j * SIDE + i]))
            .collect();
        let count = some.len() as f64;
        let (s, t) = some.iter().fold((0.0, 0.0), |(s, t), p| (s + p.0, t + p.1));
        let [ss, st, tt] = some.iter().fold([0.0; 3], |sum, p| {
            let (a, b) = (p.0 - s / count, p.1 - t / count);
            [sum[0] + a * a, sum[1] + a * b, sum[2] + b * b]
        });
        (st > 0.0).then(|| 1.0 - st * st / (ss * tt).max(1e-12))
    }
}

struct Fit {
    light: f64,
    pull: [f64; 2],
    left: f64,
}

/// The levels of a window about `centre + shift`, row by row; none where it does not lie in the picture.
fn window(plane: &Plane, centre: [usize; 2], shift: [f64; 2]) -> Option<Vec<f64>> {
    let place = |i: usize, size: usize| {
        let first = centre[i] as f64 + shift[i].floor() - (HALF + BEFORE) as f64;
        let last = first + (SIDE + BEFORE + AFTER) as f64;
        (first >= 0.0 && last <= size as f64).then(|| (first as usize, weights(shift[i] - shift[i].floor())))
    };
    let ((x, across), (y, down)) = (place(0, plane.width)?, place(1, plane.height)?);
    let rows = SIDE + BEFORE + AFTER;
    let mut narrow = Vec::with_capacity(rows * SIDE);
    for j in 0..rows {
        narrow.extend((0..SIDE).map(|i| -> f64 {
            let six = across.iter().enumerate();
            six.map(|(k, w)| w * level(plane, x + i + k, y + j)).sum()
        }));
    }
    let one = |k: usize| {
        let six = down.iter().enumerate();
        six.map(|(row, w)| w * narrow[k + row * SIDE]).sum()
    };
    Some((0..SIDE * SIDE).map(one).collect())
}

/// Lagrange's weights of the six pixels around a place `t` (0 to 1) after the third.
fn weights(t: f64) -> [f64; 6] {
    std::array::from_fn(|k| {
        let others = (0..6).filter(|i| *i != k);
        others
            .map(|i| (t + BEFORE as f64 - i as f64) / (k as f64 - i as f64))
            .product()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Soft dots on a slope of light, moved by `d`, lit `light` times as much.
    fn plane(d: [f64; 2], light: f64) -> Plane {
        let dots = [[58.0, 61.0, 90.0], [66.5, 66.0, 60.0], [63.0, 54.5, -40.0]];
        let levels = (0..128 * 128).map(|k| {
            let (x, y) = ((k % 128) as f64 - d[0], (k / 128) as f64 - d[1]);
            let dot =
                |[a, b, depth]: &[f64; 3]| depth * (-0.5 * ((x - a).powi(2) + (y - b).powi(2)) / 6.0).exp();
            let all: f64 = dots.iter().map(dot).sum();
            (100.0 * light * (160.0 + 0.2 * x - all)) as u16
        });
        Plane::sixteen(128, 128, levels.collect())
    }

    #[test]
    fn a_mark_is_met_where_it_has_moved_to_whatever_the_light() {
        let mark = Mark::at(&plane([0.0; 2], 1.0), [62, 62]).unwrap();
        for d in [[0.0, 0.0], [0.3, -0.6], [2.7, 1.4], [-9.3, 6.8]] {
            for light in [1.0, 0.7] {
                let met = mark.met(&plane(d, light), [0.0; 2]).expect("there");
                let off = (met.shift[0] - d[0]).hypot(met.shift[1] - d[1]);
                assert!(off < 3e-3, "{d:?} {light}: {:?}", met.shift);
                assert!((met.light / light - 1.0).abs() < 5e-3);
            }
        }
    }

    #[test]
    fn what_is_not_there_is_not_met() {
        let mark = Mark::at(&plane([0.0; 2], 1.0), [62, 62]).unwrap();
        assert_eq!(
            mark.met(&Plane::sixteen(128, 128, vec![9000; 128 * 128]), [0.0; 2]),
            None
        );
        let far = plane([60.0, 0.0], 1.0);
        assert_eq!(mark.met(&far, [0.0; 2]), None);
        assert!(mark.met(&far, [58.0, 1.0]).is_none(), "out of the picture");
        assert_eq!(Mark::at(&far, [5, 60]), None);
    }

    // A bar tells how it moved across itself, and nothing of what it did along.
    #[test]
    fn a_bar_tells_one_direction() {
        let bar = |d: f64| {
            let level =
                |k: usize| 20_000.0 - 9000.0 * (-0.5 * ((k % 64) as f64 - 30.0 - d).powi(2) / 4.0).exp();
            Plane::sixteen(64, 64, (0..64 * 64).map(|k| level(k) as u16).collect())
        };
        let mark = Mark::at(&bar(0.0), [31, 32]).unwrap();
        let met = mark.met(&bar(1.3), [0.0; 2]).unwrap();
        assert!(
            (met.shift[0] - 1.3).abs() < 3e-3 && met.shift[1].abs() < 1e-6,
            "{met:?}"
        );
        assert!(met.weight[0] > 1e4 && met.weight[2] < 1e-6 * met.weight[0]);
    }

    #[test]
    fn six_weights_are_exact_for_polynomials() {
        let value = |x: f64| 1.0 + x * (2.0 - x * (0.5 + 0.1 * x));
        let sum: f64 = weights(0.37)
            .iter()
            .zip(-2..4)
            .map(|(w, k)| w * value(f64::from(k)))
            .sum();
        assert!((sum - value(0.37)).abs() < 1e-12);
        let ([low, high], [cos, sin]) = eigen([2.0, 1.0, 2.0]);
        assert!((low - 1.0).abs() < 1e-12 && (high - 3.0).abs() < 1e-12 && (cos - sin).abs() < 1e-12);
    }
}
