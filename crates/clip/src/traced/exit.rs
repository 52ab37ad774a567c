//! Where a ray leaves a convex body: the square of the distance from the axis as a function of the height, and one root on the ray.
//!
//! ```text
//! F(s) = r^2(s) - f(z(s)) = 0,   f = rho^2 of the meridian by z, cubic pieces on even steps;   Newton from outside, halving where it leaves its bounds
//! normal   (r, -f'/2) of length 1
//! ```
//! A ray inside a convex body leaves it once, so that a root with `F < 0` before and `F > 0` behind it is the one. For a spheroid `f` is a parabola and the
//! cubic exact; bodies whose `f` the cubic does not follow to [`WORST`] of the square of their reach have none.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | `s` | along the ray | m |
//! | `z`, `r` | along the axis from the centre, from the axis | m |
//!
//! Source: elementary geometry; cubics by value and slope at their ends \[DeBoor2001\] chapter IV.

use crate::traced::meridian::Knot;

/// Steps of the height.
const STEPS: usize = 400;
/// Error of the squares that is borne, over the square of the reach.
const WORST: f64 = 1e-6;
/// Most steps to the root, and change over the reach at which it is one.
const MOST: u32 = 40;
const NEAR: f64 = 1e-12;

/// Squares of the distance from the axis by height.
#[derive(Debug, Clone)]
pub struct Squares {
    low: f64,
    per_step: f64,
    /// Coefficients of each step in its own part, 0 to 1.
    cubics: Vec<[f64; 4]>,
    reach: f64,
}

/// A ray seen from the axis: `z = a + b s`, `r^2 = ca + 2 cb s + cc s^2`.
#[derive(Debug, Clone, Copy)]
pub struct Seen {
    /// Height at its start, and by its way.
    pub height: [f64; 2],
    /// `ca`, `cb`, `cc`.
    pub square: [f64; 3],
}

impl Squares {
    /// Of a body by the knots of its meridian from the greatest z to the least; `None` where height or cubics do not tell it.
    pub fn of(knots: &[Knot], reach: f64) -> Option<Self> {
        if knots.windows(2).any(|pair| pair[1].at[0] >= pair[0].at[0]) {
            return None;
        }
        let (high, low) = (knots[0].at[0], knots[knots.len() - 1].at[0]);
        let step = (high - low) / STEPS as f64;
        // d(rho^2)/dz = 2 rho drho/dz, and the meridian goes along (n_rho, -n_z): by the normal -2 rho n_z / n_rho.
        let slope = |knot: &Knot| -2.0 * knot.at[1] * knot.normal[0] / knot.normal[1];
        let square = |knot: &Knot| knot.at[1] * knot.at[1];
        let last = knots.len() - 1;
        let ends = [0, last].map(|k| {
            // On the axis the slope is what its neighbours come to.
            let (near, far) = if k == 0 {
                (&knots[1], &knots[2])
            } else {
                (&knots[last - 1], &knots[last - 2])
            };
            let pole = knots[k].at[0];
            let (p, q) = (near.at[0] - pole, far.at[0] - pole);
            (slope(near) * q - slope(far) * p) / (q - p)
        });
        let slopes: Vec<f64> = (0..=last)
            .map(|k| match k {
                0 => ends[0],
                k if k == last => ends[1],
                k => slope(&knots[k]),
            })
            .collect();
        let at = |z: f64| {
            let next = knots.partition_point(|knot| knot.at[0] > z).clamp(1, last);
            let (from, to) = (&knots[next], &knots[next - 1]);
            let wide = to.at[0] - from.at[0];
            let cubic = cubic(
                [square(from), square(to)],
                [slopes[next] * wide, slopes[next - 1] * wide],
            );
            let [value, by_part] = of(&cubic, (z - from.at[0]) / wide);
            [value, by_part / wide]
        };
        let points: Vec<[f64; 2]> = (0..=STEPS).map(|k| at(low + step * k as f64)).collect();
        let cubics = points
            .windows(2)
            .map(|p| cubic([p[0][0], p[1][0]], [p[0][1] * step, p[1][1] * step]))
            .collect();
        let made = Self {
            low,
            per_step: 1.0 / step,
            cubics,
            reach,
        };
        let off = |knot: &Knot| (made.at(knot.at[0])[0] - square(knot)).abs();
        let worst = knots.iter().map(off).fold(0.0, f64::max);
        (worst <= WORST * reach * reach).then_some(made)
    }

    /// Square and its slope at a height; beyond the poles straight on.
    #[inline]
    fn at(&self, z: f64) -> [f64; 2] {
        let place = (z - self.low) * self.per_step;
        let step = (place.max(0.0) as usize).min(self.cubics.len() - 1);
        let part = place - step as f64;
        let cubic = &self.cubics[step];
        if (0.0..=1.0).contains(&part) {
            let [value, slope] = of(cubic, part);
            return [value, slope * self.per_step];
        }
        let end = part.clamp(0.0, 1.0);
        let [value, slope] = of(cubic, end);
        [value + slope * (part - end), slope * self.per_step]
    }

    /// Way to where the ray, inside at its start and outside at `until`, leaves the body, and the slope of the squares there.
    #[inline]
    pub fn exit(&self, ray: &Seen, until: f64) -> (f64, f64) {
        let ([a, b], [ca, cb, cc]) = (ray.height, ray.square);
        let (mut low, mut high, mut s) = (0.0, until, until);
        let mut slope = 0.0;
        for _ in 0..MOST {
            let [square, by_height] = self.at(a + b * s);
            slope = by_height;
            let f = ca + s * (2.0 * cb + s * cc) - square;
            if f > 0.0 {
                high = s;
            } else {
                low = s;
            }
            let next = s - f / (2.0 * (cb + cc * s) - b * by_height);
            let next = if (low..=high).contains(&next) {
                next
            } else {
                0.5 * (low + high)
            };
            let change = (next - s).abs();
            s = next;
            if change < NEAR * self.reach {
                break;
            }
        }
        (s, slope)
    }
}

/// The cubic on 0 to 1 with these values and slopes at its ends.
fn cubic([from, to]: [f64; 2], [p, q]: [f64; 2]) -> [f64; 4] {
    let rise = to - from;
    [from, p, 3.0 * rise - 2.0 * p - q, p + q - 2.0 * rise]
}

/// Value and slope of a cubic.
#[inline]
fn of([a, b, c, d]: &[f64; 4], t: f64) -> [f64; 2] {
    [a + t * (b + t * (c + t * d)), b + t * (2.0 * c + 3.0 * t * d)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::traced::meridian::{Curve, spheroid};

    fn squares(points: &[[f64; 2]]) -> Option<Squares> {
        let knots = Curve::through(points).expect("a body").cut(4e-6);
        Squares::of(&knots, 1.3)
    }

    // A ray from (r, z) = (0.2, 0.1) across the axis of the spheroid z^2/1.3^2 + r^2 = 1: by its quadratic.
    #[test]
    fn a_ray_leaves_a_spheroid_where_it_should() {
        let made = squares(&spheroid(1.3, 1.0, 80)).expect("told by height");
        for angle in [0.0_f64, 0.3, 0.9, 1.4, 2.2, 3.1] {
            let (sin, cos) = angle.sin_cos();
            let ray = Seen {
                height: [0.1, cos],
                square: [0.04, 0.2 * sin, sin * sin],
            };
            let (p, q, c) = (
                sin * sin + cos * cos / 1.69,
                0.2 * sin + 0.1 * cos / 1.69,
                0.04 + 0.01 / 1.69 - 1.0,
            );
            let due = (-q + (q * q - p * c).sqrt()) / p;
            let (found, slope) = made.exit(&ray, 3.0);
            assert!((found - due).abs() < 1e-8, "{angle}: {found} {due}");
            // f = 1 - z^2/1.69.
            assert!((slope + 2.0 * (0.1 + found * cos) / 1.69).abs() < 1e-5, "{angle}");
        }
    }

    #[test]
    fn what_height_does_not_tell_is_left_to_others() {
        let crater: Vec<[f64; 2]> = (0..=120)
            .map(|k| {
                let (sin, cos) = (std::f64::consts::PI * f64::from(k) / 120.0).sin_cos();
                let r = 1.0 - 0.45 * (1.5 * cos * cos - 0.5);
                [r * cos, if k == 0 || k == 120 { 0.0 } else { r * sin }]
            })
            .collect();
        assert!(squares(&crater).is_none());
    }
}
